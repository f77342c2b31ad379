//! The licence of the program, and the notices of what others made and the program carries.

use egui::{ComboBox, RichText, ScrollArea, Ui};

use super::{Next, WIDTH, buttons};
use crate::notices::NOTICES;
use crate::window::theme;

pub(in crate::window) fn licences_ui(ui: &mut Ui, chosen: &mut usize) -> Next {
    ui.set_width(WIDTH);
    ui.heading("Licences");
    let shown = NOTICES.get(*chosen).or_else(|| NOTICES.first());
    ui.horizontal(|ui| {
        let label = ui.label("Show");
        let name = shown.map_or("", |n| n.name);
        let combo = ComboBox::from_id_salt("notice").width(360.0).selected_text(name).show_ui(ui, |ui| {
            for (i, notice) in NOTICES.iter().enumerate() {
                ui.selectable_value(chosen, i, notice.name);
            }
        });
        combo.response.labelled_by(label.id);
    });
    if let Some(notice) = shown {
        ui.add(egui::Label::new(RichText::new(notice.what).color(theme::of(ui).faint)).wrap());
        ui.add_space(theme::GAP);
        // Each text starts at its top.
        let area = ScrollArea::vertical().id_salt(notice.name).max_height(380.0).auto_shrink([false, false]);
        area.show(ui, |ui| ui.add(egui::Label::new(RichText::new(notice.text).small()).wrap()));
    }
    buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay })
}
