//! What should be looked at before printing.

use egui::{RichText, Ui};
use slipsheet_booking::preflight::{self, Severity};
use slipsheet_editor::Request;

use super::{Next, WIDTH, buttons};
use crate::window::context::Context;
use crate::window::ready::Lacks;
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
                    ui.set_width(310.0);
                    ui.add(egui::Label::new(crate::window::sentence(&finding.sentence)).wrap());
                    ui.add(egui::Label::new(RichText::new(finding.remedy).small().color(p.faint)).wrap());
                });
                if let Some(layer) = finding.layer
                    && ui.button("Show on the sheet").clicked()
                {
                    out.push(Request::Select(Some(layer), None).into());
                    next = Next::Close;
                }
            });
            ui.add_space(3.0);
        }
    });
    let closed = buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay });
    if next == Next::Close { next } else { closed }
}
