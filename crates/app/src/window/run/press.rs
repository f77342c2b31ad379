//! The press of the project: picked from the shelf or a profile, its figures edited.

mod fields;
mod measured;
mod steps;

use std::sync::Arc;

use egui::{Button, ComboBox, Grid, RichText, TextEdit, Ui};
use slipsheet_core::press::{Correlation, Drift, FeedSide, Figure, LateFeed, Offset, Press};
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_editor::{Pick, PressExport, Request, ShelfChange};

use self::fields::Fields;
use super::RunView;
use crate::window::actions::{self, Action};
use crate::window::context::Context;
use crate::window::{UiCommand, theme};

impl RunView {
    /// The whole panel. It takes the width that it is given and keeps nothing but what was measured last.
    pub(super) fn press_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let before = cx.session.printing().press.clone();
        let mut press = before.clone();
        pick_ui(ui, cx, &mut press, out);
        ui.label(
            RichText::new(format!("Its figures are {}.", press.standing())).color(if press.is_measured() {
                p.faint
            } else {
                p.warning
            }),
        );
        ui.add_space(theme::GAP);
        let picked = press.clone();
        figures_ui(ui, &picked, &mut press, out);
        // What is typed is not measured any more.
        press.measured.between_passes &= press.between_passes == picked.between_passes;
        press.measured.within_pass &= press.within_pass == picked.within_pass;
        press.measured.offset &= press.offset == picked.offset;
        if let Some(advice) = press.offset.advice() {
            ui.add(egui::Label::new(RichText::new(advice).color(p.warning)).wrap());
        }
        ui.collapsing("Density steps of its panel", |ui| steps::steps_ui(ui, &mut press, out));
        if press != before {
            out.push(Edit::Project(ProjectEdit::Press(Box::new(press))).into());
        }
        ui.add_space(theme::GROUP_GAP);
        files_ui(ui, cx, out);
        self.measured_ui(ui, cx, out);
        ui.horizontal_wrapped(|ui| {
            for action in [Action::ExportMarks, Action::ReadMarks] {
                let info = actions::of(action);
                let button = ui.add_enabled(cx.enabled(action), Button::new(info.label));
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

/// Which press it is: one of the shelf, its name, its drums.
fn pick_ui(ui: &mut Ui, cx: &Context<'_>, press: &mut Press, out: &mut Vec<UiCommand>) {
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Press");
        let combo =
            ComboBox::from_id_salt("press").selected_text(&press.name).width(220.0).show_ui(ui, |ui| {
                for known in &cx.session.shelf().presses {
                    if ui.selectable_label(known.name == press.name, &known.name).clicked() {
                        press.clone_from(known);
                    }
                }
            });
        combo.response.labelled_by(label.id);
        for (drums, text) in [(1, "1 drum"), (2, "2 drums")] {
            if ui.selectable_label(press.drums == drums, text).clicked() {
                press.drums = drums;
            }
        }
        let mut name = press.name.clone();
        let field = ui.add(TextEdit::singleline(&mut name).desired_width(180.0).hint_text("Name"));
        theme::named(&field, egui::Role::TextInput, "Name of the press");
        crate::window::inspector::gesture(&field, "Change the press", out);
        if field.changed() {
            press.name = name.chars().take(NAME).collect();
        }
    });
}

/// The most letters of a press's name.
const NAME: usize = 80;

/// The figures, each a field that says what it usually is.
fn figures_ui(ui: &mut Ui, picked: &Press, press: &mut Press, out: &mut Vec<UiCommand>) {
    let p = theme::of(ui);
    let mut fields = Fields { press: picked, out };
    Grid::new("press figures").num_columns(5).spacing([14.0, 6.0]).show(ui, |ui| {
        ui.label("");
        for head in ["Across", "Along", "Twist", "Stretch"] {
            ui.label(RichText::new(head).small().color(p.faint));
        }
        ui.end_row();
        fields.spread(ui, "Between passes", Figure::Between, &mut press.between_passes);
        fields.spread(ui, "Within a pass", Figure::Within, &mut press.within_pass);
        fields.offset(ui, "Later passes off the first", &mut press.offset);
        ui.label("Drift");
        let mut drift = press.drift.get();
        let range = (-20.0..=20.0, 0.05, Figure::Drift.unit());
        fields.number(ui, Figure::Drift, "Drift", &mut drift, range);
        press.drift = Drift::new(drift);
        ui.end_row();
        ui.label("Late on one side").on_hover_text(
            "Sheets that now and then arrive late on one side: how far that edge scatters, the other is on time",
        );
        let LateFeed { mut side, deviation } = press.late_feed;
        let mut late = deviation.get();
        fields.number(ui, Figure::LateFeed, "Late on one side", &mut late, (0.0..=5.0, 0.01, " mm"));
        for (of, text) in [(FeedSide::Left, "Left"), (FeedSide::Right, "Right")] {
            let tip = format!("As the operator sees the sheet, lead edge up: late on the {}", of.name());
            if ui.selectable_label(side == of, text).on_hover_text(tip).clicked() {
                side = of;
            }
        }
        press.late_feed = LateFeed::new(side, late);
        ui.end_row();
        ui.label("Alike from copy to copy").on_hover_text(
            "0: every copy slips by itself. Towards 0.95: copies that follow one another slip nearly alike",
        );
        let mut alike = press.correlation.get();
        fields.number(ui, Figure::Correlation, "Alike from copy to copy", &mut alike, (0.0..=0.95, 0.01, ""));
        press.correlation = Correlation::new(alike);
        ui.end_row();
    });
    if press.offset.is_some() {
        let zero = ui.button("Set the offset to 0");
        if zero.on_hover_text("When the operator has set it out on the machine").clicked() {
            press.offset = Offset::default();
        }
    }
}

/// Profiles, and the shelf.
fn files_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let press = &cx.session.printing().press;
    let shelf = &cx.session.shelf().presses;
    ui.horizontal_wrapped(|ui| {
        let import = ui.button("Import press…");
        if import.on_hover_text("Make the press of a profile this project's").clicked() {
            out.push(Request::Ask(Pick::ImportPress).into());
        }
        let export = ui.button("Export press…");
        if export.on_hover_text("Save this press as a profile for other projects and people").clicked() {
            out.push(Request::Ask(Pick::Export(Arc::new(PressExport(press.clone())))).into());
        }
        let known = shelf.iter().any(|p| p == press);
        let keep = ui.add_enabled(!known, Button::new("Keep on the shelf"));
        let tip = "Put this press on your shelf, in place of one of the same name, for the next job";
        if keep.on_hover_text(tip).on_disabled_hover_text("The shelf has it as it is").clicked() {
            out.push(Request::Shelf(ShelfChange::Press(Box::new(press.clone()))).into());
        }
        let on_shelf = shelf.iter().any(|p| p.name == press.name);
        let remove = ui.add_enabled(on_shelf && shelf.len() > 1, Button::new("Remove from the shelf"));
        let tip = "Take the press of this name off your shelf; the project keeps it";
        if remove.on_hover_text(tip).clicked() {
            out.push(Request::Shelf(ShelfChange::RemovePress(press.name.clone())).into());
        }
    });
}
