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

use super::{SlipsheetApp, UiCommand, theme};

pub(super) use fields::gesture;
pub(super) use reading::{modes, name as mode_name};

impl SlipsheetApp {
    pub(super) fn inspector_ui(&self, ui: &mut Ui, out: &mut Vec<UiCommand>) {
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            // The scroll bar floats; keep fields clear of it.
            ui.set_max_width(ui.available_width() - theme::SCROLL_ROOM);
            if let Some((i, layer)) = self.session.selected_layer().map(|(i, l)| (i, l.clone())) {
                self.layer_fields(ui, &layer, out);
                ui.add_space(theme::GROUP_GAP);
                self.reading_fields(ui, i, &layer, out);
                ui.add_space(theme::GROUP_GAP);
                self.art_fields(ui, i, &layer, out);
                ui.add_space(theme::GAP);
                ui.separator();
                ui.add_space(theme::GAP);
            }
            self.sheet_fields(ui, out);
        });
    }
}
