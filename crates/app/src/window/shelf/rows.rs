//! The rows of the forms of an ink and of a stock.

use egui::{ComboBox, RichText, Slider, TextEdit, Ui};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Share, Swatch};
use slipsheet_core::paper::caliper;
use slipsheet_core::stock::{Finish, Grain, Stock};
use slipsheet_core::tone::ToneCurve;

use crate::window::number::drag;
use crate::window::theme;

/// Thickness and grain, which only the paper itself can tell.
pub(super) fn paper_rows(ui: &mut Ui, stock: &mut Stock) {
    let label = ui.label("Caliper");
    ui.horizontal(|ui| {
        let mut text = ui
            .data(|d| d.get_temp::<String>(label.id))
            .unwrap_or_else(|| stock.caliper_mm.map_or_else(String::new, |mm| format!("{mm}")));
        let estimate = format!("{:.3} mm, estimate", caliper(&Stock { caliper_mm: None, ..stock.clone() }));
        let field = TextEdit::singleline(&mut text).desired_width(130.0).hint_text(estimate);
        let field = ui.add(field).labelled_by(label.id).on_hover_text(
            "Thickness of one leaf in mm, 0.02 to 2, as a caliper measures it; empty for an estimate from the weight",
        );
        let number = text.trim().replace(',', ".").parse::<f64>().ok().filter(|v| (0.02..=2.0).contains(v));
        if field.changed() {
            if text.trim().is_empty() {
                stock.caliper_mm = None;
            } else if number.is_some() {
                stock.caliper_mm = number;
            }
        }
        // What is typed is kept while it is typed; afterwards the field shows what counts.
        // Asked beforehand: the field looks into the same data.
        let typing = field.has_focus();
        ui.data_mut(|d| {
            if typing {
                d.insert_temp(label.id, text.clone());
            } else {
                d.remove::<String>(label.id);
            }
        });
        ui.label("mm");
        if typing && number.is_none() && !text.trim().is_empty() {
            ui.label(RichText::new("from 0.02 to 2").small().color(theme::of(ui).error));
        }
    });
    ui.end_row();
    let label = ui.label("Grain");
    let ways = [
        (None, "Not known"),
        (Some(Grain::Long), "Along the longer side"),
        (Some(Grain::Short), "Along the shorter side"),
    ];
    let shown = ways.iter().find(|w| w.0 == stock.grain).map_or("Not known", |w| w.1);
    let combo = egui::ComboBox::from_id_salt("grain of the stock").selected_text(shown).show_ui(ui, |ui| {
        for (way, name) in ways {
            ui.selectable_value(&mut stock.grain, way, name);
        }
    });
    combo.response.labelled_by(label.id).on_hover_text(
        "Which way the fibres lie on the sheet as it is printed: a strip torn along them tears straight",
    );
    ui.end_row();
}

pub(super) fn name_row(ui: &mut Ui, name: &mut String) {
    let label = ui.label("Name");
    ui.add(TextEdit::singleline(name).desired_width(220.0)).labelled_by(label.id);
    ui.end_row();
}

pub(super) fn swatch_rows(ui: &mut Ui, swatch: &mut Swatch, name: &str) {
    let mut lab = swatch.lab();
    lab_row(ui, name, &mut lab);
    ui.label("");
    ui.horizontal(|ui| {
        let mut measured = swatch.measured();
        ui.checkbox(&mut measured, "measured").on_hover_text("Read from a printed swatch with an instrument");
        let mut note = match swatch {
            Swatch::Measured { note, .. } => note.clone(),
            Swatch::Estimated { .. } => String::new(),
        };
        if measured {
            let field = ui.add(TextEdit::singleline(&mut note).desired_width(130.0).hint_text("where, when"));
            field.widget_info(|| {
                egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Note on the measurement")
            });
        }
        *swatch = if measured { Swatch::Measured { lab, note } } else { Swatch::Estimated { lab } };
    });
    ui.end_row();
}

pub(super) fn lab_row(ui: &mut Ui, name: &str, lab: &mut Lab) {
    let label = ui.label(name);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let (mut l, mut a, mut b) = (*lab).into();
        for (letter, value, range) in
            [("L ", &mut l, 0.0..=150.0), ("a ", &mut a, -200.0..=200.0), ("b ", &mut b, -200.0..=200.0)]
        {
            ui.add(drag(value).range(range).speed(0.3).prefix(letter).max_decimals(2)).labelled_by(label.id);
        }
        *lab = Lab::new(l, a, b).unwrap_or(*lab);
        hex_field(ui, name, lab);
        let (rect, _) = ui.allocate_exact_size(egui::vec2(20.0, 20.0), egui::Sense::hover());
        theme::chip(ui, rect, *lab);
        if lab.xyz().shown().clipped {
            ui.label(RichText::new("!").color(theme::of(ui).warning)).on_hover_text(
                "More colourful than a screen can show; the nearest colour of its hue is shown",
            );
        }
    });
    ui.end_row();
}

/// The colour as sRGB in six digits; one that is typed in whole takes its place.
fn hex_field(ui: &mut Ui, name: &str, lab: &mut Lab) {
    let id = ui.scope_id().with(("hex", name));
    // What is being typed stays as it is until it is a colour.
    let typed = ui.data(|data| data.get_temp::<String>(id));
    let mut text = typed.unwrap_or_else(|| lab.hex());
    let field = ui.add(TextEdit::singleline(&mut text).desired_width(66.0).char_limit(7));
    field.widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, format!("{name}, sRGB")));
    if field.changed()
        && let Some(typed) = Lab::from_hex(&text)
    {
        *lab = typed;
    }
    if field.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, text));
    } else {
        ui.data_mut(|data| data.remove::<String>(id));
    }
    field.on_hover_text("As sRGB: # and six digits");
}

pub(super) fn finish_row(ui: &mut Ui, name: &str, finish: &mut Finish) {
    let label = ui.label(name);
    let combo = ComboBox::from_id_salt(name).selected_text(finish.name()).show_ui(ui, |ui| {
        for each in Finish::ALL {
            ui.selectable_value(finish, each, each.name());
        }
    });
    combo.response.labelled_by(label.id);
    ui.end_row();
}

pub(super) fn share_row(ui: &mut Ui, name: &str, tip: &str, share: &mut Share) {
    let label = ui.label(name).on_hover_text(tip);
    let mut percent = share.get() * 100.0;
    let slider = ui.add(Slider::new(&mut percent, 0.0..=100.0).suffix(" %").max_decimals(0));
    if slider.labelled_by(label.id).changed() {
        *share = Share::new(percent / 100.0);
    }
    ui.end_row();
}

/// The curve's half tone and limits; the points between follow.
pub(super) fn curve_rows(ui: &mut Ui, curve: &mut ToneCurve) {
    let (mut gain, mut lightest, mut fill_in) =
        ((curve.effective(0.5) - 0.5) * 100.0, curve.lightest() * 100.0, curve.fill_in() * 100.0);
    let mut changed = false;
    for (name, tip, value, range) in [
        ("Dot gain", "How much darker a 50 % tone prints", &mut gain, -20.0..=40.0),
        ("Lightest tone", "Tones lighter than this do not print", &mut lightest, 0.0..=50.0),
        ("Fill-in", "Tones darker than this fill in to a solid", &mut fill_in, 50.0..=100.0),
    ] {
        let label = ui.label(name).on_hover_text(tip);
        let field = ui.add(drag(value).range(range).speed(0.2).suffix(" %").max_decimals(1));
        changed |= field.labelled_by(label.id).changed();
        ui.end_row();
    }
    if changed {
        let point = |x: f64| (x, (x + gain / 100.0 * 4.0 * x * (1.0 - x)).clamp(0.0, 1.0));
        let points = [0.0, 0.125, 0.25, 0.5, 0.75, 0.875, 1.0].map(point).to_vec();
        let limited = ToneCurve::new(points).and_then(|c| c.with_limits(lightest / 100.0, fill_in / 100.0));
        // A gain that would make the curve fall is not taken over.
        *curve = limited.unwrap_or_else(|_| curve.clone());
    }
}
