//! Pictures in colour: the same files as scans, read channel by channel by the same decoders.
//!
//! Transparency is laid over white as in scans. A colour profile in the file is honoured; where there is none the bytes
//! are taken as sRGB.

use slipsheet_core::raster::{ColourRaster, GrayRaster, RasterError};
use slipsheet_core::units::Dpi;

use super::profile::{FromProfile, Profile, embedded};
use super::{GrayFrom, Progress, ScanError, ScanInfo, ScanOptions, read_bytes};

/// A picture that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    pub raster: ColourRaster,
    /// From the file, if it says one.
    pub dpi: Option<Dpi>,
    pub info: ScanInfo,
    /// What its numbers meant.
    pub profile: Profile,
}

/// Which page, and how fine a page without pixels of its own is rasterised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PictureOptions {
    pub page: u32,
    pub resolution: Option<Dpi>,
    /// Colours outside sRGB are brought to its edge, rather than kept in a wider space.
    pub srgb_alone: bool,
}

/// Reads a picture in colour from a file that is in memory; `name` stands for its path.
///
/// # Errors
/// As [`super::read_bytes`].
pub fn read_picture(
    name: &str,
    bytes: &[u8],
    options: &PictureOptions,
    progress: &Progress,
) -> Result<Picture, ScanError> {
    let channel = |gray: GrayFrom| {
        let scan = ScanOptions {
            page: options.page,
            resolution: options.resolution,
            gray,
            ..ScanOptions::default()
        };
        read_bytes(name, bytes, &scan, progress)
    };
    // A damaged file is found out once.
    let red = channel(GrayFrom::Red)?;
    let (green, blue) = rayon::join(|| channel(GrayFrom::Green), || channel(GrayFrom::Blue));
    let (green, blue) = (green?, blue?);
    let (width, height) = (red.raster.width(), red.raster.height());
    let pixels = interleaved(&red.raster, &green.raster, &blue.raster)
        .ok_or_else(|| ScanError::TooMuchMemory { name: name.to_owned() })?;
    let icc = if red.info.format.is_vector() { None } else { embedded(bytes) };
    let from = FromProfile::of(icc.as_deref(), options.srgb_alone);
    let mut pixels = pixels;
    from.bring(&mut pixels);
    let format = red.info.format;
    let wrong = |e: RasterError| ScanError::Damaged { name: name.to_owned(), format, detail: e.to_string() };
    let raster = ColourRaster::new(width, height, from.wide, pixels).map_err(wrong)?;
    // A vector page says its colours itself.
    let profile = if red.info.format.is_vector() { Profile::Srgb } else { from.profile };
    Ok(Picture { raster, dpi: red.dpi, info: red.info, profile })
}

/// Three planes as pixels; `None` where there is no memory for them.
fn interleaved(red: &GrayRaster, green: &GrayRaster, blue: &GrayRaster) -> Option<Vec<u8>> {
    use rayon::prelude::*;
    let mut pixels = Vec::new();
    pixels.try_reserve_exact(red.pixels().len() * 3).ok()?;
    pixels.resize(red.pixels().len() * 3, 0);
    let width = red.width() as usize;
    pixels.par_chunks_mut(width * 3).enumerate().for_each(|(y, row)| {
        let of = |plane: &GrayRaster| plane.row(y as u32).to_vec();
        let (r, g, b) = (of(red), of(green), of(blue));
        for (px, ((r, g), b)) in row.as_chunks_mut::<3>().0.iter_mut().zip(r.iter().zip(&g).zip(&b)) {
            *px = [*r, *g, *b];
        }
    });
    Some(pixels)
}
