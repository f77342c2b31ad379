//! What is chosen before a pack is made; the choices are remembered.

use egui::{Grid, RichText, Ui};
use slipsheet_document::mark_room;
use slipsheet_document::printing::Printing;
use slipsheet_files::pack::PackChoices;
use slipsheet_files::plates::{PlateForm, PlateFormat};

use crate::window::theme;

pub(in crate::window) fn ui(ui: &mut Ui, printing: &Printing, choices: &mut PackChoices) {
    let p = theme::of(ui);
    ui.heading("Make the booking pack");
    ui.label(
        "One folder that the print shop can run the job from: plates, separations, proof, dummy, page guide and job ticket.",
    );
    ui.add_space(theme::GAP);
    Grid::new("pack choices").num_columns(2).spacing([18.0, 7.0]).show(ui, |ui| {
        ui.label("Plates");
        ui.horizontal(|ui| {
            for format in PlateFormat::ALL {
                let name = format.ending().to_ascii_uppercase();
                ui.selectable_value(&mut choices.format, format, name);
            }
        });
        ui.end_row();
        ui.label("Form");
        ui.vertical(|ui| {
            for form in PlateForm::ALL {
                ui.radio_value(&mut choices.form, form, form.choice());
            }
        });
        ui.end_row();
        ui.label("Also");
        ui.vertical(|ui| {
            ui.checkbox(&mut choices.zip, "a ZIP file of the folder");
            if !printing.sheet.editions.is_empty() {
                ui.checkbox(&mut choices.editions, "every edition, in a folder of its own");
            }
        });
        ui.end_row();
    });
    if printing.job.copies == 0 {
        ui.add_space(theme::GAP);
        let text = "No copies are planned. Enter them on the right first.";
        ui.add(egui::Label::new(RichText::new(text).color(p.warning)).wrap());
    }
    if let Some(trouble) = mark_room::trouble(printing) {
        ui.add_space(theme::GAP);
        let text = RichText::new(crate::window::sentence(&trouble)).small().color(p.faint);
        ui.add(egui::Label::new(text).wrap());
    }
}
