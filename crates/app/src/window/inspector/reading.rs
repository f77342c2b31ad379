//! The reading of a layer, and the check of its grays.

use egui::{Button, ComboBox, Grid, Pos2, Rect, RichText, Sense, Slider, Stroke, Ui, Vec2};
use slipsheet_core::gray_check::GrayCheck;
use slipsheet_core::reading::{BlackPoint, DropOut, Mode, Reading, Ruling, Scatter, Swing};
use slipsheet_core::tone::ToneCurve;
use slipsheet_core::units::Degrees;
use slipsheet_core::words::{count, percent};
use slipsheet_document::edit::LayerEdit;
use slipsheet_document::layer::Layer;
use slipsheet_editor::Request;

use super::fields::gesture;
use crate::window::actions::{self, Action};
use crate::window::context::Context;
use crate::window::menu::hint;
use crate::window::number::drag;
use crate::window::{UiCommand, sentence, strip, theme};

/// The modes as lists show them, each with what a fresh one starts from and what it is for.
pub(in crate::window) fn modes() -> [(&'static str, Mode, &'static str); 7] {
    let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
    [
        ("Continuous", Mode::Continuous, "Tones without dots: for looking, not for a master"),
        ("Line", Mode::Line, "Ink or none, for type and hard drawing"),
        ("Screened", Mode::Screened { ruling, angle }, "Clustered dots, for washes and photographs"),
        ("Stochastic", Mode::Stochastic { scatter: Scatter::Tile }, "Scattered dots without a pattern"),
        ("Diffused", Mode::Stochastic { scatter: Scatter::Diffusion }, "Scattered dots with crisper edges"),
        ("Mixed", Mode::Mixed { ruling, angle }, "Line for type and thin strokes, dots elsewhere"),
        ("Faint", Mode::Faint, "Soft pencil: the paper's shade is taken out, the grain kept"),
    ]
}

/// A mode's name.
pub(in crate::window) fn name(mode: Mode) -> &'static str {
    match mode {
        Mode::Continuous => "Continuous",
        Mode::Line => "Line",
        Mode::Screened { .. } => "Screened",
        Mode::Stochastic { scatter: Scatter::Tile } => "Stochastic",
        Mode::Stochastic { scatter: Scatter::Diffusion } => "Diffused",
        Mode::Mixed { .. } => "Mixed",
        Mode::Faint => "Faint",
    }
}

pub(super) fn reading_fields(
    ui: &mut Ui,
    cx: &Context<'_>,
    i: usize,
    layer: &Layer,
    out: &mut Vec<UiCommand>,
) {
    let mut reading = layer.reading;
    let mut held = false;
    ui.horizontal(|ui| {
        ui.label(theme::heading("Reading"));
        ui.label(RichText::new("dots show from near").small().color(theme::of(ui).faint));
    });
    Grid::new("reading").num_columns(2).show(ui, |ui| {
        ui.spacing_mut().slider_width = 96.0;
        let label = ui.label("Mode");
        let combo = ComboBox::from_id_salt("mode").selected_text(name(reading.mode)).show_ui(ui, |ui| {
            for (text, mode, tip) in modes() {
                let chosen = name(reading.mode) == text;
                if ui.selectable_label(chosen, text).on_hover_text(tip).clicked() && !chosen {
                    reading.mode = mode;
                }
            }
        });
        combo.response.labelled_by(label.id);
        ui.end_row();
        if let Mode::Screened { ruling, angle } | Mode::Mixed { ruling, angle } = &mut reading.mode {
            let mut lpi = ruling.get();
            let label = ui.label("Ruling");
            let field = ui.add(drag(&mut lpi).range(20.0..=200.0).suffix(" lpi").max_decimals(0));
            gesture(&field.labelled_by(label.id), "Change a reading", out);
            *ruling = Ruling::new(lpi);
            ui.end_row();
            let mut turn = angle.get();
            let label = ui.label("Angle");
            let field = ui.add(drag(&mut turn).range(0.0..=180.0).suffix("°").max_decimals(1));
            gesture(&field.labelled_by(label.id), "Change a reading", out);
            *angle = Degrees::new(turn);
            ui.end_row();
        }
        let (mut density, mut contrast) = (reading.density.get() * 100.0, reading.contrast.get() * 100.0);
        let (mut background, mut black) = (reading.background.get() * 100.0, reading.black.get() * 100.0);
        for (text, tip, value, range) in [
            ("Density", "Lighter or darker than the original", &mut density, -100.0..=100.0),
            ("Contrast", "Softer or harder about the half tone", &mut contrast, -100.0..=100.0),
            ("Drop-out", "Coverage that still counts as background", &mut background, 0.0..=50.0),
            (
                "Black point",
                "Coverage of the original that prints in full: lower it where the darkest stroke is pale",
                &mut black,
                20.0..=100.0,
            ),
        ] {
            let label = ui.label(text).on_hover_text(tip);
            let slider = ui.add(Slider::new(value, range).suffix(" %").max_decimals(0));
            held |= slider.dragged();
            gesture(&slider.labelled_by(label.id), "Change a reading", out);
            ui.end_row();
        }
        let kept = |old: f64, new: f64| if (old * 100.0 - new).abs() < 1e-9 { old } else { new / 100.0 };
        reading = Reading {
            density: Swing::new(kept(reading.density.get(), density)),
            contrast: Swing::new(kept(reading.contrast.get(), contrast)),
            background: DropOut::new(kept(reading.background.get(), background)),
            black: BlackPoint::new(kept(reading.black.get(), black)),
            ..reading
        };
    });
    strip::tune(ui.ctx(), held.then_some(i));
    if reading != layer.reading {
        out.push(Request::layer(layer.id, LayerEdit::Reading(reading)).into());
    }
    let info = actions::of(Action::CompareReadings);
    let compare = ui.add_enabled(cx.enabled(Action::CompareReadings), Button::new(info.label));
    if compare.on_hover_text(hint(ui, info)).clicked() {
        out.push(Action::CompareReadings.into());
    }
    let info = actions::of(Action::PartReadings);
    let parts = ui.add_enabled(cx.enabled(Action::PartReadings), Button::new(info.label));
    if parts.on_hover_text(hint(ui, info)).clicked() {
        out.push(Action::PartReadings.into());
    }
    let regions: usize = layer.art.iter().map(|a| a.regions.len()).sum();
    if regions > 0 {
        let text = format!("{} read otherwise", count(regions, "part"));
        ui.label(RichText::new(text).small().color(theme::of(ui).faint));
    }
    if let Some(print) = cx.last_print(i) {
        gray_check_ui(ui, &print.check, &layer.ink.curve);
        let mut shown = cx.showing.lost_tones;
        let info = actions::of(Action::LostTones);
        let tick = ui.checkbox(&mut shown, "Hatch lost tones on the sheet");
        if tick.on_hover_text(hint(ui, info)).changed() {
            out.push(Action::LostTones.into());
        }
        if let Some(pale) = &print.pale {
            let pale = sentence(pale);
            ui.add(egui::Label::new(RichText::new(pale).small().color(theme::of(ui).warning)).wrap());
        }
    }
}

/// The layer's grays, dark to light, with what its ink can print marked.
fn gray_check_ui(ui: &mut Ui, check: &GrayCheck, curve: &ToneCurve) {
    let p = theme::of(ui);
    let (rect, response) = ui.allocate_exact_size(Vec2::new(ui.available_width(), 48.0), Sense::hover());
    theme::named(&response, egui::Role::Image, "Gray check");
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, theme::SWATCH, theme::see_through(p.text, 0.06));
    let at = |asked: f64| rect.right() - rect.width() * asked as f32;
    // Bare paper would dwarf everything that is drawn.
    let most = check.histogram.iter().take(250).copied().max().unwrap_or(0).max(1) as f32;
    for (gray, count) in check.histogram.iter().enumerate().take(250) {
        let height = (*count as f32 / most).sqrt() * (rect.height() - 4.0);
        let x = at(1.0 - gray as f64 / 255.0);
        let line = [Pos2::new(x, rect.bottom()), Pos2::new(x, rect.bottom() - height)];
        painter.line_segment(line, Stroke::new(1.2, p.faint));
    }
    for (from, to) in [(0.0, curve.lightest()), (curve.fill_in(), 1.0)] {
        let band = Rect::from_x_y_ranges(at(to)..=at(from), rect.y_range());
        painter.rect_filled(band, 0.0, theme::see_through(p.warning, 0.22));
        for edge in [from, to].into_iter().filter(|e| (0.001..0.999).contains(e)) {
            painter.vline(at(edge), rect.y_range(), Stroke::new(1.0, p.warning));
        }
    }
    response.on_hover_text(
        "Dark grays left, light right. Grays in the marked bands vanish (right) or fill in (left).",
    );
    let text =
        format!("{} of it is too light to print, {} fills in", percent(check.vanishes), percent(check.clogs));
    ui.label(RichText::new(text).small().color(p.faint));
}
