//! The inspector: what is selected, and the sheet it is printed on.

mod art;
mod booklet;
mod crop;
mod fields;
mod fold;
mod layer;
mod paper;
mod pdf;
mod reading;
mod sheet;
mod sides;

use egui::Ui;

use super::context::Context;
use super::{UiCommand, theme};

use art::art_fields;
pub(super) use fields::gesture;
use layer::layer_fields;
use reading::reading_fields;
pub(super) use reading::{modes, name as mode_name};
use sheet::sheet_fields;

pub(super) fn inspector_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
        // The scroll bar floats; keep fields clear of it.
        ui.set_max_width(ui.available_width() - theme::SCROLL_ROOM);
        if let Some((i, layer)) = cx.session.selected_layer().map(|(i, l)| (i, l.clone())) {
            layer_fields(ui, cx, &layer, out);
            ui.add_space(theme::GROUP_GAP);
            reading_fields(ui, cx, i, &layer, out);
            ui.add_space(theme::GROUP_GAP);
            art_fields(ui, cx, i, &layer, out);
            ui.add_space(theme::GAP);
            ui.separator();
            ui.add_space(theme::GAP);
        }
        sheet_fields(ui, cx, out);
    });
}
