//! What a plan costs, in minutes: those that are booked, by the job's own terms, and what else of it is worth. Every
//! part is zero or more, and every part but the printing grows pass by pass: that is what lets the search stop early
//! without missing anything.
//!
//! The booked minutes are those of the schedule: each pass is set up, each of its inks has a master made, a drum is
//! fitted for an ink that the pass before did not print, and the stack dries for one time, whatever lies on it, before
//! it goes through again. That heavy ink sets off when it is printed over is no time that anyone books: it is weighed
//! besides.

use crate::slip::study::Study;
use crate::slip::{Covers, InkCover, stats};
use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::press::Press;
use slipsheet_document::printing::Printing;
use slipsheet_document::terms::JobTerms;
use slipsheet_paper::fold::Face;

use super::hold::{COPIES, Holds};

/// How the parts of a plan weigh. The booked minutes are the job's own ([`Weights::of`]); what the rest is worth is
/// common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// Good copies that are wanted.
    pub wanted: u64,
    /// Minutes to make ready for a pass.
    pub pass_minutes: f64,
    /// Minutes to make a master.
    pub master_minutes: f64,
    /// Minutes to fit a drum.
    pub drum_minutes: f64,
    /// Minutes of drying before the same stack is printed again.
    pub dry_minutes: f64,
    /// Minutes that keeping a full solid from being printed over is worth, for it sets off.
    pub set_off_minutes: f64,
    /// Minutes that a colour change of 1 CIEDE2000 over the whole sheet is worth.
    pub change_minutes: f64,
    /// Minutes that dark before light is worth where the two overlap over the whole sheet.
    pub dark_first_minutes: f64,
}

impl Weights {
    /// The weights of a job, by its own minutes and the good copies that it wants; 100 where it says no number.
    pub fn of(job: &JobTerms) -> Self {
        let prices = &job.prices;
        Self {
            wanted: if job.wanted() == 0 { 100 } else { job.wanted().into() },
            pass_minutes: prices.set_up_minutes.get(),
            master_minutes: prices.master_minutes.get(),
            drum_minutes: prices.drum_minutes.get(),
            dry_minutes: job.drying.get(),
            set_off_minutes: 45.0,
            change_minutes: 30.0,
            dark_first_minutes: 20.0,
        }
    }
}

impl Default for Weights {
    /// Those of a new job.
    fn default() -> Self {
        Self::of(&JobTerms::default())
    }
}

/// What a plan costs, part by part, in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Costs {
    /// Set-up of the passes, with their masters.
    pub ready: f64,
    pub drums: f64,
    /// Waiting for ink to dry.
    pub drying: f64,
    /// Heavy ink that is printed over.
    pub set_off: f64,
    /// Colours that come out otherwise than in the order as designed.
    pub colour: f64,
    pub dark_first: f64,
    /// Printing, with the copies that will not be good.
    pub printing: f64,
}

impl Costs {
    /// What plans are compared by: the booked minutes, and what the rest of it is worth.
    pub fn total(&self) -> f64 {
        self.booked() + self.set_off + self.colour + self.dark_first
    }

    /// Minutes that are booked, as the schedule of these passes counts them for the copies that the plan prints.
    pub fn booked(&self) -> f64 {
        self.before_printing() + self.printing
    }

    /// The booked minutes without the printing, which do not depend on the length of the run.
    pub fn before_printing(&self) -> f64 {
        self.ready + self.drums + self.drying
    }
}

/// What a face's inks bring to a plan, worked out once.
#[derive(Debug, Clone)]
pub struct Figures {
    pub(super) weights: Weights,
    pub(super) press: Press,
    /// The layers, in the order as designed.
    pub(super) layers: Vec<usize>,
    pub(super) names: Vec<String>,
    /// Which ink each layer has: layers of one number have one of the same name, which stays in its drum.
    pub(super) inks: Vec<usize>,
    pub(super) cover: Vec<f64>,
    pub(super) light: Vec<f64>,
    pub(super) opaque: Vec<bool>,
    /// Minutes of printing the second before the first (places in `layers`), colour and dark before light.
    pub(super) swapped: Vec<Vec<(f64, f64)>>,
    pub(super) holds: Holds,
    /// Copies to print, by how many of the simulated ones hold.
    to_print: Vec<u64>,
}

impl Figures {
    pub fn new(printing: &Printing, covers: &Covers, study: &Study, face: Face, weights: Weights) -> Self {
        let layers: Vec<usize> = covers.inks.iter().map(|i| i.layer).collect();
        let inks: Vec<_> =
            printing.sheet.on(face).filter(|(i, _)| layers.contains(i)).map(|(_, l)| &l.ink).collect();
        let effective = |ink: &InkCover| -> Vec<f32> {
            ink.plane.iter().step_by(7).map(|v| ink.effective(*v) as f32).collect()
        };
        let planes: Vec<Vec<f32>> = covers.inks.iter().map(effective).collect();
        let mean = |plane: &Vec<f32>| sum(plane.iter().copied()) / plane.len().max(1) as f64;
        let light: Vec<f64> = inks.iter().map(|i| i.solid.lab().l()).collect();
        let opaque: Vec<bool> = inks.iter().map(|i| i.opacity.get() >= 0.5).collect();
        let ground = Ground::of(&printing.sheet.stock);
        let films: Vec<Film> = inks.iter().map(|i| Film::of(i)).collect();
        let both = |a: usize, b: usize| -> Option<Lab> {
            let model = Overprint::new(&ground, &[*films.get(a)?, *films.get(b)?]).ok()?;
            Some(model.primary(3).lab())
        };
        let overlap = |a: &[f32], b: &[f32]| sum(a.iter().zip(b).map(|(a, b)| a * b)) / a.len().max(1) as f64;
        let swap = |a: usize, b: usize| {
            let (Some(pa), Some(pb)) = (planes.get(a), planes.get(b)) else { return (0.0, 0.0) };
            let share = overlap(pa, pb);
            let change = both(a, b).zip(both(b, a)).map_or(0.0, |(ab, ba)| ab.ciede2000(ba));
            // `b` printed before `a`; as designed a comes first when a < b.
            let colour = if a < b { share * change * weights.change_minutes } else { 0.0 };
            let dark = light.get(b).zip(light.get(a)).is_some_and(|(b, a)| b + 10.0 < *a)
                && !opaque.get(a).copied().unwrap_or(false);
            (colour, if dark { share * weights.dark_first_minutes } else { 0.0 })
        };
        let n = layers.len();
        Self {
            swapped: (0..n).map(|a| (0..n).map(|b| swap(a, b)).collect()).collect(),
            cover: planes.iter().map(mean).collect(),
            names: covers.inks.iter().map(|i| i.name.clone()).collect(),
            inks: inks.iter().map(|i| inks.iter().position(|k| k.name == i.name).unwrap_or(0)).collect(),
            holds: Holds::new(&layers, study, printing, weights.wanted),
            to_print: to_print(weights.wanted),
            press: printing.press.clone(),
            layers,
            light,
            opaque,
            weights,
        }
    }

    /// The layers that are planned, by their index in the project, in the order as designed.
    pub fn layers(&self) -> &[usize] {
        &self.layers
    }

    /// Of the simulated copies, those that hold with these passes (places in `layers`).
    pub(super) fn hold(&self, passes: &[Vec<usize>]) -> usize {
        self.holds.count(passes)
    }

    /// The share of copies, when so many of the simulated ones hold.
    pub(super) fn share(hold: usize) -> f64 {
        hold as f64 / COPIES as f64
    }

    /// Copies to print, when so many of the simulated ones hold.
    pub(super) fn copies(&self, hold: usize) -> u64 {
        self.to_print.get(hold.min(COPIES)).copied().unwrap_or(self.weights.wanted)
    }

    /// Minutes of printing so many copies in so many passes.
    pub(super) fn printing(&self, copies: u64, passes: usize) -> f64 {
        copies as f64 * passes as f64 / self.press.speed.get()
    }

    /// Minutes to make a pass ready that follows another one: the drums that are fitted, and the rest.
    pub(super) fn ready(&self, pass: &[usize], before: &[usize]) -> (f64, f64) {
        let w = &self.weights;
        let fitted = pass.iter().filter(|layer| !self.is_in(**layer, before)).count();
        (fitted as f64 * w.drum_minutes, w.pass_minutes + pass.len() as f64 * w.master_minutes)
    }

    /// Minutes that it takes at least to make so many passes ready for the layers that are left.
    pub(super) fn ready_at_least(&self, left: &[usize], passes: usize, last: &[usize]) -> f64 {
        let w = &self.weights;
        let first = |at: usize, layer: usize| {
            let same = |other: &usize| self.inks.get(*other) == self.inks.get(layer);
            !left.iter().take(at).any(same)
        };
        let fitted =
            left.iter().enumerate().filter(|(at, l)| first(*at, **l) && !self.is_in(**l, last)).count();
        fitted as f64 * w.drum_minutes + passes as f64 * w.pass_minutes + left.len() as f64 * w.master_minutes
    }

    fn is_in(&self, layer: usize, pass: &[usize]) -> bool {
        pass.iter().any(|other| self.inks.get(*other) == self.inks.get(layer))
    }

    /// Whether it counts for the drums which pass was the last: some layers have the same ink.
    pub(super) fn shares_inks(&self) -> bool {
        self.inks.iter().enumerate().any(|(at, ink)| *ink != at)
    }

    /// What a pass costs that another one follows: minutes to dry, and what its setting off is worth.
    pub(super) fn printed_over(&self, pass: &[usize]) -> (f64, f64) {
        let cover: f64 = pass.iter().filter_map(|i| self.cover.get(*i)).sum();
        (self.weights.dry_minutes, self.weights.set_off_minutes * cover.min(1.5))
    }
}

fn to_print(wanted: u64) -> Vec<u64> {
    // What never came out well is dear but not endless: half a copy of the simulated ones is good.
    let share = |hold: usize| (hold as f64).max(0.5) / COPIES as f64;
    (0..=COPIES)
        .map(|hold| stats::copies_to_print(wanted, share(hold), 0.95).unwrap_or(wanted * 100))
        .collect()
}

fn sum(values: impl Iterator<Item = f32>) -> f64 {
    values.map(f64::from).sum()
}

#[cfg(test)]
impl Figures {
    /// Figures out of thin air, for tests of the search.
    pub(super) fn invented(inks: usize, drums: u8, seed: u64, drift: f64) -> Self {
        let mut random = crate::slip::random::SplitMix::new(seed);
        let press = Press { drums, drift: slipsheet_core::press::Drift::new(drift), ..Press::default() };
        let mut some = |most: f64| random.uniform() * most;
        Self {
            weights: Weights::default(),
            layers: (0..inks).collect(),
            names: (0..inks).map(|i| format!("ink {i}")).collect(),
            // Every third seed has its first ink twice.
            inks: (0..inks).map(|i| if seed % 3 == 2 && i == inks - 1 { 0 } else { i }).collect(),
            cover: (0..inks).map(|_| some(0.8)).collect(),
            light: (0..inks).map(|_| some(90.0)).collect(),
            opaque: vec![false; inks],
            swapped: (0..inks).map(|_| (0..inks).map(|_| (some(9.0), some(5.0))).collect()).collect(),
            holds: Holds::invented(inks, &press, seed),
            press,
            to_print: to_print(100),
        }
    }
}
