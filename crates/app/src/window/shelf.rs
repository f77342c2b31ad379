//! The shelf window: inks and stocks to add, edit, copy, import and export.

use egui::{ComboBox, Grid, RichText, Slider, TextEdit, Ui};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Share, Swatch};
use slipsheet_core::paper::caliper;
use slipsheet_core::stock::{Finish, Grain, Stock};
use slipsheet_core::tone::ToneCurve;
use slipsheet_editor::{Command, Pick, Session, ShelfChange};

use super::dialogs::Next;
use super::number::drag;
use super::overlays::Context;
use super::{UiCommand, pickers, theme};

mod overprints;

/// What is listed.
#[derive(Clone, Copy, PartialEq, Eq, Default)]
enum Tab {
    #[default]
    Inks,
    Stocks,
    Overprints,
}

/// What the shelf window shows.
#[derive(Default)]
pub(crate) struct ShelfWindow {
    tab: Tab,
    selected: usize,
    /// What is being edited, until it is kept.
    ink: Option<Draft<Ink>>,
    stock: Option<Draft<Stock>>,
    /// Whether the list has still to show what is selected.
    reveal: bool,
    overprint: overprints::Form,
}

/// An item of the shelf as it is being edited. It belongs to the item that it was taken from, wherever that one
/// stands: what another item has at this place is never shown, nor kept, as an edit of it.
struct Draft<T> {
    /// As the shelf has it.
    kept: T,
    edited: T,
}

impl<T: Clone + PartialEq> Draft<T> {
    /// Goes on with a draft of this very item, or starts one.
    fn of(kept: T, draft: Option<Self>) -> Self {
        match draft {
            Some(draft) if draft.kept == kept => draft,
            _ => Self { edited: kept.clone(), kept },
        }
    }

    fn is_changed(&self) -> bool {
        self.edited != self.kept
    }
}

impl ShelfWindow {
    /// Turns to another item; what was edited and not kept of the last one is let go.
    fn select(&mut self, at: usize) {
        (self.selected, self.ink, self.stock) = (at, None, None);
    }
}

impl ShelfWindow {
    /// The tabs, the list and the form of what is selected.
    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        let mut next = Next::Stay;
        ui.set_width(680.0);
        ui.horizontal(|ui| {
            ui.heading("Inks and stocks");
            ui.add_space(theme::GROUP_GAP);
            let tabs = [(Tab::Inks, "Inks"), (Tab::Stocks, "Stocks"), (Tab::Overprints, "Overprints")];
            for (tab, name) in tabs {
                if ui.selectable_label(self.tab == tab, name).clicked() {
                    self.tab = tab;
                    self.select(0);
                }
            }
        });
        ui.separator();
        let (height, row) = (440.0, egui::Layout::left_to_right(egui::Align::Min));
        ui.allocate_ui_with_layout(egui::vec2(680.0, height), row, |ui| {
            if self.tab == Tab::Overprints {
                self.overprints_ui(ui, cx.session, height, out);
                return;
            }
            let column = egui::Layout::top_down(egui::Align::Min);
            ui.allocate_ui_with_layout(egui::vec2(290.0, height), column, |ui| {
                self.shelf_list(ui, cx.session, height, out)
            });
            ui.separator();
            ui.allocate_ui_with_layout(egui::vec2(356.0, height), column, |ui| {
                if self.tab == Tab::Stocks {
                    self.stock_form(ui, cx.session, out)
                } else {
                    self.ink_form(ui, cx.session, out)
                }
            });
        });
        ui.separator();
        super::editions::trouble_ui(ui, cx.session.notices());
        ui.horizontal(|ui| {
            if ui
                .button("Import…")
                .on_hover_text("Add the inks and stocks of a shelf file to this one")
                .clicked()
            {
                out.push(UiCommand::Do(Command::AskExport(Pick::ImportShelf)));
            }
            if ui.button("Export…").on_hover_text("Save this shelf as a file for others").clicked() {
                out.push(UiCommand::Do(Command::AskExport(Pick::ExportShelf)));
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Close").clicked() {
                    next = Next::Close;
                }
            });
        });
        next
    }

    fn shelf_list(&mut self, ui: &mut Ui, session: &Session, height: f32, out: &mut Vec<UiCommand>) {
        let shelf = session.shelf().clone();
        let stock = session.printing().sheet.stock.clone();
        let stocks = self.tab == Tab::Stocks;
        let count = if stocks { shelf.stocks.len() } else { shelf.inks.len() };
        egui::ScrollArea::vertical().max_height(height - 40.0).auto_shrink([false, false]).show(ui, |ui| {
            for i in 0..count {
                let (rect, response) = ui
                    .allocate_exact_size(egui::vec2(ui.available_width() - 8.0, 34.0), egui::Sense::click());
                let name = if stocks { &shelf.stocks[i].name } else { &shelf.inks[i].name };
                let chosen = self.selected == i;
                response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, chosen, name));
                let p = theme::of(ui);
                if chosen || response.hovered() {
                    let fill = if chosen { p.selection } else { theme::see_through(p.text, 0.06) };
                    ui.painter().rect_filled(rect, theme::CONTROL, fill);
                }
                let strip =
                    egui::Rect::from_min_size(rect.min + egui::vec2(4.0, 5.0), egui::vec2(90.0, 24.0));
                if stocks {
                    pickers::stock_strip(ui, strip, &shelf.stocks[i], &shelf.inks[..shelf.inks.len().min(4)]);
                } else {
                    pickers::ink_strip(ui, strip, &stock, &shelf.inks[i]);
                }
                let at = egui::pos2(rect.left() + 104.0, rect.center().y);
                ui.painter().text(at, egui::Align2::LEFT_CENTER, name, theme::body(), p.text);
                if response.clicked() {
                    self.select(i);
                }
                if chosen && std::mem::take(&mut self.reveal) {
                    response.scroll_to_me(None);
                }
            }
        });
        ui.horizontal(|ui| {
            let at = self.selected;
            let change = |change| UiCommand::Do(Command::Shelf(change));
            if ui.button("Add").clicked() {
                out.push(change(if stocks { new_stock(&shelf.stocks) } else { new_ink(&shelf.inks) }));
                self.select(count);
                self.reveal = true;
            }
            ui.add_enabled_ui(at < count, |ui| {
                if ui.button("Duplicate").clicked() {
                    out.push(change(if stocks {
                        ShelfChange::CopyStock(at)
                    } else {
                        ShelfChange::CopyInk(at)
                    }));
                    // The copy comes next to it.
                    self.select(at + 1);
                    self.reveal = true;
                }
                if ui.button("Remove").clicked() {
                    out.push(change(if stocks {
                        ShelfChange::RemoveStock(at)
                    } else {
                        ShelfChange::RemoveInk(at)
                    }));
                    self.select(at.saturating_sub(1));
                }
            });
        });
    }

    fn ink_form(&mut self, ui: &mut Ui, session: &Session, out: &mut Vec<UiCommand>) {
        let at = self.selected;
        let Some(kept) = session.shelf().inks.get(at).cloned() else { return };
        let stock = session.printing().sheet.stock.clone();
        let mut draft = Draft::of(kept, self.ink.take());
        let ink = &mut draft.edited;
        let (rect, _) = ui.allocate_exact_size(egui::vec2(340.0, 44.0), egui::Sense::hover());
        pickers::ink_strip(ui, rect, &stock, ink);
        Grid::new("ink form").num_columns(2).spacing([12.0, 7.0]).show(ui, |ui| {
            name_row(ui, &mut ink.name);
            swatch_rows(ui, &mut ink.solid, "Solid");
            lab_row(ui, "On paper", &mut ink.on);
            finish_row(ui, "Its finish", &mut ink.on_finish);
            share_row(ui, "Opacity", "How much of what lies below is hidden", &mut ink.opacity);
            share_row(
                ui,
                "Glow",
                "How much of the light beyond the paper's is the ink's own",
                &mut ink.emission,
            );
            curve_rows(ui, &mut ink.curve);
        });
        if keep_ui(ui, draft.is_changed()) {
            out.push(UiCommand::Do(Command::Shelf(ShelfChange::Ink(Some(at), draft.edited.clone()))));
        }
        // Where the shelf refuses it, the edit stays to be mended.
        self.ink = Some(draft);
    }

    fn stock_form(&mut self, ui: &mut Ui, session: &Session, out: &mut Vec<UiCommand>) {
        let at = self.selected;
        let Some(kept) = session.shelf().stocks.get(at).cloned() else { return };
        let mut draft = Draft::of(kept, self.stock.take());
        let stock = &mut draft.edited;
        let inks: Vec<Ink> = session.shelf().inks.iter().take(8).cloned().collect();
        let (rect, _) = ui.allocate_exact_size(egui::vec2(340.0, 44.0), egui::Sense::hover());
        pickers::stock_strip(ui, rect, stock, &inks);
        Grid::new("stock form").num_columns(2).spacing([12.0, 7.0]).show(ui, |ui| {
            name_row(ui, &mut stock.name);
            swatch_rows(ui, &mut stock.colour, "Colour");
            finish_row(ui, "Finish", &mut stock.finish);
            let label = ui.label("Weight");
            ui.add(drag(&mut stock.gsm).range(20.0..=600.0).suffix(" gsm").max_decimals(0)).labelled_by(label.id);
            ui.end_row();
            paper_rows(ui, stock);
            let label = ui.label("Floor");
            ui.horizontal(|ui| {
                let mut measured = stock.floor.is_some();
                ui.checkbox(&mut measured, "measured").labelled_by(label.id).on_hover_text(
                    "Light that no ink takes away, as a share of the bare paper's; else the finish's usual value",
                );
                let mut floor = stock.floor();
                let field = ui.add_enabled(measured, drag(&mut floor).range(0.0..=0.9).speed(0.002).max_decimals(3));
                field.labelled_by(label.id);
                stock.floor = measured.then_some(floor);
            });
            ui.end_row();
        });
        if keep_ui(ui, draft.is_changed()) {
            out.push(UiCommand::Do(Command::Shelf(ShelfChange::Stock(Some(at), draft.edited.clone()))));
        }
        self.stock = Some(draft);
    }
}

fn new_ink(all: &[Ink]) -> ShelfChange {
    let name = slipsheet_document::shelf::Shelf::free_name("New ink", all.iter().map(|i| i.name.as_str()));
    ShelfChange::Ink(None, Ink::estimated(&name, Lab::new(50.0, 0.0, 0.0).unwrap_or(Lab::WHITE)))
}

fn new_stock(all: &[Stock]) -> ShelfChange {
    let name = slipsheet_document::shelf::Shelf::free_name("New stock", all.iter().map(|s| s.name.as_str()));
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap_or(Lab::WHITE) };
    ShelfChange::Stock(None, Stock::new(name, colour))
}

/// Thickness and grain, which only the paper itself can tell.
fn paper_rows(ui: &mut Ui, stock: &mut Stock) {
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

fn keep_ui(ui: &mut Ui, changed: bool) -> bool {
    ui.add_space(theme::GAP);
    let clicked = ui.add_enabled(changed, egui::Button::new("Save changes")).clicked();
    let note = "Projects keep their own copy. To use the changes, choose it there again.";
    ui.label(RichText::new(note).small().color(theme::of(ui).faint));
    clicked
}

fn name_row(ui: &mut Ui, name: &mut String) {
    let label = ui.label("Name");
    ui.add(TextEdit::singleline(name).desired_width(220.0)).labelled_by(label.id);
    ui.end_row();
}

fn swatch_rows(ui: &mut Ui, swatch: &mut Swatch, name: &str) {
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

fn lab_row(ui: &mut Ui, name: &str, lab: &mut Lab) {
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

fn finish_row(ui: &mut Ui, name: &str, finish: &mut Finish) {
    let label = ui.label(name);
    let combo = ComboBox::from_id_salt(name).selected_text(finish.name()).show_ui(ui, |ui| {
        for each in Finish::ALL {
            ui.selectable_value(finish, each, each.name());
        }
    });
    combo.response.labelled_by(label.id);
    ui.end_row();
}

fn share_row(ui: &mut Ui, name: &str, tip: &str, share: &mut Share) {
    let label = ui.label(name).on_hover_text(tip);
    let mut percent = share.get() * 100.0;
    let slider = ui.add(Slider::new(&mut percent, 0.0..=100.0).suffix(" %").max_decimals(0));
    if slider.labelled_by(label.id).changed() {
        *share = Share::new(percent / 100.0);
    }
    ui.end_row();
}

/// The curve's half tone and limits; the points between follow.
fn curve_rows(ui: &mut Ui, curve: &mut ToneCurve) {
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
