//! Photographs of originals made flat as they are read.

use slipsheet_core::projective::{Flatten, Lens};
use slipsheet_core::raster::{GrayRaster, check_size};
use slipsheet_document::layer::Flat;

/// The flat picture; `None` where its corners or its size allow none.
pub fn made_flat(photograph: &GrayRaster, flat: &Flat) -> Option<GrayRaster> {
    check_size(flat.width, flat.height).ok()?;
    let lens = Lens::of_photo(photograph.width(), photograph.height(), f64::from(flat.lens) / 1e6);
    let map = Flatten { corners: flat.points(), lens, width: flat.width, height: flat.height };
    map.apply(photograph)
}
