//! How the sheet is turned between its two faces, and what if the back lies off the front.

use egui::{ComboBox, Grid, RichText, Ui};
use slipsheet_document::layer::Slip;
use slipsheet_document::project::Project;
use slipsheet_editor::Command;
use slipsheet_paper::turning::Turning;

use super::fields::{angle_field, gesture, length_field};
use crate::window::{SlipsheetApp, Wish, Wishes, theme};

impl SlipsheetApp {
    pub(super) fn sides_fields(&self, ui: &mut Ui, project: &Project, wanted: &mut Wishes) {
        ui.add_space(theme::GAP);
        ui.label(theme::heading("Two sides"));
        let mut turning = project.turning;
        Grid::new("two sides").num_columns(2).show(ui, |ui| {
            let label = ui.label("Turned by");
            let combo = ComboBox::from_id_salt("turning").selected_text(turning.name()).show_ui(ui, |ui| {
                for way in Turning::ALL {
                    ui.selectable_value(&mut turning, way, way.name()).on_hover_text(way.explained());
                }
            });
            combo.response.labelled_by(label.id);
            ui.end_row();
        });
        if turning != project.turning {
            wanted.push(Wish::Do(Command::Turning(turning)));
        }
        ui.label(RichText::new(project.turning.explained()).small().color(theme::of(ui).faint));
        self.back_slip_fields(ui, project, wanted);
    }

    fn back_slip_fields(&self, ui: &mut Ui, project: &Project, wanted: &mut Wishes) {
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            ui.label(theme::heading("Slip of the back"));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let reset = ui.add_enabled(!project.back_slip.is_none(), egui::Button::new("Reset back"));
                if reset.on_hover_text("Put the back in register again").clicked() {
                    wanted.push(Wish::Do(Command::BackSlip(Slip::default())));
                }
            });
        });
        let unit = self.session.settings().unit;
        let Slip { mut dx, mut dy, mut skew } = project.back_slip;
        Grid::new("slip of the back").num_columns(2).show(ui, |ui| {
            let fields = [
                length_field(ui, "Back to the right", &mut dx, unit),
                length_field(ui, "Back down", &mut dy, unit),
                angle_field(ui, "Back twist", &mut skew),
            ];
            for field in &fields {
                gesture(field, "Slip the back", wanted);
            }
        });
        let slip = Slip { dx, dy, skew };
        if slip != project.back_slip {
            wanted.push(Wish::Do(Command::BackSlip(slip)));
        }
    }
}
