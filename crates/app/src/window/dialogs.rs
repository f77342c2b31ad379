//! Questions and short lists that lie over the window until they are answered. Each longer one has a module of its
//! own.

pub(super) mod changed;
pub(super) mod findings;
pub(super) mod help;
pub(super) mod landing;
pub(super) mod licences;
pub(super) mod path;
pub(super) mod proof;
pub(super) mod resolution;
pub(super) mod unsaved;

use egui::{Ui, Vec2};
use slipsheet_editor::{DummyExport, Request};
use slipsheet_files::pack::PackChoices;

use super::booking::choices;
use super::context::Context;
use super::dummy::{PictureForm, picture_ui};
use super::{UiCommand, theme};

/// Width of a short dialog, in points.
pub(super) const WIDTH: f32 = 500.0;
/// What a dialog with a whole scan in it leaves of the window around it, and the most it takes.
const AROUND: Vec2 = Vec2::new(56.0, 48.0);
const MOST: Vec2 = Vec2::new(1240.0, 860.0);

/// What becomes of an overlay after a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Next {
    Stay,
    Close,
}

/// Makes a dialog as large as one with a whole scan in it may be, and says how large that is.
pub(super) fn make_large(ui: &mut Ui) -> Vec2 {
    let size = (ui.ctx().content_rect().size() - AROUND).min(MOST)
        - theme::dialog_frame(ui.ctx()).total_margin().sum();
    ui.set_width(size.x);
    size
}

pub(super) fn pack_ui(
    ui: &mut Ui,
    cx: &Context<'_>,
    choices: &mut PackChoices,
    out: &mut Vec<UiCommand>,
) -> Next {
    ui.set_width(WIDTH);
    choices::ui(ui, cx.session.printing(), choices);
    buttons(ui, |ui| {
        if ui.button("Choose a folder…").clicked() {
            out.push(UiCommand::Pack(*choices));
            return Next::Close;
        }
        if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
    })
}

pub(super) fn dummy_picture_ui(ui: &mut Ui, form: &mut PictureForm, out: &mut Vec<UiCommand>) -> Next {
    ui.set_width(WIDTH);
    picture_ui(ui, form);
    buttons(ui, |ui| {
        if ui.button("Export…").clicked() {
            out.push(Request::export(DummyExport(form.shot())).into());
            return Next::Close;
        }
        if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
    })
}

/// The buttons at the foot of a dialog, the main one at the right.
pub(super) fn buttons(ui: &mut Ui, add: impl FnOnce(&mut Ui) -> Next) -> Next {
    ui.add_space(theme::GROUP_GAP);
    let row = egui::vec2(ui.available_width(), ui.spacing().interact_size.y);
    ui.allocate_ui_with_layout(row, egui::Layout::right_to_left(egui::Align::Center), add).inner
}
