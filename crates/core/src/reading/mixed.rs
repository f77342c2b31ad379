//! Mixed originals: type, thin strokes and hard edges are made pure ink and pure ground, so that no screen
//! breaks them; everything else keeps its gray for the screen.
//!
//! A stroke is what a square as wide as the widest stroke cannot enter: the gray-level closing less the original
//! (the top-hat of mathematical morphology; Serra, "Image Analysis and Mathematical Morphology", 1982), where
//! that difference is strong. It is split from its ground half-way. Light strokes on dark ground are found
//! likewise by the opening. Edges of large shapes are steep within a tenth of a millimetre, and snap to the
//! nearer side.

use rayon::prelude::*;

use super::extent::{Keep, extent};
use super::{Reading, curve};
use crate::raster::GrayRaster;
use crate::units::Dpi;

/// Strokes up to this width are line (covers text type; common practice, no source).
const STROKE_MM: f64 = 1.0;
/// How far the rim of a stroke may be blurred.
const RIM_MM: f64 = 0.13;
/// How far the rim of a large shape may be blurred.
const EDGE_MM: f64 = 0.085;
/// Grays between a stroke and its ground, from which on it is line: softer marks are tones.
const CONTRAST: u8 = 96;
/// Rows that are worked at once, with what they need of their neighbours.
const STRIP: usize = 256;

#[derive(Clone, Copy)]
struct Radii {
    stroke: usize,
    rim: usize,
    edge: usize,
}

/// The gray that a mixed reading aims at.
pub(super) fn tones(reading: &Reading, raster: &GrayRaster, dpi: Dpi) -> GrayRaster {
    let px = |mm: f64| (libm::round(mm * dpi.px_per_mm()) as usize).max(1);
    let radii = Radii {
        stroke: px(STROKE_MM).div_ceil(2).min(STRIP),
        rim: px(RIM_MM).min(64),
        edge: px(EDGE_MM).min(64),
    };
    strips(reading, raster, radii, STRIP)
}

fn strips(reading: &Reading, raster: &GrayRaster, radii: Radii, strip: usize) -> GrayRaster {
    let (width, height) = (raster.width() as usize, raster.height() as usize);
    let margin = 2 * radii.stroke + radii.rim.max(radii.edge);
    let mut out = raster.clone();
    out.pixels_mut().par_chunks_mut(width * strip).enumerate().for_each(|(i, out)| {
        let top = (i * strip).saturating_sub(margin);
        let bottom = ((i + 1) * strip + margin).min(height);
        let rows = raster.pixels().get(top * width..bottom * width).unwrap_or(&[]).to_vec();
        if let Ok(part) = GrayRaster::new(raster.width(), (bottom - top) as u32, rows) {
            let done = split(reading, &part, radii);
            let skip = (i * strip - top) * width;
            out.iter_mut().zip(done.iter().skip(skip)).for_each(|(o, d)| *o = *d);
        }
    });
    out
}

fn split(reading: &Reading, g: &GrayRaster, radii: Radii) -> Vec<u8> {
    let tone = curve(reading.density, reading.contrast, reading.background);
    let closed = extent(&extent(g, radii.stroke, Keep::Greatest), radii.stroke, Keep::Least);
    let opened = extent(&extent(g, radii.stroke, Keep::Least), radii.stroke, Keep::Greatest);
    let dark = extent(&difference(&closed, g), radii.rim, Keep::Greatest);
    let light = extent(&difference(g, &opened), radii.rim, Keep::Greatest);
    let least = extent(g, radii.edge, Keep::Least);
    let greatest = extent(g, radii.edge, Keep::Greatest);
    // A darker scan takes more of the blurred rim into a stroke: half of it, three twentieths to either side.
    let cut = 128 - libm::round(reading.density.get() * 90.0) as i32;
    let beyond = |part: u8, whole: u8, cut: i32| i32::from(part) * 256 > i32::from(whole) * cut;
    let mut out = g.pixels().to_vec();
    let strokes = dark.pixels().iter().zip(light.pixels());
    let grounds = closed.pixels().iter().zip(opened.pixels());
    let edges = least.pixels().iter().zip(greatest.pixels());
    for (o, ((strokes, grounds), edges)) in out.iter_mut().zip(strokes.zip(grounds).zip(edges)) {
        let ((&stroke, &glint), (&closed, &opened), (&low, &high)) = (strokes, grounds, edges);
        let v = *o;
        *o = if stroke >= CONTRAST && stroke >= glint {
            if beyond(closed - v, stroke, cut) { 0 } else { tone[usize::from(closed)] }
        } else if glint >= CONTRAST {
            if beyond(v - opened, glint, 256 - cut) { 255 } else { tone[usize::from(opened)] }
        } else if high - low >= CONTRAST {
            tone[usize::from(if beyond(high - v, high - low, cut) { low } else { high })]
        } else {
            tone[usize::from(v)]
        };
    }
    out
}

/// The first less the second, which is nowhere greater.
fn difference(a: &GrayRaster, b: &GrayRaster) -> GrayRaster {
    let mut out = a.clone();
    out.pixels_mut().iter_mut().zip(b.pixels()).for_each(|(o, b)| *o = o.saturating_sub(*b));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::{Mode, Ruling, Swing};
    use crate::units::Degrees;

    fn mixed() -> Reading {
        Reading::of(Mode::Mixed { ruling: Ruling::default(), angle: Degrees::new(45.0) })
    }

    /// A pale tint with a soft-edged stroke, and a wash that runs from 200 to 80.
    fn page() -> GrayRaster {
        let pixels = (0..400 * 200)
            .map(|i| {
                let (x, y) = (i % 400, i / 400);
                match (x, y) {
                    (50, _) | (57, _) => 120,
                    (51..=56, _) => 30,
                    (200.., _) => (200 - (x - 200) * 120 / 200) as u8,
                    _ => 215,
                }
            })
            .collect();
        GrayRaster::new(400, 200, pixels).unwrap()
    }

    #[test]
    fn a_stroke_becomes_ink_and_its_ground_and_the_wash_stay() {
        let toned = mixed().tones(&page(), Dpi::new(300.0).unwrap());
        let row = toned.row(100);
        assert!(row[51..=56].iter().all(|&g| g == 0), "{:?}", &row[45..62]);
        assert!(row[50] == 0 || row[50] == 215);
        assert!(row[30..=48].iter().chain(&row[60..150]).all(|&g| g == 215), "the tint has a halo");
        assert_eq!(&row[210..400], &page().row(100)[210..400]);
    }

    #[test]
    fn a_light_line_in_a_solid_stays_open() {
        let pixels = (0..200 * 100).map(|i| if (98..102).contains(&(i % 200)) { 210 } else { 15 }).collect();
        let toned = mixed().tones(&GrayRaster::new(200, 100, pixels).unwrap(), Dpi::new(300.0).unwrap());
        assert!(toned.row(50)[98..102].iter().all(|&g| g == 255));
        assert_eq!(toned.row(50)[90], 15);
    }

    #[test]
    fn a_darker_reading_thickens_strokes() {
        let ink = |d: f64| {
            let r = Reading { density: Swing::new(d), ..mixed() };
            r.tones(&page(), Dpi::new(300.0).unwrap()).row(100)[40..70].iter().filter(|&&g| g == 0).count()
        };
        assert!(ink(-1.0) < ink(1.0), "{} {}", ink(-1.0), ink(1.0));
    }

    #[test]
    fn strips_join_without_a_seam() {
        let pixels = (0..90 * 150_u32).map(|i| ((i / 3).wrapping_mul(2_654_435_761) >> 24) as u8).collect();
        let noise = GrayRaster::new(90, 150, pixels).unwrap();
        let radii = Radii { stroke: 6, rim: 2, edge: 1 };
        assert!(strips(&mixed(), &noise, radii, 20) == strips(&mixed(), &noise, radii, 1000));
    }
}
