//! A guide as pixels. Lines are not put on whole pixels, as they are on a proof: a mark is worth what its
//! place is worth.

use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;

use super::GuideError;
use super::drawing::Drawing;
use super::pdf::circle;
use super::sketch::Item;
use crate::lettering::Curve;
use crate::proof::canvas::Canvas;

pub(super) fn rgb(drawing: &Drawing, dpi: Dpi, (width, height): (u32, u32)) -> Result<Vec<u8>, GuideError> {
    let canvas = Canvas::white(width as usize, height as usize, dpi);
    let mut canvas = canvas.map_err(|_full| GuideError::TooMuchMemory)?;
    for (colour, item) in &drawing.sketch.items {
        canvas.fill_outlines(&shape(item), dpi.px_per_mm(), *colour);
    }
    Ok(canvas.rgb)
}

/// What an item covers, as closed outlines in mm.
fn shape(item: &Item) -> Vec<Curve> {
    match item {
        Item::Line { from, to, width } => {
            let length = from.distance(*to).max(1e-9);
            let (nx, ny) = ((from.y - to.y) / length * width / 2.0, (to.x - from.x) / length * width / 2.0);
            let [a, b, c, d] = [(from, 1.0), (to, 1.0), (to, -1.0), (from, -1.0)]
                .map(|(p, side)| Point::new(p.x + side * nx, p.y + side * ny));
            vec![Curve::Line(a, b), Curve::Line(b, c), Curve::Line(c, d), Curve::Line(d, a)]
        }
        Item::Ring { centre, radius, width } => {
            let outer = circle(*centre, radius + width / 2.0).map(|[a, b, c, d]| Curve::Cubic(a, b, c, d));
            // Backwards, so that the inside is left out.
            let inner = circle(*centre, radius - width / 2.0).map(|[a, b, c, d]| Curve::Cubic(d, c, b, a));
            [outer, inner].concat()
        }
        Item::Words(line, from_line) => line.outlines(*from_line),
    }
}
