//! The table of tight places and of what is too thin. A click shows the place on the sheet, and the slip that
//! breaks it.

use egui::text::{LayoutJob, TextWrapping};
use egui::{Pos2, RichText, Sense, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::words::count;
use slipsheet_document::layer::Slip;
use slipsheet_registration::slip::Shows;

use super::RunView;
use crate::window::context::Context;
use crate::window::sheet::plain_length;
use crate::window::showing::Spot;
use crate::window::{UiCommand, theme};

/// Rows of the table.
const ROWS: usize = 24;
const ROW: f32 = 24.0;
/// Height of the head, whose words take two lines in a narrow window.
const HEAD: f32 = 36.0;
/// Points per mm at which a place is looked at.
const NEAR: f32 = 22.0;

impl RunView {
    /// How many places are tight, in a few words.
    pub(super) fn places_words(&self, cx: &Context<'_>) -> String {
        let Some(study) = &cx.desk.run.study else { return String::new() };
        let thin = study.thin.len();
        let places = match study.worst(ROWS).len() {
            0 => "none".to_owned(),
            n if n == ROWS => format!("{ROWS} and more"),
            n => n.to_string(),
        };
        if thin == 0 {
            places
        } else {
            format!("{places}; {} thinner than the press slips", count(thin, "stroke"))
        }
    }

    pub(super) fn places_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let Some(study) = cx.desk.run.study.clone() else { return };
        let unit = cx.session.settings().unit;
        let names: Vec<String> = cx.session.printing().sheet.layers.iter().map(|l| l.name.clone()).collect();
        let name = |i: usize| names.get(i).cloned().unwrap_or_default();
        let worst = study.worst(ROWS);
        if worst.is_empty() {
            ui.label("No place is tight.");
        } else {
            ui.horizontal(|ui| {
                ui.label(RichText::new("Click a place to see it slip.").color(p.faint));
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    let info = crate::window::actions::of(crate::window::actions::Action::TightEdges);
                    ui.add_space(theme::GROUP_GAP);
                    let mut on = cx.showing.heat;
                    let hint = crate::window::menu::hint(ui, info);
                    if ui.checkbox(&mut on, "Tight edges on the sheet").on_hover_text(hint).changed() {
                        out.push(info.action.into());
                    }
                });
            });
            row(
                ui,
                None,
                ["Where", "Inks", "Trap", "Edge length", "Seen in the gap", "Colour difference"]
                    .map(str::to_owned),
                p.faint,
            );
        }
        let mut go = None;
        for (i, w) in worst.iter().enumerate() {
            let t = &w.tight;
            let shows = match t.shows {
                Shows::Paper => "paper".to_owned(),
                Shows::Ink(layer) => name(layer),
            };
            let cells = [
                format!("{}, {}", plain_length(t.at.x, unit), plain_length(t.at.y, unit)),
                format!("{} · {}", name(t.lower), name(t.upper)),
                plain_length(t.trap, unit),
                plain_length(w.length, unit),
                shows,
                format!("{:.0}", t.difference),
            ];
            if row(ui, Some(i + 1), cells, p.text) {
                go = Some(*w);
            }
        }
        if let Some(w) = go {
            let slip = w.breaking_slip(cx.session.project().acceptance.gap.get() + 0.25);
            out.push(self.go_to(w.tight.at, Some((w.tight.upper, slip))));
        }
        let thin = study.thin.iter().take(12).copied().collect::<Vec<_>>();
        if thin.is_empty() {
            return;
        }
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Thinner than the press slips"));
        row(ui, None, ["Where", "Inks", "Width", "Edge length", "What", ""].map(str::to_owned), p.faint);
        let mut go = None;
        for (i, t) in thin.iter().enumerate() {
            let cells = [
                format!("{}, {}", plain_length(t.at.x, unit), plain_length(t.at.y, unit)),
                format!("{} · {}", name(t.lower), name(t.upper)),
                plain_length(t.size, unit),
                plain_length(t.length, unit),
                t.name(),
                String::new(),
            ];
            if row(ui, Some(ROWS + i + 1), cells, p.text) {
                go = Some(t.at);
            }
        }
        if let Some(at) = go {
            out.push(self.go_to(at, None));
        }
    }

    /// Shows a place on the sheet, and a layer slipping there.
    fn go_to(&mut self, at: Point, slip: Option<(usize, Slip)>) -> UiCommand {
        self.place = Some(at);
        UiCommand::LookAt(Spot { at: Some((at, NEAR)), heat: true, slip, ..Spot::default() })
    }
}

/// One row; whether it was clicked. A head has no number.
fn row(ui: &mut Ui, number: Option<usize>, cells: [String; 6], colour: egui::Color32) -> bool {
    let width = ui.available_width();
    let sense = if number.is_some() { Sense::click() } else { Sense::hover() };
    let height = if number.is_some() { ROW } else { HEAD };
    let (rect, response) = ui.allocate_exact_size(Vec2::new(width, height), sense);
    let p = theme::of(ui);
    if let Some(n) = number {
        let label = format!("Place {n}: {}", cells.join(", "));
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, label.clone()));
        if response.hovered() {
            ui.painter().rect_filled(rect, theme::CONTROL, p.strip);
            ui.set_cursor_icon(egui::CursorIcon::PointingHand);
        }
    }
    let shares = [0.0, 0.17, 0.45, 0.58, 0.69, 0.86];
    for (i, (cell, share)) in cells.iter().zip(shares).enumerate() {
        let left = rect.left() + 8.0 + share * (width - 16.0);
        // A cell may take the room of empty ones after it.
        let next = cells.iter().zip(shares).skip(i + 1).find(|(c, _)| !c.is_empty()).map(|(_, share)| share);
        let end = next.map_or(rect.right(), |next| rect.left() + 2.0 + next * (width - 16.0));
        let mut job = LayoutJob::simple(cell.clone(), theme::small(), colour, end - left);
        job.wrap = match number {
            Some(_) => TextWrapping::truncate_at_width(end - left),
            None => TextWrapping { max_rows: 2, ..TextWrapping::wrap_at_width(end - left) },
        };
        let galley = ui.fonts_mut(|f| f.layout_job(job));
        let middle = rect.center().y - galley.size().y / 2.0;
        // Heads stand on one line with one another, above their cells.
        let top = if number.is_some() { middle } else { rect.bottom() - galley.size().y - 4.0 };
        ui.painter().galley(Pos2::new(left, top), galley, colour);
    }
    // What a narrow window cuts short is whole there.
    if number.is_some() { response.on_hover_text(cells.join(", ")).clicked() } else { response.clicked() }
}
