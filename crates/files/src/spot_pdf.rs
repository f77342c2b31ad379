//! One PDF with a true separation for every ink (ISO 32000-1, 8.6.6): what a shop that separates by itself needs.
//!
//! A page for each printed face of every sheet; on it one image in a `DeviceN` space of the face's inks.
//!
//! Each ink has a Lab alternate relative to the paper. The inks together have the overprint model's own prediction
//! on the stock, sampled on a grid and used over the whole page, so that a viewer shows ink over ink on tinted paper
//! as the window does; a program that separates takes no note of it, and no plate carries the stock's tint.
//!
//! The file follows ISO 32000 and claims no more: what a shop's exchange standards ask for, an output intent above
//! all, describes presses with process inks.
//!
//! **Invariant:** each separation is the plate of that ink, byte for byte, inverted.

mod alternates;

#[cfg(test)]
mod tests;

use std::path::Path;

use pdf_writer::types::{OverprintMode, Predictor};
use pdf_writer::{Chunk, Content, Filter, Finish as _, Name, Pdf, Ref, TextStr};
use rayon::prelude::*;
use sha2::{Digest as _, Sha256};
use slipsheet_booking::schedule::printed_sides;
use slipsheet_document::printing::Printing;
use slipsheet_render::images::Images;

use crate::atomic;
use crate::deflate::Zlib;
use crate::page_boxes::PageBoxes;
use crate::pdf_parts::{self, Refs, SOFTWARE};
use crate::plates::{Plate, PlateError, PlateOptions, Plates};
use crate::scan::Progress;
use alternates::Alternates;

/// Writes the spot PDF; [`PlateOptions::format`] says nothing here.
pub fn write(
    printing: &Printing,
    images: &Images,
    options: &PlateOptions,
    path: &Path,
    progress: &Progress,
) -> Result<(), PlateError> {
    let bytes = document(printing, images, options, progress)?;
    Ok(atomic::write_bytes(path, &bytes)?)
}

/// The spot PDF in memory.
pub fn document(
    printing: &Printing,
    images: &Images,
    options: &PlateOptions,
    progress: &Progress,
) -> Result<Vec<u8>, PlateError> {
    let sides = printed_sides(printing);
    if sides.is_empty() {
        return Err(PlateError::Nothing);
    }
    let mut plates = Plates::of_sheet(printing, images, options, 0)?;
    let mut refs = Refs::default();
    let (catalog, tree, info) = (refs.next(), refs.next(), refs.next());
    let mut pdf = Pdf::new();
    let mut hash = Sha256::new();
    hash.update(printing.title.as_bytes());
    let mut kids = Vec::new();
    let boxes = PageBoxes::new(plates.sheet, plates.trim, plates.dpi);
    for (i, (sheet, face)) in sides.iter().enumerate() {
        let report = |part: f32| progress.set_fraction((i as f32 + part) / sides.len() as f32);
        if plates.on != *sheet {
            plates = Plates::of_sheet(printing, images, options, *sheet)?;
        }
        let of_face: Vec<&Plate> = plates.all.iter().filter(|p| p.face == *face).collect();
        let of_face = of_face.as_slice();
        let packed = interleaved(&plates, of_face, progress, report)?;
        hash.update(&packed);
        let alternates = Alternates::new(&printing.number(*sheet), of_face)?;
        let (page, content, image) = (refs.next(), refs.next(), refs.next());
        kids.push(page);
        let state = refs.next();
        let space = separations(&mut pdf, &mut refs, of_face, &alternates);
        let mut one = pdf.page(page);
        boxes.set(&mut one);
        one.parent(tree).contents(content);
        let mut resources = one.resources();
        resources.x_objects().pair(Name(b"Sheet"), image);
        resources.ext_g_states().pair(Name(b"Over"), state);
        resources.finish();
        one.finish();
        pdf.ext_graphics(state)
            .overprint(true)
            .overprint_fill(true)
            .overprint_mode(OverprintMode::IgnoreZeroChannel);
        let mut object = pdf.image_xobject(image, &packed);
        object.filter(Filter::FlateDecode);
        object.width(plates.width as i32).height(plates.height as i32).bits_per_component(8);
        object.pair(Name(b"ColorSpace"), space);
        object
            .decode_parms()
            .predictor(Predictor::PngOptimum)
            .colors(of_face.len() as i32)
            .bits_per_component(8)
            .columns(plates.width as i32);
        object.finish();
        let [w, h] = boxes.image(plates.width, plates.height);
        let mut drawn = Content::new();
        drawn.save_state();
        drawn.set_parameters(Name(b"Over")).transform([w, 0.0, 0.0, h, 0.0, 0.0]).x_object(Name(b"Sheet"));
        drawn.restore_state();
        pdf.stream(content, &drawn.finish());
    }
    pdf.pages(tree).count(kids.len() as i32).kids(kids);
    let title = format!("{}: separations", printing.title);
    let subject = format!(
        "Stencil duplicator ({}) with spot inks on {}",
        printing.press.name, printing.sheet.stock.name
    );
    pdf.document_info(info)
        .title(TextStr(&title))
        .subject(TextStr(&subject))
        .producer(TextStr(SOFTWARE))
        .trapped(pdf_writer::types::TrappingStatus::NotTrapped);
    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    root.viewer_preferences().pair(Name(b"PrintScaling"), Name(b"None"));
    root.finish();
    pdf_parts::file_id(&mut pdf, hash);
    progress.set_fraction(1.0);
    Ok(pdf.finish())
}

/// The plates of a face pixel by pixel, 255 for full ink, each row as its difference from the one above,
/// compressed.
fn interleaved(
    plates: &Plates,
    of_face: &[&Plate],
    progress: &Progress,
    report: impl Fn(f32),
) -> Result<Vec<u8>, PlateError> {
    let (width, inks) = (plates.width as usize, of_face.len());
    let line = width * inks;
    let mut packed = Zlib::new();
    let mut above = vec![0_u8; line];
    for (top, rows) in plates.bands() {
        if progress.is_cancelled() {
            return Err(PlateError::Cancelled);
        }
        report(top as f32 / plates.height as f32);
        let bands: Vec<Vec<u8>> = of_face.iter().map(|plate| plates.rows(plate, top, rows)).collect();
        let mut mixed = vec![0_u8; line * rows];
        mixed.par_chunks_mut(line).enumerate().for_each(|(y, row)| {
            for (k, band) in bands.iter().enumerate() {
                let gray = band.get(y * width..(y + 1) * width).unwrap_or(&[]);
                for (pixel, g) in row.chunks_exact_mut(inks).zip(gray) {
                    pixel[k] = 255 - g;
                }
            }
        });
        let mut filtered = vec![0_u8; (line + 1) * rows];
        let before = |y: usize| if y == 0 { &above[..] } else { &mixed[(y - 1) * line..y * line] };
        filtered.par_chunks_mut(line + 1).enumerate().for_each(|(y, out)| {
            // PNG's filter “up” (ISO/IEC 15948, 9.2).
            out[0] = 2;
            let now = &mixed[y * line..(y + 1) * line];
            for ((o, a), b) in out[1..].iter_mut().zip(now).zip(before(y)) {
                *o = a.wrapping_sub(*b);
            }
        });
        packed.extend(&filtered);
        above.copy_from_slice(&mixed[(rows - 1) * line..]);
    }
    Ok(packed.finish())
}

/// Writes the colour space of a face's inks and what it needs.
fn separations(pdf: &mut Chunk, refs: &mut Refs, of_face: &[&Plate], alternates: &Alternates) -> Ref {
    let names: Vec<&[u8]> = alternates.names.iter().map(String::as_bytes).collect();
    let (space, together) = (refs.next(), refs.next());
    let lab = refs.next();
    alternates.lab_space(pdf, lab);
    alternates.function(pdf, together);
    let singles: Vec<(Ref, Ref)> = of_face.iter().map(|_| (refs.next(), refs.next())).collect();
    for (k, (single, tint)) in singles.iter().enumerate() {
        alternates.tint(pdf, k, *tint);
        let Some(name) = names.get(k) else { continue };
        let mut separation = pdf.color_space(*single).separation(Name(name));
        separation.alternate_color_space_ref(lab).tint_ref(*tint);
    }
    let mut array = pdf.indirect(space).array();
    array.item(Name(b"DeviceN"));
    array.push().array().items(names.iter().map(|n| Name(n)));
    array.item(lab).item(together);
    let mut attributes = array.push().dict();
    attributes.pair(Name(b"Subtype"), Name(b"DeviceN"));
    let mut colorants = attributes.insert(Name(b"Colorants")).dict();
    for (name, (single, _)) in names.iter().zip(&singles) {
        colorants.pair(Name(name), *single);
    }
    colorants.finish();
    attributes.finish();
    array.finish();
    space
}
