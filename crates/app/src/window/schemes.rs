//! Fold schemes: those that come with the program, the shelf's and the project's, and the way into the editor
//! in which a person draws one of their own.

use egui::{RichText, Ui, Vec2};
use slipsheet_core::units::Size;
use slipsheet_document::edit::SheetEdit;
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Request, Session, ShelfChange};
use slipsheet_paper::fold::{self, Face, FoldPlan, PANELS, Scheme};

use super::context::Context;
use super::dialogs::Next;
use super::number::drag;
use super::{UiCommand, theme};

mod creases;
mod editor;
mod flat;
mod settings;
mod stack;

/// Where a scheme is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Origin {
    Shipped,
    Shelf,
    Printing,
}

impl Origin {
    fn name(self) -> &'static str {
        match self {
            Self::Shipped => "built in",
            Self::Shelf => "on the shelf",
            Self::Printing => "in this project",
        }
    }
}

/// What the list brings into sight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reveal {
    Nothing,
    Selected,
    InUse,
}

/// The window of fold schemes.
pub(crate) struct Schemes {
    selected: usize,
    /// Whether the list has still to show the scheme in use, or the one that was kept.
    reveal: Reveal,
    /// Panels of the accordion.
    panels: usize,
    editor: Option<Box<editor::Editor>>,
}

impl Default for Schemes {
    fn default() -> Self {
        Self { selected: 0, reveal: Reveal::Nothing, panels: 5, editor: None }
    }
}

impl Schemes {
    /// Begins with the list, at the scheme in use.
    pub fn begin(&mut self) {
        (self.editor, self.reveal) = (None, Reveal::InUse);
    }

    /// Whether a scheme is being drawn.
    pub fn is_drawing(&self) -> bool {
        self.editor.is_some()
    }

    /// The list, or the editor.
    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        // The window may be as small as 1100 x 700.
        let room = ui.ctx().content_rect().size() - Vec2::new(90.0, 90.0);
        let size = Vec2::new(room.x.min(1130.0), room.y.min(700.0));
        let session = cx.session;
        let Some(mut editor) = self.editor.take() else {
            return self.list_ui(ui, session, size.min(Vec2::new(860.0, 600.0)), out);
        };
        match editor::editor_ui(ui, size, &mut editor, session.printing().sheet.size()) {
            editor::Done::No => self.editor = Some(editor),
            editor::Done::Cancel => {}
            editor::Done::Use => {
                if let Some(scheme) = self.finished(session, &editor.plan) {
                    out.push(use_scheme(session, scheme));
                    return Next::Close;
                }
            }
            editor::Done::Keep => {
                if let Some(scheme) = self.finished(session, &editor.plan) {
                    let all = self.all(session);
                    let first = all.iter().position(|(_, o)| *o != Origin::Shipped).unwrap_or(all.len());
                    self.reveal = Reveal::Selected;
                    let folds = &session.shelf().folds;
                    let at = folds.iter().position(|f| f.id == scheme.id);
                    self.selected = first + at.unwrap_or(folds.len());
                    out.push(Request::Shelf(ShelfChange::Fold(Box::new(scheme))).into());
                }
            }
        }
        Next::Stay
    }

    /// Every scheme at hand: the program's, the shelf's, and the project's when it is none of these.
    fn all(&self, session: &Session) -> Vec<(Scheme, Origin)> {
        let shelf = &session.shelf().folds;
        let mut all: Vec<(Scheme, Origin)> =
            fold::shipped().unwrap_or_default().into_iter().map(|s| (s, Origin::Shipped)).collect();
        all.extend(fold::accordion(self.panels).ok().map(|s| (s, Origin::Shipped)));
        all.extend(shelf.iter().map(|s| (s.clone(), Origin::Shelf)));
        if let Some(own) = &session.printing().sheet.fold
            && fold::find(&own.id).is_none()
            && !shelf.contains(own)
        {
            all.push((own.clone(), Origin::Printing));
        }
        all
    }

    /// A checked scheme with an id and a name of its own.
    fn finished(&self, session: &Session, plan: &FoldPlan) -> Option<Scheme> {
        let mut scheme = plan.checked().ok()?;
        let shelf = &session.shelf().folds;
        scheme.name = scheme.name.trim().to_owned();
        if scheme.name.is_empty() {
            scheme.name = "My fold".to_owned();
        }
        if scheme.id.is_empty() {
            let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
            let slug: String = scheme.name.chars().map(plain).collect();
            let taken: Vec<String> = self.all(session).into_iter().map(|(s, _)| s.id).collect();
            scheme.id =
                Shelf::free_name(&format!("own-{slug}"), taken.iter().map(String::as_str)).replace(' ', "-");
        }
        let others = shelf.iter().filter(|f| f.id != scheme.id).map(|f| f.name.as_str());
        scheme.name = Shelf::free_name(&scheme.name, others);
        if scheme.summary.trim().is_empty() {
            scheme.summary = creases::in_words(&scheme);
        }
        Some(scheme)
    }

    fn edit(&mut self, session: &Session, scheme: &Scheme, copy: bool) {
        let mut plan = FoldPlan { scheme: scheme.clone() };
        if copy {
            plan.scheme.id = String::new();
            let all = self.all(session);
            plan.scheme.name = Shelf::free_name(&scheme.name, all.iter().map(|(s, _)| s.name.as_str()));
        }
        self.editor = Some(Box::new(editor::Editor::new(plan)));
    }

    fn list_ui(&mut self, ui: &mut Ui, session: &Session, size: Vec2, out: &mut Vec<UiCommand>) -> Next {
        let mut next = Next::Stay;
        ui.set_width(size.x);
        ui.heading("Fold schemes");
        let note = "How a sheet is creased, slit and folded, and which page lands where. Draw your own, or start from a copy.";
        ui.label(RichText::new(note).color(theme::of(ui).faint));
        ui.separator();
        let all = self.all(session);
        let reveal = std::mem::replace(&mut self.reveal, Reveal::Nothing);
        if reveal == Reveal::InUse
            && let Some(used) = &session.printing().sheet.fold
            && let Some(i) = all.iter().position(|(s, _)| s.id == used.id)
        {
            self.selected = i;
        }
        self.selected = self.selected.min(all.len().saturating_sub(1));
        let sheet = session.printing().sheet.size();
        let height = size.y - 140.0;
        // A row of its own height: a separator would otherwise take all there is.
        let row = egui::Layout::left_to_right(egui::Align::Min);
        ui.allocate_ui_with_layout(Vec2::new(size.x, height), row, |ui| {
            let column = egui::Layout::top_down(egui::Align::Min);
            ui.allocate_ui_with_layout(egui::vec2(330.0, height), column, |ui| {
                egui::ScrollArea::vertical().max_height(height).auto_shrink([false, false]).show(ui, |ui| {
                    ui.spacing_mut().item_spacing.y = 1.0;
                    for (i, (scheme, origin)) in all.iter().enumerate() {
                        let chosen = i == self.selected;
                        let row = row_ui(ui, scheme, origin.name(), chosen, sheet);
                        if chosen && reveal != Reveal::Nothing {
                            row.scroll_to_me(None);
                        }
                        if row.clicked() {
                            self.selected = i;
                        }
                    }
                });
            });
            ui.separator();
            ui.allocate_ui_with_layout(egui::vec2(size.x - 356.0, height), column, |ui| {
                if let Some((scheme, origin)) = all.get(self.selected) {
                    next = self.scheme_ui(ui, session, (scheme, *origin), height, out);
                }
            });
        });
        ui.separator();
        ui.horizontal(|ui| {
            if ui.button("New…").on_hover_text("Draw a fold on an empty sheet").clicked() {
                self.editor = Some(Box::new(editor::Editor::new(FoldPlan::sheet(3, 1))));
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Close").clicked() {
                    next = Next::Close;
                }
            });
        });
        next
    }

    /// The scheme selected, large, and what can be done with it.
    fn scheme_ui(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        (scheme, origin): (&Scheme, Origin),
        height: f32,
        out: &mut Vec<UiCommand>,
    ) -> Next {
        let mut next = Next::Stay;
        ui.label(theme::heading(&scheme.name));
        let sides = if scheme.two_sided() { "both faces" } else { "one face" };
        let facts = format!("{} pages on {sides}, {}", scheme.pages(), origin.name());
        ui.label(RichText::new(facts).small().color(theme::of(ui).faint));
        ui.add(egui::Label::new(&scheme.summary).wrap());
        if scheme.id.strip_prefix("accordion").is_some_and(|n| n.parse::<usize>().is_ok()) {
            ui.horizontal(|ui| {
                let label = ui.label("Panels");
                let field = drag(&mut self.panels).range(PANELS).speed(0.05);
                ui.add(field).labelled_by(label.id);
            });
        }
        let sheet = session.printing().sheet.size();
        let drawn = (height - 170.0).max(120.0);
        let faces: &[Face] = if scheme.two_sided() { &[Face::Front, Face::Back] } else { &[Face::Front] };
        ui.horizontal(|ui| {
            let width = (ui.available_width() - theme::GROUP_GAP) / faces.len() as f32;
            for face in faces {
                ui.vertical(|ui| {
                    let (rect, _) = ui.allocate_exact_size(Vec2::new(width, drawn), egui::Sense::hover());
                    flat::picture(ui, rect, scheme, sheet, *face, true);
                    ui.label(RichText::new(face.name()).small().color(theme::of(ui).faint));
                });
            }
        });
        ui.horizontal(|ui| {
            let used = session.printing().sheet.fold.as_ref() == Some(scheme);
            let button = egui::Button::new(if used { "Used in this project" } else { "Use in project" });
            if ui.add_enabled(!used, button).clicked() {
                out.push(use_scheme(session, scheme.clone()));
                next = Next::Close;
            }
            if origin != Origin::Shipped && ui.button("Edit…").clicked() {
                self.edit(session, scheme, false);
            }
            if ui.button("Copy…").on_hover_text("Draw a new fold, starting from this one").clicked() {
                self.edit(session, scheme, true);
            }
            if origin == Origin::Printing && ui.button("Save to shelf").clicked() {
                out.push(Request::Shelf(ShelfChange::Fold(Box::new(scheme.clone()))).into());
            }
            if origin == Origin::Shelf
                && ui.button("Remove").on_hover_text("Projects that use it keep their own copy").clicked()
            {
                out.push(Request::Shelf(ShelfChange::RemoveFold(scheme.id.clone())).into());
            }
        });
        next
    }
}

fn use_scheme(session: &Session, scheme: Scheme) -> UiCommand {
    UiCommand::Request(Request::sheet(session.sheet().id, SheetEdit::Fold(Some(scheme))))
}

/// One scheme of the list.
fn row_ui(ui: &mut Ui, scheme: &Scheme, origin: &str, chosen: bool, sheet: Size) -> egui::Response {
    let p = theme::of(ui);
    let (rect, response) =
        ui.allocate_exact_size(Vec2::new(ui.available_width() - 8.0, 52.0), egui::Sense::click());
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, chosen, &scheme.name));
    if chosen {
        ui.painter().rect_filled(rect, theme::CONTROL, p.selection);
    } else if response.hovered() {
        ui.painter().rect_filled(rect, theme::CONTROL, theme::see_through(p.text, 0.06));
    }
    let small = egui::Rect::from_min_size(rect.min + Vec2::new(5.0, 5.0), Vec2::new(72.0, 42.0));
    flat::picture(ui, small, scheme, sheet, Face::Front, false);
    let facts = format!("{} pages, {origin}", scheme.pages());
    for (y, font, text, colour) in
        [(9.0, theme::body(), scheme.name.clone(), p.text), (27.0, theme::small(), facts, p.faint)]
    {
        let mut job = egui::text::LayoutJob::simple_singleline(text, font, colour);
        job.wrap = egui::text::TextWrapping::truncate_at_width(rect.width() - 96.0);
        let galley = ui.fonts_mut(|f| f.layout_job(job));
        ui.painter().galley(rect.min + Vec2::new(88.0, y), galley, colour);
    }
    response.on_hover_cursor(egui::CursorIcon::PointingHand)
}
