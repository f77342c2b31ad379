//! What every PDF of ours has in common: who made it, an id that comes from its contents and so is the same for
//! the same contents, and the request to print it at true size.

use pdf_writer::{Content, Name, Pdf, Ref, TextStr};
use sha2::{Digest as _, Sha256};
use slipsheet_core::units::Size;

/// The program and its version, as files name their maker.
pub(crate) const SOFTWARE: &str = concat!("Slipsheet ", env!("CARGO_PKG_VERSION"));

/// PostScript points in a millimetre.
pub(crate) const PT_PER_MM: f64 = 72.0 / 25.4;

/// Numbers for the parts of a document, from 1.
#[derive(Default)]
pub(crate) struct Refs(i32);

impl Refs {
    pub fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

/// The contents of a page, begun so that places and widths are in mm from its top left.
pub(crate) fn content_in_mm(page: Size) -> Content {
    let mut content = Content::new();
    let page_from_mm = [PT_PER_MM, 0.0, 0.0, -PT_PER_MM, 0.0, page.height.get() * PT_PER_MM];
    content.transform(page_from_mm.map(|v| v as f32));
    content
}

pub(crate) fn info(pdf: &mut Pdf, info: Ref, title: &str) {
    pdf.document_info(info).title(TextStr(title)).producer(TextStr(SOFTWARE));
}

/// Sets the catalog of a document whose pages are to be printed at true size: a viewer that obeys does not offer
/// to fit them to the paper.
pub(crate) fn true_size(pdf: &mut Pdf, catalog: Ref, pages: Ref) {
    pdf.catalog(catalog).pages(pages).viewer_preferences().pair(Name(b"PrintScaling"), Name(b"None"));
}

/// Sets the id from a sum over the contents.
pub(crate) fn file_id(pdf: &mut Pdf, contents: Sha256) {
    let id: Vec<u8> = contents.finalize().iter().take(16).copied().collect();
    pdf.set_file_id((id.clone(), id));
}
