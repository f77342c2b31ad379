//! A guide as a PDF (ISO 32000-1).

use pdf_writer::types::LineCapStyle;
use pdf_writer::{Content, Finish as _, Pdf, Rect};
use sha2::{Digest as _, Sha256};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Size;

use super::sketch::Item;
use crate::lettering::{FontError, PdfFonts, Rgb, name_fonts};
use crate::pdf_parts::{self, PT_PER_MM, Refs, content_in_mm};

/// How far the controls of a quarter circle's cubic reach, of its radius.
const ROUND: f64 = 0.552_284_749_830_793_6;

/// Pages of any size, each with what is drawn on it in mm from its top left.
pub(crate) fn pages(leaves: &[(Size, &[(Rgb, Item)])], title: &str) -> Result<Vec<u8>, FontError> {
    let mut fonts = PdfFonts::default();
    let drawn = leaves.iter().map(|(size, items)| (*size, drawn(items, *size, &mut fonts))).collect();
    document(drawn, &fonts, title)
}

/// Pages of which each is drawn, to be printed at true size.
pub(crate) fn document(
    pages: Vec<(Size, Vec<u8>)>,
    fonts: &PdfFonts,
    title: &str,
) -> Result<Vec<u8>, FontError> {
    let mut refs = Refs::default();
    let [catalog, tree, info] = std::array::from_fn(|_| refs.next());
    let mut pdf = Pdf::new();
    let mut hash = Sha256::new();
    hash.update(title.as_bytes());
    pdf_parts::true_size(&mut pdf, catalog, tree);
    pdf_parts::info(&mut pdf, info, title);
    let fonts = fonts.write(&mut pdf, &mut refs)?;

    let mut kids = Vec::new();
    for (size, drawn) in pages {
        let (id, content) = (refs.next(), refs.next());
        kids.push(id);
        let [width, height] = [size.width, size.height].map(|side| (side.get() * PT_PER_MM) as f32);
        let mut page = pdf.page(id);
        page.media_box(Rect::new(0.0, 0.0, width, height)).parent(tree).contents(content);
        name_fonts(&mut page.resources(), &fonts);
        page.finish();
        hash.update(&drawn);
        pdf.stream(content, &drawn);
    }
    pdf.pages(tree).count(kids.len() as i32).kids(kids);
    pdf_parts::file_id(&mut pdf, hash);
    Ok(pdf.finish())
}

fn drawn(items: &[(Rgb, Item)], size: Size, fonts: &mut PdfFonts) -> Vec<u8> {
    let mut content = content_in_mm(size);
    content.set_line_cap(LineCapStyle::ButtCap);
    let mut colour: Option<Rgb> = None;
    for (rgb, item) in items {
        if colour != Some(*rgb) {
            let [r, g, b] = rgb.map(|v| f32::from(v) / 255.0);
            content.set_stroke_rgb(r, g, b).set_fill_rgb(r, g, b);
            colour = Some(*rgb);
        }
        match item {
            Item::Line { from, to, width } => {
                content.set_line_width(*width as f32).move_to(from.x as f32, from.y as f32);
                content.line_to(to.x as f32, to.y as f32).stroke();
            }
            Item::Ring { centre, radius, width } => {
                content.set_line_width(*width as f32);
                trace_circle(&mut content, *centre, *radius);
                content.close_and_stroke();
            }
            Item::Words(line, from_line) => fonts.show(&mut content, line, *from_line),
        }
    }
    content.finish().into_vec()
}

pub(crate) fn trace_circle(content: &mut Content, centre: Point, radius: f64) {
    for (i, points) in circle(centre, radius).into_iter().enumerate() {
        let [(x, y), (x1, y1), (x2, y2), (x3, y3)] = points.map(|p| (p.x as f32, p.y as f32));
        if i == 0 {
            content.move_to(x, y);
        }
        content.cubic_to(x1, y1, x2, y2, x3, y3);
    }
}

/// A circle as four cubics, clockwise where y runs down.
pub(super) fn circle(centre: Point, radius: f64) -> [[Point; 4]; 4] {
    let at = |x: f64, y: f64| Point::new(centre.x + radius * x, centre.y + radius * y);
    let quarter = |(x, y): (f64, f64)| {
        // Each quarter begins at (x, y) and ends a quarter turn on.
        let (ex, ey) = (-y, x);
        [at(x, y), at(x + ROUND * ex, y + ROUND * ey), at(ex + ROUND * x, ey + ROUND * y), at(ex, ey)]
    };
    [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)].map(quarter)
}
