//! Work that is not saved: whether it may be lost, and whether what a crash left is taken up.

use egui::Ui;
use slipsheet_editor::{Leave, Request};
use slipsheet_files::home::Recovered;

use super::{Next, buttons};
use crate::window::UiCommand;
use crate::window::context::Context;

pub(in crate::window) fn recover_ui(
    ui: &mut Ui,
    cx: &Context<'_>,
    recovered: &Recovered,
    out: &mut Vec<UiCommand>,
) -> Next {
    ui.heading("Recover unsaved work?");
    let title = if recovered.project.title.is_empty() { "Untitled" } else { &recovered.project.title };
    ui.label(format!("Slipsheet stopped before “{title}” was saved. A copy of the work was kept."));
    buttons(ui, |ui| {
        if ui.button("Recover").clicked() {
            out.push(UiCommand::Recover(Box::new(recovered.clone())));
            return Next::Close;
        }
        if ui.button("Discard").clicked() {
            cx.home.drop_recovered(&recovered.file);
            return Next::Close;
        }
        Next::Stay
    })
}

pub(in crate::window) fn discard_ui(ui: &mut Ui, then: &Leave, out: &mut Vec<UiCommand>) -> Next {
    ui.heading("Save your changes?");
    ui.label("The project has unsaved changes.");
    buttons(ui, |ui| {
        if ui.button("Save").clicked() {
            out.push(Request::SaveThen(then.clone()).into());
            return Next::Close;
        }
        if ui.button("Discard").clicked() {
            out.push(Request::Discard(then.clone()).into());
            return Next::Close;
        }
        if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
    })
}
