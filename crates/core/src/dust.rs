//! Dust.
use crate::raster::GrayRaster;
use crate::units::Dpi;
pub fn remove_dust(_raster: &mut GrayRaster, _dpi: Dpi, _largest_mm: f64) -> usize {
    0
}
