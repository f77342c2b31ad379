//! What should be looked at before printing.

use egui::{RichText, Ui};
use slipsheet_booking::preflight::{self, Finding, Fix, Severity};
use slipsheet_core::reading::Reading;
use slipsheet_document::edit::{ArtEdit, Edit, LayerEdit};
use slipsheet_editor::Request;

use super::{Next, WIDTH, buttons};
use crate::window::context::Context;
use crate::window::overlays::OpenOverlay;
use crate::window::ready::Lacks;
use crate::window::strip::Readings;
use crate::window::{UiCommand, theme};

pub(in crate::window) fn findings_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
    ui.set_width(WIDTH);
    ui.heading("Before printing");
    let findings = &cx.desk.findings;
    let mut next = Next::Stay;
    if preflight::nothing_yet(cx.session.printing()) {
        let before = out.len();
        Lacks::Artwork.ui(ui, "lists what to look at before printing", out);
        if out.len() > before {
            next = Next::Close;
        }
    } else if findings.is_empty() {
        ui.label("No problems found. Let the print shop check the job as well.");
    }
    let p = theme::of(ui);
    egui::ScrollArea::vertical().max_height(380.0).show(ui, |ui| {
        for finding in findings {
            let (word, colour) = match finding.severity {
                Severity::Error => ("Error", p.error),
                Severity::Warning => ("Warning", p.warning),
                Severity::Note => ("Note", p.faint),
            };
            ui.horizontal_top(|ui| {
                ui.add_sized([58.0, 18.0], egui::Label::new(RichText::new(word).color(colour)));
                ui.vertical(|ui| {
                    ui.set_width(400.0);
                    ui.add(egui::Label::new(crate::window::sentence(&finding.sentence)).wrap());
                    ui.add(egui::Label::new(RichText::new(finding.remedy).small().color(p.faint)).wrap());
                    ui.horizontal(|ui| {
                        if let Some(layer) = finding.layer
                            && ui.small_button("Show on the sheet").clicked()
                        {
                            out.push(Request::Select(Some(layer), None).into());
                            next = Next::Close;
                        }
                        fix_ui(ui, cx, finding, out);
                    });
                });
            });
            ui.add_space(theme::GAP);
        }
    });
    let closed = buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay });
    if next == Next::Close { next } else { closed }
}

/// The step that mends a finding, and what it would change.
pub(in crate::window) fn fix_ui(ui: &mut Ui, cx: &Context<'_>, finding: &Finding, out: &mut Vec<UiCommand>) {
    let sheet = cx.session.sheet();
    match finding.fix.as_ref().filter(|_| finding.is_open()) {
        None => {}
        Some(Fix::CleanPaper(ids)) => {
            let tip = "Bare paper becomes white; what is drawn on it stays, however faint";
            if ui.small_button("Clean to white").on_hover_text(tip).clicked() {
                out.push(Request::BeginGesture("Clean paper to white").into());
                for art in sheet.art().filter(|a| ids.contains(&a.id)) {
                    out.push(Edit::Art(art.id, ArtEdit::Gray(art.scan.key.gray, true)).into());
                }
                out.push(Request::EndGesture.into());
            }
        }
        Some(&Fix::BlackPoint(black)) => {
            let Some(layer) = finding.layer.and_then(|id| sheet.layer(id)) else { return };
            let reading = Reading { black, ..layer.reading };
            let tip = "Its darkest tone prints in full; what prints in full already stays as it is";
            if ui.small_button("Set black point").on_hover_text(tip).clicked() {
                out.push(Request::layer(layer.id, LayerEdit::Reading(reading)).into());
            }
            let tip = "See the place as it is and with the black point, side by side";
            if ui.small_button("Before and after…").on_hover_text(tip).clicked() {
                let place = finding.place.map(|p| p.rect);
                let pair = Readings::pair(ui.ctx(), cx, layer.id, reading, place);
                out.extend(pair.map(|r| UiCommand::Open(Box::new(OpenOverlay::Readings(Box::new(r))))));
            }
        }
    }
}
