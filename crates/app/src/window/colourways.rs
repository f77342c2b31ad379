//! Colourways: inks and stocks are ticked, and a contact sheet shows every way to give them to the layers,
//! best contrast of the type first, or colours farthest apart first; a click prints in one.

use egui::{ComboBox, Rect, RichText, ScrollArea, Sense, Ui, Vec2};
use slipsheet_document::edit::SheetEdit;
use slipsheet_document::printing::Printing;
use slipsheet_editor::{Request, Session, Wanted};
use slipsheet_render::colourway::{self, Choice, Colourway, Explored, MAX_CHOSEN, Order};

use super::actions::Action;
use super::context::Context;
use super::dialogs::Next;
use super::editions::{CARD, Series, card_ui, inks_ui, trouble_ui, undo_ui};
use super::{UiCommand, pickers, theme};

/// How many colourways are shown.
const SHOWN: usize = 200;
/// Width of the ticks on the left.
const TICKS: f32 = 250.0;

/// What is ticked, and what came of it.
#[derive(Default)]
pub(crate) struct ColourwayState {
    /// Names of what is ticked.
    inks: Vec<String>,
    stocks: Vec<String>,
    /// The layer with the type; the darkest where none was chosen.
    type_layer: Option<usize>,
    order: Order,
    /// The choice that was explored last.
    explored: Option<Choice>,
    found: Option<Result<Explored, String>>,
    stopped: bool,
}

impl ColourwayState {
    /// Forgets what was found; ticks stay.
    pub fn forget(&mut self) {
        (self.explored, self.found, self.stopped) = (None, None, false);
    }

    /// Takes what was found.
    pub fn take(&mut self, explored: Result<Explored, String>) {
        self.found = Some(explored);
    }

    /// Whether the last choice has its answer.
    pub fn is_settled(&self) -> bool {
        self.explored.is_none() || self.found.is_some() || self.stopped
    }

    /// Ticks the inks and the stock in use where nothing is ticked yet.
    fn begin(&mut self, printing: &Printing) {
        if self.inks.is_empty() {
            for layer in &printing.sheet.layers {
                if !self.inks.contains(&layer.ink.name) && self.inks.len() < MAX_CHOSEN {
                    self.inks.push(layer.ink.name.clone());
                }
            }
        }
        // Settled once, so that taking a colourway over does not sort the sheet anew.
        self.type_layer = self.type_layer.or_else(|| colourway::darkest_layer(printing));
        if self.stocks.is_empty() {
            self.stocks.push(printing.sheet.stock.name.clone());
        }
    }
}

impl Series {
    pub(super) fn colourways_ui(
        &mut self,
        ui: &mut Ui,
        cx: &Context<'_>,
        size: Vec2,
        out: &mut Vec<UiCommand>,
    ) -> Next {
        let mut next = Next::Stay;
        let printing = cx.session.printing();
        self.colourways.begin(printing);
        ui.heading("Colourways");
        let height = (size.y - 90.0).max(280.0);
        let row = egui::Layout::left_to_right(egui::Align::Min);
        ui.allocate_ui_with_layout(Vec2::new(size.x, height), row, |ui| {
            let column = egui::Layout::top_down(egui::Align::Min);
            ui.allocate_ui_with_layout(Vec2::new(TICKS, height), column, |ui| {
                self.ticks_ui(ui, cx.session, height);
            });
            ui.separator();
            ui.allocate_ui_with_layout(ui.available_size(), column, |ui| {
                self.explore(ui.ctx().pixels_per_point(), cx.session, out);
                self.contact_sheet_ui(ui, cx, height, out);
            });
        });
        ui.separator();
        ui.horizontal(|ui| {
            if ui.button("Save as edition").on_hover_text("Save the current inks and stock").clicked() {
                let (name, colours) = (printing.sheet.stock.name.clone(), printing.sheet.colours());
                let keep = SheetEdit::KeepColourway(name, Box::new(colours));
                out.push(Request::sheet(printing.sheet.id, keep).into());
            }
            if ui.button("Editions…").clicked() {
                out.push(Action::Editions.into());
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Close").clicked() {
                    next = Next::Close;
                }
                undo_ui(ui, cx.session.history().undo_label().is_some(), out);
            });
        });
        trouble_ui(ui, cx.session.notices());
        next
    }

    /// What is ticked, as a choice, from the shelf and from the project's own inks and stock.
    fn choice(&self, session: &Session) -> Choice {
        let (state, printing, shelf) = (&self.colourways, session.printing(), session.shelf());
        let own = printing.sheet.layers.iter().map(|l| &l.ink);
        let mut inks = Vec::new();
        for ink in shelf.inks.iter().chain(own) {
            if state.inks.contains(&ink.name)
                && !inks.iter().any(|i: &slipsheet_core::ink::Ink| i.name == ink.name)
            {
                inks.push(ink.clone());
            }
        }
        // In an order of their own, so that taking a colourway over does not shuffle the sheet.
        inks.sort_by(|a, b| a.name.cmp(&b.name));
        let mut stocks = Vec::new();
        for stock in shelf.stocks.iter().chain([&printing.sheet.stock]) {
            let known = |s: &slipsheet_core::stock::Stock| s.name == stock.name;
            if state.stocks.contains(&stock.name) && !stocks.iter().any(known) {
                stocks.push(stock.clone());
            }
        }
        stocks.sort_by(|a, b| a.name.cmp(&b.name));
        let type_layer = state.type_layer.filter(|i| *i < printing.sheet.layers.len());
        Choice { inks, stocks, type_layer: type_layer.unwrap_or(0), order: state.order, limit: SHOWN }
    }

    /// Explores a choice that is new.
    fn explore(&mut self, ppp: f32, session: &Session, out: &mut Vec<UiCommand>) {
        let choice = self.choice(session);
        if self.colourways.explored.as_ref() == Some(&choice) {
            return;
        }
        self.colourways.forget();
        self.pictures.clear();
        self.colourways.explored = Some(choice.clone());
        out.push(match colourway::count(session.printing(), &choice) {
            Ok(_) => self.order(Wanted::Colourways(Box::new(choice)), CARD * ppp),
            Err(why) => {
                self.colourways.found = Some(Err(why.to_string()));
                UiCommand::Previews(None)
            }
        });
    }

    fn ticks_ui(&mut self, ui: &mut Ui, session: &Session, height: f32) {
        let (printing, shelf) = (session.printing(), session.shelf().clone());
        let state = &mut self.colourways;
        let p = theme::of(ui);
        ui.label(theme::heading("Inks")).on_hover_text("Tick the inks that the shop has");
        let mut inks = shelf.inks;
        for layer in &printing.sheet.layers {
            if !inks.iter().any(|i| i.name == layer.ink.name) {
                inks.insert(0, layer.ink.clone());
            }
        }
        ui.label(
            RichText::new(format!("{} of at most {MAX_CHOSEN} ticked", state.inks.len()))
                .small()
                .color(p.faint),
        );
        ScrollArea::vertical().id_salt("inks").max_height(height * 0.48).auto_shrink([false, false]).show(
            ui,
            |ui| {
                for ink in &inks {
                    let full = state.inks.len() >= MAX_CHOSEN;
                    tick_ui(ui, &ink.name, &mut state.inks, full, |ui, rect| {
                        pickers::ink_strip(ui, rect, &printing.sheet.stock, ink);
                    });
                }
            },
        );
        ui.add_space(theme::GAP);
        ui.label(theme::heading("Stocks"));
        let mut stocks = shelf.stocks;
        if !stocks.iter().any(|s| s.name == printing.sheet.stock.name) {
            stocks.insert(0, printing.sheet.stock.clone());
        }
        let used: Vec<_> = printing.sheet.layers.iter().map(|l| l.ink.clone()).collect();
        ScrollArea::vertical().id_salt("stocks").max_height(height * 0.34).auto_shrink([false, false]).show(
            ui,
            |ui| {
                for stock in &stocks {
                    tick_ui(ui, &stock.name, &mut state.stocks, false, |ui, rect| {
                        pickers::stock_strip(ui, rect, stock, &used);
                    });
                }
            },
        );
    }

    fn contact_sheet_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, height: f32, out: &mut Vec<UiCommand>) {
        let (p, printing) = (theme::of(ui), cx.session.printing());
        let chosen_layer = self.choice(cx.session).type_layer;
        ui.horizontal(|ui| {
            let state = &mut self.colourways;
            let label = ui.label("Type layer");
            let name = printing.sheet.layers.get(chosen_layer).map(|l| l.name.clone()).unwrap_or_default();
            let combo = ComboBox::from_id_salt("type layer").selected_text(name).show_ui(ui, |ui| {
                for (i, layer) in printing.sheet.layers.iter().enumerate() {
                    ui.selectable_value(&mut state.type_layer, Some(i), &layer.name);
                }
            });
            combo.response.labelled_by(label.id);
            ui.label("Sort by").on_hover_text("Which colourways come first");
            ui.selectable_value(&mut state.order, Order::Contrast, "Contrast of type").on_hover_text(
                "Contrast ratio of WCAG 2.1 between the type's ink on the stock and the bare stock",
            );
            ui.selectable_value(&mut state.order, Order::Distance, "Colours far apart")
                .on_hover_text("The least CIEDE2000 difference between paper, inks and overprints of two");
        });
        ui.horizontal(|ui| {
            ui.label(
                RichText::new(message(self.colourways.found.as_ref(), self.colourways.order)).color(p.faint),
            );
            if cx.desk.previews.is_busy() {
                if ui.small_button("Stop").clicked() {
                    out.push(UiCommand::Previews(None));
                    self.colourways.stopped = true;
                }
                ui.add(egui::ProgressBar::new(self.progress.fraction()).desired_width(120.0));
                ui.ctx().request_repaint_after(std::time::Duration::from_millis(100));
            }
        });
        let Some(Ok(found)) = &self.colourways.found else { return };
        let (count, width) = (found.ways.len(), ui.available_width());
        let columns = ((width + 10.0) / (CARD + 10.0)).floor().max(1.0) as usize;
        let sheet = printing.sheet.size();
        let shape = sheet.height.get() / sheet.width.get().max(sheet.height.get()).max(1.0);
        let row_height = CARD * shape as f32 + 52.0;
        ScrollArea::vertical()
            .id_salt("contact sheet")
            .max_height(height - 66.0)
            .auto_shrink([false, false])
            .show_rows(ui, row_height, count.div_ceil(columns), |ui, rows| {
                for row in rows {
                    ui.horizontal_top(|ui| {
                        ui.spacing_mut().item_spacing.x = 10.0;
                        for i in (row * columns..(row + 1) * columns).take_while(|i| *i < count) {
                            self.way_ui(ui, i, printing, row_height, out);
                        }
                    });
                }
            });
    }

    fn way_ui(&self, ui: &mut Ui, i: usize, printing: &Printing, height: f32, out: &mut Vec<UiCommand>) {
        let Some(Ok(found)) = &self.colourways.found else { return };
        let Some(way) = found.ways.get(i) else { return };
        let size = Vec2::new(CARD, height - ui.spacing().item_spacing.y);
        ui.allocate_ui_with_layout(size, egui::Layout::top_down(egui::Align::Min), |ui| {
            ui.set_min_size(size);
            ui.spacing_mut().item_spacing.y = 3.0;
            let picture = self.pictures.get(i).and_then(Option::as_ref);
            let chosen = printing.sheet.shows(&way.colours);
            let response = card_ui(ui, picture, printing, &way.name, chosen);
            if response.on_hover_text(format!("Use {}", way.name)).clicked() && !chosen {
                let colours = Box::new(way.colours.clone());
                let edit = SheetEdit::UseColourway(colours);
                out.push(Request::sheet(printing.sheet.id, edit).into());
            }
            inks_ui(ui, &way.colours, &printing.sheet);
            ui.label(RichText::new(figures(way)).small());
        });
    }
}

/// "Contrast 8.2 : 1 · apart 14.0".
fn figures(way: &Colourway) -> String {
    format!("Contrast {:.1} : 1 · colours apart by {:.1}", way.contrast, way.distance)
}

/// What was found, in words.
fn message(found: Option<&Result<Explored, String>>, order: Order) -> String {
    let found = match found {
        None => return "Searching…".to_owned(),
        Some(Err(why)) => return super::sentence(why) + ".",
        Some(Ok(found)) => found,
    };
    let (total, shown) = (found.total, found.ways.len());
    let ways = if total == 1 { "1 combination".to_owned() } else { format!("{total} combinations") };
    let by = match order {
        Order::Contrast => "by contrast",
        Order::Distance => "by distance",
    };
    if order == Order::Distance && found.weighed < total {
        return format!(
            "{ways}; of the {} with the most contrast, the first {shown} {by} are shown",
            found.weighed
        );
    }
    if shown < total {
        return format!("{ways}; the first {shown} {by} are shown");
    }
    ways
}

/// One thing that can be ticked, shown as it prints.
fn tick_ui(ui: &mut Ui, name: &str, ticked: &mut Vec<String>, full: bool, strip: impl FnOnce(&Ui, Rect)) {
    ui.horizontal(|ui| {
        let mut on = ticked.iter().any(|t| t == name);
        let (rect, _) = ui.allocate_exact_size(Vec2::new(70.0, 22.0), Sense::hover());
        strip(ui, Rect::from_min_max(rect.min + Vec2::new(1.0, 1.0), rect.max - Vec2::new(1.0, 1.0)));
        let tick = ui.add_enabled(on || !full, egui::Checkbox::new(&mut on, RichText::new(name).small()));
        if tick.changed() {
            if on {
                ticked.push(name.to_owned());
            } else {
                ticked.retain(|t| t != name);
            }
        }
    });
}
