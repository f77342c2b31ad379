//! A guide as pixels. Lines are not put on whole pixels, as they are on a proof: a mark is worth what its
//! place is worth.

use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;

use super::drawing::{Drawing, Item};
use super::pdf::circle;
use crate::lettering::{Cover, Curve, Rgb, cover};

pub(super) fn rgb(drawing: &Drawing, dpi: Dpi, (width, height): (u32, u32)) -> Vec<u8> {
    let mut picture = Picture {
        width: width as usize,
        height: height as usize,
        rgb: vec![255; width as usize * height as usize * 3],
    };
    let ppm = dpi.px_per_mm();
    for (colour, item) in &drawing.items {
        picture.fill(&shape(item), ppm, *colour);
    }
    picture.rgb
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

struct Picture {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

impl Picture {
    fn fill(&mut self, curves: &[Curve], px_per_mm: f64, colour: Rgb) {
        for (x, y, share) in cover(curves, px_per_mm).iter().flat_map(Cover::pixels) {
            self.blend(x, y, colour, share);
        }
    }

    fn blend(&mut self, x: i64, y: i64, colour: Rgb, cover: f64) {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { return };
        if x >= self.width || y >= self.height {
            return;
        }
        let at = (y * self.width + x) * 3;
        let Some(pixel) = self.rgb.get_mut(at..at + 3) else { return };
        for (p, c) in pixel.iter_mut().zip(colour) {
            *p = (f64::from(*p) + (f64::from(c) - f64::from(*p)) * cover + 0.5) as u8;
        }
    }
}
