//! How the sheet is folded: flat, by a scheme, as an accordion or as a booklet.

use egui::{ComboBox, RichText, Ui};
use slipsheet_document::edit::SheetEdit;
use slipsheet_document::printing::Printing;
use slipsheet_editor::Request;
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold;

use super::fields::gesture;
use super::{booklet, paper};
use crate::window::actions::{self, Action};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, menu, theme};

pub(super) fn fold_fields(ui: &mut Ui, cx: &Context<'_>, printing: &Printing, out: &mut Vec<UiCommand>) {
    ui.label(theme::heading("Fold"));
    let flat =
        if printing.sheet.booklet.is_some() { "Booklet of several sheets" } else { "Flat, not folded" };
    let shown = printing.sheet.fold.as_ref().map_or(flat, |f| f.name.as_str());
    let schemes = actions::of(Action::FoldSchemes);
    ui.horizontal(|ui| {
        // A long name is cut where the button begins.
        let room = egui::vec2(ui.available_width() - 92.0, ui.spacing().interact_size.y);
        let combo =
            ComboBox::from_id_salt("fold").height(460.0).width(room.x).truncate().selected_text(shown);
        let left = egui::Layout::left_to_right(egui::Align::Center);
        let response = ui.allocate_ui_with_layout(room, left, |ui| {
            ui.set_max_width(room.x);
            combo.show_ui(ui, |ui| {
                let is_flat = printing.sheet.fold.is_none() && printing.sheet.booklet.is_none();
                if ui.selectable_label(is_flat, "Flat, not folded").clicked() {
                    out.push(Request::sheet(printing.sheet.id, SheetEdit::Fold(None)).into());
                }
                let own = cx.session.shelf().folds.iter().cloned();
                for scheme in fold::shipped().unwrap_or_default().into_iter().chain(own) {
                    let chosen = printing.sheet.fold.as_ref().is_some_and(|f| f.id == scheme.id);
                    if ui.selectable_label(chosen, &scheme.name).clicked() && !chosen {
                        out.push(Request::sheet(printing.sheet.id, SheetEdit::Fold(Some(scheme))).into());
                    }
                }
                if ui
                    .selectable_label(printing.sheet.booklet.is_some(), "Booklet of several sheets")
                    .clicked()
                {
                    out.push(
                        Request::sheet(printing.sheet.id, SheetEdit::Booklet(Some(Booklet::default())))
                            .into(),
                    );
                }
                if ui
                    .selectable_label(panels_of(printing.sheet.fold.as_ref()).is_some(), "Accordion")
                    .clicked()
                {
                    out.push(
                        Request::sheet(printing.sheet.id, SheetEdit::Fold(fold::accordion(5).ok())).into(),
                    );
                }
            })
        });
        let response = response.inner;
        theme::named(&response.response, egui::Role::ComboBox, "Fold");
        if ui.button("Schemes…").on_hover_text(menu::hint(ui, schemes)).clicked() {
            out.push(Action::FoldSchemes.into());
        }
    });
    booklet::booklet_ui(ui, printing, out);
    accordion_ui(ui, printing, out);
    if let Some(scheme) = &printing.sheet.fold {
        ui.label(RichText::new(&scheme.summary).small().color(theme::of(ui).faint));
    }
    paper::paper_ui(ui, printing, out);
}

/// How many panels the fold has when it is an accordion.
fn panels_of(fold: Option<&fold::Scheme>) -> Option<usize> {
    fold?.id.strip_prefix("accordion")?.parse().ok()
}

/// The number of an accordion's panels.
fn accordion_ui(ui: &mut Ui, printing: &Printing, out: &mut Vec<UiCommand>) {
    let Some(mut panels) = panels_of(printing.sheet.fold.as_ref()) else { return };
    ui.horizontal(|ui| {
        let label = ui.label("Panels");
        let field = ui.add(drag(&mut panels).range(fold::PANELS).speed(0.05)).labelled_by(label.id);
        gesture(&field, "Panels", out);
        if field.changed() {
            out.push(Request::sheet(printing.sheet.id, SheetEdit::Fold(fold::accordion(panels).ok())).into());
        }
    });
}
