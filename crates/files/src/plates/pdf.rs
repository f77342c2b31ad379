//! A plate as a PDF of one page: a gray image on the sheet, pixel for pixel.

use std::io::{self, Write};

use pdf_writer::{Content, Filter, Finish as _, Name, Pdf, Ref};
use sha2::{Digest as _, Sha256};

use super::{Plate, Plates};
use crate::deflate::Zlib;
use crate::page_boxes::PageBoxes;
use crate::pdf_parts;

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
    pdf_parts::true_size(&mut pdf, catalog, pages);
    let title = format!("{}: {}", plates.title, plates.about(plate));
    pdf_parts::info(&mut pdf, info, &title);
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
    pdf_parts::file_id(&mut pdf, hash);
    out.write_all(&pdf.finish())
}
