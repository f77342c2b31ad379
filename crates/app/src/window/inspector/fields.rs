//! Fields for lengths and angles, in a grid's row, and what makes their changes one step of history.

use egui::Ui;
use slipsheet_core::units::{Degrees, Mm};
use slipsheet_editor::Request;
use slipsheet_files::home::LengthUnit;

use crate::window::UiCommand;
use crate::window::number::drag;

/// While a field is dragged or typed in, its changes are one step of history.
pub(in crate::window) fn gesture(field: &egui::Response, label: &'static str, out: &mut Vec<UiCommand>) {
    if field.drag_started() || field.gained_focus() {
        out.push(Request::BeginGesture(label).into());
    }
    if field.drag_stopped() || field.lost_focus() {
        out.push(Request::EndGesture.into());
    }
}

/// A length of any sign.
pub(super) fn length_field(ui: &mut Ui, name: &str, value: &mut Mm, unit: LengthUnit) -> egui::Response {
    ranged_field(ui, name, value, unit, -10_000.0..=10_000.0)
}

/// A side of a sheet.
pub(super) fn side_field(ui: &mut Ui, name: &str, value: &mut Mm, unit: LengthUnit) -> egui::Response {
    ranged_field(ui, name, value, unit, 20.0..=2000.0)
}

pub(super) fn ranged_field(
    ui: &mut Ui,
    name: &str,
    value: &mut Mm,
    unit: LengthUnit,
    mm: std::ops::RangeInclusive<f64>,
) -> egui::Response {
    let label = ui.label(name);
    let (per, suffix, decimals, speed) = match unit {
        LengthUnit::Mm => (1.0, " mm", 2, 0.05),
        LengthUnit::Inch => (25.4, " in", 4, 0.002),
    };
    let mut number = value.get() / per;
    let field = ui.add(
        drag(&mut number)
            .range(mm.start() / per..=mm.end() / per)
            .speed(speed)
            .suffix(suffix)
            .max_decimals(decimals)
            .min_decimals(1),
    );
    if field.changed() {
        *value = Mm::new(number * per);
    }
    ui.end_row();
    field.labelled_by(label.id)
}

pub(super) fn angle_field(ui: &mut Ui, name: &str, value: &mut Degrees) -> egui::Response {
    let label = ui.label(name);
    let mut number = value.get();
    let field = ui
        .add(drag(&mut number).speed(0.05).range(-360.0..=360.0).suffix("°").max_decimals(2).min_decimals(1));
    if field.changed() {
        *value = Degrees::new(number);
    }
    ui.end_row();
    field.labelled_by(label.id)
}
