//! Which copies hold under a plan: simulated ones, for every pair of inks that abut and every way to pass the two.
//!
//! The model is that of [`crate::slip::run`], ink by ink: inks of one pass slip against one another by the
//! spread within a pass; inks of two passes by the spread between passes, and by that within on top for each
//! that shares its pass, and by the offset where one of the passes is the first; a drift by as many passes as
//! lie between them. A copy holds when every pair holds,
//! and all pairs of a copy are looked at with the same luck, so a plan's share is that of a simulated run with
//! its passes. What is left is the noise of [`COPIES`] copies, and the drift of the overs: the copies are
//! spread evenly over the sheets wanted, and what is printed after these drifts farther.
//!
//! How alike copies are from one to the next does not count: the share that is to be expected is the same, and
//! copies that do not depend on each other tell it best.

use std::cell::RefCell;
use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::slip::run::{Feed, Slipper, opening};
use crate::slip::study::Study;
use slipsheet_core::press::Press;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::printing::Printing;

pub(super) const COPIES: usize = 256;
/// One bit a copy.
type Mask = [u64; COPIES / 64];
/// The seed of their luck.
const SEED: u64 = 1;

/// The copies that hold, worked out when they are asked for.
#[derive(Debug, Clone)]
pub(super) struct Holds {
    /// The layers planned, in ascending order; everything else speaks of places among them.
    layers: Vec<usize>,
    press: Press,
    feed: Feed,
    acceptance: Acceptance,
    /// Sheets from one simulated copy to the next.
    step: f64,
    source: Source,
    known: RefCell<BTreeMap<u64, Mask>>,
}

/// Where the answers come from.
#[derive(Debug, Clone)]
enum Source {
    /// Places of two inks, and a study of them alone.
    Studied(Vec<(usize, usize, Study)>),
    /// Out of thin air, by a seed; so many inks.
    #[cfg(test)]
    Invented(usize, u64),
}

impl Holds {
    /// For a study of layers on a press, over a run of so many sheets.
    pub(super) fn new(layers: &[usize], study: &Study, printing: &Printing, sheets: u64) -> Self {
        let place = |layer: usize| layers.iter().position(|l| *l == layer);
        let pairs = study
            .counted()
            .filter_map(|pair| Some((place(pair.lower)?, place(pair.upper)?, study.alone(pair))));
        Self {
            layers: layers.to_vec(),
            press: printing.press.independent(),
            feed: Feed::of(printing, study.options.face),
            acceptance: printing.acceptance,
            step: sheets as f64 / COPIES as f64,
            source: Source::Studied(pairs.collect()),
            known: RefCell::default(),
        }
    }

    /// Of the simulated copies, those on which every pair of the inks in these passes holds. With every pass
    /// more it only falls.
    pub(super) fn count(&self, passes: &[Vec<usize>]) -> usize {
        let mut all: Mask = [u64::MAX; COPIES / 64];
        let mut both = |pair: usize, a: usize, b: usize| {
            let at = |ink: usize| passes.iter().position(|p| p.contains(&ink));
            let (Some(first), Some(second)) = (at(a), at(b)) else { return };
            let key = self.key(pair, (a, first), (b, second), passes);
            let known = self.known.borrow().get(&key).copied();
            let mask = known.unwrap_or_else(|| {
                let mask = self.mask(pair, (first, second), passes);
                self.known.borrow_mut().insert(key, mask);
                mask
            });
            all.iter_mut().zip(mask).for_each(|(all, m)| *all &= m);
        };
        match &self.source {
            Source::Studied(pairs) => pairs.iter().enumerate().for_each(|(i, (a, b, _))| both(i, *a, *b)),
            #[cfg(test)]
            Source::Invented(inks, _) => {
                (0..*inks).for_each(|b| (0..b).for_each(|a| both(b * *inks + a, a, b)));
            }
        }
        all.iter().map(|m| m.count_ones() as usize).sum()
    }

    /// Whether it counts which pass is the first.
    pub(super) fn first_counts(&self) -> bool {
        self.press.offset.is_some()
    }

    /// Whether the order of all passes counts.
    pub(super) fn drifts(&self) -> bool {
        self.press.drift.get() != 0.0
    }

    /// Everything that a pair's slips depend on: whether the two share a pass, and if not, which ink leads the
    /// pass of each, whether it is alone there, whether that pass is the first where this counts, and by how
    /// many passes they lie apart.
    fn key(
        &self,
        pair: usize,
        (a, first): (usize, usize),
        (b, second): (usize, usize),
        passes: &[Vec<usize>],
    ) -> u64 {
        if first == second {
            return (pair as u64) << 18;
        }
        // 15 for an ink alone; itself where it leads a pass of several.
        let state = |ink: usize, pass: usize| match passes.get(pass) {
            Some(p) if p.len() > 1 => p.iter().copied().min().unwrap_or(ink) as u64,
            _ => 15,
        };
        let apart = if self.drifts() { (second as i64 - first as i64 + 64) as u64 } else { 64 };
        let leads = |pass: usize| u64::from(pass == 0 && self.first_counts());
        let place = (pair as u64) << 18 | leads(first) << 17 | leads(second) << 16;
        place | 1 << 15 | state(a, first) << 11 | state(b, second) << 7 | apart
    }

    fn mask(&self, pair: usize, (first, second): (usize, usize), passes: &[Vec<usize>]) -> Mask {
        match &self.source {
            Source::Studied(pairs) => {
                let layers = |pass: usize| -> Vec<usize> {
                    passes
                        .get(pass)
                        .into_iter()
                        .flatten()
                        .filter_map(|p| self.layers.get(*p))
                        .copied()
                        .collect()
                };
                let of_pair: Vec<Vec<usize>> = if first == second {
                    vec![layers(first)]
                } else {
                    // Other passes carry none of the two, but count for the offset and the drift.
                    let only =
                        |pass: usize| if pass == first || pass == second { layers(pass) } else { vec![] };
                    (0..=first.max(second)).map(only).collect()
                };
                pairs.get(pair).map_or([u64::MAX; COPIES / 64], |(_, _, study)| {
                    let slipper = Slipper::with_passes(of_pair, &self.press, self.feed, SEED);
                    simulated(study, &self.acceptance, &slipper, self.step)
                })
            }
            #[cfg(test)]
            Source::Invented(inks, seed) => {
                let key = self.key(pair, (pair % inks, first), (pair / inks, second), passes);
                let mut random = crate::slip::random::SplitMix::keyed(*seed, key, 0);
                let least = if key >> 15 & 1 == 0 { 0.9 } else { 0.6 };
                let p = least + (1.0 - least) * random.uniform();
                std::array::from_fn(|_| (0..64).fold(0, |m, i| m | u64::from(random.uniform() < p) << i))
            }
        }
    }
}

fn simulated(study: &Study, acceptance: &Acceptance, slipper: &Slipper, step: f64) -> Mask {
    let mut mask: Mask = [0; COPIES / 64];
    mask.par_iter_mut().enumerate().for_each(|(word, bits)| {
        for i in 0..64 {
            let copy = word * 64 + i;
            let slips = slipper.slips_at(copy as u64, copy as f64 * step);
            *bits |= u64::from(opening(study, acceptance.share, &slips).sells(acceptance)) << i;
        }
    });
    mask
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slip::LayerSlip;
    use crate::slip::study::{PairStudy, Shows, StudyOptions, Tight};
    use slipsheet_core::geometry::Point;
    use slipsheet_core::press::{Correlation, Drift, FeedSide, LateFeed, Offset, Spread};
    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::shelf::Shelf;
    use slipsheet_paper::fold::Face;

    impl Holds {
        /// Answers for tests of the search.
        pub(in crate::plan) fn invented(inks: usize, press: &Press, seed: u64) -> Self {
            Self {
                layers: (0..inks).collect(),
                press: press.clone(),
                feed: Feed::of(&printing(press.clone()), Face::Front),
                acceptance: Acceptance::default(),
                step: 1.0,
                source: Source::Invented(inks, seed),
                known: RefCell::default(),
            }
        }
    }

    /// Four inks; 0 and 1 abut tightly, 1 and 2 with more trap, 2 and 3 across.
    fn study() -> Study {
        let tight = |lower: usize, upper: usize, normal: Point, trap: f64, y: f64| Tight {
            lower,
            upper,
            at: Point::new(100.0, y),
            normal,
            trap,
            length: 2.0,
            shows: Shows::Paper,
            difference: 30.0,
        };
        let (right, down) = (Point::new(1.0, 0.0), Point::new(0.0, 1.0));
        let along = |lower, upper, normal, trap| {
            (0..20).map(move |i| tight(lower, upper, normal, trap, 40.0 + 10.0 * f64::from(i)))
        };
        let all: Vec<Tight> =
            along(0, 1, right, 0.25).chain(along(1, 2, down, 0.9)).chain(along(2, 3, right, 0.6)).collect();
        let pair = |lower: usize, upper| PairStudy {
            lower,
            upper,
            length: 40.0,
            stretches: 20 * lower..20 * lower + 20,
        };
        Study {
            options: StudyOptions { face: Face::Front, ..StudyOptions::default() },
            sheet: SheetFormat::A4.size(),
            tight: all,
            pairs: vec![pair(0, 1), pair(1, 2), pair(2, 3)],
            thin: vec![],
        }
    }

    fn press(drift: f64) -> Press {
        Press {
            within_pass: Spread::of(0.12, 0.2, 0.02, 0.02),
            between_passes: Spread::of(0.3, 0.4, 0.05, 0.03),
            drift: Drift::new(drift),
            ..Press::default()
        }
    }

    fn slipper(plan: &[Vec<usize>], press: &Press, seed: u64) -> Slipper {
        let feed = Feed::of(&printing(press.clone()), Face::Front);
        Slipper::with_passes(plan.to_vec(), press, feed, seed)
    }

    /// A sheet on this press, judged as an offset printer would.
    fn printing(press: Press) -> Printing {
        let stock = Shelf::starter().unwrap().stocks[0].clone();
        let acceptance = Acceptance::of(0.15, 0.05, None);
        Printing { press, acceptance, ..Printing::new("p", SheetFormat::A4, stock) }
    }

    /// Whether a copy sells, looked at by itself.
    fn sells(study: &Study, slips: &[LayerSlip]) -> bool {
        let acceptance = Acceptance::of(0.15, 0.05, None);
        opening(study, acceptance.share, slips).sells(&acceptance)
    }

    const PLANS: [&[&[usize]]; 5] = [
        &[&[0], &[1], &[2], &[3]],
        &[&[0, 1], &[2, 3]],
        &[&[2, 0], &[3, 1]],
        &[&[3], &[1, 2], &[0]],
        &[&[1], &[3, 0], &[2]],
    ];

    fn passes(plan: &[&[usize]]) -> Vec<Vec<usize>> {
        plan.iter().map(|p| p.to_vec()).collect()
    }

    #[test]
    fn a_plan_holds_on_the_copies_of_a_run_with_its_passes() {
        let study = study();
        for drift in [0.0, 2.0] {
            let holds = Holds::new(&[0, 1, 2, 3], &study, &printing(press(drift)), 256);
            for plan in PLANS.map(passes) {
                let slipper = slipper(&plan, &press(drift), SEED);
                let wanted = (0..COPIES as u64).filter(|i| sells(&study, &slipper.slips(*i))).count();
                assert_eq!(holds.count(&plan), wanted, "{plan:?}, drift {drift}");
            }
        }
    }

    #[test]
    fn an_offset_holds_or_breaks_the_copies_that_a_run_does() {
        let study = study();
        // The later ink's slip to the left opens the edges of 0 and 1: a first pass that lies to the right of
        // the others does so.
        for (dx, dy, skew) in [(-0.5, 0.0, 0.0), (0.5, 0.0, 0.0), (0.2, -0.6, 0.1)] {
            let press = Press { offset: Offset::of(dx, dy, skew, 0.0), ..press(0.0) };
            let holds = Holds::new(&[0, 1, 2, 3], &study, &printing(press.clone()), 256);
            for plan in PLANS.map(passes) {
                let slipper = slipper(&plan, &press, SEED);
                let wanted = (0..COPIES as u64).filter(|i| sells(&study, &slipper.slips(*i))).count();
                assert_eq!(holds.count(&plan), wanted, "{plan:?}, offset {dx}, {dy}, {skew}");
            }
        }
    }

    #[test]
    fn late_sheets_break_the_copies_that_a_run_does_and_alike_ones_change_no_share() {
        let study = study();
        for side in FeedSide::ALL {
            let late = Press { late_feed: LateFeed::new(side, 0.9), ..press(0.0) };
            let alike = Press { correlation: Correlation::new(0.9), ..late.clone() };
            let none = Holds::new(&[0, 1, 2, 3], &study, &printing(press(0.0)), 256);
            let holds = Holds::new(&[0, 1, 2, 3], &study, &printing(late.clone()), 256);
            let of_alike = Holds::new(&[0, 1, 2, 3], &study, &printing(alike), 256);
            let mut worse = 0;
            for plan in PLANS.map(passes) {
                let slipper = slipper(&plan, &late, SEED);
                let wanted = (0..COPIES as u64).filter(|i| sells(&study, &slipper.slips(*i))).count();
                assert_eq!(holds.count(&plan), wanted, "{plan:?}, {side:?}");
                assert_eq!(of_alike.count(&plan), wanted, "{plan:?}, {side:?}");
                worse += none.count(&plan).saturating_sub(wanted);
            }
            assert!(worse > 50, "{side:?}: {worse}");
        }
    }

    #[test]
    fn the_share_of_a_plan_is_that_of_a_long_run_with_other_luck() {
        // 6000 copies over the sheets wanted, with other luck; 256 copies must agree within their own noise.
        let (study, wanted, n) = (study(), 400, 6000);
        let mut shares = Vec::new();
        for drift in [0.0, 3.0] {
            let holds = Holds::new(&[0, 1, 2, 3], &study, &printing(press(drift)), wanted);
            for plan in PLANS.map(passes) {
                let slipper = slipper(&plan, &press(drift), 99);
                let step = wanted as f64 / n as f64;
                let good = (0..n).filter(|i| sells(&study, &slipper.slips_at(*i, *i as f64 * step))).count();
                let share = good as f64 / n as f64;
                let got = holds.count(&plan) as f64 / COPIES as f64;
                let noise = libm::sqrt(share * (1.0 - share) * (1.0 / COPIES as f64 + 1.0 / n as f64));
                assert!(
                    (got - share).abs() < 3.5 * noise + 1e-9,
                    "{plan:?}, drift {drift}: {got} for {share}"
                );
                shares.push(share);
            }
        }
        // Pairing the tight pair helps. A drift costs copies where it pulls inks apart that abut along the travel,
        // and none where it pushes them together.
        assert!(shares[1] > shares[0] + 0.1, "{shares:?}");
        assert!(shares[7] < shares[2] - 0.1 && shares[6] > shares[1], "{shares:?}");
    }
}
