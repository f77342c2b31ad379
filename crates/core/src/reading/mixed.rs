//! Mixed originals: type, thin strokes and hard edges are made pure ink and pure ground, so that no screen
//! breaks them; everything else keeps its gray for the screen. The scan's paper is cleaned to white before, so that
//! its shade is no tone.
//!
//! A stroke is what a square as wide as the widest stroke cannot enter: the gray-level closing less the original
//! (the top-hat of mathematical morphology; Serra, "Image Analysis and Mathematical Morphology", 1982), where
//! that difference is strong. It is split from its ground half-way. Light strokes on dark ground are found
//! likewise by the opening. Edges of large shapes are steep within a tenth of a millimetre, and snap to the
//! nearer side.

use std::hint::select_unpredictable;

use rayon::prelude::*;

use super::extent::{Keep, extent};
use super::paper::Paper;
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

impl Radii {
    fn at(dpi: Dpi) -> Self {
        let px = |mm: f64| (libm::round(mm * dpi.px_per_mm()) as usize).max(1);
        Self {
            stroke: px(STROKE_MM).div_ceil(2).min(STRIP),
            rim: px(RIM_MM).min(64),
            edge: px(EDGE_MM).min(64),
        }
    }
}

/// How far a pixel's surroundings count.
pub(super) const MARGIN_MM: f64 = STROKE_MM + RIM_MM + 0.1;

/// What a pixel is, whatever the settings: it takes the first gray where the cut of the density is at most
/// `turn`, the second above it. Both then go through the settings' curve, which keeps black and white.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Cell {
    turn: u8,
    darker: u8,
    lighter: u8,
}

/// An original sorted into strokes, edges and tones: what does not depend on density, contrast and drop-out.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sorted {
    /// A raster of the same size.
    room: GrayRaster,
    cells: Vec<Cell>,
}

impl Sorted {
    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.room.pixels().len() + size_of_val(self.cells.as_slice())
    }

    /// Sorts a part of a scan whose paper is known; `at` is where its first pixel lies, in pixels of its resolution.
    pub fn of(raster: &GrayRaster, dpi: Dpi, paper: Option<&Paper>, at: (u32, u32)) -> Self {
        let mut cells = vec![Cell::default(); raster.pixels().len()];
        // Strips as thin as this keep both threads busy in a view as well.
        let strip = (raster.height() as usize).div_ceil(8).clamp(32, STRIP);
        let clean = |part: &mut GrayRaster, top: u32| {
            if let Some(paper) = paper {
                paper.clean(part, dpi, (at.0, at.1 + top));
            }
        };
        each_strip(raster, Radii::at(dpi), strip, clean, &mut cells, |out, cells| out.copy_from_slice(cells));
        Self { room: raster.blank(), cells }
    }

    /// The gray that a mixed reading aims at.
    pub fn tones(&self, reading: &Reading) -> GrayRaster {
        let settings = Settings::of(reading);
        let mut out = self.room.blank();
        out.pixels_mut()
            .par_chunks_mut(1 << 16)
            .zip(self.cells.par_chunks(1 << 16))
            .for_each(|(out, cells)| settings.apply(cells, out));
        out
    }
}

/// Black point, density, contrast and drop-out as a mixed reading takes them: strokes are full ink already, and the
/// black point is measured from the cleaned paper.
struct Settings {
    tone: [u8; 256],
    /// A darker scan takes more of the blurred rim into a stroke: half of it, three twentieths to either side;
    /// in 256ths.
    cut: u8,
}

impl Settings {
    fn of(reading: &Reading) -> Self {
        let tone = curve(reading);
        let cut = 128 - libm::round(reading.density.get() * 90.0) as i32;
        Self { tone, cut: cut.clamp(0, 255) as u8 }
    }

    fn apply(&self, cells: &[Cell], out: &mut [u8]) {
        for (o, c) in out.iter_mut().zip(cells) {
            let gray = select_unpredictable(c.turn >= self.cut, c.darker, c.lighter);
            *o = self.tone[usize::from(gray)];
        }
    }
}

/// The gray that a mixed reading aims at.
pub(super) fn tones(reading: &Reading, raster: &GrayRaster, dpi: Dpi) -> GrayRaster {
    let paper = Paper::of(raster, dpi);
    let clean = |part: &mut GrayRaster, top: u32| {
        if let Some(paper) = &paper {
            paper.clean(part, dpi, (0, top));
        }
    };
    strips(reading, raster, Radii::at(dpi), STRIP, clean)
}

/// `clean` takes the paper's shade out of some rows, of which it is given the first one's number.
fn strips(
    reading: &Reading,
    raster: &GrayRaster,
    radii: Radii,
    strip: usize,
    clean: impl Fn(&mut GrayRaster, u32) + Sync,
) -> GrayRaster {
    let settings = Settings::of(reading);
    let mut out = raster.blank();
    each_strip(raster, radii, strip, clean, out.pixels_mut(), |out, cells| settings.apply(cells, out));
    out
}

/// Sorts strip by strip and hands each strip's cells on with its part of `out`.
fn each_strip<T: Send>(
    raster: &GrayRaster,
    radii: Radii,
    strip: usize,
    clean: impl Fn(&mut GrayRaster, u32) + Sync,
    out: &mut [T],
    put: impl Fn(&mut [T], &[Cell]) + Sync,
) {
    let (width, height) = (raster.width() as usize, raster.height() as usize);
    let margin = 2 * radii.stroke + radii.rim.max(radii.edge);
    out.par_chunks_mut(width * strip).enumerate().for_each(|(i, out)| {
        let top = (i * strip).saturating_sub(margin);
        let bottom = ((i + 1) * strip + margin).min(height);
        let rows = raster.pixels().get(top * width..bottom * width).unwrap_or(&[]).to_vec();
        if let Ok(mut part) = GrayRaster::new(raster.width(), (bottom - top) as u32, rows) {
            clean(&mut part, top as u32);
            let skip = (i * strip - top) * width;
            let cells = sort(&part, radii, skip, out.len());
            put(out, &cells);
        }
    });
}

/// What `count` pixels are, after the first `skip`.
fn sort(g: &GrayRaster, radii: Radii, skip: usize, count: usize) -> Vec<Cell> {
    let closed = extent(&extent(g, radii.stroke, Keep::Greatest), radii.stroke, Keep::Least);
    let opened = extent(&extent(g, radii.stroke, Keep::Least), radii.stroke, Keep::Greatest);
    let dark = extent(&difference(&closed, g), radii.rim, Keep::Greatest);
    let light = extent(&difference(g, &opened), radii.rim, Keep::Greatest);
    let least = extent(g, radii.edge, Keep::Least);
    let greatest = extent(g, radii.edge, Keep::Greatest);
    fn wanted(r: &GrayRaster, skip: usize, count: usize) -> impl Iterator<Item = &u8> {
        r.pixels().iter().skip(skip).take(count)
    }
    let of = |r| wanted(r, skip, count);
    of(g)
        .zip(of(&dark).zip(of(&light)))
        .zip(of(&closed).zip(of(&opened)))
        .zip(of(&least).zip(of(&greatest)))
        .map(|(((&v, (&stroke, &glint)), (&closed, &opened)), (&low, &high))| {
            if stroke >= CONTRAST && stroke >= glint {
                Cell { turn: depth(closed - v, stroke), darker: 0, lighter: closed }
            } else if glint >= CONTRAST {
                // Light strokes are the mirror image: a high cut opens them.
                Cell { turn: 255 - depth(v - opened, glint), darker: opened, lighter: 255 }
            } else if high - low >= CONTRAST {
                Cell { turn: depth(high - v, high - low), darker: low, lighter: high }
            } else {
                Cell { turn: 0, darker: v, lighter: v }
            }
        })
        .collect()
}

/// The greatest cut, in 256ths of the whole, that a part still exceeds.
fn depth(part: u8, whole: u8) -> u8 {
    (u32::from(part) * 256).div_ceil(u32::from(whole).max(1)).saturating_sub(1).min(255) as u8
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

    /// The obvious twin of a cell and its settings: the parts compared as they are.
    fn slow(reading: &Reading, g: &GrayRaster, radii: Radii) -> Vec<u8> {
        let tone = curve(reading);
        let closed = extent(&extent(g, radii.stroke, Keep::Greatest), radii.stroke, Keep::Least);
        let opened = extent(&extent(g, radii.stroke, Keep::Least), radii.stroke, Keep::Greatest);
        let dark = extent(&difference(&closed, g), radii.rim, Keep::Greatest);
        let light = extent(&difference(g, &opened), radii.rim, Keep::Greatest);
        let (least, greatest) = (extent(g, radii.edge, Keep::Least), extent(g, radii.edge, Keep::Greatest));
        let cut = 128 - libm::round(reading.density.get() * 90.0) as i32;
        let beyond = |part: u8, whole: u8, cut: i32| i32::from(part) * 256 > i32::from(whole) * cut;
        let at = |r: &GrayRaster, i: usize| r.pixels()[i];
        (0..g.pixels().len())
            .map(|i| {
                let (v, stroke, glint) = (at(g, i), at(&dark, i), at(&light, i));
                let (low, high) = (at(&least, i), at(&greatest, i));
                if stroke >= CONTRAST && stroke >= glint {
                    let c = at(&closed, i);
                    if beyond(c - v, stroke, cut) { 0 } else { tone[usize::from(c)] }
                } else if glint >= CONTRAST {
                    let o = at(&opened, i);
                    if beyond(v - o, glint, 256 - cut) { 255 } else { tone[usize::from(o)] }
                } else if high - low >= CONTRAST {
                    tone[usize::from(if beyond(high - v, high - low, cut) { low } else { high })]
                } else {
                    tone[usize::from(v)]
                }
            })
            .collect()
    }

    #[test]
    fn sorted_pixels_read_as_their_parts_compare() {
        let pixels = (0..120 * 160_u32)
            .map(|i| {
                let noise = ((i / 2).wrapping_mul(2_654_435_761) >> 24) as u8;
                if i / 120 % 40 < 20 { noise } else { noise / 3 + (i % 120) as u8 }
            })
            .collect();
        let noise = GrayRaster::new(120, 160, pixels).unwrap();
        for (d, stroke, rim) in [(0.0, 4, 1), (1.0, 7, 2), (-1.0, 3, 1), (0.37, 5, 2)] {
            let reading = Reading { density: Swing::new(d), ..mixed() };
            let radii = Radii { stroke, rim, edge: 1 };
            assert_eq!(
                strips(&reading, &noise, radii, 64, |_, _| {}).pixels(),
                slow(&reading, &noise, radii)
            );
        }
    }

    #[test]
    fn strips_join_without_a_seam() {
        let pixels = (0..90 * 150_u32).map(|i| ((i / 3).wrapping_mul(2_654_435_761) >> 24) as u8).collect();
        let noise = GrayRaster::new(90, 150, pixels).unwrap();
        let radii = Radii { stroke: 6, rim: 2, edge: 1 };
        let all = |strip| strips(&mixed(), &noise, radii, strip, |_, _| {});
        assert!(all(20) == all(1000));
    }
}
