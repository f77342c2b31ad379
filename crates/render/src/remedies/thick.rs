//! What of a plate is thick enough to have a fit: its shapes without type, hairlines and dust.
//!
//! Thick is what a disc as wide as the thinnest thick stroke covers without leaving the shape (a morphological
//! opening), with the corners that the disc does not reach. Pores are closed before, so that a grainy wash is one shape.

use rayon::prelude::*;

use super::{SHAPE, shape};
use slipsheet_base::distance::Nearest;
use slipsheet_base::morph::{choked, spread};
use slipsheet_core::raster::GrayRaster;

/// Strokes narrower than this, in mm, are thin.
pub(super) const THIN: f64 = 1.0;
/// Half the width of pores that do not count, in mm.
const PORE: f64 = 0.1;
/// How far a thick shape reaches beyond the discs that it holds, in mm: into its corners.
const CORNER: f64 = 0.25;
/// How far inside its edge a shape has the tone of the edge, in mm: a scan's edge is blurred over about this much.
const INSIDE: f64 = 0.15;
/// How far outside its core a shape's soft edge ends, in mm.
const SOFT: f64 = 0.4;

/// The thick shapes of a plate.
pub(super) struct Thick {
    width: usize,
    px_per_mm: f64,
    /// The nearest pixel of one.
    on: Nearest,
    /// The nearest pixel outside all shapes, thin ones too.
    off: Nearest,
    /// The nearest pixel that is inside a thick one, past its soft edge.
    core: Nearest,
}

impl Thick {
    /// `None` where a plate has none.
    pub(super) fn of(plate: &GrayRaster, px_per_mm: f64) -> Option<Self> {
        let width = plate.width() as usize;
        let pore = libm::floor(PORE * px_per_mm + 0.5);
        let closed = choked(&spread(&shape(plate), pore), pore);
        let on: Vec<bool> = closed.pixels().par_iter().map(|g| *g < 128).collect();
        drop(closed);
        let (on, off) = opened(&on, width, px_per_mm)?;
        let depth = INSIDE * px_per_mm + 0.5;
        let core = picked(&on, width, |x, y| {
            let inks = plate.pixels().get(y * width + x).is_some_and(|g| 255 - g >= SHAPE);
            inks && distance(&off, x, y) > depth
        });
        let core = Nearest::of(width, on.len() / width, &core).filter(|n| n.seed(0, 0).is_some())?;
        let on = Nearest::of(width, on.len() / width, &on)?;
        Some(Self { width, px_per_mm, on, off, core })
    }

    /// Whether a pixel belongs to a shape.
    pub(super) fn has(&self, (x, y): (usize, usize)) -> bool {
        self.on.seed(x, y) == Some((x, y))
    }

    /// The nearest place of a shape.
    pub(super) fn way_in(&self, x: usize, y: usize) -> Option<(usize, usize)> {
        self.on.seed(x, y)
    }

    /// The nearest place that is inside a shape, past its soft edge.
    pub(super) fn core(&self, x: usize, y: usize) -> Option<(usize, usize)> {
        self.core.seed(x, y)
    }

    /// The nearest place outside all shapes, thin ones too.
    pub(super) fn way_out(&self, x: usize, y: usize) -> Option<(usize, usize)> {
        self.off.seed(x, y)
    }

    /// How deep inside a shape the middle of a pixel lies, in mm; 0 outside.
    pub(super) fn depth(&self, x: usize, y: usize) -> f64 {
        (distance(&self.off, x, y) - 0.5).max(0.0) / self.px_per_mm
    }

    /// Whether a pixel is inside a shape, past its soft edge; pores are.
    pub(super) fn is_inside(&self, x: usize, y: usize) -> bool {
        self.has((x, y)) && distance(&self.off, x, y) > INSIDE * self.px_per_mm + 0.5
    }

    /// How far outside the shapes the middle of a pixel lies, in mm; 0 inside.
    pub(super) fn outside(&self, x: usize, y: usize) -> f64 {
        (distance(&self.on, x, y) - 0.5).max(0.0) / self.px_per_mm
    }

    /// Whether a pixel belongs to a shape or to its soft edge.
    pub(super) fn reaches(&self, x: usize, y: usize) -> bool {
        distance(&self.core, x, y) <= SOFT * self.px_per_mm
    }

    /// The ink of the nearest place that is inside a shape, 0 none to 255.
    pub(super) fn tone(&self, plate: &GrayRaster, x: usize, y: usize) -> u8 {
        let gray = self.core(x, y).and_then(|(sx, sy)| plate.pixels().get(sy * self.width + sx));
        255 - gray.copied().unwrap_or(255)
    }

    /// The plate's thick shapes as if they were solid, with their soft edges where these are: 0 is ink.
    pub(super) fn evened(&self, plate: &GrayRaster) -> GrayRaster {
        let mut out = plate.clone();
        out.pixels_mut().par_chunks_mut(self.width).enumerate().for_each(|(y, row)| {
            // Most of a sheet is bare.
            for (x, g) in row.iter_mut().enumerate().filter(|(_, g)| **g < 255) {
                let (ink, tone) = (255 - u16::from(*g), u16::from(self.tone(plate, x, y)).max(1));
                let part = if self.reaches(x, y) { ink * 255 / tone } else { 0 };
                *g = 255 - part.min(255) as u8;
            }
        });
        out
    }
}

/// The thick part of a mask, and the nearest place outside the mask; `None` where nothing is thick.
pub(super) fn opened(mask: &[bool], width: usize, px_per_mm: f64) -> Option<(Vec<bool>, Nearest)> {
    let height = mask.len().checked_div(width)?;
    let off = Nearest::of(width, height, &mask.par_iter().map(|on| !on).collect::<Vec<_>>())?;
    // From the middle of a pixel to that of the first one outside it is half a pixel more than to the edge, on
    // either side of a stroke.
    let radius = THIN / 2.0 * px_per_mm + 1.0;
    let deep = picked(mask, width, |x, y| distance(&off, x, y) > radius);
    let deep = Nearest::of(width, height, &deep).filter(|n| n.seed(0, 0).is_some())?;
    let reach = radius + CORNER * px_per_mm;
    Some((picked(mask, width, |x, y| distance(&deep, x, y) <= reach), off))
}

/// The pixels of a mask that are such.
fn picked(mask: &[bool], width: usize, is_such: impl Fn(usize, usize) -> bool + Sync) -> Vec<bool> {
    let mut picked = mask.to_vec();
    picked.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, on) in row.iter_mut().enumerate().filter(|(_, on)| **on) {
            *on = is_such(x, y);
        }
    });
    picked
}

/// The distance to the nearest seed in pixels; endless where there is none.
pub(super) fn distance(nearest: &Nearest, x: usize, y: usize) -> f64 {
    nearest.squared(x, y).map_or(f64::INFINITY, |d| libm::sqrt(d as f64))
}
