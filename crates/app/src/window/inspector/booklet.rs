//! What a booklet of several sheets is made of, and what comes of it.

use egui::{Grid, RichText, Ui};
use slipsheet_core::paper;
use slipsheet_core::units::Mm;
use slipsheet_core::words::count;
use slipsheet_document::edit::SheetEdit;
use slipsheet_document::printing::Printing;
use slipsheet_editor::Request;
use slipsheet_paper::booklet::{Blanks, Bound, MAX_PAGES};

use super::fields::gesture;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

/// What a booklet is made of, and what comes of it.
pub(super) fn booklet_ui(ui: &mut Ui, printing: &Printing, out: &mut Vec<UiCommand>) {
    let Some(known) = &printing.sheet.booklet else { return };
    let mut booklet = known.clone();
    Grid::new("booklet").num_columns(2).show(ui, |ui| {
        let label = ui.label("Pages");
        let field = drag(&mut booklet.pages).range(1..=MAX_PAGES).speed(0.1);
        let field = ui.add(field).labelled_by(label.id);
        gesture(&field, "Pages", out);
        ui.end_row();
        ui.label("Binding");
        ui.horizontal(|ui| {
            ui.selectable_value(&mut booklet.bound, Bound::Saddle, "Stitched");
            ui.selectable_value(&mut booklet.bound, Bound::Perfect, "Glued");
        });
        ui.end_row();
        ui.label("Blank pages");
        // Side by side they would be wider than the inspector.
        ui.vertical(|ui| {
            ui.selectable_value(&mut booklet.blanks, Blanks::End, "At the end");
            ui.selectable_value(&mut booklet.blanks, Blanks::InsideCovers, "Inside the covers");
        });
        ui.end_row();
        ui.label("");
        ui.checkbox(&mut booklet.compensate, "Correct for creep");
        ui.end_row();
    });
    let caliper = Mm::new(paper::caliper(&printing.sheet.stock));
    let message = format!(
        "{}, {}, spine {:.1} mm, innermost creep {:.2} mm (caliper {:.3} mm{})",
        count(booklet.sheets(), "sheet"),
        count(booklet.blank_pages(), "blank page"),
        booklet.spine(caliper),
        booklet.creep(booklet.sheets() - 1, caliper),
        caliper.get(),
        if printing.sheet.stock.caliper_mm.is_some() { "" } else { ", estimated" }
    );
    ui.label(RichText::new(message).small().color(theme::of(ui).faint));
    if booklet.bound == Bound::Saddle {
        let caution = "Staplers pierce: keep your fingers clear, and follow the machine's manual.";
        ui.label(RichText::new(caution).small().color(theme::of(ui).warning));
    }
    if booklet != *known {
        out.push(Request::sheet(printing.sheet.id, SheetEdit::Booklet(Some(booklet))).into());
    }
}
