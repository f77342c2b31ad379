//! What remedies make of a plate.

mod growth;
mod meeting;
mod thick;

use rayon::prelude::*;

use slipsheet_base::distance::Nearest;
use slipsheet_base::morph::{choked, spread};
use slipsheet_core::raster::GrayRaster;
use slipsheet_document::ids::LayerId;
use slipsheet_document::remedy::{Growth, Remedy};

/// What counts as printed when another layer's shape is taken, of 255.
const SHAPE: u8 = 30;
/// How far a filled hole reaches beyond the other layer's edge, in mm, so that no seam is left.
const SEAM: f64 = 0.4;

/// A plate after its remedies. `other` gives the plate of another layer, of the same size.
pub(crate) fn remedied(
    mut plate: GrayRaster,
    remedies: &[Remedy],
    px_per_mm: f64,
    other: impl Fn(LayerId) -> Option<GrayRaster>,
) -> GrayRaster {
    let px = |mm: &Growth| mm.get() * px_per_mm;
    for remedy in remedies {
        plate = match remedy {
            Remedy::Spread(by) => spread(&plate, px(by)),
            Remedy::Choke(by) => choked(&plate, px(by)),
            Remedy::Knockout { under, trap } => match other(*under) {
                Some(other) => knocked_out(plate, &choked(&shape(&other), px(trap))),
                None => plate,
            },
            Remedy::Fill { under } => match other(*under) {
                Some(other) => filled(plate, &spread(&shape(&other), SEAM * px_per_mm)),
                None => plate,
            },
            Remedy::Trap { with, by } => match other(*with) {
                Some(other) => meeting::trapped(plate, &other, by.get(), px_per_mm),
                None => plate,
            },
            Remedy::Gap { from, by } => match other(*from) {
                Some(other) => meeting::apart(plate, &other, by.get(), px_per_mm),
                None => plate,
            },
        };
    }
    plate
}

/// A plate as a shape: a tint is there as a solid is, and only its edge is soft.
fn shape(plate: &GrayRaster) -> GrayRaster {
    plate.mapped(&std::array::from_fn(|g| {
        let ink = 255 - g as u8;
        255 - (u16::from(ink.min(SHAPE)) * 255 / u16::from(SHAPE)) as u8
    }))
}

/// A plate without what lies under a shape.
fn knocked_out(mut plate: GrayRaster, shape: &GrayRaster) -> GrayRaster {
    let rows = plate.pixels_mut().par_chunks_mut(1 << 16).zip(shape.pixels().par_chunks(1 << 16));
    rows.for_each(|(plate, shape)| {
        for (p, s) in plate.iter_mut().zip(shape) {
            *p = (*p).max(255 - s);
        }
    });
    plate
}

/// A plate that goes on under a shape as the nearest place outside the shape does.
fn filled(mut plate: GrayRaster, shape: &GrayRaster) -> GrayRaster {
    let (w, h) = (plate.width() as usize, plate.height() as usize);
    let outside: Vec<bool> = shape.pixels().iter().map(|s| *s == 255).collect();
    let Some(nearest) = Nearest::of(w, h, &outside) else { return plate };
    let before = plate.clone();
    plate.pixels_mut().par_chunks_mut(w).enumerate().for_each(|(y, row)| {
        for (x, p) in row.iter_mut().enumerate().filter(|(x, _)| outside.get(y * w + x) == Some(&false)) {
            let from = nearest.seed(x, y).and_then(|(sx, sy)| before.row(sy as u32).get(sx).copied());
            *p = (*p).min(from.unwrap_or(255));
        }
    });
    plate
}
