//! How the sheet is turned between its two faces, and what if the back lies off the front.

use egui::{ComboBox, Grid, RichText, Ui};
use slipsheet_document::edit::SheetEdit;
use slipsheet_document::layer::Slip;
use slipsheet_document::printing::Printing;
use slipsheet_editor::Request;
use slipsheet_paper::turning::Turning;

use super::fields::{angle_field, gesture, length_field};
use crate::window::context::Context;
use crate::window::{UiCommand, theme};

pub(super) fn sides_fields(ui: &mut Ui, cx: &Context<'_>, printing: &Printing, out: &mut Vec<UiCommand>) {
    ui.add_space(theme::GAP);
    ui.label(theme::heading("Two sides"));
    let mut turning = printing.sheet.turning;
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
    if turning != printing.sheet.turning {
        out.push(Request::sheet(printing.sheet.id, SheetEdit::Turning(turning)).into());
    }
    ui.label(RichText::new(printing.sheet.turning.explained()).small().color(theme::of(ui).faint));
    back_slip_fields(ui, cx, printing, out);
}

fn back_slip_fields(ui: &mut Ui, cx: &Context<'_>, printing: &Printing, out: &mut Vec<UiCommand>) {
    ui.add_space(theme::GAP);
    ui.horizontal(|ui| {
        ui.label(theme::heading("Slip of the back"));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let reset = ui.add_enabled(!printing.sheet.back_slip.is_none(), egui::Button::new("Reset back"));
            if reset.on_hover_text("Put the back in register again").clicked() {
                out.push(Request::sheet(printing.sheet.id, SheetEdit::BackSlip(Slip::default())).into());
            }
        });
    });
    let unit = cx.session.settings().unit;
    let Slip { mut dx, mut dy, mut skew } = printing.sheet.back_slip;
    Grid::new("slip of the back").num_columns(2).show(ui, |ui| {
        let fields = [
            length_field(ui, "Back to the right", &mut dx, unit),
            length_field(ui, "Back down", &mut dy, unit),
            angle_field(ui, "Back twist", &mut skew),
        ];
        for field in &fields {
            gesture(field, "Slip the back", out);
        }
    });
    let slip = Slip { dx, dy, skew };
    if slip != printing.sheet.back_slip {
        out.push(Request::sheet(printing.sheet.id, SheetEdit::BackSlip(slip)).into());
    }
}
