//! Drawn coverages for the tests of this module.

use super::cover::{Covers, InkCover};
use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::units::Size;

/// A shape in mm with its coverage; each is an ink of its own.
#[derive(Clone, Copy)]
pub(super) enum Drawn {
    /// From x0, y0 to x1, y1.
    Box(f64, f64, f64, f64, f64),
    /// Middle and radius.
    Disc(f64, f64, f64, f64),
    /// Middle, side, and turn in degrees of a square.
    Square(f64, f64, f64, f64),
    /// A box with a round hole: x0, y0, x1, y1, then the hole's middle and radius.
    Holed([f64; 4], [f64; 3]),
    /// A box with a box left out: x0, y0, x1, y1 of each.
    Framed([f64; 4], [f64; 4]),
}

impl Drawn {
    fn cover(self, x: f64, y: f64) -> f64 {
        let within = |x0: f64, y0: f64, x1: f64, y1: f64| (x0..x1).contains(&x) && (y0..y1).contains(&y);
        match self {
            Self::Box(x0, y0, x1, y1, a) => f64::from(within(x0, y0, x1, y1)) * a,
            Self::Disc(cx, cy, r, a) => f64::from(libm::hypot(x - cx, y - cy) < r) * a,
            Self::Square(cx, cy, side, degrees) => {
                let (sin, cos) = libm::sincos(degrees.to_radians());
                let (x, y) = (x - cx, y - cy);
                let along = (x * cos + y * sin).abs().max((y * cos - x * sin).abs());
                f64::from(along < side / 2.0)
            }
            Self::Holed([x0, y0, x1, y1], [cx, cy, r]) => {
                f64::from(within(x0, y0, x1, y1) && libm::hypot(x - cx, y - cy) >= r)
            }
            Self::Framed(outer, inner) => {
                let inside = |[x0, y0, x1, y1]: [f64; 4]| within(x0, y0, x1, y1);
                f64::from(inside(outer) && !inside(inner))
            }
        }
    }
}

/// Two or three inks as films: deep blue, red, dark.
pub(super) fn model(inks: usize) -> Overprint {
    let lab = |l, a, b| Lab::new(l, a, b).unwrap();
    let film = |solid| Film { solid, on: Lab::WHITE, on_floor: 0.05, opacity: 0.0, emission: 1.0 };
    let films = [film(lab(40.0, 0.0, -45.0)), film(lab(55.0, 65.0, 40.0)), film(lab(22.0, 2.0, 0.0))];
    let ground = Ground { paper: lab(93.0, 0.0, 2.0), floor: 0.05, trap: 0.9, n: 2.0 };
    Overprint::new(&ground, &films[..inks]).unwrap()
}

/// Inks from shapes, in printing order, by 16 x 16 samples a pixel.
pub(super) fn covers(width_mm: f64, height_mm: f64, px_per_mm: f64, shapes: &[Drawn]) -> Covers {
    let (width, height) = ((width_mm * px_per_mm) as usize, (height_mm * px_per_mm) as usize);
    let plane = |shape: &Drawn| -> Vec<u8> {
        let pixel = |i: usize| {
            let (x, y) = ((i % width) as f64, (i / width) as f64);
            let corner = |dx: f64, dy: f64| shape.cover((x + dx) / px_per_mm, (y + dy) / px_per_mm);
            let corners = [corner(0.0, 0.0), corner(1.0, 0.0), corner(0.0, 1.0), corner(1.0, 1.0)];
            // No shape here is smaller than a pixel.
            if corners.iter().all(|c| *c == corners[0]) {
                return (corners[0] * 255.0 + 0.5) as u8;
            }
            let mut sum = 0.0;
            for s in 0..256 {
                let (dx, dy) = ((f64::from(s % 16) + 0.5) / 16.0, (f64::from(s / 16) + 0.5) / 16.0);
                sum += shape.cover((x + dx) / px_per_mm, (y + dy) / px_per_mm);
            }
            (sum / 256.0 * 255.0 + 0.5) as u8
        };
        (0..width * height).map(pixel).collect()
    };
    let inks = shapes
        .iter()
        .enumerate()
        .map(|(layer, s)| InkCover {
            layer,
            name: format!("ink {layer}"),
            plane: plane(s),
            curve: (0..256).map(|v| v as f32 / 255.0).collect(),
        })
        .collect();
    Covers {
        sheet: Size::mm(width_mm, height_mm),
        width,
        height,
        px_per_mm,
        inks,
        model: model(shapes.len()),
    }
}
