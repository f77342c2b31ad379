//! The press of the project: picked from the shelf, its figures edited.

use std::sync::Arc;

use egui::{ComboBox, Frame, Grid, RichText, Ui};
use slipsheet_core::press::{Drift, Offset, Spread};
use slipsheet_core::words::count;
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_registration::slip::spread::SpreadEstimate;

use super::{Part, RunView};
use crate::window::actions::{self, Action};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

impl RunView {
    pub(super) fn press_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let before = cx.session.printing().press.clone();
        let mut press = before.clone();
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("Press");
            let combo =
                ComboBox::from_id_salt("press").selected_text(&press.name).width(220.0).show_ui(ui, |ui| {
                    for known in &cx.session.shelf().presses {
                        if ui.selectable_label(known.name == press.name, &known.name).clicked() {
                            press = known.clone();
                        }
                    }
                });
            combo.response.labelled_by(label.id);
            for (drums, text) in [(1, "1 drum"), (2, "2 drums")] {
                if ui.selectable_label(press.drums == drums, text).clicked() {
                    press.drums = drums;
                }
            }
        });
        ui.label(
            RichText::new(format!("Its figures are {}.", press.standing())).color(if press.is_measured() {
                p.faint
            } else {
                p.warning
            }),
        );
        ui.add_space(theme::GAP);
        let mut fields = Fields { out: &mut *out };
        Grid::new("press figures").num_columns(5).spacing([14.0, 6.0]).show(ui, |ui| {
            ui.label("");
            for head in ["Across", "Along", "Twist", "Stretch"] {
                ui.label(RichText::new(head).small().color(p.faint));
            }
            ui.end_row();
            fields.spread(ui, "Between passes", &mut press.between_passes);
            fields.spread(ui, "Within a pass", &mut press.within_pass);
            fields.offset(ui, "Later passes off the first", &mut press.offset);
            ui.label("Drift");
            let mut drift = press.drift.get();
            fields.number(ui, "Drift", &mut drift, (-20.0..=20.0, 0.05, " mm / 1000"));
            press.drift = Drift::new(drift);
            ui.end_row();
        });
        if press.offset.is_some() {
            let zero = ui.button("Set the offset to 0");
            if zero.on_hover_text("When the operator has set it out on the machine").clicked() {
                press.offset = Offset::default();
            }
        }
        if let Some(advice) = press.offset.advice() {
            ui.add(egui::Label::new(RichText::new(advice).color(p.warning)).wrap());
        }
        if press.name == before.name {
            press.measured.between_passes &= press.between_passes == before.between_passes;
            press.measured.within_pass &= press.within_pass == before.within_pass;
        }
        if press != before {
            out.push(Edit::Project(ProjectEdit::Press(Box::new(press))).into());
        }
        ui.add_space(theme::GROUP_GAP);
        self.measured_ui(ui, cx, out);
        ui.horizontal_wrapped(|ui| {
            for action in [Action::ExportMarks, Action::ReadMarks] {
                let info = actions::of(action);
                let button = ui.add_enabled(cx.enabled(action), egui::Button::new(info.label));
                if button.on_hover_text(info.tip).clicked() {
                    out.push(action.into());
                }
            }
        });
        let text = "Register scatter: standard deviations about the mean. Each pass lands with that between passes, and the inks of one pass scatter against each other by that within it. Later passes may also lie off the first by the same on every copy: right, down and clockwise count as more. To measure them, export the mark sheet, print its plates in these passes, and read scans of some twenty copies.";
        ui.add(egui::Label::new(RichText::new(text).color(p.faint)).wrap());
        let caution =
            "The press's manual and the people who run it come first: never reach into a running machine.";
        ui.add(egui::Label::new(RichText::new(caution).small().color(p.warning)).wrap());
    }
}

impl RunView {
    /// Takes in what printed mark sheets say, to show it.
    pub fn show_spread(&mut self, outcome: Result<Arc<SpreadEstimate>, String>) {
        self.measured = Some(outcome);
        self.open.insert(Part::Press);
    }

    /// What was measured, with how sure it is, to be taken over or left.
    fn measured_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
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

struct Fields<'a> {
    out: &'a mut Vec<UiCommand>,
}

impl Fields<'_> {
    fn spread(&mut self, ui: &mut Ui, name: &str, spread: &mut Spread) {
        ui.label(name);
        let (mut dx, mut dy) = (spread.dx.get(), spread.dy.get());
        let (mut skew, mut stretch) = (spread.skew.get(), spread.stretch.get());
        self.number(ui, &format!("{name}, across"), &mut dx, (0.0..=5.0, 0.01, " mm"));
        self.number(ui, &format!("{name}, along"), &mut dy, (0.0..=5.0, 0.01, " mm"));
        self.number(ui, &format!("{name}, twist"), &mut skew, (0.0..=2.0, 0.005, "°"));
        self.number(ui, &format!("{name}, stretch"), &mut stretch, (0.0..=2.0, 0.005, " %"));
        *spread = Spread::of(dx, dy, skew, stretch);
        ui.end_row();
    }

    fn offset(&mut self, ui: &mut Ui, name: &str, offset: &mut Offset) {
        ui.label(name);
        let (mut dx, mut dy) = (offset.dx.get(), offset.dy.get());
        let (mut skew, mut stretch) = (offset.skew.get(), offset.stretch.get());
        self.number(ui, &format!("{name}, right"), &mut dx, (-20.0..=20.0, 0.01, " mm"));
        self.number(ui, &format!("{name}, down"), &mut dy, (-20.0..=20.0, 0.01, " mm"));
        self.number(ui, &format!("{name}, clockwise"), &mut skew, (-5.0..=5.0, 0.005, "°"));
        self.number(ui, &format!("{name}, stretch"), &mut stretch, (-5.0..=5.0, 0.005, " %"));
        *offset = Offset::of(dx, dy, skew, stretch);
        ui.end_row();
    }

    fn number(
        &mut self,
        ui: &mut Ui,
        name: &str,
        value: &mut f64,
        (range, speed, unit): (std::ops::RangeInclusive<f64>, f64, &str),
    ) {
        let before = *value;
        let field = ui.add(drag(value).range(range).speed(speed).max_decimals(3).suffix(unit));
        // Clamping alone is no change of the person's.
        if !field.changed() {
            *value = before;
        }
        let named = name.to_owned();
        field.widget_info(move || egui::WidgetInfo::labeled(egui::Role::SpinButton, true, named.clone()));
        crate::window::inspector::gesture(&field, "Change the press", self.out);
    }
}
