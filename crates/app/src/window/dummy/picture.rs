//! The question how a picture of the dummy is written.

use egui::{Grid, Ui};
use slipsheet_document::printing::Printing;
use slipsheet_files::dummy_picture::{DummyShot, FRAMES, SIDES};
use slipsheet_render::dummy::Piece;

use super::DummyView;
use crate::window::number::drag;
use crate::window::theme;

/// What is chosen so far.
#[derive(Debug, Clone)]
pub(crate) struct PictureForm {
    shot: DummyShot,
    turns: bool,
    frames: u32,
    /// The size of a still picture and of a turn-around, which are kept apart.
    sizes: [(u32, u32); 2],
}

impl PictureForm {
    /// The dummy as it is shown now.
    pub fn new(dummy: &DummyView, printing: &Printing) -> Self {
        let piece = Piece::of(&printing.sheet.construction());
        let (fold, open) = piece.moment(dummy.time.unwrap_or(piece.time_of_opening(0.0)));
        let shot = DummyShot {
            fold,
            open,
            yaw: dummy.yaw,
            pitch: dummy.pitch,
            zoom: dummy.zoom.min(2.0),
            ..DummyShot::default()
        };
        Self { shot, turns: false, frames: 36, sizes: [(1200, 900), (640, 480)] }
    }

    /// What is to be written.
    pub fn shot(&self) -> DummyShot {
        let (width, height) = self.sizes[usize::from(self.turns)];
        DummyShot { width, height, turn_around: self.turns.then_some(self.frames), ..self.shot }
    }
}

/// The form.
pub(crate) fn picture_ui(ui: &mut Ui, form: &mut PictureForm) {
    ui.heading("Export dummy picture");
    ui.label("The dummy as shown now, on neutral gray: to show, to share, and for the booking pack.");
    ui.add_space(theme::GAP);
    Grid::new("dummy picture").num_columns(2).spacing([18.0, 7.0]).show(ui, |ui| {
        ui.label("Shows");
        ui.horizontal(|ui| {
            ui.selectable_value(&mut form.turns, false, "Still picture");
            ui.selectable_value(&mut form.turns, true, "Turn-around");
        });
        ui.end_row();
        let label = ui.label("Size");
        ui.horizontal(|ui| {
            let (width, height) = &mut form.sizes[usize::from(form.turns)];
            for (side, name) in [(width, "Width"), (height, "Height")] {
                let field = ui.add(drag(side).range(SIDES).suffix(" px"));
                field.labelled_by(label.id).on_hover_text(name);
            }
        });
        ui.end_row();
        if form.turns {
            let label = ui.label("Frames");
            let field = drag(&mut form.frames).range(*FRAMES.start()..=*FRAMES.end());
            ui.add(field).labelled_by(label.id);
            ui.end_row();
        }
        let label = ui.label("Layers");
        let mut slipped = !form.shot.perfect;
        ui.checkbox(&mut slipped, "with their slips").labelled_by(label.id);
        form.shot.perfect = !slipped;
        ui.end_row();
    });
    if form.turns {
        let note =
            "A turn-around is an animated PNG: browsers play it, older viewers show its first picture.";
        ui.label(egui::RichText::new(note).small().color(theme::of(ui).faint));
    }
}
