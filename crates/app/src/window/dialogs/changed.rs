//! A project whose file something else has changed since it was opened: which version is kept.

use std::path::Path;

use egui::Ui;
use slipsheet_editor::Request;

use super::{Next, buttons};
use slipsheet_files::file_name;

use crate::window::UiCommand;

pub(in crate::window) fn changed_ui(ui: &mut Ui, path: &Path, out: &mut Vec<UiCommand>) -> Next {
    ui.heading("Which version do you want to keep?");
    let name = file_name::last(path);
    ui.label(format!(
        "Another window or program has changed “{name}” since you opened it, so it was not saved over."
    ));
    buttons(ui, |ui| {
        let mut chosen = None;
        let mut offer = |ui: &mut Ui, label: &str, tip: &str, command: Request| {
            if ui.button(label).on_hover_text(tip).clicked() {
                chosen = Some(command);
            }
        };
        offer(
            ui,
            "Save mine as…",
            "Save your work to another file; both versions stay.",
            Request::SaveElsewhere,
        );
        offer(
            ui,
            "Take the file’s",
            "Show what the file holds now. Undo brings your work back.",
            Request::TakeTheirs,
        );
        offer(ui, "Keep mine", "Save your work over what the file holds now.", Request::SaveOver);
        offer(ui, "Not now", "Save nothing yet.", Request::PathCancelled);
        let Some(command) = chosen else { return Next::Stay };
        out.push(command.into());
        Next::Close
    })
}
