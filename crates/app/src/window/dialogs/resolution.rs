//! The resolution of a scan that does not say it.

use egui::{RichText, Ui};
use slipsheet_core::units::Dpi;
use slipsheet_document::edit::{ArtEdit, Edit};
use slipsheet_document::layer::{Art, ScanKey};
use slipsheet_editor::Request;

use super::{Next, buttons};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

pub(in crate::window) fn resolution_ui(
    ui: &mut Ui,
    cx: &Context<'_>,
    (key, dpi): (&ScanKey, &mut f64),
    out: &mut Vec<UiCommand>,
) -> Next {
    let pieces: Vec<&Art> = cx.session.project().every_art().filter(|a| a.scan.key == *key).collect();
    let Some(first) = pieces.first() else { return Next::Close };
    let name = &first.scan.path;
    ui.heading("At what resolution was it scanned?");
    ui.label(format!("{name} does not say, and its size on the sheet depends on it."));
    ui.add_space(theme::GAP);
    ui.horizontal(|ui| {
        for common in [150.0, 300.0, 400.0, 600.0] {
            ui.selectable_value(dpi, common, format!("{common:.0}"));
        }
        let field = ui.add(drag(dpi).range(10.0..=9600.0).suffix(" dpi").max_decimals(1));
        theme::named(&field, egui::Role::SpinButton, "Resolution");
    });
    if let Some(pixels) = cx.session.images().get(key) {
        let mm = |px: u32| f64::from(px) / *dpi * 25.4;
        let (w, h) = (mm(pixels.full().width()), mm(pixels.full().height()));
        ui.label(RichText::new(format!("That makes it {w:.0} × {h:.0} mm.")).color(theme::of(ui).faint));
    }
    buttons(ui, |ui| {
        if ui.button("Use this resolution").clicked() {
            let dpi = Dpi::nearest(*dpi);
            for piece in &pieces {
                out.push(Edit::Art(piece.id, ArtEdit::Dpi(dpi)).into());
            }
            return Next::Close;
        }
        let tip = "Take its size from the marks of its guide or the edges of its paper, and make it flat";
        if ui.button("It is a photograph").on_hover_text(tip).clicked() {
            for piece in &pieces {
                // A photograph has no resolution of its own: any will do until it is lined up.
                out.push(Edit::Art(piece.id, ArtEdit::Dpi(Dpi::default())).into());
            }
            out.extend(pieces.iter().map(|piece| Request::PlaceByMarks(piece.id).into()));
            return Next::Close;
        }
        Next::Stay
    })
}
