//! What the paper means for folding: its thickness, its grain, its scores.

use egui::{RichText, Ui};
use slipsheet_core::paper;
use slipsheet_core::stock::Grain;
use slipsheet_document::grain;
use slipsheet_document::printing::Printing;

use crate::window::actions::{self, Action};
use crate::window::{UiCommand, menu, theme};

/// The section of a sheet that is folded.
pub(super) fn paper_ui(ui: &mut Ui, printing: &Printing, out: &mut Vec<UiCommand>) {
    let Some(scheme) = printing.sheet.scheme(0) else { return };
    let stock = &printing.sheet.stock;
    ui.add_space(theme::GAP);
    ui.label(theme::heading("Paper and folding"));
    let standing = if stock.caliper_mm.is_some() { "measured" } else { "estimate" };
    let grain = match stock.grain {
        Some(Grain::Long) => "grain along the longer side",
        Some(Grain::Short) => "grain along the shorter side",
        Some(Grain::Any) | None => "grain not known",
    };
    let thickness = format!("Caliper {:.3} mm ({standing}), {grain}.", paper::caliper(stock));
    ui.label(RichText::new(thickness).small());
    let p = theme::of(ui);
    for message in grain::advice(stock, &scheme, printing.sheet.size()) {
        ui.label(RichText::new(message).small().color(p.warning));
    }
    let steps = actions::of(Action::FoldingSteps);
    if ui.button(steps.label).on_hover_text(menu::hint(ui, steps)).clicked() {
        out.push(Action::FoldingSteps.into());
    }
}
