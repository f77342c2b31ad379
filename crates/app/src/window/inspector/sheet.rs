//! The sheet: its title, stock, format, master and trim. How it is folded has a module of its own.

use std::sync::Arc;

use egui::{Checkbox, ComboBox, Grid, Slider, TextEdit, Ui};
use slipsheet_core::units::{Dpi, Mm, SheetFormat, Size};
use slipsheet_document::edit::{Edit, ProjectEdit, SheetEdit};
use slipsheet_document::printing::Printing;
use slipsheet_editor::Request;

use super::fields::{gesture, side_field};
use super::fold::fold_fields;
use super::sides::sides_fields;
use crate::window::context::Context;
use crate::window::wrap::wrap_fields;
use crate::window::{UiCommand, pickers, theme};

pub(super) fn sheet_fields(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let printing = Arc::clone(cx.session.printing());
    let sheet = |edit| UiCommand::Request(Request::sheet(printing.sheet.id, edit));
    ui.label(theme::heading("Sheet"));
    let mut title = printing.title.clone();
    let field = ui.add(TextEdit::singleline(&mut title).desired_width(f32::INFINITY).hint_text("Title"));
    theme::named(&field, egui::Role::TextInput, "Title");
    gesture(&field, "Change the title", out);
    if field.changed() {
        out.push(Edit::Project(ProjectEdit::Title(title)).into());
    }
    let inks: Vec<_> = printing.sheet.layers.iter().map(|l| l.ink.clone()).collect();
    if let Some(stock) = pickers::stock_picker(ui, &printing.sheet.stock, &inks, &cx.session.shelf().stocks) {
        out.push(sheet(SheetEdit::Stock(stock)));
    }
    let unit = cx.session.settings().unit;
    Grid::new("sheet").num_columns(2).show(ui, |ui| {
        let label = ui.label("Format");
        let mut format = printing.sheet.format;
        let size = printing.sheet.size();
        let combo = ComboBox::from_id_salt("format").selected_text(format.name()).show_ui(ui, |ui| {
            for named in SheetFormat::NAMED {
                ui.selectable_value(&mut format, named, named.name());
            }
            let custom = matches!(format, SheetFormat::Custom(_));
            if ui.selectable_label(custom, "Custom").clicked() && !custom {
                format = SheetFormat::Custom(size);
            }
        });
        combo.response.labelled_by(label.id);
        ui.end_row();
        if let SheetFormat::Custom(Size { width, height }) = &mut format {
            for field in [side_field(ui, "Width", width, unit), side_field(ui, "Height", height, unit)] {
                gesture(&field, "Change the sheet", out);
            }
        }
        if format != printing.sheet.format {
            out.push(sheet(SheetEdit::Format(format)));
        }
        orientation_ui(ui, &printing, out);
        let label = ui.label("Master");
        let mut dpi = printing.press_dpi;
        let shown = format!("{:.0} dpi", dpi.get());
        let combo = ComboBox::from_id_salt("press dpi").selected_text(shown).show_ui(ui, |ui| {
            for each in [300.0, 400.0, 600.0].map(Dpi::nearest) {
                ui.selectable_value(&mut dpi, each, format!("{:.0} dpi", each.get()));
            }
        });
        combo.response.labelled_by(label.id).on_hover_text("Resolution of the press's masters");
        if dpi != printing.press_dpi {
            out.push(Edit::Project(ProjectEdit::PressDpi(dpi)).into());
        }
        ui.end_row();
        if printing.is_wrap() {
            return;
        }
        let label = ui.label("Trim");
        ui.spacing_mut().slider_width = 96.0;
        let mut trim = printing.sheet.trim.get();
        let slider = ui.add(Slider::new(&mut trim, 0.0..=10.0).suffix(" mm").step_by(0.5));
        gesture(&slider, "Change the trim", out);
        if slider
            .labelled_by(label.id)
            .on_hover_text("Cut off each outer edge of the sheet after folding")
            .changed()
        {
            out.push(sheet(SheetEdit::Trim(Mm::new(trim))));
        }
        ui.end_row();
    });
    if printing.sheet.two_sided() {
        sides_fields(ui, cx, &printing, out);
    }
    ui.add_space(theme::GAP);
    if printing.is_wrap() {
        return wrap_fields(ui, cx, out);
    }
    fold_fields(ui, cx, &printing, out);
}

/// Whether the sheet is landscape. A fold, a booklet and a format with an orientation of its own decide that themselves:
/// the tick then tells and cannot be changed.
fn orientation_ui(ui: &mut Ui, printing: &Printing, out: &mut Vec<UiCommand>) {
    ui.label("Orientation");
    let size = printing.sheet.size();
    let mut landscape = size.width.get() > size.height.get();
    let format = printing.sheet.format;
    let why = if printing.sheet.booklet.is_some() {
        Some("A booklet's sheets are landscape")
    } else if printing.sheet.fold.is_some() {
        Some("The fold decides this")
    } else if format.can_turn() {
        None
    } else if matches!(format, SheetFormat::Custom(_)) {
        Some("The width and the height decide this")
    } else {
        Some("Ledger is landscape; its portrait is Tabloid")
    };
    let tick = ui.add_enabled(why.is_none(), Checkbox::new(&mut landscape, "Landscape"));
    if tick.changed() {
        out.push(Request::sheet(printing.sheet.id, SheetEdit::Landscape(landscape)).into());
    }
    match why {
        Some(why) => tick.on_disabled_hover_text(why),
        None => tick.on_hover_text("Wider than high, as it goes through the press"),
    };
    ui.end_row();
}
