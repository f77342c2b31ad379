//! Photographs of originals made flat as they are read.

use slipsheet_core::projective::{Flatten, Lens};
use slipsheet_core::raster::{GrayRaster, check_size};
use slipsheet_document::layer::Flat;

/// The flat picture; `None` where its corners or its size allow none.
pub fn made_flat(photograph: &GrayRaster, flat: &Flat) -> Option<GrayRaster> {
    check_size(flat.width, flat.height).ok()?;
    flatten_of(photograph, flat).apply(photograph)
}

/// The way from a photograph to its flat picture.
pub fn flatten_of(photograph: &GrayRaster, flat: &Flat) -> Flatten {
    let lens = Lens::of_photo(photograph.width(), photograph.height(), f64::from(flat.lens) / 1e6);
    Flatten { corners: flat.points(), lens, width: flat.width, height: flat.height }
}
