//! What the press does, in order: the passes that print something, and how long the whole job takes.

use serde::{Deserialize, Serialize};

use crate::fold::Face;
use crate::plan;
use crate::project::Project;

/// One passage of the stack through the press.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PressPass {
    /// The face it prints.
    pub face: Face,
    /// Layers by their index in the project, one a drum, in printing order.
    pub layers: Vec<usize>,
}

/// The passes of a job, front before back, in printing order; hidden layers are not printed.
pub fn press_passes(project: &Project) -> Vec<PressPass> {
    let shown = |i: &usize| project.layers.get(*i).is_some_and(|l| l.visible);
    [Face::Front, Face::Back]
        .into_iter()
        .flat_map(|face| {
            plan::passes(project, face).into_iter().map(move |layers| PressPass { face, layers })
        })
        .map(|pass| PressPass { layers: pass.layers.into_iter().filter(shown).collect(), ..pass })
        .filter(|pass| !pass.layers.is_empty())
        .collect()
}

/// Drums that must be fitted: those whose ink was not in the press in the pass before.
pub fn drums_fitted(project: &Project, passes: &[PressPass]) -> usize {
    let ink = |i: &usize| project.layers.get(*i).map(|l| l.ink.name.as_str());
    let mut before: Vec<Option<&str>> = Vec::new();
    let mut fitted = 0;
    for pass in passes {
        let now: Vec<Option<&str>> = pass.layers.iter().map(ink).collect();
        fitted += now.iter().filter(|ink| !before.contains(ink)).count();
        before = now;
    }
    fitted
}

/// What a step of the schedule is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum StepKind {
    /// Making masters, fitting drums, makeready.
    SetUp,
    /// Printing.
    Print,
    /// Waiting for ink.
    Dry,
    /// Work by hand.
    Hand,
}

/// One step, in minutes from the beginning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// What it is.
    pub kind: StepKind,
    /// In words.
    pub what: String,
    /// When it begins.
    pub from: f64,
    /// How long it takes.
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
    pub fn new(project: &Project) -> Self {
        let job = &project.job;
        Self::of(project, job.copies.saturating_add(job.overs), job.copies)
    }

    /// The schedule for a number of sheets that become a number of copies.
    pub fn of(project: &Project, sheets: u32, copies: u32) -> Self {
        let passes = press_passes(project);
        let (job, prices) = (&project.job, &project.job.prices);
        let mut line = Line::default();
        let mut machine = 0.0;
        let mut before: Vec<&str> = Vec::new();
        for (i, pass) in passes.iter().enumerate() {
            let inks: Vec<&str> = pass
                .layers
                .iter()
                .filter_map(|l| project.layers.get(*l))
                .map(|l| l.ink.name.as_str())
                .collect();
            let fresh = inks.iter().filter(|ink| !before.contains(ink)).count() as f64;
            let set_up = prices.set_up_minutes.get()
                + fresh * prices.drum_minutes.get()
                + inks.len() as f64 * prices.master_minutes.get();
            if i > 0 {
                let what =
                    if pass.face == Face::Back && passes.get(i - 1).is_some_and(|p| p.face == Face::Front) {
                        "Dry, then turn the stack over"
                    } else {
                        "Dry"
                    };
                line.add(StepKind::Dry, what.to_owned(), job.drying.get(), Some(i + 1));
            }
            let named = inks.join(" + ");
            line.add(StepKind::SetUp, format!("Set up pass {}: {named}", i + 1), set_up, Some(i + 1));
            let print = f64::from(sheets) / project.press.speed.get();
            let face = pass.face.name().to_lowercase();
            line.add(StepKind::Print, format!("Print {sheets} sheets, {face}"), print, Some(i + 1));
            machine += set_up + print;
            before = inks;
        }
        let slot = line.at;
        let hand_minutes = job.hand.per_copy() * f64::from(copies);
        if hand_minutes > 0.0 && !passes.is_empty() {
            line.add(StepKind::Dry, "Dry before folding".to_owned(), job.drying.get(), None);
        }
        for (name, each) in job.hand.steps() {
            if each > 0.0 {
                line.add(StepKind::Hand, format!("{name} {copies} copies"), each * f64::from(copies), None);
            }
        }
        let booked = job.slot.get();
        let warning = (booked > 0.0 && slot > booked + 1e-9).then(|| {
            format!(
                "printing takes {slot:.0} min with its waits, and {booked:.0} min are booked; book longer, print fewer copies or take another day for the last passes"
            )
        });
        Self { steps: line.steps, slot_minutes: slot, machine_minutes: machine, hand_minutes, warning }
    }
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
