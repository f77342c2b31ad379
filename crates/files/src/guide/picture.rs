//! A guide as pixels. Lines are not put on whole pixels, as they are on a proof: a mark is worth what its
//! place is worth.

use ab_glyph_rasterizer::{Point as Px, Rasterizer, point};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;

use super::drawing::{Drawing, Item, Rgb};
use super::lettering::Curve;
use super::pdf::circle;

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
            let inner = circle(*centre, radius - width / 2.0).into_iter().map(|c| match c {
                // Backwards, so that the inside is left out.
                Curve::Cubic(a, b, c, d) => Curve::Cubic(d, c, b, a),
                other @ (Curve::Line(..) | Curve::Quad(..)) => other,
            });
            circle(*centre, radius + width / 2.0).into_iter().chain(inner).collect()
        }
        Item::Outline(curves) => curves.clone(),
    }
}

struct Picture {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

impl Picture {
    fn fill(&mut self, curves: &[Curve], ppm: f64, colour: Rgb) {
        let corners = curves.iter().flat_map(|c| match *c {
            Curve::Line(a, b) => vec![a, b],
            Curve::Quad(a, b, c) => vec![a, b, c],
            Curve::Cubic(a, b, c, d) => vec![a, b, c, d],
        });
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
        for p in corners {
            low = (low.0.min(p.x * ppm), low.1.min(p.y * ppm));
            high = (high.0.max(p.x * ppm), high.1.max(p.y * ppm));
        }
        if !(low.0 <= high.0 && low.1 <= high.1) {
            return;
        }
        let (x0, y0) = (low.0.floor() - 1.0, low.1.floor() - 1.0);
        let side = |from: f64, to: f64| (to.ceil() - from + 2.0) as usize;
        let mut ink = Rasterizer::new(side(x0, high.0), side(y0, high.1));
        let at = |p: Point| -> Px { point((p.x * ppm - x0) as f32, (p.y * ppm - y0) as f32) };
        for curve in curves {
            match *curve {
                Curve::Line(a, b) => ink.draw_line(at(a), at(b)),
                Curve::Quad(a, b, c) => ink.draw_quad(at(a), at(b), at(c)),
                Curve::Cubic(a, b, c, d) => ink.draw_cubic(at(a), at(b), at(c), at(d)),
            }
        }
        ink.for_each_pixel_2d(|x, y, cover| {
            if cover > 0.0 {
                self.blend(
                    x0 as i64 + i64::from(x),
                    y0 as i64 + i64::from(y),
                    colour,
                    f64::from(cover.min(1.0)),
                );
            }
        });
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
