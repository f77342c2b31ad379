//! Whole answers: passes, their order and remedies together, so that as many copies would sell as are wanted.
//!
//! [`propose`] looks at a few sets of passes (`passes`), works out for each which remedies help and how wide a trap has
//! to be (`search`), and studies the few that come out best as they would be printed (`verify`): the figures that are
//! told are those of the verified answers, of the copies of a run with the same seed.
//!
//! **How small a change is** ([`Change`]): the passes stay before the same order in other passes before another order;
//! then a trap before printing under before white on purpose; then the narrower remedy; then the smaller colour change.

mod colour;
mod other_side;
mod passes;
mod search;
mod verify;
mod words;

use rayon::prelude::*;

use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;
use slipsheet_document::answer::Answer;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

use crate::plan::{Figures, Weights};
use crate::slip::job::seed_of;
use crate::slip::study::edges_of;
use crate::slip::{Covers, SlipError, Sold, Study, StudyOptions};
use other_side::OtherSide;
use passes::Passes;
use search::Candidate;
use verify::{Drawn, Verifier};

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProposeOptions {
    pub face: Face,
    /// The share of copies that should sell, 0..=1.
    pub wanted_share: f64,
    /// How the minutes are counted, with how many copies are to be sold.
    pub weights: Weights,
    /// The seed of the simulated copies.
    pub seed: u64,
    /// How many proposals there are at most.
    pub most: usize,
}

impl ProposeOptions {
    /// Nine of ten copies of a face should sell, with the minutes and the copies of its job.
    pub fn of(printing: &Printing, face: Face) -> Self {
        Self { face, wanted_share: 0.9, weights: Weights::of(&printing.job), seed: seed_of(0), most: MOST }
    }
}

/// What a design comes to on the press.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Of 1,000 simulated copies of the sheet, both of its sides.
    pub sold: Sold,
    /// Copies to print to be safe, so that those wanted sell with 95 % confidence at the least share that is likely;
    /// none where no sensible number is enough.
    pub copies: Option<u64>,
    pub passes: usize,
    /// To make ready, change drums, wait and print; none where the copies are not known.
    pub minutes: Option<f64>,
}

/// What happens to the passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PassChange {
    None,
    /// Other inks share a pass, in the same order.
    Pairing,
    Order,
}

/// Which remedies are added; of several the one that changes most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RemedyChange {
    None,
    Trap,
    /// One ink prints under another as well.
    Under,
    /// White shows on purpose.
    White,
}

/// How much of the design changes, smallest first.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Change {
    pub passes: PassChange,
    pub remedies: RemedyChange,
    /// The widest trap or gap added, in mm.
    pub width: f64,
    /// The mean over the sheet of the colour difference from the present design, CIEDE2000.
    pub colour: f64,
}

/// One answer, as it would be printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// What is done, in a sentence without its stop.
    pub title: String,
    /// The changes themselves, as one edit of the sheet.
    pub answer: Answer,
    pub outcome: Outcome,
    /// Whether as many copies sell as are wanted.
    pub reaches: bool,
    pub change: Change,
    /// The tightest places of the present design that it changes, on the sheet in mm.
    pub places: Vec<Point>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposals {
    pub now: Outcome,
    /// How many copies the other side alone lets sell; none where nothing slips there.
    pub other_side: Option<Sold>,
    pub wanted_share: f64,
    /// Those that reach the wanted share first, the smallest change first; then those that come nearest.
    pub list: Vec<Proposal>,
}

impl Proposals {
    /// Whether the design as it is sells enough, so that there is nothing to do.
    pub fn is_enough(&self) -> bool {
        self.now.sold.share() >= self.wanted_share
    }

    /// Whether the other side spoils so many copies that nothing done to this one could be enough.
    pub fn is_spoilt_by_other_side(&self) -> bool {
        self.other_side.is_some_and(|sold| sold.share() < self.wanted_share)
    }
}

/// Whether an outcome is worth a change of the design.
fn is_worth(proposal: &Proposal, now: &Outcome) -> bool {
    let more = proposal.outcome.sold.share() - now.sold.share();
    more > WORTH || proposal.reaches && more > 0.0
}

/// Proposals that are told.
const MOST: usize = 5;
/// Resolution of the studies in which proposals are looked for: edges are found to a fraction of a pixel.
const STUDY_DPI: f64 = 150.0;
/// What a larger change must sell more, as a share: less is the luck of a thousand copies.
const WORTH: f64 = 0.02;

/// Answers for a face of a printed sheet; none where the design sells enough, or nothing helps.
///
/// # Errors
/// See [`SlipError`]; [`SlipError::Cancelled`] when `stop` says so.
pub fn propose(
    printing: &Printing,
    images: &Images,
    options: &ProposeOptions,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Proposals, SlipError> {
    // The share to be expected, as everywhere.
    let mut printing = Printing { press: printing.press.independent(), ..printing.clone() };
    let telling = StudyOptions::of(&printing.press, options.face);
    printing.press_dpi = telling.dpi;
    let covers = Covers::of(&printing, images, options.face, telling.dpi)?;
    let edges = edges_of(&covers);
    let study = Study::of_edges((&covers, &edges), &telling);
    let figures = Figures::new(&printing, &covers, &study, options.face, options.weights);
    let other = OtherSide::of(&printing, images, options, stop)?;
    let drawn = Drawn { studying: telling, covers: &covers, edges: &edges, other: &other };
    let teller = Verifier::new((&printing, images), options, drawn, stop);
    let now = teller.now(&study, &figures)?;
    let other_side = other.sold();
    let mut found = Proposals { now, other_side, wanted_share: options.wanted_share, list: Vec::new() };
    if found.is_enough() {
        return Ok(found);
    }
    // What is looked for coarsely is told of the study that all other figures are of.
    let looked_for = looked_for((&printing, images), options, &other, stop)?;
    // Side by side, for each by itself leaves threads idle now and then.
    let told: Vec<Sold> = looked_for
        .par_iter()
        .map(|(proposal, _)| teller.tell(&proposal.answer, &study))
        .collect::<Result<_, SlipError>>()?;
    for ((mut proposal, passes), sold) in looked_for.into_iter().zip(told) {
        proposal.outcome = teller.outcome(sold, &passes, &figures);
        proposal.reaches = sold.share() >= options.wanted_share;
        if is_worth(&proposal, &now) {
            found.list.push(proposal);
        }
    }
    found.list.sort_by(in_order);
    Ok(found)
}

/// The proposals that come out best in studies of a coarser resolution, with the passes of each.
fn looked_for(
    (printing, images): (&Printing, &Images),
    options: &ProposeOptions,
    other: &OtherSide,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<(Proposal, Passes)>, SlipError> {
    let printing = Printing { press_dpi: Dpi::nearest(STUDY_DPI), ..printing.clone() };
    let studying =
        StudyOptions { dpi: printing.press_dpi, ..StudyOptions::of(&printing.press, options.face) };
    let covers = Covers::of(&printing, images, options.face, studying.dpi)?;
    let edges = edges_of(&covers);
    let study = Study::of_edges((&covers, &edges), &studying);
    let figures = Figures::new(&printing, &covers, &study, options.face, options.weights);
    let drawn = Drawn { studying, covers: &covers, edges: &edges, other };
    let verifier = Verifier::new((&printing, images), options, drawn, stop);
    let now = verifier.now(&study, &figures)?;
    let candidates = search::candidates(&printing, &study, &figures, (options, other));
    let mut list: Vec<(Proposal, Passes)> = Vec::new();
    let mut seen: Vec<(PassChange, RemedyChange, bool)> = Vec::new();
    for candidate in by_promise(candidates, options.wanted_share) {
        if list.len() >= options.most {
            break;
        }
        let kind = (candidate.change, candidate.remedy_change(), candidate.reaches(options.wanted_share));
        if seen.contains(&kind) {
            continue;
        }
        let (candidate, proposal) = smallest(&verifier, candidate, (&study, &figures))?;
        if let Some(proposal) = proposal {
            let better = is_worth(&proposal, &now);
            let known = list.iter().any(|(p, _)| p.answer == proposal.answer);
            if better && !known {
                seen.push(kind);
                list.push((proposal, candidate.passes.clone()));
            }
        }
    }
    Ok(list)
}

/// A candidate as it would be printed; without its remedies where other passes alone do as much.
fn smallest(
    verifier: &Verifier<'_>,
    candidate: Candidate,
    (study, figures): (&Study, &Figures),
) -> Result<(Candidate, Option<Proposal>), SlipError> {
    let with = verifier.proposal(&candidate, study, figures)?;
    if candidate.change == PassChange::None || candidate.fixes.is_empty() {
        return Ok((candidate, with));
    }
    let bare = Candidate { fixes: Vec::new(), ..candidate.clone() };
    let without = verifier.proposal(&bare, study, figures)?;
    let idle = with.as_ref().zip(without.as_ref()).is_some_and(|(with, without)| {
        let more = with.outcome.sold.share() - without.outcome.sold.share();
        more <= WORTH && with.reaches == without.reaches
    });
    Ok(if idle { (bare, without) } else { (candidate, with) })
}

/// The candidates that are worth a closer look first: those that reach the wanted share by how small they are, then
/// those that come nearest.
fn by_promise(mut candidates: Vec<Candidate>, wanted: f64) -> Vec<Candidate> {
    candidates.sort_by(|a, b| {
        let (far_a, far_b) = (!a.reaches(wanted), !b.reaches(wanted));
        let size = |c: &Candidate| (c.change, c.remedy_change());
        let nearer = if far_a { b.share.total_cmp(&a.share) } else { std::cmp::Ordering::Equal };
        let smaller = size(a).cmp(&size(b)).then(a.width().total_cmp(&b.width()));
        far_a.cmp(&far_b).then(nearer).then(smaller).then(b.share.total_cmp(&a.share))
    });
    candidates
}

fn in_order(a: &Proposal, b: &Proposal) -> std::cmp::Ordering {
    let smaller = a.change.partial_cmp(&b.change).unwrap_or(std::cmp::Ordering::Equal);
    let nearer =
        if a.reaches { std::cmp::Ordering::Equal } else { b.outcome.sold.sold.cmp(&a.outcome.sold.sold) };
    b.reaches.cmp(&a.reaches).then(nearer).then(smaller)
}

#[cfg(test)]
mod tests;
