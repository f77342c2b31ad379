//! The simulated run: copies as the press will make them, and how many of them are good.
//!
//! **The model.** On copy `i` every pass lands with a normal deviation of the press's spread between passes,
//! and each ink of a pass of two or more with one of the spread within a pass on top. The first pass slips
//! against the paper as the others do, and every later one lies off it by the press's offset. A drift moves
//! each pass along the sheet's travel against the one before it, more with every copy. In each pass a sheet may be
//! late on one side, and copies that follow one another may slip alike.

mod alike;
mod contact;
mod slipper;
mod sold;

pub use contact::{ContactSheet, contact_sheet};
pub(crate) use slipper::Feed;
pub use slipper::{LayerSlip, Slipper};
pub use sold::{Sold, of_hundred};

use rayon::prelude::*;

use super::SlipError;
use super::painter::{Change, Painter};
use super::study::{Opening, Study};
use super::vision::READING_DISTANCE;
use slipsheet_core::geometry::Affine;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::acceptance::{Acceptance, EdgeShare};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

/// Copies that a share is worked out from.
pub const COPIES: usize = 1000;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunOptions {
    pub face: Face,
    pub copies: usize,
    /// The same seed gives the same copies.
    pub seed: u64,
    pub dpi: Dpi,
    /// Viewing distance in mm.
    pub distance: f64,
}

impl Default for RunOptions {
    fn default() -> Self {
        Self {
            face: Face::Front,
            copies: COPIES,
            seed: 1,
            dpi: Dpi::nearest(100.0),
            distance: READING_DISTANCE,
        }
    }
}

/// One copy.
#[derive(Debug, Clone, PartialEq)]
pub struct Copied {
    /// Its number, from 0.
    pub index: usize,
    pub slips: Vec<LayerSlip>,
    /// How much it differs from the perfect print.
    pub change: Change,
    /// How far its tight edges open, for the accepted share of the edges.
    pub opening: Opening,
}

impl Copied {
    /// Whether it would sell; its opening is of the accepted share of the edges.
    pub fn sells(&self, acceptance: &Acceptance) -> bool {
        self.opening.sells(acceptance) && self.change.sells(acceptance)
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct RunSummary {
    pub sold: Sold,
    /// Mean of the copies' mean differences.
    pub mean: f64,
    /// The numbers of the best, the middle and the worst copy, by the gap that each needs and then by the difference.
    pub ranked: [usize; 3],
}

/// A run, ready to be drawn.
pub struct SimulatedRun {
    options: RunOptions,
    acceptance: Acceptance,
    study: Study,
    painter: Painter,
    slipper: Slipper,
    scene: Scene,
}

impl SimulatedRun {
    /// A run of a face on the project's press, by a study of that face; copies are judged by what the project accepts.
    pub fn new(
        printing: &Printing,
        images: &Images,
        study: Study,
        options: RunOptions,
    ) -> Result<Self, SlipError> {
        let painter = Painter::new(printing, images, options.face, options.dpi, options.distance)?;
        let show = Show::meant(options.face);
        let scene = Scene::new(printing, images, show)?;
        let slipper = Slipper::of(printing, options.face, options.seed);
        let acceptance = printing.acceptance;
        Ok(Self { options, acceptance, study, painter, slipper, scene })
    }

    /// Draws every copy, in order; each is handed over as soon as it and those before it are there.
    ///
    /// # Errors
    /// [`SlipError::Cancelled`] when `stop` says so, which is asked after every few copies.
    pub fn each(
        &self,
        stop: &dyn Fn() -> bool,
        take: &mut dyn FnMut(&Copied),
    ) -> Result<RunSummary, SlipError> {
        let mut all: Vec<Copied> = Vec::with_capacity(self.options.copies);
        let together = 2 * rayon::current_num_threads().max(1);
        self.groups(0, together, stop, &mut |copies| {
            copies.iter().for_each(&mut *take);
            all.extend(copies);
            true
        })?;
        Ok(summary(&all, &self.acceptance))
    }

    /// Draws the copies from one on, so many at a time and in order; `take` gets each group as soon as it is there
    /// and says whether to go on. Whether every copy was taken.
    ///
    /// # Errors
    /// [`SlipError::Cancelled`] when `stop` says so, which is asked before each group.
    pub fn groups(
        &self,
        from: usize,
        together: usize,
        stop: &dyn Fn() -> bool,
        take: &mut dyn FnMut(Vec<Copied>) -> bool,
    ) -> Result<bool, SlipError> {
        let last = self.options.copies;
        for next in (from..last).step_by(together.max(1)) {
            if stop() {
                return Err(SlipError::Cancelled);
            }
            let group = (next..(next + together.max(1)).min(last)).into_par_iter();
            if !take(group.map(|i| self.copy(i)).collect()) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn copy(&self, index: usize) -> Copied {
        let slips = self.slipper.slips(index as u64);
        let moves: Vec<Affine> = self.painter.layers().iter().map(|l| self.moved(&slips, *l)).collect();
        let change = self.painter.change(&moves);
        let opening = opening(&self.study, self.acceptance.share, &slips);
        Copied { index, slips, change, opening }
    }

    fn moved(&self, slips: &[LayerSlip], layer: usize) -> Affine {
        let slip = slips.iter().find(|s| s.layer == layer);
        slip.map_or(Affine::IDENTITY, |s| s.slipped_from_meant(self.study.sheet))
    }

    pub fn picture(&self, slips: &[LayerSlip], view: &View) -> Picture {
        self.scene.moved(|layer| self.moved(slips, layer)).render(view)
    }
}

/// The copies that slipped farthest in each of eight directions, over one another.
///
/// How far is the largest slip of a layer against the first one. A copy that is the farthest in several directions counts once for
/// each.
pub fn extremes(scene: &Scene, sheet: Size, copies: &[Vec<LayerSlip>], view: &View) -> Picture {
    let reach = |slips: &[LayerSlip], degrees: f64| {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        let first = slips.first().copied().unwrap_or_default();
        slips.iter().map(|s| (s.dx - first.dx) * cos + (s.dy - first.dy) * sin).fold(0.0, f64::max)
    };
    let mut weights = vec![0_u16; copies.len()];
    for i in 0..8 {
        let degrees = f64::from(i) * 45.0;
        let reaches = copies.iter().map(|slips| reach(slips, degrees)).enumerate();
        let farthest = reaches.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at);
        if let Some(weight) = farthest.and_then(|at| weights.get_mut(at)) {
            *weight += 1;
        }
    }
    let mut sums: Vec<[u16; 4]> = vec![[0; 4]; view.width * view.height];
    for (slips, weight) in copies.iter().zip(&weights).filter(|(_, weight)| **weight > 0) {
        let moved = scene.moved(|layer| {
            let slip = slips.iter().find(|s| s.layer == layer);
            slip.map_or(Affine::IDENTITY, |s| s.slipped_from_meant(sheet))
        });
        for (sum, pixel) in sums.iter_mut().zip(&moved.render(view).pixels) {
            for (s, p) in sum.iter_mut().zip(pixel) {
                *s += weight * u16::from(*p);
            }
        }
    }
    let count: u16 = weights.iter().sum();
    let pixels = sums.iter().map(|s| s.map(|v| (v / count.max(1)) as u8)).collect();
    Picture { width: view.width, height: view.height, pixels }
}

/// How far a copy's tight edges open, for an accepted share of the edges.
pub fn opening(study: &Study, share: EdgeShare, slips: &[LayerSlip]) -> Opening {
    study.opening(share, |lower, upper| {
        let apart = apart(slips, lower, upper);
        move |at| apart.shift_at(at, study.sheet)
    })
}

/// Whether a copy would sell, as far as gaps go.
pub fn sells(study: &Study, acceptance: &Acceptance, slips: &[LayerSlip]) -> bool {
    study.sells(acceptance, |lower, upper| {
        let apart = apart(slips, lower, upper);
        move |at| apart.shift_at(at, study.sheet)
    })
}

/// How a later layer of a copy lies against an earlier one.
fn apart(slips: &[LayerSlip], lower: usize, upper: usize) -> LayerSlip {
    let slip = |layer: usize| slips.iter().find(|s| s.layer == layer).copied().unwrap_or_default();
    slip(upper).against(&slip(lower))
}

/// How far the first copies of a run open, without being painted.
pub fn openings(study: &Study, share: EdgeShare, slipper: &Slipper, copies: usize) -> Vec<Opening> {
    (0..copies as u64).into_par_iter().map(|i| opening(study, share, &slipper.slips(i))).collect()
}

/// The copies from the best to the worst, by the gap that each needs.
pub fn ranked(openings: &[Opening]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..openings.len()).collect();
    let of = |i: usize| openings.get(i).copied().unwrap_or_default();
    order.sort_by(|a, b| {
        let (first, second) = (of(*a), of(*b));
        let narrower = first.needs.total_cmp(&second.needs).then(first.widest.total_cmp(&second.widest));
        narrower.then(a.cmp(b))
    });
    order
}

pub fn summary(copies: &[Copied], acceptance: &Acceptance) -> RunSummary {
    let mut order: Vec<&Copied> = copies.iter().collect();
    order.sort_by(|a, b| {
        a.opening
            .needs
            .total_cmp(&b.opening.needs)
            .then(a.change.most.total_cmp(&b.change.most))
            .then(a.index.cmp(&b.index))
    });
    let at = |i: usize| order.get(i.min(order.len().saturating_sub(1))).map_or(0, |c| c.index);
    RunSummary {
        sold: Sold::of(copies, acceptance),
        mean: copies.iter().map(|c| c.change.mean).sum::<f64>() / copies.len().max(1) as f64,
        ranked: [at(0), at(order.len() / 2), at(order.len())],
    }
}

/// Numbers in bins of equal width from 0 to the largest: the bins' width, and how many fall into each.
pub fn histogram(values: impl Iterator<Item = f64> + Clone, bins: usize) -> (f64, Vec<usize>) {
    let most = values.clone().fold(0.0, f64::max).max(1e-9);
    let width = most / bins.max(1) as f64;
    let mut counts = vec![0; bins.max(1)];
    for v in values {
        if let Some(count) = counts.get_mut(((v / width) as usize).min(bins.max(1) - 1)) {
            *count += 1;
        }
    }
    (width, counts)
}

#[cfg(test)]
mod shares;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
