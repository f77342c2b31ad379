//! A plate as a PDF of one page: a gray image on the sheet, pixel for pixel.

use std::io::{self, Write};

use pdf_writer::{Content, Filter, Finish as _, Name, Pdf, Ref, TextStr};
use sha2::{Digest as _, Sha256};

use super::{Plate, Plates};
use crate::deflate::Zlib;
use crate::page_boxes::PageBoxes;

pub(super) fn write(
    out: &mut dyn Write,
    plates: &Plates,
    plate: &Plate,
    bands: impl Iterator<Item = io::Result<Vec<u8>>>,
) -> io::Result<()> {
    let mut packed = Zlib::new();
    for band in bands {
        packed.extend(&band?);
    }
    let packed = packed.finish();
    let [catalog, pages, page, content, info, image] = [1, 2, 3, 4, 5, 6].map(Ref::new);
    let boxes = PageBoxes::new(plates.sheet, plates.trim, plates.dpi);
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(pages).viewer_preferences().pair(Name(b"PrintScaling"), Name(b"None"));
    let title = format!("{}: {}", plates.title, plate.label);
    pdf.document_info(info)
        .title(TextStr(&title))
        .producer(TextStr(concat!("Slipsheet ", env!("CARGO_PKG_VERSION"))));
    pdf.pages(pages).kids([page]).count(1);
    let mut one = pdf.page(page);
    boxes.set(&mut one);
    one.parent(pages).contents(content);
    one.resources().x_objects().pair(Name(b"Plate"), image);
    one.finish();
    let mut object = pdf.image_xobject(image, &packed);
    object.filter(Filter::FlateDecode);
    object.width(plates.width as i32).height(plates.height as i32).bits_per_component(8);
    object.color_space_name(Name(b"DeviceGray"));
    object.finish();
    let mut drawn = Content::new();
    let [w, h] = boxes.image(plates.width, plates.height);
    drawn.transform([w, 0.0, 0.0, h, 0.0, 0.0]).x_object(Name(b"Plate"));
    pdf.stream(content, &drawn.finish());
    let mut hash = Sha256::new();
    hash.update(title.as_bytes());
    hash.update(&packed);
    let id = hash.finalize()[..16].to_vec();
    pdf.set_file_id((id.clone(), id));
    out.write_all(&pdf.finish())
}
