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
/// A speck's own pixels are at least this share as dark, against the paper, as its darkest one.
const CORE: f64 = 0.34;

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

/// The dust on a scan, from top to bottom: specks up to a size in mm, and hairs up to eight times as long.
///
/// What lies within one to three millimetres of the art, the larger the farther, is left to it: dust in a line of type
/// is not found.
pub fn find_dust(raster: &GrayRaster, dpi: Dpi, largest_mm: f64) -> Vec<Speck> {
    let parts = Parts::of(&flat(raster, dpi), dpi);
    let dust = found(&parts, dpi, largest_mm);
    dust.iter().map(|(part, is_hair)| part.speck(*is_hair)).collect()
}

/// Fills the dust that [`find_dust`] finds with the paper around it. Returns how many specks and hairs have gone; no
/// pixel is darker afterwards, and none changes that is not of a speck or beside one.
pub fn remove_dust(raster: &mut GrayRaster, dpi: Dpi, largest_mm: f64) -> usize {
    let mut gone: Vec<Extent> = Vec::new();
    for _ in 0..MOST_ROUNDS {
        let flat = flat(raster, dpi);
        let parts = Parts::of(&flat, dpi);
        let dust = found(&parts, dpi, largest_mm);
        if dust.is_empty() {
            break;
        }
        let fillings: Vec<Filling> =
            dust.par_iter().map(|(part, _)| Filling::of(raster, &flat, &parts, part)).collect();
        fillings.iter().for_each(|filling| filling.fill(raster));
        // What is left of a speck is no other one.
        let known = gone.len();
        let is_new = |extent: &Extent| !gone.iter().take(known).any(|old| old.touches(extent));
        let new: Vec<Extent> = dust.iter().map(|(part, _)| part.extent).filter(is_new).collect();
        gone.extend(new);
    }
    gone.len()
}

/// The parts that are dust, with whether each is a hair.
fn found(parts: &Parts, dpi: Dpi, largest_mm: f64) -> Vec<(Part, bool)> {
    let largest = largest_mm.max(0.0) * dpi.px_per_mm();
    let kind = |part: &Part| -> Option<bool> {
        let long = part.extent.longer() as f64;
        let is_hair = long > largest;
        let fits = !is_hair || (long <= HAIR_LONG * largest && part.thickness() <= HAIR_MM * dpi.px_per_mm());
        // What goes from rim to rim is no speck on anything.
        (fits && part.stands_out && !parts.is_as_wide_or_high(part)).then_some(is_hair)
    };
    // By the number of its part: whether it is art, which is what stands out and is no dust by itself.
    let is_art: Vec<bool> = parts.all.par_iter().map(|p| p.stands_out && kind(p).is_none()).collect();
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
        // Of a stipple's dots that is soon known.
        let alone = kinds.fewer_than(parts, number, most) && !has_art_near(parts, &is_art, part, reach);
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

/// What covers a speck.
struct Filling {
    /// Columns and rows of its own pixels.
    pixels: Vec<(u32, u32)>,
    paper: u8,
}

impl Filling {
    fn of(raster: &GrayRaster, flat: &GrayRaster, parts: &Parts, part: &Part) -> Self {
        let gray = |of: &GrayRaster, x: u32, y: u32| of.row(y).get(x as usize).copied().unwrap_or(255);
        let all = || parts.runs_of(part).flat_map(|run| (run.from..run.to).map(|x| (x, run.row)));
        let darkest = all().min_by_key(|&(x, y)| gray(flat, x, y));
        let dark = darkest.map_or(0, |(x, y)| gray(raster, x, y));
        let around = ring(raster, parts, part);
        // Where nothing around is lighter, as in a narrow gap, the sheet tells how light its paper is here.
        let shade = || {
            let share = darkest.map_or(255, |(x, y)| gray(flat, x, y).max(1));
            (f64::from(dark.max(1)) * 255.0 / f64::from(share)).min(255.0) as u8
        };
        let paper = if around > dark { around } else { shade().max(dark.saturating_add(1)) };

        // Grain that hangs on to a speck is none of it.
        let least = f64::from(paper - dark.min(paper)) * CORE;
        let is_own = |&(x, y): &(u32, u32)| f64::from(paper) - f64::from(gray(raster, x, y)) >= least;
        Self { pixels: all().filter(is_own).collect(), paper }
    }

    /// Lightens its pixels and those beside them to the paper's gray.
    fn fill(&self, raster: &mut GrayRaster) {
        let (width, height) = (raster.width() as usize, raster.height());
        for &(x, y) in &self.pixels {
            let columns = x.saturating_sub(1) as usize..(x as usize + 2).min(width);
            for y in y.saturating_sub(1)..(y + 2).min(height) {
                let start = y as usize * width;
                let row = raster.pixels_mut().get_mut(start + columns.start..start + columns.end);
                row.into_iter().flatten().for_each(|g| *g = (*g).max(self.paper));
            }
        }
    }
}

/// The median of the paper around a part; black where there is none.
fn ring(raster: &GrayRaster, parts: &Parts, part: &Part) -> u8 {
    let (near, far) = RING;
    let (inner, outer) = (part.extent.grown(near, raster), part.extent.grown(far, raster));
    let mut counts = [0_u32; 256];
    for y in outer.top..outer.bottom {
        let row = raster.row(y);
        for x in (outer.left..outer.right).filter(|x| !inner.holds(*x, y) && !parts.is_dark(*x, y)) {
            counts[row.get(x as usize).copied().map_or(255, usize::from)] += 1;
        }
    }
    let all: u32 = counts.iter().sum();
    let mut seen = 0;
    let median = counts.iter().position(|n| {
        seen += n;
        2 * seen > all
    });
    median.map_or(0, |gray| gray as u8)
}

#[cfg(test)]
mod tests;
