//! What printed mark sheets say of the press, to be taken over or left.

use std::sync::Arc;

use egui::{Frame, Grid, RichText, Ui};
use slipsheet_core::words::count;
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_registration::slip::spread::SpreadEstimate;

use super::super::{Part, RunView};
use crate::window::context::Context;
use crate::window::{UiCommand, theme};

impl RunView {
    /// Takes in what printed mark sheets say, to show it.
    pub fn show_spread(&mut self, outcome: Result<Arc<SpreadEstimate>, String>) {
        self.measured = Some(outcome);
        self.open.insert(Part::Press);
    }

    /// What was measured, with how sure it is, to be taken over or left.
    pub(super) fn measured_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let Some(measured) = self.measured.clone() else { return };
        let mut done = false;
        Frame::new().fill(p.strip).corner_radius(theme::CARD).inner_margin(10).show(ui, |ui| {
            ui.set_width(ui.available_width());
            let found = match &measured {
                Ok(found) => found,
                Err(why) => {
                    let why = RichText::new(crate::window::sentence(why)).color(p.error);
                    ui.add(egui::Label::new(why).wrap());
                    done = ui.button("Close").clicked();
                    return;
                }
            };
            ui.label(theme::heading(&format!("Measured from {}", count(found.copies, "copy"))));
            Grid::new("measured figures").num_columns(5).spacing([14.0, 4.0]).show(ui, |ui| {
                ui.label("");
                for head in ["Across", "Along", "Twist", "Stretch"] {
                    ui.label(RichText::new(head).small().color(p.faint));
                }
                ui.end_row();
                for (name, figures) in [("Between passes", &found.between), ("Within a pass", &found.within)]
                {
                    let Some(figures) = figures else { continue };
                    ui.label(name);
                    for (d, unit) in figures.iter().zip([" mm", " mm", "°", " %"]) {
                        ui.vertical(|ui| {
                            ui.label(format!("{:.3}{unit}", d.value));
                            let range = format!("{:.3} to {:.3}", d.interval.low, d.interval.high);
                            ui.label(RichText::new(range).small().color(p.faint)).on_hover_text(
                                "Where the true figure lies with 95 % confidence (chi-square)",
                            );
                        });
                    }
                    ui.end_row();
                }
                let Some(offset) = &found.offset else { return };
                ui.label("Later passes off the first");
                for (m, unit) in offset.iter().zip([" mm", " mm", "°", " %"]) {
                    ui.vertical(|ui| {
                        ui.label(format!("{:.3}{unit}", m.value));
                        let chance = if m.is_sure() { "" } else { ", may be chance" };
                        let range = format!("{:.3} to {:.3}{chance}", m.interval.low, m.interval.high);
                        ui.label(RichText::new(range).small().color(p.faint)).on_hover_text(
                            "Where the true figure lies with 95 % confidence (Student's t); what may be chance is not kept",
                        );
                    });
                }
                ui.end_row();
            });
            if let Some(advice) = found.sure_offset().and_then(|o| o.advice()) {
                ui.add(egui::Label::new(RichText::new(advice).color(p.warning)).wrap());
            }
            ui.horizontal_wrapped(|ui| {
                if ui
                    .button("Use these")
                    .on_hover_text("Put these figures into the project's press")
                    .clicked()
                {
                    let press = found.onto(&cx.session.printing().press);
                    out.push(Edit::Project(ProjectEdit::Press(Box::new(press))).into());
                    done = true;
                }
                done |= ui.button("Discard").on_hover_text("Close this; nothing changes").clicked();
            });
        });
        if done {
            self.measured = None;
        }
        ui.add_space(theme::GAP);
    }
}
