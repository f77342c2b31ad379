//! Answers studied as they would be printed.

use std::borrow::Cow;
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use slipsheet_core::geometry::Point;
use slipsheet_document::answer::Answer;
use slipsheet_document::ids::LayerId;
use slipsheet_document::printing::Printing;
use slipsheet_document::remedy::{Growth, Remedy};
use slipsheet_render::images::Images;

use super::other_side::{OtherSide, is_alike};
use super::search::{Candidate, Fix, Fixed, Needs, WIDEST, hundredths, lighter};
use super::{Change, Outcome, PassChange, Proposal, ProposeOptions, colour, passes, words};
use crate::plan::{Figures, minutes};
use crate::slip::edges::Edges;
use crate::slip::job::painted;
use crate::slip::run::{COPIES, Slipper, sells};
use crate::slip::{Covers, SlipError, Sold, Study, StudyOptions};

/// Places of a proposal.
const PLACES: usize = 3;
/// How often traps are widened that come out narrower than was expected, because something there is thin.
const ROUNDS: usize = 2;

/// The design as it is.
#[derive(Clone, Copy)]
pub(super) struct Drawn<'a> {
    pub studying: StudyOptions,
    pub covers: &'a Covers,
    pub edges: &'a [Option<Arc<Edges>>],
    pub other: &'a OtherSide,
}

pub(super) struct Verifier<'a> {
    pub printing: &'a Printing,
    pub images: &'a Images,
    pub options: &'a ProposeOptions,
    pub drawn: Drawn<'a>,
    pub stop: &'a (dyn Fn() -> bool + Sync),
    pub design: OnceLock<colour::Design>,
}

impl<'a> Verifier<'a> {
    pub(super) fn new(
        (printing, images): (&'a Printing, &'a Images),
        options: &'a ProposeOptions,
        drawn: Drawn<'a>,
        stop: &'a (dyn Fn() -> bool + Sync),
    ) -> Self {
        Self { printing, images, options, drawn, stop, design: OnceLock::new() }
    }
}

impl Verifier<'_> {
    /// How many copies sell with an answer put in, by this verifier's study.
    pub(super) fn tell(&self, answer: &Answer, design: &Study) -> Result<Sold, SlipError> {
        if (self.stop)() {
            return Err(SlipError::Cancelled);
        }
        let mut tried = self.printing.clone();
        // It could be put in before, and nothing has changed since.
        if tried.sheet.take_answer(answer).is_err() {
            return self.sold(self.printing, design);
        }
        let study = self.studied(&tried, answer, design)?;
        self.sold(&tried, &study)
    }

    /// What the design as it is comes to.
    pub(super) fn now(&self, study: &Study, figures: &Figures) -> Result<Outcome, SlipError> {
        let present = passes::present(self.printing, self.options.face, figures);
        Ok(self.outcome(self.sold(self.printing, study)?, &present, figures))
    }

    /// A candidate as it would be printed; none where it cannot be put in.
    pub(super) fn proposal(
        &self,
        candidate: &Candidate,
        design: &Study,
        figures: &Figures,
    ) -> Result<Option<Proposal>, SlipError> {
        let mut candidate = candidate.clone();
        for round in 0..=ROUNDS {
            if (self.stop)() {
                return Err(SlipError::Cancelled);
            }
            let answer = self.answer(&candidate);
            let mut tried = self.printing.clone();
            if tried.sheet.take_answer(&answer).is_err() {
                return Ok(None);
            }
            let study = self.studied(&tried, &answer, design)?;
            let outcome = self.outcome(self.sold(&tried, &study)?, &candidate.passes, figures);
            let reaches = outcome.sold.share() >= self.options.wanted_share;
            if reaches || round == ROUNDS || !self.widen(&mut candidate, &tried, &study) {
                let colour = self.colour(&tried)?;
                let change = Change {
                    passes: candidate.change,
                    remedies: candidate.remedy_change(),
                    width: candidate.width(),
                    colour,
                };
                return Ok(Some(Proposal {
                    title: words::title(self.printing, &candidate, self.options.face),
                    places: self.places(&candidate, design),
                    answer,
                    outcome,
                    reaches,
                    change,
                }));
            }
        }
        Ok(None)
    }

    /// The study of the design with an answer put in.
    fn studied(&self, tried: &Printing, answer: &Answer, design: &Study) -> Result<Study, SlipError> {
        let order = |p: &Printing| p.sheet.layers.iter().map(|l| l.id).collect::<Vec<_>>();
        let dpi = self.drawn.studying.dpi;
        if order(tried) != order(self.printing) {
            let covers = Covers::of(tried, self.images, self.options.face, dpi)?;
            return Ok(Study::of_covers(&covers, &self.drawn.studying));
        }
        // Only the plates with other remedies are others; which inks share a pass is not seen on them.
        if answer.remedies.is_empty() {
            return Ok(design.clone());
        }
        let (mut covers, mut edges) = (self.drawn.covers.clone(), self.drawn.edges.to_vec());
        for (at, layer) in tried.sheet.layers.iter().enumerate() {
            let ink = covers.inks.iter().position(|ink| ink.layer == at);
            if let Some(ink) = ink.filter(|_| answer.remedies.iter().any(|(id, _)| *id == layer.id)) {
                covers.renew(tried, self.images, at, dpi)?;
                edges.iter_mut().skip(ink).take(1).for_each(|e| *e = Edges::of(&covers, ink).map(Arc::new));
            }
        }
        Ok(Study::of_edges((&covers, &edges), &self.drawn.studying))
    }

    /// How many copies sell, on both sides.
    fn sold(&self, tried: &Printing, study: &Study) -> Result<Sold, SlipError> {
        let sold = sold_copies(tried, self.images, study, self.options.seed, self.stop)?;
        let other = self.other_side(tried)?;
        let both = sold.iter().enumerate().filter(|(copy, sold)| **sold && other.sells(*copy)).count();
        Ok(Sold { copies: sold.len(), sold: both })
    }

    pub(super) fn outcome(&self, sold: Sold, passes: &[Vec<usize>], figures: &Figures) -> Outcome {
        let (likely, safe) = sold.to_print(self.options.weights.wanted);
        let copies = safe.or(likely);
        let minutes = copies.map(|copies| minutes(figures, passes, copies));
        Outcome { sold, copies, passes: passes.len(), minutes }
    }

    /// The other side as it is with an answer put in, which may be for a layer that prints on both.
    fn other_side(&self, tried: &Printing) -> Result<Cow<'_, OtherSide>, SlipError> {
        if is_alike(tried, self.printing, self.options.face.other()) {
            return Ok(Cow::Borrowed(self.drawn.other));
        }
        OtherSide::of(tried, self.images, self.options, self.stop).map(Cow::Owned)
    }

    /// Widens traps by what the study of the answer still lacks; whether it did.
    fn widen(&self, candidate: &mut Candidate, tried: &Printing, study: &Study) -> bool {
        // What colour spoils no trap mends.
        let only_gaps = tried.acceptance.colour.is_none();
        let expected = candidate.reaches(self.options.wanted_share) && only_gaps;
        if !expected || candidate.fixes.iter().any(|f| !matches!(f.fix, Fix::Trap(_))) {
            return false;
        }
        let slipper = Slipper::of(tried, self.options.face, self.options.seed);
        let (lacking, _) =
            Needs::of(study, tried, &slipper, self.drawn.other).traps(self.options.wanted_share);
        let id = |printing: &Printing, i: usize| printing.sheet.layers.get(i).map(|l| l.id);
        let mut widened = false;
        for fixed in &mut candidate.fixes {
            let own = [id(self.printing, fixed.lower), id(self.printing, fixed.upper)];
            let is_own = |l: &&Fixed| own.contains(&id(tried, l.lower)) && own.contains(&id(tried, l.upper));
            if let (Fix::Trap(by), Some(Fixed { fix: Fix::Trap(more), .. })) =
                (&mut fixed.fix, lacking.iter().find(is_own))
            {
                let wider = hundredths((*by + more).min(WIDEST));
                widened |= wider > *by;
                *by = by.max(wider);
            }
        }
        widened
    }

    fn answer(&self, candidate: &Candidate) -> Answer {
        let sheet = &self.printing.sheet;
        let face = self.options.face;
        let passes = (candidate.change != PassChange::None)
            .then(|| sheet.with_hidden(face, &sheet.named(&candidate.passes)));
        let remedies = candidate.fixes.iter().filter_map(|f| self.remedy(f)).collect();
        Answer { face, passes, remedies }
    }

    /// What is added to which layer where two inks meet. A trap that is there already, also that of a knockout, is
    /// widened.
    fn remedy(&self, fixed: &Fixed) -> Option<(LayerId, Remedy)> {
        let layers = &self.printing.sheet.layers;
        let (light, dark) = lighter(self.printing, fixed.lower, fixed.upper);
        let (light, dark) = (layers.get(light)?, layers.get(dark)?);
        let by = match fixed.fix {
            Fix::Under => return Some((light.id, Remedy::Fill { under: dark.id })),
            Fix::White(by) => return Some((light.id, Remedy::Gap { from: dark.id, by: Growth::new(by) })),
            Fix::Trap(by) => by,
        };
        let wider = |known: &Growth| Growth::new(hundredths(known.get() + by));
        let known = [(light, dark), (dark, light)].into_iter().find_map(|(own, other)| {
            own.remedies.iter().find_map(|r| match r {
                Remedy::Trap { with, by } if *with == other.id => {
                    Some((own.id, Remedy::Trap { with: *with, by: wider(by) }))
                }
                Remedy::Knockout { under, trap } if *under == other.id => {
                    Some((own.id, Remedy::Knockout { under: *under, trap: wider(trap) }))
                }
                Remedy::Trap { .. }
                | Remedy::Knockout { .. }
                | Remedy::Spread(_)
                | Remedy::Choke(_)
                | Remedy::Fill { .. }
                | Remedy::Gap { .. } => None,
            })
        });
        Some(known.unwrap_or((light.id, Remedy::Trap { with: dark.id, by: Growth::new(by) })))
    }

    /// The mean colour difference from the design as it is.
    fn colour(&self, tried: &Printing) -> Result<f64, SlipError> {
        let face = self.options.face;
        let design = match self.design.get() {
            Some(known) => known,
            None => {
                let made = colour::Design::of(self.printing, self.images, face)?;
                self.design.get_or_init(|| made)
            }
        };
        Ok(design.change(&colour::Design::of(tried, self.images, face)?))
    }

    /// The tightest places of the design that an answer changes.
    fn places(&self, candidate: &Candidate, design: &Study) -> Vec<Point> {
        let together = |a: usize, b: usize| candidate.passes.iter().any(|p| p.contains(&a) && p.contains(&b));
        let changed = |lower: usize, upper: usize| {
            candidate.fixes.iter().any(|f| (f.lower, f.upper) == (lower, upper))
                || candidate.change != PassChange::None && together(lower, upper)
        };
        let worst = design.worst(usize::MAX);
        let mut places: Vec<Point> = Vec::new();
        let changing = worst.iter().filter(|w| changed(w.tight.lower, w.tight.upper));
        // Where only the order changes all tight places do.
        let rest = worst.iter().filter(|_| candidate.fixes.is_empty());
        for place in changing.chain(rest).map(|w| w.tight.at) {
            if places.len() < PLACES && !places.contains(&place) {
                places.push(place);
            }
        }
        places
    }
}

/// Which of the simulated copies a face lets sell, that of the study.
pub(super) fn sold_copies(
    printing: &Printing,
    images: &Images,
    study: &Study,
    seed: u64,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<bool>, SlipError> {
    let (face, acceptance) = (study.options.face, printing.acceptance);
    let slipper = Slipper::of(printing, face, seed);
    let no_gap = |copy: u64| sells(study, &acceptance, &slipper.slips(copy));
    let mut sold: Vec<bool> = (0..COPIES as u64).into_par_iter().map(no_gap).collect();
    if acceptance.colour.is_some() {
        let changes = painted(printing, images, face, (&slipper, COPIES), stop)?;
        sold.iter_mut().zip(&changes).for_each(|(sold, change)| *sold &= change.sells(&acceptance));
    }
    Ok(sold)
}
