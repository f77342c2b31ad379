//! How many copies would sell, and how many to print for it.

use egui::{RichText, Ui};
use slipsheet_core::words::percent;
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::Sold;

use super::RunView;
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::theme;

impl RunView {
    pub(super) fn head_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let wanted = u64::from(cx.session.printing().job.wanted());
        if self.wanted == 0 {
            self.wanted = if wanted > 0 { wanted.min(5000) } else { 100 };
        }
        let Some(job) = cx.sold() else {
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
        });
        self.how_many_ui(ui, job.sold);
        let of = self.what_is_counted(cx, job.sheet);
        ui.add(egui::Label::new(RichText::new(of).small().color(p.faint)).wrap());
    }

    /// Why nothing is said yet.
    fn waits(&self, cx: &Context<'_>) -> &'static str {
        if cx.desk.run.study.is_none() { "Looking for edges that abut…" } else { "Simulating copies…" }
    }

    fn how_many_ui(&mut self, ui: &mut Ui, sold: Sold) {
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
            let field = drag(&mut self.wanted).range(1..=5000).speed(1.0);
            ui.add(field).labelled_by(label.id).on_hover_text("Copies that are to be sold");
            match (likely, safe) {
                (Some(likely), Some(safe)) => {
                    let tip =
                        "So that there are enough in 95 of 100 runs; to be safe, with the least likely share";
                    ui.label(format!("print {likely}, or {safe} to be safe.")).on_hover_text(tip);
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
