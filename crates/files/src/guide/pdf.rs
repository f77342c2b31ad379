//! A guide as a PDF (ISO 32000-1). Millimetres become points; y runs up there.

use pdf_writer::types::LineCapStyle;
use pdf_writer::{Content, Pdf, Rect, Ref};
use sha2::{Digest as _, Sha256};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::units::Size;

use super::drawing::{Drawing, Item, Rgb};
use super::lettering::Curve;
use crate::pdf_parts::{self, PT_PER_MM};

/// How far the controls of a quarter circle's cubic reach, of its radius.
const ROUND: f64 = 0.552_284_749_830_793_6;

pub(super) fn document(drawings: &[Drawing], title: &str) -> Vec<u8> {
    let leaves: Vec<_> = drawings.iter().map(|d| (d.original, d.items.as_slice())).collect();
    pages(&leaves, title)
}

/// A page of this size with these things on it, in mm from its top left.
pub(crate) fn page(size: Size, items: &[(Rgb, Item)], title: &str) -> Vec<u8> {
    pages(&[(size, items)], title)
}

/// Pages of any size, each with what is drawn on it in mm from its top left.
pub(crate) fn pages(leaves: &[(Size, &[(Rgb, Item)])], title: &str) -> Vec<u8> {
    let [catalog, tree, info] = [1, 2, 3].map(Ref::new);
    let refs = |i: usize| {
        let first = 4 + 2 * i as i32;
        (Ref::new(first), Ref::new(first + 1))
    };
    let mut pdf = Pdf::new();
    let mut hash = Sha256::new();
    hash.update(title.as_bytes());
    pdf_parts::true_size(&mut pdf, catalog, tree);
    pdf_parts::info(&mut pdf, info, title);
    pdf.pages(tree).kids((0..leaves.len()).map(|i| refs(i).0)).count(leaves.len() as i32);
    for (i, (size, items)) in leaves.iter().enumerate() {
        let (page, content) = refs(i);
        let (width, height) = (size.width.get() * PT_PER_MM, size.height.get() * PT_PER_MM);
        let page_from_mm = Affine::shift(0.0, height) * Affine::scale(PT_PER_MM, -PT_PER_MM);
        let media = Rect::new(0.0, 0.0, width as f32, height as f32);
        pdf.page(page).media_box(media).parent(tree).contents(content).resources();
        let drawn = drawn(items, page_from_mm);
        hash.update(&drawn);
        pdf.stream(content, &drawn);
    }
    pdf_parts::file_id(&mut pdf, hash);
    pdf.finish()
}

fn drawn(items: &[(Rgb, Item)], page_from_mm: Affine) -> Vec<u8> {
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
                path(&mut content, &circle(*centre, *radius), at);
                content.close_and_stroke();
            }
            Item::Outline(curves) => {
                if !curves.is_empty() {
                    path(&mut content, curves, at);
                    content.fill_nonzero();
                }
            }
        }
    }
    content.finish().into_vec()
}

fn path(content: &mut Content, curves: &[Curve], at: impl Fn(Point) -> (f32, f32)) {
    let mut pen: Option<Point> = None;
    for curve in curves {
        if pen != Some(curve.start()) {
            let (x, y) = at(curve.start());
            content.move_to(x, y);
        }
        let mut cubic = |b: Point, c: Point, d: Point| {
            let ((x1, y1), (x2, y2), (x3, y3)) = (at(b), at(c), at(d));
            content.cubic_to(x1, y1, x2, y2, x3, y3);
        };
        match *curve {
            Curve::Line(_, b) => {
                let (x, y) = at(b);
                content.line_to(x, y);
            }
            // A quadratic as a cubic: its controls lie two thirds of the way to the quadratic's.
            Curve::Quad(a, b, c) => {
                let third =
                    |e: Point| Point::new(e.x + (b.x - e.x) * 2.0 / 3.0, e.y + (b.y - e.y) * 2.0 / 3.0);
                cubic(third(a), third(c), c);
            }
            Curve::Cubic(_, b, c, d) => cubic(b, c, d),
        }
        pen = Some(curve.end());
    }
}

/// A circle as four cubics, clockwise on the page.
pub(crate) fn circle(centre: Point, radius: f64) -> Vec<Curve> {
    let at = |x: f64, y: f64| Point::new(centre.x + radius * x, centre.y + radius * y);
    let quarter = |(x, y): (f64, f64)| {
        // Each quarter begins at (x, y) and ends a quarter turn on.
        let (ex, ey) = (-y, x);
        Curve::Cubic(
            at(x, y),
            at(x + ROUND * ex, y + ROUND * ey),
            at(ex + ROUND * x, ey + ROUND * y),
            at(ex, ey),
        )
    };
    [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)].map(quarter).to_vec()
}
