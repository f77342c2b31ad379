//! Remedies for the selected layer, with the tolerance before and after.

use egui::{RichText, Ui};
use slipsheet_core::words::count;
use slipsheet_document::edit::LayerEdit;
use slipsheet_document::remedy::{Growth, Remedy};
use slipsheet_document::sheet::Sheet;
use slipsheet_editor::Request;

use super::RunView;
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::sheet::plain_length;
use crate::window::{UiCommand, theme};

impl RunView {
    /// How many remedies there are, in a few words.
    pub(super) fn remedies_words(&self, cx: &Context<'_>) -> String {
        let all = cx.session.sheet().layers.iter().map(|l| l.remedies.len()).sum();
        if all == 0 { "none".to_owned() } else { count::<usize>(all, "remedy") }
    }

    pub(super) fn remedies_ui(&self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let unit = cx.session.settings().unit;
        layer_ui(ui, cx, "Layer with the remedies", out);
        let message = |t: Option<f64>| t.map_or("any slip".to_owned(), |mm| plain_length(mm, unit));
        let [before, after] = cx.desk.run.tolerances;
        if before != after && before.is_some() {
            let text = format!("Tolerance {} before, {} now", message(before), message(after));
            ui.label(RichText::new(text).font(theme::strong_body()));
        }
        let Some((i, layer)) = cx.session.selected_layer() else {
            ui.label(RichText::new("Choose a layer to give it a remedy.").color(p.faint));
            return;
        };
        let mut remedies = layer.remedies.clone();
        let mut gone = None;
        for (at, remedy) in remedies.iter_mut().enumerate() {
            ui.horizontal(|ui| {
                if remedy_ui(ui, (i, at), remedy, cx.session.sheet(), out) {
                    gone = Some(at);
                }
            });
        }
        if let Some(at) = gone {
            remedies.remove(at);
        }
        if remedies.is_empty() {
            ui.label(RichText::new("None. The plate is the artwork as it was drawn.").color(p.faint));
        }
        ui.add_space(theme::GAP);
        ui.horizontal_wrapped(|ui| {
            if ui.button("Spread").on_hover_text("Let its shapes grow all around").clicked() {
                remedies.push(Remedy::Spread(Growth::new(0.2)));
            }
            if ui.button("Choke").on_hover_text("Let its shapes shrink all around").clicked() {
                remedies.push(Remedy::Choke(Growth::new(0.2)));
            }
            for (_, other) in cx.session.sheet().on(layer.face).filter(|(k, _)| *k != i) {
                let under = other.id;
                let cut = format!("Knock out {}", other.name);
                if ui
                    .button(cut)
                    .on_hover_text("Leave this layer out where the other prints, with a trap")
                    .clicked()
                {
                    remedies.push(Remedy::Knockout { under, trap: Growth::new(0.3) });
                }
                let fill = format!("Print under {} as well", other.name);
                if ui.button(fill).on_hover_text("Fill the other's knockout, so that it overprints").clicked()
                {
                    remedies.push(Remedy::Fill { under });
                }
            }
        });
        if remedies != layer.remedies {
            out.push(Request::layer(layer.id, LayerEdit::Remedies(remedies)).into());
        }
    }
}

/// Which layer is meant: the selected one, which it selects.
pub(super) fn layer_ui(ui: &mut Ui, cx: &Context<'_>, name: &str, out: &mut Vec<UiCommand>) {
    let selected = cx.session.selected_layer().map(|(_, l)| l);
    let shown = selected.map_or("Choose a layer", |l| l.name.as_str());
    let combo = egui::ComboBox::from_id_salt(name).selected_text(shown).width(220.0);
    let combo = combo.show_ui(ui, |ui| {
        for (_, layer) in cx.session.sheet().on(cx.showing.face) {
            if ui.selectable_label(selected.is_some_and(|l| l.id == layer.id), &layer.name).clicked() {
                out.push(Request::Select(Some(layer.id), None).into());
            }
        }
    });
    theme::named(&combo.response, egui::Role::ComboBox, name);
}

/// One remedy with its figure; whether it is to go.
fn remedy_ui(
    ui: &mut Ui,
    (layer, at): (usize, usize),
    remedy: &mut Remedy,
    sheet: &Sheet,
    out: &mut Vec<UiCommand>,
) -> bool {
    let words = remedy.words(|id| sheet.layer(id).map(|l| l.name.as_str()));
    let by = remedy.width_mut();
    let gone = ui.push_id((layer, at), |ui| ui.small_button("Remove").clicked()).inner;
    let label = ui.label(&words);
    if let Some(by) = by {
        let mut mm = by.get();
        let field = drag(&mut mm).range(0.0..=3.0).speed(0.01).max_decimals(2).suffix(" mm");
        let field = ui.add(field).labelled_by(label.id);
        if field.changed() {
            *by = Growth::new(mm);
        }
        crate::window::inspector::gesture(&field, "Change a remedy", out);
    }
    gone
}
