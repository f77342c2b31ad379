//! Scans of calibration sheets that were never printed: known inks, curves and press, then what a scanner
//! adds: a turn, uneven light and noise.

use std::path::{Path, PathBuf};

use slipsheet_core::calibrate::WedgeSheet;
use slipsheet_core::colour::{linear_from_srgb, srgb_from_linear};
use slipsheet_core::overprint::Overprint;
use slipsheet_core::tone::ToneCurve;
use slipsheet_core::units::Dpi;
use slipsheet_files::wedge;

/// Resolution of the scans.
pub const DPI: f64 = 120.0;

/// Scans a sheet printed by this press, turned by 2 degrees, and gives the file.
pub fn scan_of_sheet(
    folder: &Path,
    name: &str,
    sheet: &WedgeSheet,
    (model, curves): (&Overprint, &[ToneCurve]),
) -> PathBuf {
    let (w, h, flat) = wedge::preview(sheet, model, curves, Dpi::new(DPI).unwrap()).unwrap();
    let (width, height) = (w + 80, h + 80);
    let (sin, cos) = libm::sincos(2.0_f64.to_radians());
    let mut noise = 7_u32;
    let picture = image::RgbImage::from_fn(width, height, |x, y| {
        let (dx, dy) = (f64::from(x) - f64::from(width) / 2.0, f64::from(y) - f64::from(height) / 2.0);
        let (sx, sy) = (cos * dx + sin * dy + f64::from(w) / 2.0, cos * dy - sin * dx + f64::from(h) / 2.0);
        let inside = sx >= 0.0 && sy >= 0.0 && sx < f64::from(w) && sy < f64::from(h);
        let lamp =
            0.95 - 0.08 * f64::from(x) / f64::from(width) - 0.06 * (f64::from(y) / f64::from(height)).powi(2);
        let at = (sy.max(0.0) as usize * w as usize + sx.max(0.0) as usize) * 3;
        image::Rgb(std::array::from_fn(|c| {
            let v = if inside { linear_from_srgb(f64::from(flat[at + c]) / 255.0) } else { 0.02 };
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let grain = 3.0 * (f64::from(noise >> 8) / f64::from(1_u32 << 23) - 1.0);
            (srgb_from_linear(v * lamp) * 255.0 + grain).round().clamp(0.0, 255.0) as u8
        }))
    });
    let path = folder.join(name);
    picture.save(&path).unwrap();
    path
}
