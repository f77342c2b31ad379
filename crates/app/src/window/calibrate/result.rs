//! What a calibration says, shown before it is taken over.

use std::sync::Arc;

use egui::{Grid, RichText, ScrollArea, Ui, vec2};
use slipsheet_core::calibrate::{CalibrationResult, Compared, InkFit};
use slipsheet_core::words::count;
use slipsheet_editor::{Calibrated, Request};

use super::{ask::chip, plot};
use crate::window::context::Context;
use crate::window::dialogs::Next;
use crate::window::{UiCommand, theme};

/// A calibration on show.
pub(crate) struct Shown {
    calibrated: Arc<Calibrated>,
    /// Which ink's tones are shown.
    ink: usize,
    /// Whether each channel's curve is drawn too.
    channels: bool,
}

impl Shown {
    /// The first ink of a calibration.
    pub fn of(calibrated: Arc<Calibrated>) -> Self {
        Self { calibrated, ink: 0, channels: false }
    }

    /// The calibration with what may be done about it.
    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        let calibrated = Arc::clone(&self.calibrated);
        let (result, stock) = (&calibrated.result, &calibrated.order.stock);
        let p = theme::of(ui);
        let plot_size = vec2(PLOT_WIDTH, (ui.ctx().content_rect().height() - 290.0).clamp(300.0, 560.0));
        ui.set_width(PLOT_WIDTH + FIGURES + theme::GROUP_GAP);
        ui.heading("What was measured");
        let standing = format!("On {}: {}.", stock.name, result.source.standing());
        ui.label(RichText::new(standing).color(p.faint));
        ui.add_space(theme::GAP);
        ui.horizontal_wrapped(|ui| {
            for (k, ink) in result.inks.iter().enumerate() {
                chip(ui, Some(ink.solid));
                if ui.selectable_label(self.ink == k, &ink.name).clicked() {
                    self.ink = k;
                }
                ui.add_space(theme::GAP);
            }
        });
        ui.add_space(theme::GAP);
        let row = egui::Layout::left_to_right(egui::Align::Min);
        ui.allocate_ui_with_layout(
            vec2(PLOT_WIDTH + FIGURES + theme::GROUP_GAP, plot_size.y + 28.0),
            row,
            |ui| {
                let Some(ink) = result.inks.get(self.ink) else { return };
                ui.vertical(|ui| {
                    ui.set_width(PLOT_WIDTH);
                    plot::tones_ui(ui, ink, self.channels, plot_size);
                    ui.checkbox(&mut self.channels, "The red, green and blue channel by itself");
                });
                ui.add_space(theme::GROUP_GAP);
                ui.vertical(|ui| {
                    ui.set_width(FIGURES);
                    ScrollArea::vertical().max_height(plot_size.y + 24.0).auto_shrink([false, false]).show(
                        ui,
                        |ui| {
                            ui.set_width(FIGURES - 14.0);
                            ink_figures_ui(ui, ink);
                            ui.add_space(theme::GROUP_GAP);
                            press_figures_ui(ui, result);
                            ui.add_space(theme::GROUP_GAP);
                            swatches_ui(ui, &calibrated.compared);
                        },
                    );
                });
            },
        );
        ui.add_space(theme::GAP);
        let what = if stock.name == cx.session.printing().sheet.stock.name {
            "Use these saves them on the shelf and in this project's layers and stock. Undo brings the project back."
        } else {
            "Use these saves them on the shelf, and the inks in this project's layers. The project's stock is another one and stays as it is."
        };
        ui.horizontal(|ui| {
            ui.allocate_ui(vec2(FIGURES + 190.0, 34.0), |ui| {
                ui.add(egui::Label::new(RichText::new(what).color(p.faint).small()).wrap());
            });
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Use these").clicked() {
                    out.push(Request::TakeCalibration(Arc::clone(&calibrated)).into());
                    return Next::Close;
                }
                if ui.button("Discard").on_hover_text("Close this and change nothing").clicked() {
                    Next::Close
                } else {
                    Next::Stay
                }
            })
            .inner
        })
        .inner
    }
}

/// Width of the plot; its height follows the window's.
const PLOT_WIDTH: f32 = 410.0;
/// Width of the figures.
const FIGURES: f32 = 470.0;

fn figures(ui: &mut Ui, id: &str, rows: &[(&str, String)]) {
    let p = theme::of(ui);
    Grid::new(id).num_columns(2).spacing([12.0, 4.0]).show(ui, |ui| {
        for (name, value) in rows {
            let left = egui::Layout::left_to_right(egui::Align::Min);
            let cell = |ui: &mut Ui, width: f32, text: RichText| {
                ui.allocate_ui_with_layout(vec2(width, 16.0), left, |ui| {
                    ui.set_min_width(width);
                    ui.add(egui::Label::new(text).wrap());
                });
            };
            cell(ui, 104.0, RichText::new(*name).color(p.faint));
            cell(ui, FIGURES - 136.0, RichText::new(value));
            ui.end_row();
        }
    });
}

fn ink_figures_ui(ui: &mut Ui, ink: &InkFit) {
    ui.label(theme::heading(&ink.name));
    let percent = |v: f64| format!("{:.0} %", v * 100.0);
    let lightest = ink.steps.iter().map(|s| s.asked).find(|a| *a > ink.curve.lightest());
    let rows = [
        ("Solid", ink.solid.to_string()),
        ("RMS residual", format!("{:.2} % points of coverage", ink.rms * 100.0)),
        (
            "Lightest tone",
            match lightest {
                Some(first) if ink.curve.lightest() > 0.0 => {
                    format!("{}; nothing prints up to {}", percent(first), percent(ink.curve.lightest()))
                }
                _ => "every step prints".to_owned(),
            },
        ),
        (
            "Fill-in shadow",
            if ink.curve.fill_in() < 1.0 {
                format!("solid from {}", percent(ink.curve.fill_in()))
            } else {
                "no step fills in before the solid".to_owned()
            },
        ),
        ("Taken from", ink.curve_from()),
    ];
    figures(ui, "ink figures", &rows);
}

fn press_figures_ui(ui: &mut Ui, r: &CalibrationResult) {
    ui.label(theme::heading("The press on this stock"));
    let (low, high) = r.n_range;
    let t = &r.tints;
    let floor = if r.floor_measured {
        format!("{:.3}, from the darkest patch", r.floor)
    } else {
        format!("{:.3}, the finish's; the darkest solid is {:.3}", r.floor, r.darkest)
    };
    let trap = r.trap.map_or_else(
        || "not measured: there are no overprints".to_owned(),
        |f| {
            format!(
                "{:.2}; {}, mean ΔE {:.2} before, {:.2} after",
                f.trap,
                count(f.count, "overprint"),
                f.before,
                f.after
            )
        },
    );
    let rows = [
        ("Paper", r.paper.to_string()),
        ("Floor", floor),
        ("Trapping", trap),
        (
            "Yule-Nielsen n",
            format!(
                "{:.2} ({low:.2} to {high:.2} do nearly as well); {}, RMS ΔE {:.2} before, {:.2} after",
                r.n,
                count(t.count, "step"),
                t.before,
                t.after
            ),
        ),
    ];
    figures(ui, "press figures", &rows);
}

/// Solids and overprints: foreseen by the shelf, measured, and as the fitted press has them.
fn swatches_ui(ui: &mut Ui, compared: &[Compared]) {
    let p = theme::of(ui);
    ui.label(theme::heading("Solids and overprints"));
    Grid::new("swatches").num_columns(6).spacing([10.0, 3.0]).show(ui, |ui| {
        for head in ["", "shelf", "measured", "fitted", "ΔE shelf", "ΔE fitted"] {
            ui.label(RichText::new(head).small().color(p.faint));
        }
        ui.end_row();
        for c in compared {
            let name = c.inks.join(" + ");
            let left = egui::Layout::left_to_right(egui::Align::Center);
            ui.allocate_ui_with_layout(vec2(176.0, 20.0), left, |ui| {
                ui.set_min_width(176.0);
                ui.add(egui::Label::new(&name).truncate()).on_hover_text(&name);
            });
            for lab in [c.before, c.measured, c.after] {
                chip(ui, Some(lab));
            }
            for lab in [c.before, c.after] {
                ui.label(format!("{:.1}", lab.ciede2000(c.measured)));
            }
            ui.end_row();
        }
    });
    let mean = |of: fn(&Compared) -> f64| {
        let all: Vec<f64> = compared.iter().filter(|c| c.inks.len() > 1).map(of).collect();
        (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
    };
    let before = mean(|c| c.before.ciede2000(c.measured));
    let after = mean(|c| c.after.ciede2000(c.measured));
    if let (Some(before), Some(after)) = (before, after) {
        ui.label(format!(
            "Overprints, mean ΔE: {before:.1} as the shelf had them, {after:.1} as the fitted press has them."
        ));
        let word = "Once used, the measured overprints replace both.";
        ui.label(RichText::new(word).color(p.faint).small());
    }
}
