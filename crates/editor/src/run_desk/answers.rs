//! Whole answers with what they cost, and how the tightest place looks with each.

use slipsheet_base::cache::Bytes;
use slipsheet_booking::ink_use::ink_use;
use slipsheet_booking::verdict::Whole;
use slipsheet_core::geometry::Point;
use slipsheet_document::answer::Answer;
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_files::logged;
use slipsheet_registration::plan::Weights;
use slipsheet_registration::propose::{Outcome, Proposal, ProposeOptions, propose};
use slipsheet_registration::slip::run::{Slipper, openings, ranked};
use slipsheet_registration::slip::{SlipError, Sold, run::COPIES};
use slipsheet_render::{Picture, Scene, Show};

use super::Case;
use super::pictures::{place_view, slipped};
use crate::snapshot::Snapshot;
use crate::whole_ink::WholeInk;

/// Proposals that bring the share to what is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnswersWanted {
    /// The share of copies that should sell, 0..=1.
    pub share: f64,
    /// Copies that are to be sold.
    pub copies: u64,
    /// Side in pixels of the pictures.
    pub pixels: u32,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    pub wanted: AnswersWanted,
    pub now: Booked,
    /// How many copies the other side alone lets sell, where that spoils more than are wanted.
    pub spoilt_by_other_side: Option<Sold>,
    pub list: Vec<ShownAnswer>,
}

/// A proposal, what it costs, and how a copy looks with it.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownAnswer {
    pub proposal: Proposal,
    pub booked: Booked,
    /// A copy that would not sell, at the tightest place, as the design is and with the proposal.
    pub pictures: Option<[Picture; 2]>,
}

/// What the whole project comes to at the shop with a design, once the copies are booked that it takes to be safe; nothing
/// where no sensible number of copies is enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Booked {
    pub outcome: Outcome,
    /// Minutes at the machine with drying.
    pub minutes: Option<f64>,
    pub cost: Option<f64>,
}

impl Bytes for Answers {
    fn bytes(&self) -> usize {
        let of = |a: &ShownAnswer| a.pictures.iter().flatten().map(|p| p.pixels.bytes()).sum::<usize>();
        self.list.iter().map(of).sum()
    }
}

/// Of the copies in order, the one that pictures show: one in five is worse.
const SHOWN: usize = COPIES * 4 / 5;
/// Side in mm of the place that is shown.
const SIDE: f64 = 14.0;

pub(super) fn answers(
    case: &Case<'_>,
    from: &Snapshot,
    wanted: &AnswersWanted,
) -> Result<Answers, SlipError> {
    let printing = &*from.printing;
    let weights = Weights { wanted: wanted.copies, ..Weights::of(&printing.job) };
    let options = ProposeOptions {
        wanted_share: wanted.share,
        weights,
        seed: case.seed,
        ..ProposeOptions::of(printing, case.face())
    };
    let found = propose(printing, case.images, &options, &|| case.turn.is_overtaken())?;
    let inks = WholeInk::of(from, |part| ink_use(part.printing(), case.images));
    let booked =
        |answer: Option<&Answer>, outcome| booked(from, inks.as_ref(), answer, outcome, wanted.copies);
    let now = booked(None, found.now);
    let spoilt_by_other_side = found.other_side.filter(|_| found.is_spoilt_by_other_side());
    let slips = case.slipper();
    let openings = openings(&case.study, case.share, &slips, COPIES);
    let copy = ranked(&openings).get(SHOWN).copied().unwrap_or(0);
    let show = |proposal: Proposal| {
        case.go_on()?;
        let with = with(printing, &proposal);
        let place = proposal.places.first().copied();
        let pictures = place.map(|place| pictures(case, [printing, &with], copy, (place, wanted.pixels)));
        let booked = booked(Some(&proposal.answer), proposal.outcome);
        Ok(ShownAnswer { pictures: pictures.transpose()?, booked, proposal })
    };
    let list = found.list.into_iter().map(show).collect::<Result<_, SlipError>>()?;
    Ok(Answers { wanted: *wanted, now, spoilt_by_other_side, list })
}

/// What is printed once a proposal is put in.
fn with(printing: &Printing, proposal: &Proposal) -> Printing {
    let mut sheet = printing.sheet.clone();
    logged("a proposal", sheet.take_answer(&proposal.answer));
    printing.with(sheet)
}

/// What a project comes to with an answer put into the sheet in hand, and the copies booked that it takes.
fn booked(
    from: &Snapshot,
    inks: Option<&WholeInk>,
    answer: Option<&Answer>,
    outcome: Outcome,
    wanted: u64,
) -> Booked {
    let number = |n: u64| u32::try_from(n).unwrap_or(u32::MAX);
    let Some(copies) = outcome.copies else { return Booked { outcome, minutes: None, cost: None } };
    let mut project = Project::clone(&from.project);
    if let Some(answer) = answer {
        let sheet = project.sheets_mut().find(|sheet| sheet.id == from.printing.sheet.id);
        sheet.and_then(|sheet| logged("a proposal", sheet.take_answer(answer)));
    }
    project.book(number(wanted), number(copies.saturating_sub(wanted)));
    let verdict = match inks {
        Some(inks) => inks.whole(&project).verdict,
        None => Whole::of(&project, &mut |_| Vec::new()).verdict,
    };
    let priced = inks.is_some() && !verdict.prices_are_zero;
    Booked { outcome, minutes: Some(verdict.slot_minutes), cost: priced.then_some(verdict.total) }
}

/// A copy around a place, as each of two printings has it.
fn pictures(
    case: &Case<'_>,
    printings: [&Printing; 2],
    copy: usize,
    (place, pixels): (Point, u32),
) -> Result<[Picture; 2], SlipError> {
    let view = place_view(&case.study, place, SIDE, pixels);
    let draw = |printing: &Printing| -> Result<Picture, SlipError> {
        let scene = Scene::new(printing, case.images, Show::meant(case.face()))?;
        let press = printing.press.independent();
        let printing = Printing { press, ..printing.clone() };
        let slips = Slipper::of(&printing, case.face(), case.seed).slips(copy as u64);
        Ok(slipped(&scene, &case.study, &slips, &view))
    };
    let [before, after] = printings;
    Ok([draw(before)?, draw(after)?])
}
