//! The Run view: how far the design may slip, what the copies will look like, and what helps.

mod copies;
mod desk;
pub(super) mod heat;
mod passes;
mod places;
mod play;
mod press;
mod remedies;
mod rose;
mod slip_map;

use std::sync::Arc;

use egui::{Button, RichText, TextureHandle, Ui};
use slipsheet_core::geometry::Point;
use slipsheet_core::words::percent;
use slipsheet_editor::{CopyWanted, RunOrder, StudyKey};
use slipsheet_paper::fold::Face;
use slipsheet_registration::plan::PassPlan;
use slipsheet_registration::slip::map::SlipMap;
use slipsheet_registration::slip::spread::SpreadEstimate;
use slipsheet_registration::slip::{Copied, RunSummary, Study};

use super::number::drag;
use super::sheet::plain_length;
use super::{SlipsheetApp, UiCommand, theme};
pub(super) use play::Play;

/// The parts of the view below its head.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Part {
    Places,
    Copies,
    Map,
    Passes,
    Remedies,
    Press,
}

impl Part {
    const ALL: [Self; 6] = [Self::Places, Self::Copies, Self::Map, Self::Passes, Self::Remedies, Self::Press];

    fn name(self) -> &'static str {
        match self {
            Self::Places => "Tight places",
            Self::Copies => "Copies",
            Self::Map => "Slip map",
            Self::Passes => "Passes",
            Self::Remedies => "Remedies",
            Self::Press => "Press",
        }
    }

    fn tip(self) -> &'static str {
        match self {
            Self::Places => "Where a gap shows first",
            Self::Copies => "What the press is likely to print",
            Self::Map => "How much one layer's slip changes the picture",
            Self::Passes => "Which inks print together, and in which order",
            Self::Remedies => "Spread, choke, knock out or print on under",
            Self::Press => "The press: register scatter, offset, drums",
        }
    }
}

/// Good copies, copies, and good copies wanted.
type AskedToPrint = (usize, usize, u64);
/// How many to print most likely, and to be safe.
type ToPrint = (Option<u64>, Option<u64>);

/// A run that was simulated, and what it was a run of.
pub(crate) struct Simulated {
    pub face: Face,
    pub of: Arc<StudyKey>,
    pub good: usize,
    pub copies: usize,
}

/// What the Run view knows and shows.
pub(crate) struct RunState {
    pub part: Part,
    /// The layers that what is known is about, in the order by which it names them.
    about: Vec<slipsheet_document::ids::LayerId>,
    pub study: Option<Arc<Study>>,
    pub failed: Option<String>,
    pub copies: Vec<Copied>,
    pub summary: Option<RunSummary>,
    /// The run that was simulated last, whole, and what it was a run of.
    pub simulated: Option<Simulated>,
    contact: Option<(TextureHandle, Point)>,
    near: Option<(CopyWanted, TextureHandle)>,
    map: Option<(SlipMap, TextureHandle)>,
    plans: Vec<PassPlan>,
    present: Option<PassPlan>,
    suggesting: Option<f64>,
    suggested: Option<String>,
    /// What was asked for last.
    ordered: Option<(u64, RunOrder)>,
    number: usize,
    seed: u64,
    wanted: u64,
    /// How many to print so that enough are good, for the figures that it was asked for.
    to_print: Option<(AskedToPrint, ToPrint)>,
    /// The place that copies are looked at; without it the tightest.
    place: Option<Point>,
    chosen: usize,
    /// Whether the extremes of the run are shown in place of one copy.
    extremes: bool,
    /// What printed mark sheets say of the press, until it is taken over or left.
    measured: Option<Result<Arc<SpreadEstimate>, String>>,
    /// The slip that the map's point stands for, in mm.
    point: (f64, f64),
    /// The tolerance wanted of a suggestion, in mm.
    goal: f64,
    /// Tolerances before and after the last change that mattered.
    tolerances: [Option<f64>; 2],
    pub play: Option<Play>,
}

impl Default for RunState {
    fn default() -> Self {
        Self {
            part: Part::Places,
            about: Vec::new(),
            study: None,
            failed: None,
            copies: Vec::new(),
            to_print: None,
            summary: None,
            simulated: None,
            contact: None,
            near: None,
            map: None,
            plans: Vec::new(),
            present: None,
            suggesting: None,
            suggested: None,
            ordered: None,
            number: 200,
            seed: 1,
            wanted: 100,
            place: None,
            chosen: 0,
            extremes: false,
            measured: None,
            point: (0.5, -0.3),
            goal: 0.5,
            tolerances: [None; 2],
            play: None,
        }
    }
}

impl SlipsheetApp {
    pub(super) fn run_ui(&mut self, ui: &mut Ui, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let frame = egui::Frame::new().fill(p.panel).inner_margin(egui::Margin::same(16));
        frame.show(ui, |ui| {
            ui.set_min_size(ui.available_size());
            if let Some(lacks) = self.lacks() {
                lacks.ui(ui, "shows how far each ink may slip, and how many copies would sell", out);
                return;
            }
            self.head_ui(ui, out);
            ui.add_space(theme::GAP);
            ui.horizontal_wrapped(|ui| {
                for part in Part::ALL {
                    let text = RichText::new(part.name()).family(theme::strong());
                    let tab = Button::selectable(self.state.run.part == part, text);
                    if ui.add(tab).on_hover_text(part.tip()).clicked() {
                        self.state.run.part = part;
                    }
                }
            });
            ui.separator();
            egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| match self.state.run.part {
                Part::Places => self.places_ui(ui, out),
                Part::Copies => self.copies_ui(ui),
                Part::Map => self.slip_map_ui(ui, out),
                Part::Passes => self.passes_ui(ui, out),
                Part::Remedies => self.remedies_ui(ui, out),
                Part::Press => self.press_ui(ui, out),
            });
        });
    }

    /// The rose, the tolerance and the share of good copies.
    fn head_ui(&mut self, ui: &mut Ui, out: &mut Vec<UiCommand>) {
        ui.horizontal_top(|ui| {
            self.rose_ui(ui);
            ui.add_space(theme::GROUP_GAP);
            ui.vertical(|ui| {
                ui.set_max_width(ui.available_width());
                self.tolerance_ui(ui);
                ui.add_space(theme::GAP);
                self.pairs_ui(ui, out);
                ui.add_space(theme::GAP);
                self.good_ui(ui);
            });
        });
    }

    fn tolerance_ui(&self, ui: &mut Ui) {
        let p = theme::of(ui);
        let unit = self.session.settings().unit;
        if let Some(why) = &self.state.run.failed {
            ui.label(RichText::new(why).color(p.error));
            return;
        }
        let Some(study) = &self.state.run.study else {
            ui.label("Looking for edges that abut…");
            return;
        };
        match study.tolerance() {
            Some((slip, degrees)) => {
                ui.label(RichText::new(format!("Tolerance {}", plain_length(slip, unit))).heading());
                let gap = plain_length(study.options.visible_gap, unit);
                ui.label(format!(
                    "A slip {} opens a gap wider than {gap} along {:.0} % of an edge.",
                    toward(degrees),
                    study.options.share * 100.0
                ));
            }
            None => {
                ui.label(RichText::new("No tight edges").heading());
                ui.label("No two inks abut where a gap would show, so this design forgives any slip.");
            }
        }
    }

    fn good_ui(&mut self, ui: &mut Ui) {
        let p = theme::of(ui);
        let state = &mut self.state.run;
        let Some(summary) = &state.summary else {
            ui.label(
                RichText::new(format!("Printing copies… {} of {}", state.copies.len(), state.number))
                    .color(p.faint),
            );
            return;
        };
        let i = summary.wilson;
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(format!("{} good copies", percent(summary.share()))).heading());
            let range = format!("likely {} to {}", percent(i.low), percent(i.high));
            ui.label(RichText::new(range).color(p.faint))
                .on_hover_text("Wilson's interval at 95 %, from the copies simulated");
        });
        // A search over binomial sums: once for each question, not once a frame.
        let asked = (summary.good, summary.copies, state.wanted);
        let (likely, safe) = match state.to_print {
            Some((known, answer)) if known == asked => answer,
            _ => {
                let answer = summary.to_print(state.wanted);
                state.to_print = Some((asked, answer));
                answer
            }
        };
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("To get");
            let field = drag(&mut state.wanted).range(1..=5000).speed(1.0);
            ui.add(field).labelled_by(label.id).on_hover_text("Good copies wanted");
            match (likely, safe) {
                (Some(likely), Some(safe)) => {
                    let tip =
                        "So that there are enough in 95 of 100 runs; to be safe, with the least likely share";
                    ui.label(format!("good copies print {likely} ({safe} to be safe).")).on_hover_text(tip);
                }
                (Some(likely), None) => {
                    ui.label(format!("good copies print about {likely}; simulate more copies to be surer."));
                }
                (None, _) => {
                    let text = "good copies no sensible number is enough.";
                    ui.label(RichText::new(text).color(p.warning));
                }
            }
        });
        if likely.is_none() {
            let text = "Give the inks more trap (Remedies), or print those that abut in one pass (Passes).";
            ui.add(egui::Label::new(RichText::new(text).small().color(p.faint)).wrap());
        }
    }
}

/// A direction in words.
fn toward(degrees: f64) -> &'static str {
    const WORDS: [&str; 8] = [
        "to the right",
        "right and down",
        "down",
        "left and down",
        "to the left",
        "left and up",
        "up",
        "right and up",
    ];
    let i = (degrees / 45.0).round() as usize % 8;
    WORDS.get(i).copied().unwrap_or("to the right")
}
