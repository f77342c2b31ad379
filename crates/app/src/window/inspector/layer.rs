//! The layer: its name, ink and face, and its slip.

use egui::{Grid, RichText, TextEdit, Ui};
use slipsheet_document::edit::LayerEdit;
use slipsheet_document::layer::{Layer, Slip};
use slipsheet_editor::Request;
use slipsheet_paper::fold::Face;

use super::fields::{angle_field, gesture, length_field};
use crate::window::actions::Action;
use crate::window::context::Context;
use crate::window::{UiCommand, pickers, theme};

pub(super) fn layer_fields(ui: &mut Ui, cx: &Context<'_>, layer: &Layer, out: &mut Vec<UiCommand>) {
    let change = |edit| UiCommand::Request(Request::layer(layer.id, edit));
    ui.label(theme::heading("Layer"));
    let mut name = layer.name.clone();
    let field = ui.add(TextEdit::singleline(&mut name).desired_width(f32::INFINITY).hint_text("Name"));
    theme::named(&field, egui::Role::TextInput, "Layer name");
    gesture(&field, "Rename a layer", out);
    if field.changed() {
        out.push(change(LayerEdit::Name(name)));
    }
    let inks = &cx.session.shelf().inks;
    if let Some(ink) = pickers::ink_picker(ui, &cx.session.printing().sheet.stock, &layer.ink, inks) {
        out.push(change(LayerEdit::Ink(ink)));
    }
    let stock = &cx.session.printing().sheet.stock;
    if !layer.ink.is_measured_on(stock) {
        let standing = match layer.ink.solid.measured() {
            true => layer.ink.standing_on(stock),
            false => layer.ink.solid.standing(),
        };
        ui.label(RichText::new(crate::window::sentence(standing)).small().color(theme::of(ui).faint));
    }
    if cx.session.printing().sheet.two_sided() {
        ui.horizontal(|ui| {
            ui.label("Printed on the");
            for face in [Face::Front, Face::Back] {
                if ui.selectable_label(layer.face == face, face.name().to_lowercase()).clicked() {
                    out.push(change(LayerEdit::Face(face)));
                }
            }
        });
    }
    ui.add_space(theme::GAP);
    ui.horizontal(|ui| {
        ui.label(theme::heading("Slip"));
        ui.label(RichText::new("what if it shifts?").small().color(theme::of(ui).faint));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let reset = ui.add_enabled(!layer.slip.is_none(), egui::Button::new("Reset"));
            if reset.on_hover_text("Put the layer back in register (R)").clicked() {
                out.push(Action::ResetSlip.into());
            }
        });
    });
    let unit = cx.session.settings().unit;
    let Slip { mut dx, mut dy, mut skew } = layer.slip;
    Grid::new("slip").num_columns(2).show(ui, |ui| {
        let fields =
            [length_field(ui, "To the right", &mut dx, unit), length_field(ui, "Down", &mut dy, unit)];
        let turned = angle_field(ui, "Twist", &mut skew);
        for field in fields.iter().chain([&turned]) {
            gesture(field, "Slip a layer", out);
        }
    });
    let slip = Slip { dx, dy, skew };
    if slip != layer.slip {
        out.push(change(LayerEdit::Slip(slip)));
    }
}
