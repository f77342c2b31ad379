//! The Run view: how many copies would sell, what they look like from best to worst, and what helps.

mod acceptance;
mod answers;
mod counts;
mod head;
pub(super) mod heat;
mod known;
mod line;
mod look;
mod passes;
mod places;
mod press;
mod remedies;
mod rose;
mod row;
mod slip_map;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use egui::{RichText, ScrollArea, Ui};
use slipsheet_core::geometry::Point;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_editor::{AnswersWanted, LookWanted, RowWanted, RunOrder};
use slipsheet_registration::slip::Sold;
use slipsheet_registration::slip::spread::SpreadEstimate;

use super::context::{Component, Context, Wanted};
use super::fold::section;
use super::{MainView, UiCommand, theme};
pub(super) use head::band_words;
pub(super) use known::RunKnown;

/// Side in mm of the place that copies are looked at.
const PLACE: f64 = 22.0;
/// Side in points of a copy, and of a starting point's picture.
const TILE: f32 = 168.0;
const START: f32 = 120.0;
/// Side in points of a proposal's pictures.
const ANSWER: f32 = 104.0;

/// What the Run view shows, and what is chosen there.
pub(crate) struct RunView {
    /// Copies that are to be sold.
    wanted: u64,
    /// What the job wanted when that was taken from it.
    job_wanted: Option<u64>,
    /// The share of copies that proposals are to reach, in percent.
    goal: f64,
    /// How many to print so that enough sell, for the figures that it was asked for.
    to_print: Option<(Sold, u64, [Option<u64>; 2])>,
    /// The place that copies are looked at; without it the tightest.
    place: Option<Point>,
    /// How many copies stand side by side.
    columns: usize,
    /// The copy that is looked at whole, beside what was meant.
    looked_at: Option<usize>,
    /// The room that it had last, in pixels.
    look_pixels: [u32; 2],
    /// Copies that the person has judged: whether each would sell.
    marks: BTreeMap<usize, bool>,
    /// What the marks led to, and the copies they are of, by their address.
    marked: Option<(Acceptance, usize)>,
    /// The sections that are open.
    open: BTreeSet<Part>,
    /// What printed mark sheets say of the press, until it is taken over or left.
    measured: Option<Result<Arc<SpreadEstimate>, String>>,
    /// The slip that the map's point stands for, in mm.
    point: (f64, f64),
}

impl Default for RunView {
    fn default() -> Self {
        Self {
            wanted: 100,
            job_wanted: None,
            goal: 90.0,
            to_print: None,
            place: None,
            columns: 0,
            looked_at: None,
            look_pixels: [0; 2],
            marks: BTreeMap::new(),
            marked: None,
            open: BTreeSet::new(),
            measured: None,
            point: (0.5, -0.3),
        }
    }
}

/// What folds away under the copies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    Acceptance,
    Tolerance,
    Places,
    Passes,
    Remedies,
    Map,
    Press,
}

impl Part {
    const ALL: [Self; 7] = [
        Self::Acceptance,
        Self::Tolerance,
        Self::Places,
        Self::Passes,
        Self::Remedies,
        Self::Map,
        Self::Press,
    ];

    fn name(self) -> &'static str {
        match self {
            Self::Acceptance => "What would sell",
            Self::Tolerance => "Tolerance",
            Self::Places => "Tight places",
            Self::Passes => "Passes by hand",
            Self::Remedies => "Remedies by hand",
            Self::Map => "Slip map",
            Self::Press => "Press",
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
            if let Some(why) = &cx.desk.run.failed {
                ui.label(RichText::new(why).color(p.error));
                return;
            }
            if self.looked_at.is_some() {
                self.look_ui(ui, cx);
                return;
            }
            self.head_ui(ui, cx, out);
            ui.add_space(theme::GAP);
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                ui.set_max_width(ui.available_width() - theme::SCROLL_ROOM);
                self.row_ui(ui, cx, out);
                ui.add_space(theme::GROUP_GAP);
                self.answers_ui(ui, cx, out);
                ui.add_space(theme::GROUP_GAP);
                self.sections_ui(ui, cx, out);
            });
        });
    }

    fn order(&mut self, ctx: &egui::Context, cx: &Context<'_>) -> Option<Wanted> {
        Some(self.wanted(ctx, cx))
    }
}

impl RunView {
    /// What folds away, each with what it says while it is closed.
    fn sections_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let acceptance = cx.session.project().acceptance;
        let press = &cx.session.printing().press;
        let says = [
            acceptance::words(&acceptance, cx.session.settings().unit),
            self.tolerance_words(cx),
            self.places_words(cx),
            self.passes_words(cx),
            self.remedies_words(cx),
            String::new(),
            format!("{}, {}", press.name, press.standing()),
        ];
        for (part, says) in Part::ALL.into_iter().zip(says) {
            let mut open = self.open.contains(&part);
            section(ui, &mut open, part.name(), &says, |ui| match part {
                Part::Acceptance => self.acceptance_ui(ui, cx, out),
                Part::Tolerance => self.tolerance_ui(ui, cx, out),
                Part::Places => self.places_ui(ui, cx, out),
                Part::Passes => self.own_passes_ui(ui, cx, out),
                Part::Remedies => self.remedies_ui(ui, cx, out),
                Part::Map => self.slip_map_ui(ui, cx, out),
                Part::Press => self.press_ui(ui, cx, out),
            });
            if open {
                self.open.insert(part)
            } else {
                self.open.remove(&part)
            };
        }
    }

    /// What the window shows now.
    fn wanted(&mut self, ctx: &egui::Context, cx: &Context<'_>) -> Wanted {
        if cx.lacks().is_some() {
            // Edges of what is only partly there are no edges of the print: nothing is asked for, nor kept.
            return Wanted::NoRun;
        }
        if cx.desk.run.is_of_others(cx.session, cx.showing) {
            (self.place, self.looked_at) = (None, None);
            self.marks.clear();
        }
        if cx.desk.run.is_of_another(cx.session) {
            self.job_wanted = None;
        }
        self.follow_job(cx);
        let open = cx.showing.view == MainView::Run;
        let pixels = |points: f32| (points * ctx.pixels_per_point()) as u32;
        let row =
            RowWanted { copies: self.columns.max(1), place: self.place, side: PLACE, pixels: pixels(TILE) };
        let look = self.looked_at.filter(|_| self.look_pixels[0] > 0);
        let colour_counts = cx.session.project().acceptance.colour.is_some();
        Wanted::Run(RunOrder {
            face: cx.showing.face,
            sheet: cx.showing.booklet_sheet,
            copies: open,
            changes: open && (colour_counts || self.open.contains(&Part::Acceptance)),
            row: (open && self.columns > 0).then_some(row),
            starts: (open && self.open.contains(&Part::Acceptance)).then(|| pixels(START)),
            look: look.filter(|_| open).map(|copy| LookWanted { copy, pixels: self.look_pixels }),
            answers: open.then(|| AnswersWanted {
                share: self.goal / 100.0,
                copies: self.wanted,
                pixels: pixels(ANSWER),
            }),
            map: cx
                .session
                .selected_layer()
                .map(|(i, _)| i)
                .filter(|_| open && self.open.contains(&Part::Map)),
        })
    }
}
