//! Measured overprints: what two or more inks printed over one another really gave on a stock. They take the
//! place of the prediction in every project with those inks on that stock.

use egui::{ComboBox, RichText, Ui};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::overprint::Overprint;
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Request, Session, ShelfChange};

use crate::window::number::drag;
use crate::window::{UiCommand, theme};

use super::ShelfWindow;

/// Inks and stock of the overprint to be added, by their place on the shelf.
#[derive(Default)]
pub(super) struct Form {
    stock: usize,
    first: usize,
    second: usize,
    third: Option<usize>,
    /// The overprint whose colour is being edited, until the field is left.
    editing: Option<(usize, Lab)>,
}

impl ShelfWindow {
    pub(super) fn overprints_ui(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        height: f32,
        out: &mut Vec<UiCommand>,
    ) {
        ui.vertical(|ui| {
            ui.set_width(670.0);
            let note = "Measure the patch where solids lie over one another, in printing order. It replaces the prediction.";
            ui.label(RichText::new(note).small().color(theme::of(ui).faint));
            ui.add_space(theme::GAP);
            let shelf = session.shelf().clone();
            egui::ScrollArea::vertical().max_height(height - 110.0).auto_shrink([false, false]).show(ui, |ui| {
                if shelf.overprints.is_empty() {
                    ui.label("None measured yet: every overprint is predicted.");
                }
                let editing = &mut self.overprint.editing;
                for (i, swatch) in shelf.overprints.iter().enumerate() {
                    swatch_ui(ui, &shelf, (i, swatch), editing, out);
                }
            });
            ui.separator();
            self.add_ui(ui, &shelf, out);
        });
    }

    fn add_ui(&mut self, ui: &mut Ui, shelf: &Shelf, out: &mut Vec<UiCommand>) {
        let form = &mut self.overprint;
        ui.horizontal(|ui| {
            ui.label("On");
            choose(ui, "overprint stock", &mut form.stock, &names(shelf.stocks.iter().map(|s| &s.name)));
            ui.label("first");
            choose(ui, "overprint first", &mut form.first, &names(shelf.inks.iter().map(|i| &i.name)));
        });
        ui.horizontal(|ui| {
            ui.label("then");
            choose(ui, "overprint second", &mut form.second, &names(shelf.inks.iter().map(|i| &i.name)));
            ui.label("then");
            let mut with_none = vec!["nothing more".to_owned()];
            with_none.extend(names(shelf.inks.iter().map(|i| &i.name)));
            let mut third = form.third.map_or(0, |i| i + 1);
            choose(ui, "overprint third", &mut third, &with_none);
            form.third = third.checked_sub(1);
            let picked: Vec<usize> =
                [Some(form.first), Some(form.second), form.third].into_iter().flatten().collect();
            let different = picked.iter().enumerate().all(|(i, p)| !picked[..i].contains(p));
            let (inks, stock) =
                (picked.iter().filter_map(|i| shelf.inks.get(*i)), shelf.stocks.get(form.stock));
            let inks: Vec<&Ink> = inks.collect();
            if let Some(stock) = stock {
                let add = ui.add_enabled(different && inks.len() >= 2, egui::Button::new("Add"));
                if add.on_hover_text("Starts from the predicted colour; type the measured one then").clicked()
                {
                    let predicted = Overprint::of(stock, &inks, &[]).map(|m| m.mix(&[1.0; 3]).lab());
                    let swatch = OverprintSwatch {
                        inks: inks.iter().map(|i| i.name.clone()).collect(),
                        stock: stock.name.clone(),
                        lab: predicted.unwrap_or(Lab::WHITE),
                    };
                    out.push(Request::Shelf(ShelfChange::Overprint(None, swatch)).into());
                }
            }
        });
    }
}

/// One overprint: predicted beside measured.
fn swatch_ui(
    ui: &mut Ui,
    shelf: &Shelf,
    (i, swatch): (usize, &OverprintSwatch),
    editing: &mut Option<(usize, Lab)>,
    out: &mut Vec<UiCommand>,
) {
    let change = |change| UiCommand::Request(Request::Shelf(change));
    let inks: Option<Vec<&Ink>> = swatch.inks.iter().map(|name| shelf.ink(name)).collect();
    let predicted = inks.zip(shelf.stock(&swatch.stock)).and_then(|(inks, stock)| {
        Overprint::of(stock, &inks, &[]).ok().map(|m| m.mix(&vec![1.0; inks.len()]).lab())
    });
    ui.horizontal(|ui| {
        let text = format!("{} on {}", swatch.inks.join(" + "), swatch.stock);
        ui.add_sized([270.0, 22.0], egui::Label::new(text).truncate());
        if let Some(predicted) = predicted {
            patch(ui, predicted, "predicted");
        }
        let shown = editing.filter(|(at, _)| *at == i).map_or(swatch.lab, |(_, lab)| lab);
        patch(ui, shown, "measured");
        let (mut l, mut a, mut b) = shown.into();
        let (mut changed, mut done) = (false, false);
        for (letter, value, range) in
            [("L ", &mut l, 0.0..=150.0), ("a ", &mut a, -200.0..=200.0), ("b ", &mut b, -200.0..=200.0)]
        {
            let field = ui.add(drag(value).range(range).speed(0.3).prefix(letter).max_decimals(1));
            theme::named(&field, egui::Role::SpinButton, letter);
            changed |= field.changed();
            done |= field.drag_stopped() || field.lost_focus();
        }
        if let Some(lab) = Lab::new(l, a, b).ok().filter(|_| changed) {
            *editing = Some((i, lab));
        }
        if let Some((_, lab)) = editing.take_if(|(at, _)| *at == i && done) {
            out.push(change(ShelfChange::Overprint(Some(i), OverprintSwatch { lab, ..swatch.clone() })));
        }
        if ui.button("Remove").clicked() {
            out.push(change(ShelfChange::RemoveOverprint(i)));
        }
    });
}

fn patch(ui: &mut Ui, lab: Lab, what: &str) {
    let (rect, response) = ui.allocate_exact_size(egui::vec2(26.0, 22.0), egui::Sense::hover());
    theme::chip(ui, rect, lab);
    response.on_hover_text(format!("{what}: {lab}"));
}

fn names<'a>(all: impl Iterator<Item = &'a String>) -> Vec<String> {
    all.cloned().collect()
}

fn choose(ui: &mut Ui, id: &str, at: &mut usize, names: &[String]) {
    let shown = names.get(*at).cloned().unwrap_or_else(|| "Choose".to_owned());
    let combo = ComboBox::from_id_salt(id).width(170.0).truncate().selected_text(shown).show_ui(ui, |ui| {
        for (i, name) in names.iter().enumerate() {
            ui.selectable_value(at, i, name);
        }
    });
    theme::named(&combo.response, egui::Role::ComboBox, id);
}
