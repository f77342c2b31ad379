//! The shelf window: inks and stocks to add, edit, copy, import and export.

use std::sync::Arc;

use egui::{Grid, RichText, Ui};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::stock::Stock;
use slipsheet_editor::{Pick, Request, Session, ShelfChange, ShelfExport};

use super::context::Context;
use super::dialogs::Next;
use super::number::drag;
use super::{UiCommand, pickers, theme};

mod overprints;
mod rows;

use rows::{curve_rows, finish_row, lab_row, name_row, paper_rows, share_row, swatch_rows};

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
                out.push(Request::Ask(Pick::ImportShelf).into());
            }
            if ui.button("Export…").on_hover_text("Save this shelf as a file for others").clicked() {
                let shelf = ShelfExport(cx.session.shelf().clone());
                out.push(Request::Ask(Pick::Export(Arc::new(shelf))).into());
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
            let change = |change| UiCommand::Request(Request::Shelf(change));
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
            out.push(Request::Shelf(ShelfChange::Ink(Some(at), draft.edited.clone())).into());
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
            out.push(Request::Shelf(ShelfChange::Stock(Some(at), draft.edited.clone())).into());
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

fn keep_ui(ui: &mut Ui, changed: bool) -> bool {
    ui.add_space(theme::GAP);
    let clicked = ui.add_enabled(changed, egui::Button::new("Save changes")).clicked();
    let note = "Projects keep their own copy. To use the changes, choose it there again.";
    ui.label(RichText::new(note).small().color(theme::of(ui).faint));
    clicked
}
