//! Parts of an original that are read otherwise than its layer: drawn on the scan as rectangles or by hand, or taken
//! from the pages, each with a reading of its own.

use std::sync::Arc;

use egui::{Align2, ComboBox, PointerButton, Pos2, RichText, ScrollArea, Shape, Stroke, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::Pyramid;
use slipsheet_core::reading::{Mode, Reading};
use slipsheet_document::edit::{ArtEdit, Edit};
use slipsheet_document::layer::{Art, Region};

use super::context::Context;
use super::dialogs::{Next, buttons, make_large};
use super::mending::canvas::{Canvas, Masked, Shown};
use super::mending::{changed_ui, is_same};
use super::strip::settings_ui;
use super::{UiCommand, sentence, theme};

/// How a part is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Tool {
    Rectangle,
    Lasso,
}

/// What the dialog works on; nothing of it reaches the project before it is done.
pub(crate) struct PartReadings {
    art: Art,
    pixels: Arc<Pyramid>,
    /// The pages with their outlines in pixels of the scan.
    pages: Vec<(u32, Vec<Point>)>,
    regions: Vec<Region>,
    tool: Tool,
    /// What is being drawn, in pixels of the scan.
    drawing: Vec<Point>,
    canvas: Canvas,
}

/// Width of the column beside the scan, and the height of the buttons under it.
const COLUMN: f32 = 260.0;
const FOOT: f32 = 56.0;
/// A part smaller than this, in mm, is a slip of the hand.
const LEAST: f64 = 1.0;

impl PartReadings {
    /// Of the selected artwork, once its scan is there.
    pub fn of_selected(cx: &Context<'_>) -> Option<Self> {
        let art = cx.session.selected_art()?.clone();
        let pixels = Arc::clone(cx.session.images().get(&art.scan.key)?);
        let layer = cx.session.selected_layer()?.1;
        let sheet = cx.session.sheet();
        let (width, height) = (pixels.full().width(), pixels.full().height());
        let mapping = art.mapping(width, height, sheet.size(), sheet.fold.as_ref(), layer.face);
        let scan_from_face = mapping.and_then(|m| m.face_from_scan.inverse());
        let places = sheet.fold.as_ref().map_or_else(Vec::new, |f| f.places(sheet.size(), layer.face));
        let outline = |place: &slipsheet_paper::fold::PagePlace| {
            let r = place.rect;
            let ends = [(0.0, 0.0), (r.width, 0.0), (r.width, r.height), (0.0, r.height)];
            let corner = |(x, y): (f64, f64)| Some(scan_from_face? * Point::new(r.x + x, r.y + y));
            let corners: Option<Vec<Point>> = ends.map(corner).into_iter().collect();
            Some((place.page, corners?))
        };
        let pages = places.iter().filter_map(outline).collect();
        let regions = art.regions.clone();
        Some(Self {
            art,
            pixels,
            pages,
            regions,
            tool: Tool::Rectangle,
            drawing: Vec::new(),
            canvas: Canvas::default(),
        })
    }

    /// Whether anything is done that Escape would lose.
    pub fn is_changed(&self) -> bool {
        self.regions != self.art.regions
    }

    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        let size = make_large(ui);
        ui.horizontal(|ui| {
            ui.heading("Readings of parts");
            ui.label(RichText::new(self.art.scan.file_name()).color(theme::of(ui).faint));
        });
        let text = "Draw around a part of the scan to read it otherwise than its layer: type as line, a wash in dots.";
        ui.label(RichText::new(text).color(theme::of(ui).faint));
        ui.add_space(theme::GAP);
        self.tools_ui(ui);
        let room = Vec2::new(size.x - COLUMN - theme::GROUP_GAP, size.y - ui.min_rect().height() - FOOT);
        ui.horizontal_top(|ui| {
            let mask = Masked { codes: None, revision: 0 };
            let room = room.max(Vec2::splat(160.0));
            let shown = self.canvas.ui(ui, room, "Scan", (&self.pixels, mask));
            self.draw(&shown);
            self.outlines_ui(ui, &shown);
            ui.add_space(theme::GAP);
            ui.vertical(|ui| {
                ui.set_width(COLUMN);
                self.list_ui(ui, room.y);
            });
        });
        let same = is_same(cx, &self.art);
        buttons(ui, |ui| {
            let p = theme::of(ui);
            let done = theme::filled(p, RichText::new("Done").color(p.on_accent));
            if ui.add_enabled(same, done).clicked() {
                if self.regions != self.art.regions {
                    out.push(
                        Edit::Art(self.art.id, ArtEdit::Regions(std::mem::take(&mut self.regions))).into(),
                    );
                }
                return Next::Close;
            }
            let next = if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay };
            changed_ui(ui, same);
            next
        })
    }

    fn tools_ui(&mut self, ui: &mut Ui) {
        ui.horizontal(|ui| {
            for (tool, name, tip) in [
                (Tool::Rectangle, "Rectangle", "Drag from one corner to the other"),
                (Tool::Lasso, "Lasso", "Draw around the part by hand"),
            ] {
                ui.selectable_value(&mut self.tool, tool, name).on_hover_text(tip);
            }
            if !self.pages.is_empty() {
                let mut page = None;
                let combo = ComboBox::from_id_salt("page part").selected_text("Add a page…");
                let combo = combo.show_ui(ui, |ui| {
                    for (i, (number, _)) in self.pages.iter().enumerate() {
                        ui.selectable_value(&mut page, Some(i), format!("Page {number}"));
                    }
                });
                theme::named(&combo.response, egui::Role::ComboBox, "Add a page");
                if let Some((_, corners)) = page.and_then(|i: usize| self.pages.get(i)) {
                    let corners = corners.clone();
                    self.add(&corners);
                }
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| self.canvas.zoom_ui(ui));
        });
    }

    fn draw(&mut self, shown: &Shown) {
        let response = &shown.response;
        let pointer = response.interact_pointer_pos().map(|p| shown.scan(p));
        if response.drag_started_by(PointerButton::Primary) {
            let start = response.ctx.input(|i| i.pointer.press_origin()).map(|p| shown.scan(p));
            self.drawing = start.or(pointer).into_iter().collect();
        }
        if let (Some(now), Some(first)) = (pointer, self.drawing.first().copied()) {
            match self.tool {
                Tool::Rectangle => {
                    let corners = [(first.x, first.y), (now.x, first.y), (now.x, now.y), (first.x, now.y)];
                    self.drawing = corners.map(|(x, y)| Point::new(x, y)).to_vec();
                }
                Tool::Lasso => {
                    let near = self.drawing.last().is_some_and(|last| last.distance(now) < 3.0);
                    self.drawing.extend((!near).then_some(now));
                }
            }
        }
        if response.drag_stopped() {
            let corners = std::mem::take(&mut self.drawing);
            self.add(&corners);
        }
    }

    /// Adds a part, brought within the scan; type is the commonest reason for one.
    fn add(&mut self, corners: &[Point]) {
        let (w, h) = (f64::from(self.pixels.full().width()), f64::from(self.pixels.full().height()));
        let inside: Vec<Point> =
            corners.iter().map(|p| Point::new(p.x.clamp(0.0, w), p.y.clamp(0.0, h))).collect();
        let region = Region::of_pixels(&inside, Reading::of(Mode::Line), self.art.scan.dpi);
        let bounds = region.bounds();
        if region.outline.len() > 2 && bounds.width >= LEAST && bounds.height >= LEAST {
            self.regions.push(region);
        }
    }

    fn outlines_ui(&self, ui: &Ui, shown: &Shown) {
        let p = theme::of(ui);
        let line = |corners: &[Point]| {
            let mut line: Vec<Pos2> = corners.iter().map(|c| shown.screen(*c)).collect();
            line.extend(line.first().copied());
            shown.painter.add(Shape::line(line.clone(), Stroke::new(3.5, p.guide_halo)));
            shown.painter.add(Shape::line(line, Stroke::new(1.5, p.guide)));
        };
        for (i, region) in self.regions.iter().enumerate() {
            let corners = region.pixels(self.art.scan.dpi);
            line(&corners);
            let Some(first) = corners.first().map(|c| shown.screen(*c)) else { continue };
            let text = shown.painter.layout_no_wrap((i + 1).to_string(), theme::strong_small(), p.on_accent);
            let rect = Align2::LEFT_TOP.anchor_size(first, text.size() + Vec2::new(10.0, 4.0));
            shown.painter.rect_filled(rect, theme::SWATCH, p.accent);
            shown.painter.galley(rect.min + Vec2::new(5.0, 2.0), text, p.on_accent);
        }
        if self.drawing.len() > 1 {
            line(&self.drawing);
        }
    }

    /// The parts with their readings.
    fn list_ui(&mut self, ui: &mut Ui, height: f32) {
        let mut gone = None;
        ScrollArea::vertical().max_height(height).auto_shrink([false, true]).show(ui, |ui| {
            if self.regions.is_empty() {
                let text = sentence("no part is read otherwise yet. Drag over the scan to draw one");
                ui.label(RichText::new(text + ".").color(theme::of(ui).faint));
            }
            for (i, region) in self.regions.iter_mut().enumerate() {
                ui.horizontal(|ui| {
                    ui.label(theme::heading(&format!("Part {}", i + 1)));
                    let b = region.bounds();
                    let size = format!("{:.0} × {:.0} mm", b.width, b.height);
                    ui.label(RichText::new(size).small().color(theme::of(ui).faint));
                    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                        let remove = ui.button("Remove");
                        theme::named(&remove, egui::Role::Button, format!("Remove part {}", i + 1));
                        if remove.clicked() {
                            gone = Some(i);
                        }
                    });
                });
                let width = (ui.available_width() - theme::SCROLL_ROOM).max(120.0);
                settings_ui(ui, i, width, &mut region.reading);
                ui.add_space(theme::GROUP_GAP);
            }
        });
        if let Some(i) = gone {
            self.regions.remove(i);
        }
    }
}
