//! The search: which remedies bring each set of passes to the wanted share.
//!
//! A trap of `t` mm where two inks meet adds `t` to the trap of all their stretches, so every gap between them opens `t`
//! less far: the gap that a copy needs to be accepted falls by `t`. What a copy needs is therefore worked out once for
//! two inks and the passes they are in, and any trap is held against it.

use rayon::prelude::*;

use slipsheet_document::printing::Printing;
use slipsheet_document::remedy::Remedy;

use super::other_side::OtherSide;
use super::passes::{self, Passes};
use super::{PassChange, ProposeOptions, RemedyChange, WORTH};
use crate::plan::Figures;
use crate::slip::Study;
use crate::slip::run::{COPIES, Feed, Slipper, openings};

/// Traps are told in steps of this, in mm.
const STEP: f64 = 0.05;
/// The widest trap that is proposed, in mm.
pub(super) const WIDEST: f64 = 1.5;
/// Gaps on purpose that are proposed, in mm.
const WHITE: std::ops::RangeInclusive<f64> = 0.3..=2.0;
/// Traps within this of each other, in mm, differ by the luck of the copies alone.
const LUCK: f64 = 0.1;
/// Stretches of a pair that the search looks at; the verified figures are of all.
const STRETCHES: usize = 400;

/// What is done where two inks meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Fix {
    /// A trap wider by so many mm.
    Trap(f64),
    Under,
    White(f64),
}

/// Two inks that meet, by their layers' index in the project, and what is done there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fixed {
    pub lower: usize,
    pub upper: usize,
    pub fix: Fix,
}

/// An answer with the share that the search expects of it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Candidate {
    pub passes: Passes,
    pub change: PassChange,
    pub fixes: Vec<Fixed>,
    pub share: f64,
}

impl Candidate {
    pub(super) fn reaches(&self, wanted: f64) -> bool {
        self.share >= wanted
    }

    pub(super) fn remedy_change(&self) -> RemedyChange {
        let of = |f: &Fixed| match f.fix {
            Fix::Trap(_) => RemedyChange::Trap,
            Fix::Under => RemedyChange::Under,
            Fix::White(_) => RemedyChange::White,
        };
        self.fixes.iter().map(of).max().unwrap_or(RemedyChange::None)
    }

    /// The widest trap or gap added, in mm.
    pub(super) fn width(&self) -> f64 {
        let of = |f: &Fixed| match f.fix {
            Fix::Trap(by) | Fix::White(by) => by,
            Fix::Under => 0.0,
        };
        self.fixes.iter().map(of).fold(0.0, f64::max)
    }
}

/// What the copies need of the pairs of a study.
pub(super) struct Needs<'a> {
    gap: f64,
    other: &'a OtherSide,
    /// For each pair its layers, and the gap in mm that each copy needs to be accepted.
    pairs: Vec<(usize, usize, Vec<f64>)>,
}

impl<'a> Needs<'a> {
    /// Of a study and the passes it is printed in, of copies that slip as a slipper has them.
    pub(super) fn of(study: &Study, printing: &Printing, slipper: &Slipper, other: &'a OtherSide) -> Self {
        let of_pair = |pair: &crate::slip::PairStudy| {
            let alone = thinned(study.alone(pair));
            let openings = openings(&alone, printing.acceptance.share, slipper, COPIES);
            (pair.lower, pair.upper, openings.iter().map(|o| o.needs).collect())
        };
        Self { gap: printing.acceptance.gap.get(), other, pairs: study.counted().map(of_pair).collect() }
    }

    /// The share of copies that sell, on both sides, when the gaps of each pair open so much less far.
    fn share(&self, traps: &[f64]) -> f64 {
        let sells = |copy: &usize| {
            let fits = |((_, _, needs), trap): (&(usize, usize, Vec<f64>), &f64)| {
                needs.get(*copy).is_none_or(|need| *need <= self.gap + trap + 1e-9)
            };
            self.other.sells(*copy) && self.pairs.iter().zip(traps).all(fits)
        };
        (0..COPIES).into_par_iter().filter(|c| sells(c)).count() as f64 / COPIES as f64
    }

    /// The share of copies that each pair alone spoils.
    fn spoilt(&self) -> Vec<f64> {
        let of = |(_, _, needs): &(usize, usize, Vec<f64>)| {
            needs.iter().filter(|n| **n > self.gap + 1e-9).count() as f64 / COPIES as f64
        };
        self.pairs.iter().map(of).collect()
    }

    /// The narrowest traps that reach the wanted share, one for each pair, and the share they come to; the widest ones
    /// where none does.
    pub(super) fn traps(&self, wanted: f64) -> (Vec<Fixed>, f64) {
        let spoilt = self.spoilt();
        let all = |by: f64| -> Vec<f64> { spoilt.iter().map(|s| if *s > 0.0 { by } else { 0.0 }).collect() };
        let steps = (WIDEST / STEP + 0.5) as usize;
        let at = |step: usize| hundredths(step as f64 * STEP);
        let most = self.share(&all(WIDEST));
        // Where no trap reaches it, the narrowest that comes as near.
        let aim = wanted.min(most);
        let uniform = (0..=steps).find(|s| self.share(&all(at(*s))) >= aim).unwrap_or(steps);
        let mut traps = all(at(uniform));
        // The pair that spoils least may need least.
        let mut order: Vec<usize> = (0..traps.len()).collect();
        order
            .sort_by(|a, b| spoilt.get(*a).partial_cmp(&spoilt.get(*b)).unwrap_or(std::cmp::Ordering::Equal));
        for pair in order {
            let least = (0..=uniform).find(|step| {
                let mut tried = traps.clone();
                if let Some(trap) = tried.get_mut(pair) {
                    *trap = trap.min(at(*step));
                }
                self.share(&tried) >= aim
            });
            if let Some((trap, least)) = traps.get_mut(pair).zip(least) {
                *trap = trap.min(at(least));
            }
        }
        let share = self.share(&traps);
        let fixed = |((lower, upper, _), by): (&(usize, usize, Vec<f64>), &f64)| {
            let trap = Fixed { lower: *lower, upper: *upper, fix: Fix::Trap(*by) };
            (*by > 0.0).then_some(trap)
        };
        (self.pairs.iter().zip(&traps).filter_map(fixed).collect(), share)
    }

    /// The fewest pairs that, when they cannot open any more, let the wanted share sell, and the share they come to.
    fn held(&self, wanted: f64, may: impl Fn(usize, usize) -> bool) -> (Vec<(usize, usize)>, f64) {
        let spoilt = self.spoilt();
        let mut order: Vec<usize> = (0..self.pairs.len()).collect();
        order
            .sort_by(|a, b| spoilt.get(*b).partial_cmp(&spoilt.get(*a)).unwrap_or(std::cmp::Ordering::Equal));
        let mut open = vec![0.0; self.pairs.len()];
        let mut held = Vec::new();
        for pair in order {
            let Some((lower, upper, _)) = self.pairs.get(pair) else { continue };
            if self.share(&open) >= wanted || spoilt.get(pair).is_none_or(|s| *s <= 0.0) {
                break;
            }
            if may(*lower, *upper) {
                open.iter_mut().skip(pair).take(1).for_each(|o| *o = f64::INFINITY);
                held.push((*lower, *upper));
            }
        }
        (held, self.share(&open))
    }
}

impl Needs<'_> {
    /// The white in mm that stays open between two inks on the wanted share of copies: inks slip towards each other as
    /// far as they slip apart.
    fn white(&self, wanted: f64, lower: usize, upper: usize) -> f64 {
        let pair = self.pairs.iter().find(|p| (p.0, p.1) == (lower, upper));
        let mut needs = pair.map_or_else(Vec::new, |p| p.2.clone());
        needs.sort_by(f64::total_cmp);
        let at = (wanted * needs.len() as f64) as usize;
        let slips = needs.get(at.min(needs.len().saturating_sub(1))).copied().unwrap_or(0.0);
        (libm::ceil(slips * 10.0 - 1e-9) / 10.0).clamp(*WHITE.start(), *WHITE.end())
    }
}

/// A study of one pair with no more stretches than the search looks at, evenly taken.
fn thinned(mut study: Study) -> Study {
    let (count, length) = (study.tight.len(), |s: &Study| s.tight.iter().map(|t| t.length).sum::<f64>());
    if count > STRETCHES {
        let every = count.div_ceil(STRETCHES);
        study.tight = study.tight.into_iter().step_by(every).collect();
        let (length, stretches) = (length(&study), 0..study.tight.len());
        study.pairs.iter_mut().for_each(|p| (p.length, p.stretches) = (length, stretches.clone()));
        study.options.least_length = 0.0;
    }
    study
}

/// Every answer that is looked at.
pub(super) fn candidates(
    printing: &Printing,
    study: &Study,
    figures: &Figures,
    (options, other): (&ProposeOptions, &OtherSide),
) -> Vec<Candidate> {
    let wanted = options.wanted_share;
    let present = passes::present(printing, options.face, figures);
    let needs = |passes: &Passes| {
        let slipper = Slipper::with_passes(
            passes.clone(),
            &printing.press,
            Feed::of(printing, options.face),
            options.seed,
        );
        Needs::of(study, printing, &slipper, other)
    };
    let now = needs(&present);
    let spoilt = now.spoilt();
    let tight = now.pairs.iter().zip(&spoilt).filter(|(_, s)| **s > 0.0).map(|((a, b, _), _)| (*a, *b));
    let tight: Vec<(usize, usize)> = tight.collect();
    let mut all = Vec::new();
    for passes in passes::all(printing, &present, figures, &tight) {
        let needs = needs(&passes);
        let change = passes::change(&passes, &present);
        let mut add = |fixes: Vec<Fixed>, share: f64| {
            all.push(Candidate { passes: passes.clone(), change, fixes, share });
        };
        add(Vec::new(), needs.share(&vec![0.0; needs.pairs.len()]));
        let (traps, share) = needs.traps(wanted);
        if !traps.is_empty() {
            add(traps, share);
        }
        let is_filled = |lower: usize, upper: usize| {
            let (light, dark) = lighter(printing, lower, upper);
            let dark = printing.sheet.layers.get(dark).map(|l| l.id);
            let remedies = printing.sheet.layers.get(light).map(|l| l.remedies.as_slice()).unwrap_or(&[]);
            remedies.iter().any(|r| matches!(r, Remedy::Fill { under } if Some(*under) == dark))
        };
        let together = |a: usize, b: usize| passes.iter().any(|p| p.contains(&a) && p.contains(&b));
        let (under, share) = needs.held(wanted, |a, b| !is_filled(a, b));
        let fixed = |fix| move |(lower, upper)| Fixed { lower, upper, fix };
        if !under.is_empty() {
            add(under.into_iter().map(fixed(Fix::Under)).collect(), share);
        }
        let (apart, share) = needs.held(wanted, |a, b| !together(a, b));
        if !apart.is_empty() {
            let white = |(a, b)| fixed(Fix::White(needs.white(wanted, a, b)))((a, b));
            add(apart.into_iter().map(white).collect(), share);
        }
    }
    without_idle(all, wanted)
}

/// The answers without those that change the passes or widen a remedy for nothing: there is a smaller change of the same
/// kind that comes as near in no more passes.
fn without_idle(all: Vec<Candidate>, wanted: f64) -> Vec<Candidate> {
    let beats = |a: &Candidate, b: &Candidate| {
        a.change < b.change
            && a.remedy_change() == b.remedy_change()
            && a.width() <= b.width() + LUCK
            && a.passes.len() <= b.passes.len()
            && a.share.min(wanted) >= b.share.min(wanted) - WORTH
    };
    let helps = |c: &Candidate| c.change != PassChange::None || !c.fixes.is_empty();
    all.iter().filter(|b| helps(b) && !all.iter().any(|a| beats(a, b))).cloned().collect()
}

/// A width in mm in whole hundredths.
pub(super) fn hundredths(mm: f64) -> f64 {
    libm::floor(mm * 100.0 + 0.5) / 100.0
}

/// Two layers, the one with the lighter ink first: it is the one that grows (common practice, no source).
pub(super) fn lighter(printing: &Printing, lower: usize, upper: usize) -> (usize, usize) {
    let light = |i: usize| printing.sheet.layers.get(i).map_or(0.0, |l| l.ink.solid.lab().l());
    if light(lower) > light(upper) { (lower, upper) } else { (upper, lower) }
}
