//! Keys, gestures and cautions.

use std::path::Path;

use egui::{Grid, Ui};

use super::{Next, WIDTH, buttons};
use crate::window::actions::{GESTURES, TABLE, shortcut};
use crate::window::theme;

pub(in crate::window) fn help_ui(ui: &mut Ui, log: &Path) -> Next {
    ui.set_width(WIDTH);
    ui.heading("Keys, gestures and cautions");
    egui::ScrollArea::vertical().max_height(440.0).show(ui, |ui| {
        ui.label(theme::heading("Mouse and held keys"));
        Grid::new("gestures").num_columns(2).striped(true).min_col_width(190.0).show(ui, |ui| {
            for (gesture, does) in GESTURES {
                ui.label(*gesture);
                ui.label(*does);
                ui.end_row();
            }
        });
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Keys"));
        Grid::new("keys").num_columns(2).striped(true).min_col_width(190.0).show(ui, |ui| {
            for info in TABLE {
                let Some(key) = &info.key else { continue };
                ui.label(shortcut(ui.ctx(), key));
                ui.label(info.tip);
                ui.end_row();
            }
        });
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Cautions"));
        for caution in [
            "Scalpels, guillotines and staplers cut and pierce: cut away from your fingers, on a mat, with a steel rule.",
            "Ink and cleaning agents: wear gloves, air the room, read the maker's safety sheet.",
            "Never reach into a running machine. Its manual, the shop's rules and its trained staff come first.",
            "Colours on a screen are a prediction; estimates stay estimates until they are replaced by the shop's swatches.",
        ] {
            ui.add(egui::Label::new(caution).wrap());
        }
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Log"));
        let text = format!("What fails without stopping anything is written down here: {}", log.display());
        ui.add(egui::Label::new(text).wrap());
    });
    buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay })
}
