//! The Booking view: what the job costs and how long it takes, what should be looked at, and everything as it
//! will be handed over. The terms and prices stand on the right in place of the inspector.

pub(super) mod choices;
mod costs;
pub(super) mod enlarged;
mod found;
mod handover;
mod terms;
mod timeline;

use egui::Ui;
use slipsheet_booking::cost::{Cost, break_even, budget, cost, curve};
use slipsheet_booking::ink_use::{InkUse, grams};
use slipsheet_booking::schedule::Schedule;
use slipsheet_core::words::count;
use slipsheet_document::accepted::Place;
use slipsheet_document::printing::Printing;

pub(super) use handover::Pages;
pub(super) use terms::terms_ui;

use super::context::{Component, Context, Wanted};
use super::{MainView, UiCommand, theme};

/// What the view remembers.
#[derive(Default)]
pub(crate) struct BookingView {
    reckoned: Option<Reckoned>,
    /// The finding that is being accepted: kind, place, and the note so far.
    accepting: Option<(&'static str, Place, String)>,
}

/// The figures of one revision.
struct Reckoned {
    revision: u64,
    /// Whether the coverage of the inks was known.
    with_inks: bool,
    cost: Cost,
    budget: Cost,
    curve: Vec<(u32, f64)>,
    break_even: Option<u32>,
    schedule: Schedule,
}

impl Reckoned {
    fn new(printing: &Printing, revision: u64, inks: Option<&[InkUse]>) -> Self {
        let job = &printing.job;
        let of_sheet = printing.sheet.size();
        // Coverage is known from the picture; what lies on it follows from the terms.
        let inks: Vec<InkUse> = inks
            .unwrap_or_default()
            .iter()
            .map(|u| InkUse { grams: grams(u.coverage, of_sheet, &job.prices, &u.ink), ..u.clone() })
            .collect();
        let most = job.copies.saturating_mul(2).clamp(100, 20_000);
        let runs: Vec<u32> = (1..=48).map(|i| (most * i).div_ceil(48).max(1)).collect();
        Self {
            revision,
            with_inks: !inks.is_empty(),
            cost: cost(printing, &inks, job.copies),
            budget: budget(printing, &inks, job.wanted(), None),
            curve: curve(printing, &inks, &runs),
            break_even: break_even(printing, &inks),
            schedule: Schedule::new(printing),
        }
    }
}

impl Component for BookingView {
    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        self.reckon(cx);
        let p = theme::of(ui);
        let frame = egui::Frame::new().fill(p.panel).inner_margin(egui::Margin::same(16));
        frame.show(ui, |ui| {
            ui.set_min_size(ui.available_size());
            self.booking_head_ui(ui, cx);
            ui.separator();
            egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                ui.set_max_width(ui.available_width() - theme::SCROLL_ROOM);
                let Some(reckoned) = &self.reckoned else { return };
                let printing = cx.session.printing();
                ui.add_space(theme::GAP);
                if ui.available_width() > 660.0 {
                    ui.spacing_mut().item_spacing.x = 28.0;
                    ui.columns(2, |columns| {
                        if let [left, right] = columns {
                            for column in [&mut *left, &mut *right] {
                                column.spacing_mut().item_spacing.x = theme::GAP;
                            }
                            costs::table_ui(left, printing, &reckoned.cost, reckoned.with_inks);
                            costs::run_ui(right, printing, reckoned);
                        }
                    });
                } else {
                    costs::table_ui(ui, printing, &reckoned.cost, reckoned.with_inks);
                    ui.add_space(theme::GROUP_GAP);
                    costs::run_ui(ui, printing, reckoned);
                }
                ui.spacing_mut().item_spacing.x = theme::GAP;
                ui.add_space(theme::GROUP_GAP);
                let sheets = printing.job.copies.saturating_add(printing.job.overs);
                timeline::ui(ui, &reckoned.schedule, sheets, printing.job.slot.get());
                ui.add_space(theme::GROUP_GAP);
                self.found_ui(ui, cx, out);
                ui.add_space(theme::GROUP_GAP);
                cx.desk.pages.ui(ui, out);
            });
        });
    }

    fn order(&mut self, _ctx: &egui::Context, cx: &Context<'_>) -> Option<Wanted> {
        (cx.showing.view == MainView::Booking).then(|| Wanted::Pages(cx.session.settings().pack.form))
    }
}

impl BookingView {
    /// How many copies are planned.
    fn booking_head_ui(&self, ui: &mut Ui, cx: &Context<'_>) {
        let printing = cx.session.printing();
        let (copies, overs) = (printing.job.copies, printing.job.overs);
        let text = match (copies, overs) {
            (0, _) => "No copies planned. Enter them on the right.".to_owned(),
            (n, 0) => count(n, "copy"),
            (n, o) => format!("{} and {}", count(n, "copy"), count(o, "over")),
        };
        ui.heading(text);
    }

    fn reckon(&mut self, cx: &Context<'_>) {
        let revision = cx.session.revision();
        let inks = cx.desk.known.ink().map(|ink| ink.uses.as_slice());
        let fresh =
            |r: &Reckoned| r.revision == revision && (r.with_inks || inks.is_none_or(<[InkUse]>::is_empty));
        if !self.reckoned.as_ref().is_some_and(fresh) {
            self.reckoned = Some(Reckoned::new(cx.session.printing(), revision, inks));
        }
    }
}
