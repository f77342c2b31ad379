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
use slipsheet_editor::{Effect, Handover, PackExport, Request};
use slipsheet_files::pack::PackChoices;

pub(super) use handover::ShownPage;

use super::{SlipsheetApp, UiCommand, theme};

/// What the view remembers.
pub(crate) struct BookingState {
    handover: handover::Pages,
    reckoned: Option<Reckoned>,
    /// The finding that is being accepted: kind, place, and the note so far.
    accepting: Option<(&'static str, Place, String)>,
}

impl BookingState {
    /// Nothing reckoned yet; this draws the pages of the pack.
    pub(crate) fn new(handover: Handover) -> Self {
        Self { handover: handover::Pages::new(handover), reckoned: None, accepting: None }
    }

    /// See [`slipsheet_editor::Worker::fault`].
    pub(crate) fn fault(&mut self) -> Option<String> {
        self.handover.drawing.fault()
    }

    /// Whether everything asked for has come.
    pub(crate) fn is_settled(&self) -> bool {
        self.handover.drawing.is_settled()
    }

    /// The pages of the pack that have been drawn.
    pub(crate) fn pages(&self) -> &[ShownPage] {
        &self.handover.pages
    }
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

impl SlipsheetApp {
    pub(super) fn booking_ui(&mut self, ui: &mut Ui, out: &mut Vec<UiCommand>) {
        let snapshot = self.snapshot();
        let form = self.session.settings().pack.form;
        self.booking.handover.follow(ui.ctx(), &snapshot, form, self.register.as_ref());
        self.reckon();
        let p = theme::of(ui);
        let frame = egui::Frame::new().fill(p.panel).inner_margin(egui::Margin::same(16));
        frame.show(ui, |ui| {
            ui.set_min_size(ui.available_size());
            self.booking_head_ui(ui);
            ui.separator();
            egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                ui.set_max_width(ui.available_width() - theme::SCROLL_ROOM);
                let Some(reckoned) = &self.booking.reckoned else { return };
                let printing = self.session.printing();
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
                self.found_ui(ui, out);
                ui.add_space(theme::GROUP_GAP);
                self.booking.handover.ui(ui, out);
            });
        });
    }

    /// Remembers what was chosen for a pack and asks for its folder.
    pub(super) fn ask_pack(&mut self, ctx: &egui::Context, choices: PackChoices) {
        self.session.settings_mut().pack = choices;
        self.carry_out(ctx, Effect::SaveSettings);
        self.run(ctx, Request::export(PackExport));
    }

    /// How many copies are planned.
    fn booking_head_ui(&self, ui: &mut Ui) {
        let printing = self.session.printing();
        let (copies, overs) = (printing.job.copies, printing.job.overs);
        let text = match (copies, overs) {
            (0, _) => "No copies planned. Enter them on the right.".to_owned(),
            (n, 0) => count(n, "copy"),
            (n, o) => format!("{} and {}", count(n, "copy"), count(o, "over")),
        };
        ui.heading(text);
    }

    fn reckon(&mut self) {
        let revision = self.session.revision();
        let state = &mut self.booking;
        let inks = self.known.ink().map(|ink| ink.uses.as_slice());
        let fresh =
            |r: &Reckoned| r.revision == revision && (r.with_inks || inks.is_none_or(<[InkUse]>::is_empty));
        if !state.reckoned.as_ref().is_some_and(fresh) {
            state.reckoned = Some(Reckoned::new(self.session.printing(), revision, inks));
        }
    }
}
