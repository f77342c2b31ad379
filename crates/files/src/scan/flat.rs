//! Photographs of originals made flat as they are read.

use slipsheet_base::projective::{Flatten, Lens};
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::{GrayRaster, check_size};
use slipsheet_document::layer::Flat;

/// The flat picture; `None` where its corners or its size allow none.
pub(super) fn made_flat(photograph: &GrayRaster, flat: &Flat) -> Option<GrayRaster> {
    check_size(flat.width, flat.height).ok()?;
    warp(photograph, flat).apply(photograph)
}

fn warp(photograph: &GrayRaster, flat: &Flat) -> Flatten {
    let (width, height) = (f64::from(photograph.width()), f64::from(photograph.height()));
    let lens = Lens {
        middle: Point::new(width / 2.0, height / 2.0),
        unit: libm::hypot(width, height) / 2.0,
        k: f64::from(flat.lens) / 1e6,
    };
    Flatten { corners: flat.points(), lens, width: flat.width, height: flat.height }
}
