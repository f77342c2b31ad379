//! How many copies would sell, and how many to print for it.

use egui::{RichText, Ui};
use slipsheet_core::words::percent;
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::Sold;
use slipsheet_registration::slip::run::of_hundred;

use super::RunView;
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

/// The most copies that are asked about.
const MOST_WANTED: u64 = 100_000;

/// What the share may be on a press whose scatter is only estimated.
pub(in crate::window) fn band_words([low, high]: [f64; 2]) -> String {
    let [low, high] = [low, high].map(of_hundred);
    format!("{low} to {high} of 100 by how well the press registers")
}

impl RunView {
    pub(super) fn head_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let Some(job) = cx.sold() else {
            if let Some(why) = cx.no_share() {
                ui.label(RichText::new("–").font(theme::large()));
                ui.label(RichText::new(crate::window::sentence(why)).color(p.faint));
                return;
            }
            ui.label(RichText::new("…").font(theme::large()));
            ui.label(RichText::new(self.waits(cx)).color(p.faint));
            return;
        };
        ui.horizontal(|ui| {
            ui.label(RichText::new(format!("{}/100", job.sold.of_hundred())).font(theme::large()));
            ui.label(RichText::new("would sell").heading());
            ui.add_space(theme::GAP);
            let likely = job.sold.likely();
            let range = format!("likely {} to {}", percent(likely.low), percent(likely.high));
            ui.label(RichText::new(range).color(p.faint))
                .on_hover_text("Wilson's interval at 95 %, from the thousand copies simulated");
            if let Some(band) = job.band {
                let tip = "The press's register scatter is an estimate: this is the share with half and with one and a half times of it. Measure it under Press.";
                ui.label(RichText::new(band_words(band)).color(p.faint)).on_hover_text(tip);
            }
        });
        self.how_many_ui(ui, cx, job.sold, out);
        let of = self.what_is_counted(cx, job.sheet);
        ui.add(egui::Label::new(RichText::new(of).small().color(p.faint)).wrap());
    }

    /// The copies that the job wants of what is shown, whenever those change.
    pub(super) fn follow_job(&mut self, cx: &Context<'_>) {
        let wanted = u64::from(cx.session.printing().as_shown().job.wanted());
        if self.job_wanted != Some(wanted) {
            self.job_wanted = Some(wanted);
            self.wanted = if wanted > 0 { wanted.min(MOST_WANTED) } else { 100 };
        }
    }

    /// Why nothing is said yet.
    fn waits(&self, cx: &Context<'_>) -> &'static str {
        if cx.desk.run.study.is_none() { "Looking for edges that abut…" } else { "Simulating copies…" }
    }

    fn how_many_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, sold: Sold, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        // A search over binomial sums: once for each question, not once a frame.
        let [likely, safe] = match self.to_print {
            Some((of, wanted, answer)) if (of, wanted) == (sold, self.wanted) => answer,
            _ => {
                let (likely, safe) = sold.to_print(self.wanted);
                self.to_print = Some((sold, self.wanted, [likely, safe]));
                [likely, safe]
            }
        };
        ui.horizontal(|ui| {
            let label = ui.label("To sell");
            let field = drag(&mut self.wanted).range(1..=MOST_WANTED).speed(1.0);
            ui.add(field).labelled_by(label.id).on_hover_text("Copies that are to be sold");
            match (likely, safe) {
                (Some(likely), Some(safe)) => {
                    let tip =
                        "So that there are enough in 95 of 100 runs; to be safe, with the least likely share";
                    ui.label(format!("print {likely}, or {safe} to be safe.")).on_hover_text(tip);
                    self.book_ui(ui, cx, safe, out);
                }
                (Some(likely), None) => {
                    ui.label(format!("print about {likely}."));
                }
                (None, _) => {
                    let text = "no sensible number is enough: accept more, or try a proposal.";
                    ui.label(RichText::new(text).color(p.warning));
                }
            }
        });
    }

    /// Books as many copies as it takes to be safe.
    fn book_ui(&self, ui: &mut Ui, cx: &Context<'_>, safe: u64, out: &mut Vec<UiCommand>) {
        let number = |n: u64| u32::try_from(n).unwrap_or(u32::MAX);
        let (copies, overs) = (number(self.wanted), number(safe.saturating_sub(self.wanted)));
        let booked = cx.session.project().has_booked(copies, overs);
        let button = ui.add_enabled(!booked, egui::Button::new(format!("Book {safe}")));
        let tip = format!("Put {copies} copies and {overs} overs into the job");
        if button.on_hover_text(tip).on_disabled_hover_text("The job has them").clicked() {
            out.push(Edit::Project(ProjectEdit::Book { copies, overs }).into());
        }
    }

    /// What the figure is of, where there is more than one side of one sheet.
    fn what_is_counted(&self, cx: &Context<'_>, worst: usize) -> String {
        let sheet = &cx.session.printing().sheet;
        let unit = cx.session.settings().unit;
        let accepts = super::acceptance::words(&cx.session.project().acceptance, unit);
        let side = match cx.showing.face {
            Face::Front => "front",
            Face::Back => "back",
        };
        match (sheet.printed_sheets(), sheet.two_sided()) {
            (1, false) => format!("Would sell: {accepts}."),
            (1, true) => {
                format!("Would sell: {accepts}. A sheet counts both its sides; below is its {side}.")
            }
            (_, _) => format!(
                "Would sell: {accepts}. Sheets are sorted before they are gathered, so the one that comes out worst counts: sheet {}. Below is the {side} of sheet {}.",
                worst + 1,
                cx.showing.booklet_sheet + 1
            ),
        }
    }
}
