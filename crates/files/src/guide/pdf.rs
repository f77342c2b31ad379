//! A guide as a PDF (ISO 32000-1). Millimetres become points; y runs up there.

use pdf_writer::types::LineCapStyle;
use pdf_writer::{Content, Finish as _, Pdf, Rect, Ref};
use sha2::{Digest as _, Sha256};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::units::Size;

use super::drawing::Item;
use crate::lettering::{FontError, PdfFonts, Rgb, name_fonts};
use crate::pdf_parts::{self, PT_PER_MM};

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
    let mut next = 0;
    let mut fresh = || {
        next += 1;
        Ref::new(next)
    };
    let [catalog, tree, info] = std::array::from_fn(|_| fresh());
    let mut pdf = Pdf::new();
    let mut hash = Sha256::new();
    hash.update(title.as_bytes());
    pdf_parts::true_size(&mut pdf, catalog, tree);
    pdf_parts::info(&mut pdf, info, title);
    let fonts = fonts.write(&mut pdf, &mut fresh)?;

    let mut kids = Vec::new();
    for (size, drawn) in pages {
        let (id, content) = (fresh(), fresh());
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
    let page_from_mm = Affine::scale(PT_PER_MM, -PT_PER_MM) * Affine::shift(0.0, -size.height.get());
    let mut content = Content::new();
    content.set_line_cap(LineCapStyle::ButtCap);
    let at = |p: Point| {
        let p = page_from_mm * p;
        (p.x as f32, p.y as f32)
    };
    let mut colour: Option<Rgb> = None;
    for (rgb, item) in items {
        if colour != Some(*rgb) {
            let [r, g, b] = rgb.map(|v| f32::from(v) / 255.0);
            content.set_stroke_rgb(r, g, b).set_fill_rgb(r, g, b);
            colour = Some(*rgb);
        }
        match item {
            Item::Line { from, to, width } => {
                let ((x0, y0), (x1, y1)) = (at(*from), at(*to));
                content.set_line_width((width * PT_PER_MM) as f32).move_to(x0, y0).line_to(x1, y1).stroke();
            }
            Item::Ring { centre, radius, width } => {
                content.set_line_width((width * PT_PER_MM) as f32);
                trace_circle(&mut content, circle(*centre, *radius), at);
            }
            Item::Words(line, from_line) => fonts.show(&mut content, line, page_from_mm * *from_line),
        }
    }
    content.finish().into_vec()
}

/// A circle as the path of a page.
pub(crate) fn trace_circle(
    content: &mut Content,
    quarters: [[Point; 4]; 4],
    at: impl Fn(Point) -> (f32, f32),
) {
    for (i, points) in quarters.into_iter().enumerate() {
        let [(x, y), (x1, y1), (x2, y2), (x3, y3)] = points.map(&at);
        if i == 0 {
            content.move_to(x, y);
        }
        content.cubic_to(x1, y1, x2, y2, x3, y3);
    }
}

/// A circle as four cubics, clockwise where y runs down.
pub(crate) fn circle(centre: Point, radius: f64) -> [[Point; 4]; 4] {
    let at = |x: f64, y: f64| Point::new(centre.x + radius * x, centre.y + radius * y);
    let quarter = |(x, y): (f64, f64)| {
        // Each quarter begins at (x, y) and ends a quarter turn on.
        let (ex, ey) = (-y, x);
        [at(x, y), at(x + ROUND * ex, y + ROUND * ey), at(ex + ROUND * x, ey + ROUND * y), at(ex, ey)]
    };
    [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)].map(quarter)
}
