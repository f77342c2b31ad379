//! The pages of a pack as pictures: what the window shows before the folder is made. They come from the same
//! documents as the pack's files, drawn small.

use std::fmt::Display;

use slipsheet_booking::schedule::printed_sides;
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

use super::dummy_print;
use super::fill::{WRAP, folds, guide_name, guides, has_ink, proof_name};
use crate::dummy_sheet::{self, DummySheetOptions};
use crate::file_name;
use crate::guide::{GuideOptions, guide_document};
use crate::log_file::logged;
use crate::pdf_picture;
use crate::plates::{PlateForm, PlateOptions, Plates};
use crate::proof::{self, ProofPageOptions};
use crate::scan::Progress;
use crate::spot_pdf;
use crate::ticket::{self, Ticket, TicketNotes};
use crate::wrap_sheet::wrap_document;

#[derive(Debug, Clone, PartialEq)]
pub struct PackPage {
    /// The file it is in, with `/` between parts; of a plate without the ending that is chosen later.
    pub file: String,
    pub caption: String,
    pub picture: Picture,
}

/// Every page but those of the booklet's ticket and of editions, in the order of work; the longer side of each has
/// about `side` pixels. What cannot be drawn is left out: the pack itself says why.
pub fn pages(
    project: &Project,
    images: &Images,
    notes: &TicketNotes,
    form: PlateForm,
    side: u16,
) -> Vec<PackPage> {
    let main = project.main_printing();
    let mut all = sheet(&main, images, notes, form, side);
    all.extend(of_pdf("dummy-print.pdf", "Dummy", dummy_print::document(&main, images), side));
    if folds(&main) {
        let dummy = dummy_sheet::document(&main, DummySheetOptions::default());
        all.extend(of_pdf("dummy.pdf", "Dummy to fold", dummy, side));
    }
    if let Some(wrap) = project.wrap_printing() {
        all.extend(wrap_pages(&wrap, images, form, side));
    }
    all
}

/// What is printed on one kind of sheet.
fn sheet(
    printing: &Printing,
    images: &Images,
    notes: &TicketNotes,
    form: PlateForm,
    side: u16,
) -> Vec<PackPage> {
    let mut all = proofs(printing, images, side);
    let dpi = printing.sheet.size().dpi_for(f64::from(side));
    let page = ProofPageOptions { dpi, notes: notes.clone() };
    let proof = proof::page(printing, images, &page, &Progress::new());
    all.extend(of_pdf("proof.pdf", "Proof page", proof, side));
    let options = PlateOptions { dpi: Some(dpi), form, ..PlateOptions::default() };
    all.extend(plates(printing, images, &options));
    let separations = spot_pdf::document(printing, images, &options, &Progress::new());
    all.extend(of_pdf("separations.pdf", "Separations", separations, side));
    for (sheet, face) in guides(printing) {
        let options = GuideOptions { face, sheet: Some(sheet), ..GuideOptions::default() };
        let guide = guide_document(printing, &options);
        all.extend(of_pdf(&guide_name(printing, sheet, face), "Page guide", guide, side));
    }
    all
}

fn wrap_pages(wrap: &Printing, images: &Images, form: PlateForm, side: u16) -> Vec<PackPage> {
    let net = wrap.own_wrap().map(|plan| of_pdf("net.pdf", "Net", wrap_document(&plan, &wrap.title), side));
    let mut all = net.unwrap_or_default();
    if has_ink(wrap) {
        let notes = logged("the notes of a ticket", TicketNotes::of(wrap, images)).unwrap_or_default();
        all.extend(sheet(wrap, images, &notes, form, side));
        all.extend(ticket_pages(wrap, images, &Ticket::new(wrap, images, &notes, form), side));
    }
    for page in &mut all {
        page.file.insert_str(0, WRAP);
        page.caption.insert_str(0, "Wrap: ");
    }
    all
}

pub fn ticket_pages(printing: &Printing, images: &Images, ticket: &Ticket, side: u16) -> Vec<PackPage> {
    of_pdf("ticket.pdf", "Ticket", ticket::document(ticket, printing, images), side)
}

fn proofs(printing: &Printing, images: &Images, side: u16) -> Vec<PackPage> {
    let size = printing.sheet.size();
    let view = View::sheet(size, size.dpi_for(f64::from(side)));
    let proof = |(sheet, face)| {
        let scene = Scene::new(printing, images, Show { sheet, ..Show::meant(face) });
        let scene = logged("a proof", scene)?;
        let caption = format!("Proof, {}", face.of_sheet(sheet, printing.sheet.printed_sheets()));
        Some(PackPage { file: proof_name(printing, sheet, face), caption, picture: scene.render(&view) })
    };
    printed_sides(printing).into_iter().filter_map(proof).collect()
}

fn plates(printing: &Printing, images: &Images, options: &PlateOptions) -> Vec<PackPage> {
    let mut all = Vec::new();
    for sheet in 0..printing.sheet.printed_sheets() {
        let plates = Plates::of_sheet(printing, images, options, sheet);
        let Some(plates) = logged("the plates of a sheet", plates) else { continue };
        for plate in &plates.all {
            let gray = plates.bands().flat_map(|(top, rows)| plates.rows(plate, top, rows));
            let pixels = gray.map(|g| [g, g, g, 255]).collect();
            let picture = Picture { width: plates.width as usize, height: plates.height as usize, pixels };
            let name = plate.file_name(options.format);
            let file = format!("plates/{}", file_name::stem(name.as_ref()));
            all.push(PackPage { file, caption: format!("{}, pass {}", plate.ink, plate.pass), picture });
        }
    }
    all
}

/// The pages of a document, counted where there are several.
fn of_pdf<E: Display>(file: &str, what: &str, bytes: Result<Vec<u8>, E>, side: u16) -> Vec<PackPage> {
    let pictures = logged(file, bytes).map(|b| pdf_picture::pictures(b, side)).unwrap_or_default();
    let pages = pictures.len();
    let named = |(i, picture)| {
        let caption = if pages > 1 { format!("{what}, page {} of {pages}", i + 1) } else { what.to_owned() };
        PackPage { file: file.to_owned(), caption, picture }
    };
    pictures.into_iter().enumerate().map(named).collect()
}
