//! What would sell, by figures: three places to start from, the gap, the share of the edges, and colour.

use egui::{Button, Grid, RichText, Ui, Vec2};
use slipsheet_document::acceptance::{Acceptance, ColourLimit, EdgeShare, GapMm, Start};
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_files::home::LengthUnit;

use super::row::LABEL;
use super::{RunView, START};
use crate::window::context::Context;
use crate::window::inspector::gesture;
use crate::window::number::drag;
use crate::window::sheet::plain_length;
use crate::window::{UiCommand, theme};

/// An acceptance in a line.
pub(super) fn words(acceptance: &Acceptance, unit: LengthUnit) -> String {
    let gap = plain_length(acceptance.gap.get(), unit);
    let start = acceptance.start().map_or(String::new(), |s| format!(" ({})", s.name()));
    let share = acceptance.share.get() * 100.0;
    let colour =
        acceptance.colour.map_or(String::new(), |limit| format!(", colour within {:.1}", limit.get()));
    format!("gaps to {gap}{start}, {share:.0} % of an edge wider{colour}")
}

impl RunView {
    pub(super) fn acceptance_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let before = cx.session.project().acceptance;
        let mut now = before;
        ui.horizontal_top(|ui| {
            for (i, start) in Start::ALL.into_iter().enumerate() {
                if start_ui(ui, cx, i, start, before.start() == Some(start)) {
                    now.gap = start.gap();
                }
            }
            ui.add_space(theme::GROUP_GAP);
            ui.vertical(|ui| {
                figures_ui(ui, cx, &mut now, out);
                let text = "The three are places to start from (common practice, no source). Drag the line over the copies to where you would stop selling.";
                let faint = RichText::new(text).small().color(theme::of(ui).faint);
                ui.add(egui::Label::new(faint).wrap());
                let kept = cx.session.settings().acceptance == before;
                let keep = ui.add_enabled(!kept, Button::new("Use for new projects"));
                let keep = keep.on_hover_text("New projects begin with this");
                if keep.on_disabled_hover_text("New projects begin with this already").clicked() {
                    out.push(UiCommand::AcceptFromNow(before));
                }
            });
        });
        if now != before {
            self.marks.clear();
            out.push(Edit::Project(ProjectEdit::Acceptance(now)).into());
        }
    }
}

/// A starting point with the tightest place at its gap; whether it was chosen.
fn start_ui(ui: &mut Ui, cx: &Context<'_>, at: usize, start: Start, chosen: bool) -> bool {
    let p = theme::of(ui);
    let mut clicked = false;
    ui.vertical(|ui| {
        ui.set_width(START);
        match cx.desk.run.starts().get(at) {
            Some(texture) => {
                let image = egui::Image::new(texture).fit_to_exact_size(Vec2::splat(START));
                let response = ui.add(
                    image
                        .alt_text(format!("The tightest place, {}", start.name()))
                        .sense(egui::Sense::click()),
                );
                if chosen {
                    let edge = egui::Stroke::new(3.0, p.accent);
                    ui.painter().rect_stroke(response.rect, 0.0, edge, egui::StrokeKind::Inside);
                }
                clicked |= response.clicked();
            }
            None => {
                ui.allocate_exact_size(Vec2::splat(START), egui::Sense::hover());
            }
        }
        let gap = plain_length(start.gap().get(), cx.session.settings().unit);
        let mut name = start.name().to_owned();
        name.get_mut(..1).into_iter().for_each(str::make_ascii_uppercase);
        let button = Button::selectable(chosen, format!("{name}, {gap}"));
        clicked |= ui.add(button).on_hover_text("The tightest place with a gap as wide as this").clicked();
    });
    clicked
}

fn figures_ui(ui: &mut Ui, cx: &Context<'_>, now: &mut Acceptance, out: &mut Vec<UiCommand>) {
    Grid::new("acceptance").num_columns(2).spacing([12.0, 6.0]).show(ui, |ui| {
        let label = ui.label("Widest gap that may show");
        let mut gap = now.gap.get();
        let inch = cx.session.settings().unit == LengthUnit::Inch;
        let field = drag(&mut gap).range(0.01..=10.0).speed(0.01).fixed_decimals(2).suffix(" mm");
        let field = ui.add(field).labelled_by(label.id);
        let field =
            if inch { field.on_hover_text(plain_length(now.gap.get(), LengthUnit::Inch)) } else { field };
        gesture(&field, LABEL, out);
        now.gap = GapMm::new(gap);
        ui.end_row();

        let label = ui.label("Share of an edge that may open wider");
        let mut share = now.share.get() * 100.0;
        let field = drag(&mut share).range(0.0..=100.0).speed(0.5).max_decimals(0).suffix(" %");
        let field = ui.add(field).labelled_by(label.id);
        gesture(&field, LABEL, out);
        if field.changed() {
            now.share = EdgeShare::new(share / 100.0);
        }
        ui.end_row();

        let mut counts = now.colour.is_some();
        let tip = "Also hold the whole picture against the perfect print, as it is seen from where one reads";
        if ui.checkbox(&mut counts, "Colour counts too").on_hover_text(tip).changed() {
            now.colour = counts.then(ColourLimit::default);
        }
        match &mut now.colour {
            Some(limit) => {
                let mut most = limit.get();
                let field = drag(&mut most).range(0.1..=100.0).speed(0.1).max_decimals(1);
                let field = ui.add(field).on_hover_text("CIEDE2000 that 95 % of the sheet stay below");
                theme::named(&field, egui::Role::SpinButton, "Colour difference on 95 % of the sheet");
                gesture(&field, LABEL, out);
                *limit = ColourLimit::new(most);
            }
            None => {
                ui.label("");
            }
        }
        ui.end_row();
    });
}
