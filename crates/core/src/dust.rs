//! Dust and hairs on a scan, outside of the art: found, and filled with the paper around.
//!
//! Dust is small, darker than the paper's noise, and alone: no art lies near it, as a letter lies near its full stop,
//! and at most one other thing of its kind does, as the dots of a stipple or the grains of a crayon lie near one
//! another. A rule of our own; its figures are common practice, no source.
//!
//! What is near is told from everything on the sheet and not from dust alone, so that a larger limit finds the dust
//! of a smaller one as well, and what was kept once is kept again when the rest has gone.

mod near;
mod parts;

use rayon::prelude::*;

use crate::geometry::Rect;
use crate::raster::GrayRaster;
use crate::reading::flat;
use crate::units::Dpi;
use near::{Kinds, has_art_near};
use parts::{Extent, Part, Parts};

/// A hair is thinner than this and as long as so many specks at most.
const HAIR_MM: f64 = 0.2;
const HAIR_LONG: f64 = 8.0;
/// Art as near as so many times the size of a speck makes it a part of the art, within these limits in mm. A full
/// stop is within about twice its size of its letter.
const REACH: f64 = 6.0;
const REACH_MM: std::ops::RangeInclusive<f64> = 1.0..=3.0;
/// Others of its kind that make a speck one of a stipple, and one that makes a hair one of a hatching.
const STIPPLE: usize = 2;
const HATCHING: usize = 1;
/// Walks over a scan at the most: where specks have gone, the paper's shade is known better.
const MOST_ROUNDS: usize = 8;
/// The ring around a speck whose median fills it: its nearer and its farther side, in pixels from the speck.
const RING: (usize, usize) = (2, 5);

/// A speck of dust, or a hair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Speck {
    /// The pixels that it lies in.
    pub rect: Rect,
    /// How many of them are its own.
    pub pixels: usize,
    /// Thin and longer than a speck may be.
    pub is_hair: bool,
}

/// The dust on a scan, from top to bottom: specks up to a size in mm, and hairs up to eight times as long. What is
/// within a millimetre or more of the art is left to it, so dust in a line of type is not found.
pub fn find_dust(raster: &GrayRaster, dpi: Dpi, largest_mm: f64) -> Vec<Speck> {
    let parts = Parts::of(&flat(raster, dpi), dpi);
    let dust = found(&parts, dpi, largest_mm);
    dust.iter().map(|(part, is_hair)| part.speck(*is_hair)).collect()
}

/// Fills the dust that [`find_dust`] finds with the paper around it. Returns how many specks and hairs have gone; no
/// pixel is darker afterwards, and none changes that is not of a speck or beside one.
pub fn remove_dust(raster: &mut GrayRaster, dpi: Dpi, largest_mm: f64) -> usize {
    let mut gone = 0;
    for _ in 0..MOST_ROUNDS {
        let parts = Parts::of(&flat(raster, dpi), dpi);
        let dust = found(&parts, dpi, largest_mm);
        if dust.is_empty() {
            break;
        }
        gone += dust.len();
        let paper: Vec<u8> = dust.par_iter().map(|(part, _)| ring(raster, &parts, part)).collect();
        for ((part, _), paper) in dust.iter().zip(paper) {
            fill(raster, &parts, part, paper);
        }
    }
    gone
}

/// The parts that are dust, with whether each is a hair.
fn found(parts: &Parts, dpi: Dpi, largest_mm: f64) -> Vec<(Part, bool)> {
    let largest = largest_mm.max(0.0) * dpi.px_per_mm();
    let kind = |part: &Part| -> Option<bool> {
        let long = part.extent.longer() as f64;
        let is_hair = long > largest;
        let fits = !is_hair
            || (long <= HAIR_LONG * largest && part.thickness() <= HAIR_MM * dpi.px_per_mm());
        (fits && part.stands_out).then_some(is_hair)
    };
    // By the number of its part: whether it is art, which is what stands out and is no dust by itself.
    let is_art: Vec<bool> =
        parts.all.par_iter().map(|p| p.stands_out && kind(p).is_none()).collect();
    let kinds = Kinds::of(parts, dpi);
    let is_dust = |(number, part): (usize, &Part)| {
        let is_hair = kind(part)?;
        let size = part.extent.longer() as f64 / dpi.px_per_mm();
        let (reach, most) = if is_hair {
            (*REACH_MM.end(), HATCHING)
        } else {
            ((REACH * size).clamp(*REACH_MM.start(), *REACH_MM.end()), STIPPLE)
        };
        let reach = (reach * dpi.px_per_mm()) as usize;
        let alone = !has_art_near(parts, &is_art, part, reach) && kinds.fewer_than(parts, number, most);
        alone.then_some((*part, is_hair))
    };
    parts.all.par_iter().enumerate().filter_map(is_dust).collect()
}

impl Part {
    fn speck(&self, is_hair: bool) -> Speck {
        let Extent { left, top, right, bottom } = self.extent;
        let (width, height) = (f64::from(right - left), f64::from(bottom - top));
        let rect = Rect { x: f64::from(left), y: f64::from(top), width, height };
        Speck { rect, pixels: self.pixels as usize, is_hair }
    }
}

/// The median of the paper around a part; white where there is none.
fn ring(raster: &GrayRaster, parts: &Parts, part: &Part) -> u8 {
    let (near, far) = RING;
    let inner = part.extent.grown(near, raster);
    let mut counts = [0_u32; 256];
    let outer = part.extent.grown(far, raster);
    for y in outer.top..outer.bottom {
        let row = raster.row(y);
        let is_inside = |x: u32| inner.holds(x, y);
        for x in (outer.left..outer.right).filter(|x| !is_inside(*x) && !parts.is_dark(*x, y)) {
            if let Some(gray) = row.get(x as usize) {
                counts[usize::from(*gray)] += 1;
            }
        }
    }
    let all: u32 = counts.iter().sum();
    let mut seen = 0;
    let median = counts.iter().position(|n| {
        seen += n;
        2 * seen > all
    });
    median.map_or(255, |gray| gray as u8)
}

/// Lightens a part and the pixels beside it to the paper's gray.
fn fill(raster: &mut GrayRaster, parts: &Parts, part: &Part, paper: u8) {
    let (width, height) = (raster.width(), raster.height());
    for run in parts.runs_of(part) {
        let columns = run.from.saturating_sub(1) as usize..(run.to + 1).min(width) as usize;
        for y in run.row.saturating_sub(1)..(run.row + 2).min(height) {
            let start = y as usize * width as usize;
            let row = raster.pixels_mut().get_mut(start + columns.start..start + columns.end);
            row.into_iter().flatten().for_each(|g| *g = (*g).max(paper));
        }
    }
}

#[cfg(test)]
mod tests;
