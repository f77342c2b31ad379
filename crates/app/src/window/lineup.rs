//! Lining one original up by its marks: the whole scan with the marks that were found, a loupe in which a mark
//! is set by hand to a fraction of a pixel, what each is off, and a placement that comes of it.

mod list;
mod loupe;
mod overview;

use std::sync::Arc;

use egui::{Key, Modifiers, Rect, RichText, TextureHandle, Ui, UiBuilder, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::Pyramid;
use slipsheet_core::words::count;
use slipsheet_editor::{MarksToShow, Original, Request, Reviewed};
use slipsheet_registration::register::{Chosen, MarkTable, Seen, SolveError, TableFit};

use super::dialogs::{Next, make_large};
use super::{UiCommand, theme};

/// What the dialog works on; nothing of it reaches the project before it is placed.
pub(crate) struct LineUp {
    original: Original,
    name: String,
    why: Option<String>,
    pixels: Arc<Pyramid>,
    /// The marks as they were found, to go back to.
    found: MarkTable,
    table: MarkTable,
    kind: Chosen,
    /// The kind that the marks ask for.
    chosen: Chosen,
    fit: Result<TableFit, SolveError>,
    crop: bool,
    selected: usize,
    /// A mark being dragged over the whole scan.
    held: bool,
    overview: Option<TextureHandle>,
    loupe: loupe::Loupe,
}

/// Width of the column beside the scan.
const COLUMN: f32 = 344.0;
/// Lines of words that a message over the scan and one under the marks may take: their room is kept, so that nothing
/// moves under the pointer as they come and go.
const HEAD_LINES: f32 = 2.0;
const FOOT_LINES: f32 = 3.0;
/// The height of what stands under the marks: a rule, two rows and the messages.
const FOOT: f32 = 144.0;

impl LineUp {
    /// What was found on a scan.
    pub fn new(shown: MarksToShow) -> Self {
        let kind = shown.kind;
        let fit = shown.table.fit(kind);
        // What was not found wants looking at first.
        let selected = shown.table.marks.iter().position(|m| m.seen == Seen::Missing).unwrap_or(0);
        let mut state = Self {
            name: shown.original.art.scan.file_name().to_owned(),
            original: shown.original,
            why: shown.why,
            pixels: shown.pixels,
            found: shown.table.clone(),
            table: shown.table,
            kind,
            chosen: kind,
            fit,
            crop: true,
            selected,
            held: false,
            overview: None,
            loupe: loupe::Loupe::default(),
        };
        state.select(selected);
        state
    }

    fn select(&mut self, mark: usize) {
        self.selected = mark;
        if let Some(mark) = self.table.marks.get(mark) {
            self.loupe.look_at(mark.in_scan);
        }
    }

    /// Sets the selected mark by hand.
    fn set(&mut self, in_scan: Point) {
        self.table.set(self.selected, in_scan);
        self.solve();
    }

    /// What follows from the marks, after any change.
    fn solve(&mut self) {
        self.fit = self.table.fit(self.kind);
        if let Ok(fit) = &self.fit {
            self.table.expect(fit);
        }
    }

    /// Arrow keys move the selected mark by a tenth of a pixel, with Shift by a whole one.
    fn nudge(&mut self, ui: &Ui) {
        if ui.ctx().egui_wants_keyboard_input() {
            return;
        }
        let Some(at) = self.table.marks.get(self.selected).map(|m| m.in_scan) else { return };
        let mut to = at;
        ui.input_mut(|i| {
            for (modifiers, step) in [(Modifiers::SHIFT, 1.0), (Modifiers::NONE, 0.1)] {
                for (key, dx, dy) in [
                    (Key::ArrowLeft, -step, 0.0),
                    (Key::ArrowRight, step, 0.0),
                    (Key::ArrowUp, 0.0, -step),
                    (Key::ArrowDown, 0.0, step),
                ] {
                    let times = i.count_and_consume_key(modifiers, key) as f64;
                    to = Point::new(to.x + dx * times, to.y + dy * times);
                }
            }
        });
        if to != at {
            self.set(to);
        }
    }

    /// The scan, its marks, and how they fit.
    pub fn ui(&mut self, ui: &mut Ui, out: &mut Vec<UiCommand>) -> Next {
        let size = make_large(ui);
        self.nudge(ui);
        let (placed, cancelled) = self.parts_ui(ui, size);
        if let Some(fit) = self.fit.as_ref().ok().filter(|_| placed) {
            let (original, table, fit) = (self.original.clone(), self.table.clone(), fit.clone());
            let reviewed = Reviewed { original, table, fit, crop: self.crop };
            out.push(Request::PlaceReviewed(Box::new(reviewed)).into());
        }
        if placed || cancelled { Next::Close } else { Next::Stay }
    }

    /// Whether the artwork is to be placed, and whether it is to stay as it was.
    fn parts_ui(&mut self, ui: &mut Ui, size: Vec2) -> (bool, bool) {
        self.head_ui(ui);
        ui.add_space(theme::GAP);
        let left = Vec2::new(size.x, (size.y - ui.min_rect().height()).max(300.0));
        let (body, _) = ui.allocate_exact_size(left, egui::Sense::hover());
        let scan = Rect::from_min_max(body.min, body.max - Vec2::new(COLUMN + theme::GROUP_GAP, 0.0));
        let column = Rect::from_min_max(egui::pos2(body.right() - COLUMN, body.top()), body.max);
        ui.scope_builder(UiBuilder::new().max_rect(scan), |ui| self.overview_ui(ui, scan));
        ui.scope_builder(UiBuilder::new().max_rect(column), |ui| self.column_ui(ui, column)).inner
    }

    fn head_ui(&mut self, ui: &mut Ui) {
        let p = theme::of(ui);
        ui.horizontal(|ui| {
            ui.heading("Line up by marks");
            ui.label(RichText::new(&self.name).color(p.faint));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let reset = ui.add_enabled(self.table != self.found, egui::Button::new("Reset marks"));
                if reset.on_hover_text("Put every mark back to where it was found").clicked() {
                    self.table = self.found.clone();
                    self.solve();
                    self.select(self.selected);
                }
            });
        });
        let untouched = self.table == self.found;
        let (text, colour) = match &self.why {
            Some(why) if untouched => (super::sentence(why) + ".", p.warning),
            _ if !self.table.lead_known && self.why.is_none() => (
                "No mark says which edge leads, so the sheet is taken to be turned as little as possible; see that it stands the right way up."
                    .to_owned(),
                p.warning,
            ),
            _ => (
                "Drag in the loupe to set a mark by hand, or use the arrow keys (0.1 pixel, with Shift 1). Untick a mark that was drawn wrongly."
                    .to_owned(),
                p.faint,
            ),
        };
        messages_ui(ui, HEAD_LINES, |ui| {
            ui.add(egui::Label::new(RichText::new(text).color(colour)).wrap());
        });
    }

    fn column_ui(&mut self, ui: &mut Ui, column: Rect) -> (bool, bool) {
        let side = (column.height() * 0.42).clamp(180.0, COLUMN);
        self.loupe_ui(ui, Vec2::new(COLUMN, side));
        self.loupe_bar_ui(ui);
        ui.separator();
        let room = (column.bottom() - ui.cursor().top() - FOOT).max(60.0);
        self.list_ui(ui, room);
        let rest = Rect::from_min_max(egui::pos2(column.left(), column.bottom() - FOOT), column.max);
        ui.scope_builder(UiBuilder::new().max_rect(rest), |ui| self.foot_ui(ui)).inner
    }

    fn foot_ui(&mut self, ui: &mut Ui) -> (bool, bool) {
        ui.separator();
        ui.horizontal(|ui| {
            ui.label("Fit");
            for (kind, name, tip) in [
                (
                    Chosen::Similarity,
                    "Similarity",
                    "Shift, turn and scale: for scans that are true to shape",
                ),
                (
                    Chosen::Affine,
                    "Affine",
                    "Also stretch and slant: for originals that a scanner drew out of shape",
                ),
                (
                    Chosen::Perspective,
                    "Perspective",
                    "As a camera sees a sheet, bent by its lens where the marks show that: the picture is made flat",
                ),
            ] {
                let tip = if kind == self.chosen { format!("{tip}. The marks ask for this one") } else { tip.to_owned() };
                if ui.selectable_value(&mut self.kind, kind, name).on_hover_text(tip).changed() {
                    self.solve();
                }
            }
        });
        messages_ui(ui, FOOT_LINES, |ui| self.fit_ui(ui));
        ui.horizontal(|ui| {
            ui.checkbox(&mut self.crop, "Crop to the sheet found").on_hover_text(
                "What the scan shows outside the sheet will not print; the crop can be changed on the right later",
            );
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let place = ui.add_enabled(self.fit.is_ok(), egui::Button::new("Place"));
                let placed = place.on_hover_text("Lay the artwork on the sheet as its marks have it").clicked();
                (placed, ui.button("Cancel").clicked())
            })
            .inner
        })
        .inner
    }

    /// How well the marks fit, or why they do not.
    fn fit_ui(&self, ui: &mut Ui) {
        let p = theme::of(ui);
        match &self.fit {
            Ok(fit) if fit.exact => {
                let text = format!("{} marks fix it exactly; one more would say how well it fits.", fit.used);
                ui.label(RichText::new(text).color(p.faint));
            }
            Ok(fit) => {
                ui.label(format!("RMS residual {:.2} mm over {}", fit.rms_mm, count(fit.used, "mark")));
            }
            Err(why) => {
                ui.add(
                    egui::Label::new(RichText::new(super::sentence(&why.to_string())).color(p.error)).wrap(),
                );
            }
        }
        if let Some(scale) =
            self.fit.as_ref().ok().map(|f| f.placement.scale.get()).filter(|s| (s - 1.0).abs() > 0.01)
        {
            let text = format!(
                "This prints the artwork at {:.1} % of its size: see that these are the sheet's own marks.",
                scale * 100.0
            );
            ui.add(egui::Label::new(RichText::new(text).color(p.warning)).wrap());
        }
    }
}

/// Room for lines of words that stays the same whatever they say; what is longer can be scrolled.
fn messages_ui(ui: &mut Ui, lines: f32, add: impl FnOnce(&mut Ui)) {
    let height = lines * ui.text_style_height(&egui::TextStyle::Body) + theme::GAP;
    let (room, _) = ui.allocate_exact_size(Vec2::new(ui.available_width(), height), egui::Sense::hover());
    ui.scope_builder(UiBuilder::new().max_rect(room), |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        egui::ScrollArea::vertical()
            .id_salt(lines as u32)
            .auto_shrink([false, false])
            .max_height(height)
            .show(ui, add);
    });
}
