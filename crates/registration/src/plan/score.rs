//! What a plan costs, in minutes of booked time. Every part is zero or more, and every part but the printing
//! grows pass by pass: that is what lets the search stop early without missing anything.

use crate::slip::study::Study;
use crate::slip::{Covers, InkCover, stats};
use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::press::Press;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

use super::hold::{COPIES, Holds};

/// How the parts of a plan weigh (all common practice, no source; set them to the shop's own).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// Good copies that are wanted.
    pub wanted: u64,
    /// Minutes to make ready for a pass.
    pub pass_minutes: f64,
    /// Minutes to change a drum.
    pub drum_minutes: f64,
    /// Minutes of drying before the next pass, without any ink.
    pub dry_minutes: f64,
    /// Minutes of drying on top for a full solid.
    pub solid_minutes: f64,
    /// Minutes that a colour change of 1 CIEDE2000 over the whole sheet is worth.
    pub change_minutes: f64,
    /// Minutes that dark before light is worth where the two overlap over the whole sheet.
    pub dark_first_minutes: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self {
            wanted: 100,
            pass_minutes: 8.0,
            drum_minutes: 4.0,
            dry_minutes: 5.0,
            solid_minutes: 60.0,
            change_minutes: 30.0,
            dark_first_minutes: 20.0,
        }
    }
}

/// What a plan costs, part by part, in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Costs {
    pub ready: f64,
    pub drums: f64,
    /// Drying, against set-off.
    pub drying: f64,
    /// Colours that come out otherwise than in the order as designed.
    pub colour: f64,
    pub dark_first: f64,
    /// Printing, with the copies that will not be good.
    pub printing: f64,
}

impl Costs {
    pub fn total(&self) -> f64 {
        self.ready + self.drums + self.drying + self.colour + self.dark_first + self.printing
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

    /// Minutes of drying after a pass that another one follows.
    pub(super) fn drying(&self, pass: &[usize]) -> f64 {
        let cover: f64 = pass.iter().filter_map(|i| self.cover.get(*i)).sum();
        self.weights.dry_minutes + self.weights.solid_minutes * cover.min(1.5)
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
