//! The Run view: how far the design may slip, what the copies will look like, and what helps.

mod copies;
mod desk;
pub(super) mod heat;
mod known;
mod passes;
mod places;
mod press;
mod remedies;
mod rose;
mod slip_map;

use std::sync::Arc;

use egui::{Button, RichText, Ui};
use slipsheet_core::geometry::Point;
use slipsheet_core::words::percent;
use slipsheet_registration::propose::Proposals;
use slipsheet_registration::slip::spread::SpreadEstimate;

use super::context::{Component, Context, Wanted};
use super::number::drag;
use super::sheet::plain_length;
use super::{UiCommand, theme};
pub(super) use known::RunKnown;

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
            Self::Remedies => "Passes and remedies so that more copies sell; traps by hand",
            Self::Press => "The press: register scatter, offset, drums",
        }
    }
}

/// Good copies, copies, and good copies wanted.
type AskedToPrint = (usize, usize, u64);
/// How many to print most likely, and to be safe.
type ToPrint = (Option<u64>, Option<u64>);

/// What the Run view shows, and what is chosen there.
pub(crate) struct RunView {
    part: Part,
    /// The share of copies that answers are being looked for, 0..=1.
    proposing: Option<f64>,
    /// What was found, and of which revision.
    proposed: Option<(u64, Proposals)>,
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
    /// The share of copies that should sell, in percent.
    goal: f64,
}

impl Default for RunView {
    fn default() -> Self {
        Self {
            part: Part::Places,
            proposing: None,
            proposed: None,
            number: 200,
            seed: 1,
            wanted: 100,
            to_print: None,
            place: None,
            chosen: 0,
            extremes: false,
            measured: None,
            point: (0.5, -0.3),
            goal: 90.0,
        }
    }
}

impl Component for RunView {
    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let frame = egui::Frame::new().fill(p.panel).inner_margin(egui::Margin::same(16));
        frame.show(ui, |ui| {
            ui.set_min_size(ui.available_size());
            if let Some(lacks) = cx.lacks() {
                lacks.ui(ui, "shows how far each ink may slip, and how many copies would sell", out);
                return;
            }
            self.head_ui(ui, cx, out);
            ui.add_space(theme::GAP);
            ui.horizontal_wrapped(|ui| {
                for part in Part::ALL {
                    let text = RichText::new(part.name()).family(theme::strong());
                    let tab = Button::selectable(self.part == part, text);
                    if ui.add(tab).on_hover_text(part.tip()).clicked() {
                        self.part = part;
                    }
                }
            });
            ui.separator();
            egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| match self.part {
                Part::Places => self.places_ui(ui, cx, out),
                Part::Copies => self.copies_ui(ui, cx),
                Part::Map => self.slip_map_ui(ui, cx, out),
                Part::Passes => self.passes_ui(ui, cx, out),
                Part::Remedies => self.remedies_ui(ui, cx, out),
                Part::Press => self.press_ui(ui, cx, out),
            });
        });
    }

    fn order(&mut self, ctx: &egui::Context, cx: &Context<'_>) -> Option<Wanted> {
        Some(self.wanted(ctx, cx))
    }
}

impl RunView {
    /// The rose, the tolerance and the share of good copies.
    fn head_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        ui.horizontal_top(|ui| {
            self.rose_ui(ui, cx);
            ui.add_space(theme::GROUP_GAP);
            ui.vertical(|ui| {
                ui.set_max_width(ui.available_width());
                self.tolerance_ui(ui, cx);
                ui.add_space(theme::GAP);
                self.pairs_ui(ui, cx, out);
                ui.add_space(theme::GAP);
                self.good_ui(ui, cx);
            });
        });
    }

    fn tolerance_ui(&self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let unit = cx.session.settings().unit;
        if let Some(why) = &cx.desk.run.failed {
            ui.label(RichText::new(why).color(p.error));
            return;
        }
        let Some(study) = &cx.desk.run.study else {
            ui.label("Looking for edges that abut…");
            return;
        };
        let acceptance = &cx.session.project().acceptance;
        match study.tolerance(acceptance).least() {
            Some((slip, degrees)) => {
                ui.label(RichText::new(format!("Tolerance {}", plain_length(slip, unit))).heading());
                let gap = plain_length(acceptance.gap.get(), unit);
                ui.label(format!(
                    "A slip {} opens a gap wider than {gap} along {:.0} % of an edge.",
                    toward(degrees),
                    acceptance.share.get() * 100.0
                ));
            }
            None => {
                ui.label(RichText::new("No tight edges").heading());
                ui.label("No two inks abut where a gap would show, so this design forgives any slip.");
            }
        }
    }

    fn good_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let Some(summary) = &cx.desk.run.summary else {
            let text = format!("Printing copies… {} of {}", cx.desk.run.copies.len(), self.number);
            ui.label(RichText::new(text).color(p.faint));
            return;
        };
        let i = summary.sold.likely();
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(format!("{} good copies", percent(summary.sold.share()))).heading());
            let range = format!("likely {} to {}", percent(i.low), percent(i.high));
            ui.label(RichText::new(range).color(p.faint))
                .on_hover_text("Wilson's interval at 95 %, from the copies simulated");
        });
        // A search over binomial sums: once for each question, not once a frame.
        let asked = (summary.sold.sold, summary.sold.copies, self.wanted);
        let (likely, safe) = match self.to_print {
            Some((known, answer)) if known == asked => answer,
            _ => {
                let answer = summary.sold.to_print(self.wanted);
                self.to_print = Some((asked, answer));
                answer
            }
        };
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("To get");
            let field = drag(&mut self.wanted).range(1..=5000).speed(1.0);
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
