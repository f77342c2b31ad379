//! Editions side by side: the project in every edition's inks, rendered beside the window; a click prints in
//! one. Colourways share the pictures' thread and live in [`super::colourways`].

use std::sync::Arc;

use egui::{RichText, TextEdit, TextureHandle, Ui, Vec2};
use slipsheet_booking::cost::{self, EditionCost};
use slipsheet_core::words::count;
use slipsheet_document::edit::{Edit, EditionEdit, SheetEdit};
use slipsheet_document::edition::{Colours, Edition, MOST_COPIES};
use slipsheet_document::ids::EditionId;
use slipsheet_document::printing::Printing;
use slipsheet_document::sheet::Sheet;
use slipsheet_editor::{Preview, PreviewOrder, ProofsExport, Request, Session, Wanted};
use slipsheet_files::Progress;

use super::actions::Action;
use super::colourways::ColourwayState;
use super::context::Context;
use super::dialogs::Next;
use super::number::drag;
use super::overlay::Overlay;
use super::{UiCommand, theme};

/// Points of a card's picture along its longer side.
pub(super) const CARD: f32 = 196.0;

/// Which window of the series is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum SeriesPage {
    #[default]
    Editions,
    Colourways,
}

/// The windows of editions and colourways.
#[derive(Default)]
pub(crate) struct Series {
    /// How much of the pictures that were asked for last is there.
    pub(super) progress: Arc<Progress>,
    page: SeriesPage,
    /// The revision that the editions' pictures show.
    revision: u64,
    /// Pictures, one a card.
    pub(super) pictures: Vec<Option<TextureHandle>>,
    /// Name for the next edition.
    name: String,
    /// An edition that is being renamed, and its name so far.
    naming: Option<(EditionId, String)>,
    /// What the series costs at a revision, and whether its ink was known.
    cost: Option<(u64, bool, cost::Series)>,
    pub(super) colourways: ColourwayState,
}

impl Series {
    /// Asks for pictures in place of those that were asked for before, on cards of so many pixels.
    pub(super) fn order(&mut self, wanted: Wanted, pixels: f32) -> UiCommand {
        self.progress = Arc::default();
        let progress = Arc::clone(&self.progress);
        UiCommand::Previews(Some(PreviewOrder { wanted, pixels: pixels.into(), progress }))
    }

    /// Which of its windows is open.
    pub fn kind(&self) -> Overlay {
        match self.page {
            SeriesPage::Editions => Overlay::Editions,
            SeriesPage::Colourways => Overlay::Colourways,
        }
    }

    /// Whether everything that was found out for what is open has come.
    pub fn is_settled(&self, revision: u64) -> bool {
        match self.page {
            SeriesPage::Editions => self.revision == revision,
            SeriesPage::Colourways => self.colourways.is_settled(),
        }
    }

    /// Begins anew, as the project is now.
    pub fn begin(&mut self, page: SeriesPage) {
        (self.page, self.revision, self.naming) = (page, 0, None);
        self.pictures.clear();
        self.colourways.forget();
    }

    /// Takes what has come.
    pub fn take(&mut self, ctx: &egui::Context, preview: Preview) {
        match preview {
            Preview::Painted(i, picture) => {
                let image = super::sheet::color_image(&picture);
                self.pictures.resize_with(self.pictures.len().max(i + 1), || None);
                if let Some(slot) = self.pictures.get_mut(i) {
                    *slot = Some(ctx.load_texture("preview", image, egui::TextureOptions::LINEAR));
                }
            }
            Preview::Explored(explored) => self.colourways.take(explored),
        }
    }

    /// The window that is open.
    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        // The window may be as small as 1100 x 700.
        let room = ui.ctx().content_rect().size() - Vec2::new(90.0, 110.0);
        let size = Vec2::new(room.x.min(1010.0), room.y.min(660.0));
        ui.set_width(size.x);
        match self.page {
            SeriesPage::Editions => self.editions_ui(ui, cx, size, out),
            SeriesPage::Colourways => self.colourways_ui(ui, cx, size, out),
        }
    }

    /// Asks for pictures when the project has changed since.
    fn order_editions(&mut self, ppp: f32, session: &Session, out: &mut Vec<UiCommand>) {
        let revision = session.revision();
        if self.revision == revision {
            return;
        }
        self.revision = revision;
        let editions = session.printing().sheet.editions.clone();
        self.pictures.truncate(editions.len() + 1);
        out.push(self.order(Wanted::Editions(editions), CARD * ppp));
    }

    fn editions_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, size: Vec2, out: &mut Vec<UiCommand>) -> Next {
        self.order_editions(ui.ctx().pixels_per_point(), cx.session, out);
        self.reckon(cx);
        ui.heading("Editions");
        let note = "The same artwork in other inks on other stocks. Click one to use it; placement, readings and slips do not change.";
        ui.add(egui::Label::new(RichText::new(note).color(theme::of(ui).faint)).wrap());
        ui.separator();
        let printing = cx.session.printing();
        let height = (size.y - 172.0).max(220.0);
        egui::ScrollArea::vertical().max_height(height).auto_shrink([false, false]).show(ui, |ui| {
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing = Vec2::new(14.0, 14.0);
                self.edition_card(ui, 0, None, printing, out);
                for (i, edition) in printing.sheet.editions.iter().enumerate() {
                    self.edition_card(ui, i + 1, Some(edition), printing, out);
                }
            });
        });
        ui.separator();
        self.editions_foot_ui(ui, cx.session, out)
    }

    /// Works out what the series costs, once a revision and again when its ink is known.
    fn reckon(&mut self, cx: &Context<'_>) {
        let (revision, ink) = (cx.session.revision(), cx.desk.known.inks());
        let known =
            |(of, with_ink, _): &(u64, bool, cost::Series)| *of == revision && (*with_ink || ink.is_none());
        if !self.cost.as_ref().is_some_and(known) {
            let uses = |part: &Printing| ink.map(|ink| ink.uses(part)).unwrap_or_default();
            let series = cost::series(cx.session.printing(), &mut |part| uses(part));
            self.cost = Some((revision, ink.is_some(), series));
        }
    }

    /// What an edition costs; of the present inks none where an edition has them.
    fn cost_of(&self, edition: Option<EditionId>) -> Option<&EditionCost> {
        self.cost.as_ref()?.2.editions.iter().find(|e| e.edition == edition)
    }

    /// One card: the picture, its name and inks, and for an edition what can be done with it.
    fn edition_card(
        &mut self,
        ui: &mut Ui,
        card: usize,
        edition: Option<&Edition>,
        printing: &Printing,
        out: &mut Vec<UiCommand>,
    ) {
        let chosen = edition.is_none_or(|e| printing.sheet.shows(&e.colours));
        ui.allocate_ui_with_layout(
            Vec2::new(CARD, CARD + 144.0),
            egui::Layout::top_down(egui::Align::Min),
            |ui| {
                ui.set_width(CARD);
                ui.spacing_mut().item_spacing.y = 4.0;
                let picture = self.pictures.get(card).and_then(Option::as_ref);
                let marked = edition.is_some() && chosen;
                let label = edition.map_or("Current", |e| e.name.as_str());
                let response = card_ui(ui, picture, printing, label, marked);
                if let Some(edition) = edition
                    && response.on_hover_text("Use this edition").clicked()
                    && !chosen
                {
                    out.push(Edit::Edition(edition.id, EditionEdit::Use).into());
                }
                match edition {
                    None => drop(ui.label(theme::heading("Current"))),
                    Some(edition) => self.edition_name_ui(ui, card, edition, out),
                }
                match edition {
                    Some(edition) => inks_ui(ui, &edition.colours, &printing.sheet),
                    None => inks_ui(ui, &printing.sheet.colours(), &printing.sheet),
                }
                if let Some(edition) = edition {
                    copies_ui(ui, card, edition, printing.job.copies, out);
                }
                let words = self.cost_of(edition.map(|e| e.id)).map(|e| cost_words(e, printing));
                let words = words.unwrap_or_else(|| "an edition has these: not printed besides".to_owned());
                ui.add(egui::Label::new(RichText::new(words).small().color(theme::of(ui).faint)).truncate());
                let Some(edition) = edition else { return };
                ui.horizontal(|ui| {
                    let update = ui.add_enabled(!chosen, egui::Button::new("Update").small());
                    if update.on_hover_text("Save the current inks and stock in it").clicked() {
                        out.push(Edit::Edition(edition.id, EditionEdit::Update).into());
                    }
                    if ui.small_button("Remove edition").clicked() {
                        out.push(Edit::Edition(edition.id, EditionEdit::Remove).into());
                    }
                });
            },
        );
    }

    /// The name in a field; it is kept when the field is left.
    fn edition_name_ui(&mut self, ui: &mut Ui, card: usize, edition: &Edition, out: &mut Vec<UiCommand>) {
        let naming = &mut self.naming;
        let mut name = match naming {
            Some((id, name)) if *id == edition.id => name.clone(),
            _ => edition.name.clone(),
        };
        let field = ui.add(TextEdit::singleline(&mut name).desired_width(CARD - 10.0));
        let label = format!("Name of edition {card}");
        theme::named(&field, egui::Role::TextInput, &label);
        if field.changed() {
            *naming = Some((edition.id, name.clone()));
        }
        if field.lost_focus() && naming.take_if(|(id, _)| *id == edition.id).is_some() && name != edition.name
        {
            out.push(Edit::Edition(edition.id, EditionEdit::Rename(name)).into());
        }
    }

    fn editions_foot_ui(&mut self, ui: &mut Ui, session: &Session, out: &mut Vec<UiCommand>) -> Next {
        let (printing, mut next) = (session.printing(), Next::Stay);
        if let Some((_, _, series)) = &self.cost {
            let mut words = format!(
                "{} and {} in all: {}",
                count(series.copies, "copy"),
                count(series.sheets, "sheet"),
                printing.job.prices.amount(series.total)
            );
            if series.is_several() {
                words = format!("{words}. {}", series.order.instruction());
            }
            ui.add(egui::Label::new(words).truncate());
        }
        ui.horizontal(|ui| {
            let label = ui.label("New edition");
            let field = TextEdit::singleline(&mut self.name).desired_width(150.0).hint_text("Spring");
            let field = ui.add(field).labelled_by(label.id);
            let entered = field.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
            let add = ui.add_enabled(!self.name.trim().is_empty(), egui::Button::new("Add edition"));
            let tip = "Save the current inks and stock under this name";
            if add.on_hover_text(tip).clicked() || (entered && !self.name.trim().is_empty()) {
                let name = std::mem::take(&mut self.name);
                out.push(Request::sheet(printing.sheet.id, SheetEdit::AddEdition(name)).into());
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Close").clicked() {
                    next = Next::Close;
                }
                let proofs =
                    ui.add_enabled(!printing.sheet.editions.is_empty(), egui::Button::new("Export proofs…"));
                if proofs.on_hover_text("A proof of every edition, into a folder").clicked() {
                    out.push(Request::export(ProofsExport::default()).into());
                }
                if ui.button("Colourways…").clicked() {
                    out.push(Action::Colourways.into());
                }
                undo_ui(ui, session.history().undo_label().is_some(), out);
            });
        });
        trouble_ui(ui, session.notices());
        next
    }
}

/// The copies of an edition: a number of its own, or as many as the job has.
fn copies_ui(ui: &mut Ui, card: usize, edition: &Edition, job: u32, out: &mut Vec<UiCommand>) {
    ui.horizontal(|ui| {
        ui.label("Copies");
        let mut copies = edition.copies_in(job);
        let field = ui.add(drag(&mut copies).range(0..=MOST_COPIES).speed(1.0));
        theme::named(&field, egui::Role::SpinButton, format!("Copies of edition {card}"));
        if field.drag_started() || field.gained_focus() {
            out.push(Request::BeginGesture("Change the copies of an edition").into());
        }
        if field.changed() {
            out.push(Edit::Edition(edition.id, EditionEdit::Copies(Some(copies))).into());
        }
        if field.drag_stopped() || field.lost_focus() {
            out.push(Request::EndGesture.into());
        }
        if edition.copies.is_none() {
            ui.label(RichText::new("as the job").small().color(theme::of(ui).faint));
        } else if ui.small_button("As the job").on_hover_text(format!("{job}, as the job has")).clicked() {
            out.push(Edit::Edition(edition.id, EditionEdit::Copies(None)).into());
        }
    });
}

/// “45 sheets, 2 masters: 31.20 coins”.
fn cost_words(edition: &EditionCost, printing: &Printing) -> String {
    format!(
        "{}, {}: {}",
        count(edition.sheets, "sheet"),
        count(edition.masters, "master"),
        printing.job.prices.amount(edition.cost.total)
    )
}

/// A picture that can be clicked, framed when it is the one in use.
pub(super) fn card_ui(
    ui: &mut Ui,
    picture: Option<&TextureHandle>,
    printing: &Printing,
    label: &str,
    chosen: bool,
) -> egui::Response {
    let p = theme::of(ui);
    let sheet = printing.sheet.size();
    let (w, h) = (sheet.width.get() as f32, sheet.height.get() as f32);
    let size = Vec2::new(w, h) * (CARD / w.max(h).max(1.0));
    let (rect, response) = ui.allocate_exact_size(size, egui::Sense::click());
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, chosen, label));
    match picture {
        Some(texture) => {
            let uv = egui::Rect::from_min_max(egui::Pos2::ZERO, egui::Pos2::new(1.0, 1.0));
            ui.painter().image(texture.id(), rect, uv, theme::UNTINTED);
        }
        None => drop(ui.painter().rect_filled(rect, theme::SWATCH, p.strip)),
    }
    let stroke = if chosen {
        egui::Stroke::new(3.0, p.accent)
    } else if response.hovered() {
        egui::Stroke::new(2.0, p.faint)
    } else {
        egui::Stroke::new(1.0, p.line)
    };
    ui.painter().rect_stroke(rect, theme::SWATCH, stroke, egui::StrokeKind::Outside);
    response.on_hover_cursor(egui::CursorIcon::PointingHand)
}

/// The inks as chips on the stock, and the stock's name.
pub(super) fn inks_ui(ui: &mut Ui, colours: &Colours, sheet: &Sheet) {
    let p = theme::of(ui);
    let mut names: Vec<&str> = Vec::new();
    let row = ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        for ink in sheet.inks_of(colours) {
            if names.contains(&ink.name.as_str()) {
                continue;
            }
            names.push(&ink.name);
            let (rect, _) = ui.allocate_exact_size(Vec2::splat(12.0), egui::Sense::hover());
            theme::chip(ui, rect, ink.solid.lab());
        }
        let stock = RichText::new(format!("on {}", colours.stock.name)).small().color(p.faint);
        ui.add(egui::Label::new(stock).truncate());
    });
    row.response.on_hover_text(format!("{} on {}", names.join(", "), colours.stock.name));
}

/// Undo, for windows that lie over the menu.
pub(super) fn undo_ui(ui: &mut Ui, enabled: bool, out: &mut Vec<UiCommand>) {
    if ui.add_enabled(enabled, egui::Button::new("Undo")).on_hover_text("Undo the last step").clicked() {
        out.push(Action::Undo.into());
    }
}

/// The latest trouble, which the line at the foot of the window would show behind this one.
pub(super) fn trouble_ui(ui: &mut Ui, notices: &[slipsheet_editor::Notice]) {
    if let Some(notice) = notices.last().filter(|n| n.weight != slipsheet_editor::Weight::Note) {
        ui.label(RichText::new(&notice.text).color(theme::of(ui).error));
    }
}
