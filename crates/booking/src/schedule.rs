//! What is done in which order, and how long the whole job takes: passes with their set-up and drying, then the work by
//! hand.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

pub use crate::press_pass::{PressPass, is_printed, plate_order, press_passes, printed_sides};
use crate::sequence::{Part, PassRun, SeriesOrder, sequence};
use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;
use slipsheet_document::terms::SeriesMasters;
use slipsheet_paper::fold::Face;

/// What a step of the schedule is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum StepKind {
    /// Making masters, fitting drums, makeready.
    SetUp,
    Print,
    Dry,
    Hand,
}

/// One step, in minutes from the beginning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    pub kind: StepKind,
    pub what: String,
    pub from: f64,
    pub minutes: f64,
    /// Pass, from 1, where it belongs to one.
    pub pass: Option<usize>,
}

/// A job from the first master to the last sleeve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Schedule {
    /// Steps in order.
    pub steps: Vec<Step>,
    /// Minutes from the first set-up to the end of printing, waits between passes included.
    pub slot_minutes: f64,
    /// Minutes that the machine is worked at.
    pub machine_minutes: f64,
    /// Minutes of work by hand.
    pub hand_minutes: f64,
    /// One sentence when the booked slot is too short.
    pub warning: Option<String>,
}

impl Schedule {
    /// The schedule of a job for its own terms.
    pub fn new(printing: &Printing) -> Self {
        let copies = printing.job.copies;
        Self::of(printing, printing.run_for(copies), copies)
    }

    /// The schedule for a number of copies of every sheet that become a number of copies.
    pub fn of(printing: &Printing, sheets: u32, copies: u32) -> Self {
        let parts = [Part::single(printing, sheets, copies)];
        Self::of_parts(&parts, &sequence(&parts, SeriesOrder::default(), SeriesMasters::default()))
    }

    /// The schedule of the passes of a series; the press, the terms and the fold are those of its first part.
    pub(crate) fn of_parts(parts: &[Part<'_>], passes: &[PassRun<'_>]) -> Self {
        let mut line = Line::default();
        let machine_minutes = press_steps(parts, passes, &mut line);
        let slot = line.at;
        let hand_minutes = hand_steps(parts, &mut line);
        let booked = parts.first().map_or(0.0, |p| p.printing.job.slot.get());
        let warning = too_short(slot, booked);
        Self { steps: line.steps, slot_minutes: slot, machine_minutes, hand_minutes, warning }
    }
}

/// One sentence when so many minutes do not fit into those that are booked; 0 where nothing is booked.
pub(crate) fn too_short(slot: f64, booked: f64) -> Option<String> {
    (booked > 0.0 && slot > booked + 1e-9).then(|| {
        format!(
            "printing takes about {slot:.0} min with drying, but {booked:.0} min are booked; book longer, print fewer copies or take another day for the last passes"
        )
    })
}

/// Adds what is done at the press; gives the minutes that the machine is worked at.
fn press_steps(parts: &[Part<'_>], passes: &[PassRun<'_>], line: &mut Line) -> f64 {
    let mut machine = 0.0;
    // Face and end of the last print of each stack: one stack dries while another is printed.
    let mut printed: BTreeMap<(usize, usize), (Face, f64)> = BTreeMap::new();
    for (i, run) in passes.iter().enumerate() {
        let Some(part) = parts.get(run.part) else { continue };
        let (printing, pass, number) = (part.printing, run.pass, Some(i + 1));
        if let Some((face, ended)) = printed.get(&(run.part, pass.sheet)).copied() {
            let turned = pass.face == Face::Back && face == Face::Front;
            let what = if turned { "Dry, then turn the stack over" } else { "Dry" };
            line.add(StepKind::Dry, what.to_owned(), printing.job.drying.get() - (line.at - ended), number);
        }
        let side = pass.face.of_sheet(pass.sheet, printing.sheet.printed_sheets());
        let side = part.name.map_or_else(|| side.clone(), |name| format!("{side} of {name}"));
        let named = pass.inks.join(" + ");
        let set_up = printing.job.prices.set_up_of(run.drums, run.masters);
        line.add(StepKind::SetUp, format!("Set up pass {}: {named}", i + 1), set_up, number);
        let print = f64::from(part.run) / printing.press.speed.get();
        line.add(StepKind::Print, format!("Print {}, {side}", count(part.run, "sheet")), print, number);
        machine += set_up + print;
        printed.insert((run.part, pass.sheet), (pass.face, line.at));
    }
    machine
}

/// Adds the work by hand, which a wrap's own sheet has none of: it is counted with the piece. Gives its minutes.
fn hand_steps(parts: &[Part<'_>], line: &mut Line) -> f64 {
    let Some(first) = parts.first().filter(|p| !p.printing.is_wrap()) else { return 0.0 };
    let (job, construction) = (&first.printing.job, first.printing.sheet.construction());
    let copies = parts.iter().fold(0_u32, |all, p| all.saturating_add(p.copies));
    let minutes = job.hand.per_copy(&construction) * f64::from(copies);
    if minutes > 0.0 && parts.iter().any(|p| !p.passes.is_empty()) {
        line.add(StepKind::Dry, "Dry before folding".to_owned(), job.drying.get(), None);
    }
    for (name, each) in job.hand.steps(&construction) {
        let what = format!("{name} {}", count(copies, "copy"));
        line.add(StepKind::Hand, what, each * f64::from(copies), None);
    }
    minutes
}

#[derive(Default)]
struct Line {
    steps: Vec<Step>,
    at: f64,
}

impl Line {
    fn add(&mut self, kind: StepKind, what: String, minutes: f64, pass: Option<usize>) {
        if minutes > 0.0 {
            self.steps.push(Step { kind, what, from: self.at, minutes, pass });
            self.at += minutes;
        }
    }
}
