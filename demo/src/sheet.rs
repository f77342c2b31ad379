//! From strips to sheets: every page goes where the fold scheme says, the machine's margin stays white,
//! and amounts become grays.

use std::path::Path;

use anyhow::Context as _;
use rayon::prelude::*;
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_paper::fold::{self, Face};

use crate::cover::second_strip;
use crate::crayon::{inked, waxed};
use crate::field::Field;
use crate::lettering::Case;
use crate::pages::{PAGE_W, Strip, first_strip};
use crate::shape::{V, v};
use crate::wash::settled;

/// The strip of the sheet's edge, in mm, that the machine cannot print.
pub const MARGIN: f64 = 4.0;

/// The originals, in printing order.
#[derive(Debug, Clone, PartialEq)]
pub struct Originals {
    /// Wash, for the sea ink.
    pub sea: GrayRaster,
    /// Crayon, for the coral ink.
    pub weed: GrayRaster,
    /// Cut type and line, for the dark ink.
    pub ink: GrayRaster,
}

/// Pages of the two strips, left to right.
const STRIPS: [[u32; 4]; 2] = [[2, 3, 4, 5], [6, 7, 8, 1]];

/// Draws the three originals at a resolution; 300 dpi is what they are made for.
///
/// # Errors
/// When a bundled font or fold scheme is damaged, or the resolution is none.
pub fn originals(dpi: f64) -> anyhow::Result<Originals> {
    let dpi = Dpi::new(dpi)?;
    let case = Case::open()?;
    let k = dpi.px_per_mm() as f32;
    let strips = [first_strip(&case, k), second_strip(&case, k)];
    let layer = |pick: fn(&Strip) -> &Field, finish: fn(f32, V, u32) -> f32, levels: f32| {
        lay_out(dpi, &strips.each_ref().map(pick), |amount, p| gray(finish(amount, p, 7), levels))
    };
    Ok(Originals {
        sea: layer(|s| &s.wash, settled, 48.0)?,
        weed: layer(|s| &s.weed, waxed, 14.0)?,
        ink: layer(|s| &s.ink, inked, 12.0)?,
    })
}

/// Few enough grays that the grain does not swell the file; bare paper is exactly white.
fn gray(amount: f32, levels: f32) -> u8 {
    let step = (amount.clamp(0.0, 1.0) * 0.97 * levels + 0.5).floor() / levels;
    (255.0 - 255.0 * step + 0.5) as u8
}

fn lay_out(dpi: Dpi, strips: &[&Field; 2], tone: impl Fn(f32, V) -> u8 + Sync) -> anyhow::Result<GrayRaster> {
    let scheme = fold::find("slit8").context("restore the fold scheme slit8 in assets/folds")?;
    let size = scheme.oriented(SheetFormat::Letter.size());
    let (width, height) = size.pixels(dpi);
    let mut sheet = GrayRaster::filled(width, height, 255)?;
    let k = dpi.px_per_mm();
    for place in scheme.places(size, Face::Front) {
        let spot = STRIPS
            .iter()
            .zip(strips)
            .find_map(|(pages, field)| Some((pages.iter().position(|p| *p == place.page)?, *field)));
        let (column, field) = spot.with_context(|| format!("give page {} a place on a strip", place.page))?;
        let page_from_face = place.face_from_page.inverse().context("the fold scheme flattens a page")?;
        let r = place.rect;
        sheet.pixels_mut().par_chunks_mut(width as usize).enumerate().for_each(|(row, line)| {
            let y = (row as f64 + 0.5) / k;
            if y < r.y || y >= r.y + r.height || y < MARGIN || y > size.height.get() - MARGIN {
                return;
            }
            for (col, out) in line.iter_mut().enumerate() {
                let x = (col as f64 + 0.5) / k;
                if x < r.x || x >= r.x + r.width || x < MARGIN || x > size.width.get() - MARGIN {
                    continue;
                }
                let p = page_from_face * Point::new(x, y);
                let p = v(p.x as f32 + column as f32 * PAGE_W, p.y as f32);
                *out = tone(field.near(p), p);
            }
        });
    }
    Ok(sheet)
}

/// Writes a gray PNG that states its resolution, with whichever row filter makes the smallest file.
/// Returns the number of bytes.
///
/// # Errors
/// When the file cannot be written.
pub fn write_png(path: &Path, raster: &GrayRaster, dpi: f64) -> anyhow::Result<usize> {
    let filters =
        [png::Filter::NoFilter, png::Filter::Up, png::Filter::Sub, png::Filter::Paeth, png::Filter::Adaptive];
    let tries: Vec<Vec<u8>> = filters
        .into_par_iter()
        .map(|f| encoded(raster, dpi, f))
        .collect::<Result<_, _>>()
        .context("PNG encoding failed")?;
    let best = tries.into_iter().min_by_key(Vec::len).unwrap_or_default();
    std::fs::write(path, &best).with_context(|| format!("cannot write {}", path.display()))?;
    Ok(best.len())
}

fn encoded(raster: &GrayRaster, dpi: f64, filter: png::Filter) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, raster.width(), raster.height());
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    encoder.set_filter(filter);
    let per_metre = (dpi / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(raster.pixels())?;
    writer.finish()?;
    Ok(bytes)
}

/// A rough picture of the three inks on pale green stock, each multiplied over the last; for the maker's eye only.
///
/// # Errors
/// When the file cannot be written.
pub fn write_preview(path: &Path, o: &Originals) -> anyhow::Result<()> {
    const STOCK: [f32; 3] = [221.0, 231.0, 216.0];
    const INKS: [[f32; 3]; 3] = [[58.0, 152.0, 150.0], [255.0, 112.0, 84.0], [46.0, 48.0, 110.0]];
    let pixels = o.sea.pixels().iter().zip(o.weed.pixels()).zip(o.ink.pixels());
    let rgb: Vec<u8> = pixels
        .flat_map(|((a, b), c)| {
            let mut colour = STOCK;
            for (gray, ink) in [a, b, c].into_iter().zip(INKS) {
                let amount = 1.0 - f32::from(*gray) / 255.0;
                for (channel, full) in colour.iter_mut().zip(ink) {
                    *channel *= 1.0 - amount * (1.0 - full / 255.0);
                }
            }
            colour.map(|c| c as u8)
        })
        .collect();
    let file = std::fs::File::create(path).with_context(|| format!("cannot write {}", path.display()))?;
    let mut encoder = png::Encoder::new(std::io::BufWriter::new(file), o.sea.width(), o.sea.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_compression(png::Compression::Fast);
    encoder.write_header()?.write_image_data(&rgb)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const COARSE: f64 = 60.0;

    #[test]
    fn the_same_bytes_come_out_twice() {
        assert_eq!(originals(COARSE).unwrap(), originals(COARSE).unwrap());
    }

    #[test]
    fn every_page_has_something_of_every_ink_and_the_margin_has_nothing() {
        let o = originals(COARSE).unwrap();
        let scheme = fold::find("slit8").unwrap();
        let size = scheme.oriented(SheetFormat::Letter.size());
        let k = COARSE / 25.4;
        for raster in [&o.sea, &o.weed, &o.ink] {
            for place in scheme.places(size, Face::Front) {
                let r = place.rect;
                let ink: f64 = (0..raster.height())
                    .filter(|y| (r.y..r.y + r.height).contains(&(f64::from(*y) / k)))
                    .flat_map(|y| raster.row(y).iter().enumerate())
                    .filter(|(x, _)| (r.x..r.x + r.width).contains(&(*x as f64 / k)))
                    .map(|(_, g)| 1.0 - f64::from(*g) / 255.0)
                    .sum();
                let share = ink / (r.width * r.height * k * k);
                assert!(share > 0.004, "page {}: {share}", place.page);
            }
            let edge = (MARGIN * k) as usize;
            let (w, h) = (raster.width() as usize, raster.height() as usize);
            for (i, g) in raster.pixels().iter().enumerate() {
                let (x, y) = (i % w, i / w);
                assert!(x >= edge && y >= edge && x < w - edge && y < h - edge || *g == 255);
            }
        }
    }
}
