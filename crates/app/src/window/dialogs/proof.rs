//! How a proof is written: what it shows, how finely, and what is drawn around it.

use egui::{ComboBox, Grid, Ui};
use slipsheet_core::units::Dpi;
use slipsheet_editor::{ProofExport, ProofsExport, Request};
use slipsheet_files::proof::ProofOptions;
use slipsheet_paper::fold::Face;

use super::{Next, WIDTH, buttons};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

pub(in crate::window) fn proof_ui(
    ui: &mut Ui,
    cx: &Context<'_>,
    (options, every): (&mut ProofOptions, &mut bool),
    out: &mut Vec<UiCommand>,
) -> Next {
    ui.set_width(WIDTH);
    ui.heading("Export proof");
    ui.label("A picture of the print as it is predicted, for the print shop.");
    ui.add_space(theme::GAP);
    let printing = cx.session.printing();
    let pages = printing.sheet.pages();
    Grid::new("proof").num_columns(2).spacing([18.0, 7.0]).show(ui, |ui| {
        let label = ui.label("Shows");
        let shown = options.page.map_or_else(|| "The whole sheet".to_owned(), |p| format!("Page {p}"));
        let combo = ComboBox::from_id_salt("proof page").selected_text(shown).show_ui(ui, |ui| {
            ui.selectable_value(&mut options.page, None, "The whole sheet");
            for page in 1..=pages {
                ui.selectable_value(&mut options.page, Some(page), format!("Page {page}"));
            }
        });
        combo.response.labelled_by(label.id);
        ui.end_row();
        if printing.sheet.printed_sheets() > 1 && options.page.is_none() {
            let label = ui.label("Sheet");
            let mut number = options.sheet + 1;
            let field = drag(&mut number).range(1..=printing.sheet.printed_sheets()).speed(0.05);
            if ui.add(field).labelled_by(label.id).changed() {
                options.sheet = number.saturating_sub(1);
            }
            ui.end_row();
        }
        if printing.sheet.two_sided() && options.page.is_none() {
            ui.label("Face");
            ui.horizontal(|ui| {
                for face in [Face::Front, Face::Back] {
                    ui.selectable_value(&mut options.face, face, face.name());
                }
            });
            ui.end_row();
        }
        let label = ui.label("Resolution");
        let mut dpi = options.dpi.get();
        let field = ui.add(drag(&mut dpi).range(72.0..=1200.0).suffix(" dpi").max_decimals(0));
        if field.labelled_by(label.id).changed() {
            options.dpi = Dpi::nearest(dpi);
        }
        ui.end_row();
        let label = ui.label("Layers");
        let mut slipped = !options.perfect;
        ui.checkbox(&mut slipped, "with their slips").labelled_by(label.id);
        options.perfect = !slipped;
        ui.end_row();
        for (name, what, flag) in [
            ("Guides", "creases and slits", &mut options.fold_guides),
            ("", "trim", &mut options.trim_guides),
            ("Other face", "shows through (estimate)", &mut options.show_through),
            ("Outside", "registration marks", &mut options.marks),
            ("", "title and ink legend", &mut options.legend),
        ] {
            ui.label(name);
            ui.checkbox(flag, what);
            ui.end_row();
        }
        let editions = printing.sheet.editions.len();
        if editions > 0 {
            ui.label("Editions");
            let text = if editions == 1 {
                "a proof of the one edition".to_owned()
            } else {
                format!("a proof of each of the {editions} editions, into a folder")
            };
            ui.checkbox(every, text);
            ui.end_row();
        }
    });
    buttons(ui, |ui| {
        if ui.button("Export…").clicked() {
            out.push(
                if *every {
                    Request::export(ProofsExport(*options))
                } else {
                    Request::export(ProofExport(*options))
                }
                .into(),
            );
            return Next::Close;
        }
        if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
    })
}
