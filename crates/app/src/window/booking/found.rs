//! The findings: go to the place, or accept one with a note.

use egui::{RichText, TextEdit, Ui};
use slipsheet_booking::preflight::{self, Finding, Severity};
use slipsheet_document::accepted::Accepted;
use slipsheet_document::edit::SheetEdit;
use slipsheet_editor::Request;

use super::BookingView;
use crate::window::context::Context;
use crate::window::dialogs::findings::fix_ui;
use crate::window::ready::Lacks;
use crate::window::showing::Spot;
use crate::window::{UiCommand, theme};

impl BookingView {
    pub(super) fn found_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        ui.label(theme::heading("Before printing"));
        if preflight::nothing_yet(cx.session.printing()) {
            Lacks::Artwork.ui(ui, "lists what to look at before printing", out);
            return;
        }
        let findings = &cx.desk.findings;
        if findings.is_empty() {
            ui.label("No problems found. Let the print shop check the job as well.");
        }
        for (i, finding) in findings.iter().enumerate() {
            let (word, colour) = match (finding.is_open(), finding.severity) {
                (false, _) => ("Accepted", p.faint),
                (true, Severity::Error) => ("Error", p.error),
                (true, Severity::Warning) => ("Warning", p.warning),
                (true, Severity::Note) => ("Note", p.faint),
            };
            ui.push_id(("finding", i), |ui| {
                ui.horizontal_top(|ui| {
                    ui.allocate_ui_with_layout(
                        egui::Vec2::new(64.0, 18.0),
                        egui::Layout::left_to_right(egui::Align::Min),
                        |ui| {
                            ui.set_min_width(64.0);
                            ui.label(RichText::new(word).color(colour));
                        },
                    );
                    ui.vertical(|ui| {
                        ui.set_width((ui.available_width() - 4.0).max(160.0));
                        ui.add(egui::Label::new(crate::window::sentence(&finding.sentence)).wrap());
                        self.finding_actions_ui(ui, cx, finding, out);
                    });
                });
            });
            ui.add_space(theme::GAP);
        }
    }

    fn finding_actions_ui(
        &mut self,
        ui: &mut Ui,
        cx: &Context<'_>,
        finding: &Finding,
        out: &mut Vec<UiCommand>,
    ) {
        let p = theme::of(ui);
        let (kind, place, sheet) = (finding.kind.id(), finding.place_of(), cx.session.sheet().id);
        if let Some(note) = &finding.accepted {
            ui.horizontal(|ui| {
                if !note.is_empty() {
                    ui.label(RichText::new(format!("“{note}”")).color(p.faint));
                }
                if ui.small_button("Reopen").clicked() {
                    out.push(Request::sheet(sheet, SheetEdit::Reopen(kind.to_owned(), place)).into());
                }
            });
            return;
        }
        ui.label(RichText::new(finding.remedy).small().color(p.faint));
        let accepting = self.accepting.as_ref().is_some_and(|a| a.0 == kind && a.1 == place);
        ui.horizontal(|ui| {
            let somewhere = finding.place.is_some() || finding.layer.is_some() || finding.page.is_some();
            if somewhere && ui.small_button("Show on the sheet").clicked() {
                show_place(cx, finding, out);
            }
            fix_ui(ui, cx, finding, out);
            if !accepting && ui.small_button("Accept…").clicked() {
                self.accepting = Some((kind, place, String::new()));
            }
        });
        if !accepting {
            return;
        }
        ui.horizontal(|ui| {
            let Some((_, _, note)) = &mut self.accepting else { return };
            let field = TextEdit::singleline(note).hint_text("Why it is fine").desired_width(260.0);
            let field = ui.add(field);
            theme::named(&field, egui::Role::TextInput, "Why it is fine");
            let entered = field.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
            if ui.button("Accept").clicked() || entered {
                let accepted = Accepted { kind: kind.to_owned(), place, note: note.trim().to_owned() };
                out.push(Request::sheet(sheet, SheetEdit::Accept(accepted)).into());
                self.accepting = None;
            } else if ui.button("Cancel").clicked() {
                self.accepting = None;
            }
        });
    }
}

/// Looks at the sheet where the finding is.
fn show_place(cx: &Context<'_>, finding: &Finding, out: &mut Vec<UiCommand>) {
    if let Some(layer) = finding.layer {
        out.push(Request::Select(Some(layer), None).into());
    }
    let printing = cx.session.printing();
    let sheet = finding.sheet.unwrap_or(cx.showing.booklet_sheet);
    let of_page = finding.page.and_then(|page| {
        let place = printing.sheet.scheme(sheet)?.place(printing.sheet.size(), page)?;
        Some((place.face, place.rect))
    });
    let place = finding.place.map(|p| (p.face, p.rect)).or(of_page);
    out.push(UiCommand::LookAt(Spot {
        sheet: Some(sheet),
        face: place.map(|(face, _)| face),
        at: place.map(|(_, rect)| (rect.centre(), 4.0)),
        ..Spot::default()
    }));
}
