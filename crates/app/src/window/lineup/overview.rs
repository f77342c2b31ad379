//! The whole scan with its marks, the sheet as the marks have it, and what a crop would leave.

use egui::{Align2, Color32, ColorImage, Painter, PointerButton, Pos2, Rect, Sense, Shape, Stroke, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_registration::register::{HeldMark, Seen, SheetMap};

use super::LineUp;
use crate::window::theme::{self, Palette};

/// The most pixels along a side of the picture.
const SIDE: u32 = 1600;
/// How near to a mark one must press to take it, in points.
const NEAR: f32 = 14.0;
/// Parts that a side of the sheet is drawn in.
const STEPS: u32 = 12;
/// Arm of a crosshair in points.
const ARM: f32 = 9.0;

/// Where pixels of the scan lie on the screen.
#[derive(Clone, Copy)]
pub(super) struct Spot {
    pub origin: Pos2,
    /// Points per pixel.
    pub zoom: f32,
}

impl Spot {
    pub fn screen(self, p: Point) -> Pos2 {
        Pos2::new(self.origin.x + p.x as f32 * self.zoom, self.origin.y + p.y as f32 * self.zoom)
    }

    pub fn scan(self, p: Pos2) -> Point {
        let by = |v: f32| f64::from(v / self.zoom);
        Point::new(by(p.x - self.origin.x), by(p.y - self.origin.y))
    }
}

impl LineUp {
    pub(super) fn overview_ui(&mut self, ui: &Ui, rect: Rect) {
        let p = theme::of(ui);
        let response = ui.interact(rect, ui.scope_id().with("scan"), Sense::click_and_drag());
        theme::named(&response, egui::Role::Image, "Scan");
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, theme::CONTROL, p.canvas);
        let (w, h) = (self.table.scan.0 as f32, self.table.scan.1 as f32);
        let inner = rect.shrink(14.0);
        let zoom = (inner.width() / w).min(inner.height() / h);
        let page = Rect::from_center_size(rect.center(), Vec2::new(w, h) * zoom);
        let spot = Spot { origin: page.min, zoom };
        painter.image(self.picture(ui).id(), page, UV, theme::UNTINTED);
        self.press(&response, spot);
        self.sheet_outline(&painter, spot, page, p);
        for (i, mark) in self.table.marks.iter().enumerate() {
            let at = spot.screen(mark.in_scan);
            let chosen = i == self.selected;
            crosshair(&painter, at, mark, chosen, p);
            number(&painter, rect, at, i + 1, chosen, p);
        }
        if response.hovered() || response.dragged() {
            ui.set_cursor_icon(egui::CursorIcon::Crosshair);
        }
    }

    fn picture(&mut self, ui: &Ui) -> egui::TextureHandle {
        let pixels = &self.pixels;
        let make = || {
            let small = |l: &usize| pixels.level(*l).width().max(pixels.level(*l).height()) <= SIDE;
            let level = (0..pixels.levels()).find(small).unwrap_or(pixels.levels().saturating_sub(1));
            let raster = pixels.level(level);
            let image =
                ColorImage::from_gray([raster.width() as usize, raster.height() as usize], raster.pixels());
            ui.ctx().load_texture("line-up scan", image, egui::TextureOptions::LINEAR)
        };
        self.overview.get_or_insert_with(make).clone()
    }

    /// A press near a mark takes it; elsewhere it puts a mark there that was not found.
    fn press(&mut self, response: &egui::Response, spot: Spot) {
        let pointer = response.interact_pointer_pos();
        if response.drag_started_by(PointerButton::Primary) {
            let pressed = response.ctx.input(|i| i.pointer.press_origin());
            let taken = pressed.and_then(|at| self.near(spot, at));
            self.held = taken.is_some();
            if let Some(i) = taken {
                self.select(i);
            }
        }
        if self.held && response.dragged() {
            let by = response.drag_delta();
            let at = self.table.marks.get(self.selected).map(|m| m.in_scan);
            if let Some(at) = at.filter(|_| by != Vec2::ZERO) {
                self.set(spot.scan(spot.screen(at) + by));
            }
        }
        if response.drag_stopped() && std::mem::take(&mut self.held) {
            self.select(self.selected);
        }
        if let Some(at) = pointer.filter(|_| response.clicked()) {
            match self.near(spot, at) {
                Some(i) => self.select(i),
                None if self.is_missing() => {
                    self.set(spot.scan(at));
                    self.select(self.selected);
                }
                None => {}
            }
        }
    }

    /// The mark at a place on the screen.
    fn near(&self, spot: Spot, at: Pos2) -> Option<usize> {
        let off = |m: &HeldMark| spot.screen(m.in_scan).distance(at);
        let near = self.table.marks.iter().map(off).enumerate().filter(|(_, d)| *d <= NEAR);
        near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(i, _)| i)
    }

    pub(super) fn is_missing(&self) -> bool {
        self.table.marks.get(self.selected).is_some_and(|m| m.seen == Seen::Missing)
    }

    /// The sheet as the marks have it; with a crop, what it takes away lies in shade.
    fn sheet_outline(&self, painter: &Painter, spot: Spot, page: Rect, p: Palette) {
        let Ok(fit) = &self.fit else { return };
        if self.crop && fit.flat.is_none() {
            let part = fit.crop.pixels(self.table.scan.0, self.table.scan.1, self.table.dpi);
            let end = Point::new(part.x + part.width, part.y + part.height);
            let kept = Rect::from_two_pos(spot.screen(Point::new(part.x, part.y)), spot.screen(end));
            let shade = theme::see_through(theme::SHADE, 0.45);
            for gone in around(page, kept) {
                painter.rect_filled(gone, 0.0, shade);
            }
        }
        let (w, h) = (self.table.sheet.width.get(), self.table.sheet.height.get());
        let ends = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h), (0.0, 0.0)].map(|(x, y)| Point::new(x, y));
        // A lens bends the sides of a sheet.
        let side = |pair: &[Point]| {
            let (a, b) =
                (pair.first().copied().unwrap_or_default(), pair.last().copied().unwrap_or_default());
            (0..STEPS).map(move |i| {
                let t = f64::from(i) / f64::from(STEPS);
                Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y))
            })
        };
        let outline = ends.windows(2).flat_map(side).chain(ends.last().copied());
        let line: Vec<Pos2> = outline.filter_map(|p| fit.map.in_scan(p)).map(|p| spot.screen(p)).collect();
        painter.add(Shape::line(line.clone(), Stroke::new(2.5, p.guide_halo)));
        painter.extend(Shape::dashed_line(&line, Stroke::new(1.2, p.guide), 7.0, 5.0));
        lead_edge(painter, spot, &fit.map, w, p);
    }
}

/// All of a texture.
pub(super) const UV: Rect = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));

/// The four strips of a rectangle around a part of it.
fn around(all: Rect, part: Rect) -> [Rect; 4] {
    let part = part.intersect(all);
    let across = |top: f32, bottom: f32| {
        Rect::from_min_max(Pos2::new(all.left(), top), Pos2::new(all.right(), bottom))
    };
    let beside = |left: f32, right: f32| {
        Rect::from_min_max(Pos2::new(left, part.top()), Pos2::new(right, part.bottom()))
    };
    [
        across(all.top(), part.top()),
        across(part.bottom(), all.bottom()),
        beside(all.left(), part.left()),
        beside(part.right(), all.right()),
    ]
}

/// Says which edge of the sheet leads.
fn lead_edge(painter: &Painter, spot: Spot, map: &SheetMap, width: f64, p: Palette) {
    let at = |y: f64| map.in_scan(Point::new(width / 2.0, y)).map(|p| spot.screen(p));
    let (Some(middle), Some(below)) = (at(0.0), at(10.0)) else { return };
    let inwards = (below - middle).normalized();
    let at = middle + inwards * 22.0;
    let galley = painter.layout_no_wrap("lead edge".to_owned(), theme::small(), p.guide);
    let rect = Align2::CENTER_CENTER.anchor_size(at, galley.size() + Vec2::new(8.0, 2.0));
    painter.rect_filled(rect, theme::SWATCH, p.guide_halo);
    painter.galley(rect.min + Vec2::new(4.0, 1.0), galley, p.guide);
}

/// A mark's crosshair. Its shape says how it came there: a ring for one that was found, a square for one set
/// by hand, broken lines for one that is missing; one that does not count is faint.
fn crosshair(painter: &Painter, at: Pos2, mark: &HeldMark, chosen: bool, p: Palette) {
    let colour = colour_of(mark, chosen, p);
    let line = Stroke::new(if chosen { 2.0 } else { 1.4 }, colour);
    let halo = Stroke::new(line.width + 2.0, p.guide_halo);
    let arms = |stroke: Stroke| {
        for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            let way = Vec2::new(x, y);
            painter.line_segment([at + way * 3.0, at + way * (ARM + 4.0)], stroke);
        }
    };
    let square = Rect::from_center_size(at, Vec2::splat(2.0 * ARM));
    match mark.seen {
        Seen::Found(_) => {
            painter.circle_stroke(at, ARM, halo);
            arms(halo);
            painter.circle_stroke(at, ARM, line);
            arms(line);
        }
        Seen::ByHand => {
            painter.rect_stroke(square, 0.0, halo, egui::StrokeKind::Middle);
            arms(halo);
            painter.rect_stroke(square, 0.0, line, egui::StrokeKind::Middle);
            arms(line);
        }
        Seen::Missing => {
            let c = |x: f32, y: f32| at + Vec2::new(x, y) * ARM * 1.3;
            let diamond = [c(0.0, -1.0), c(1.0, 0.0), c(0.0, 1.0), c(-1.0, 0.0), c(0.0, -1.0)];
            painter.add(Shape::line(diamond.to_vec(), halo));
            painter.extend(Shape::dashed_line(&diamond, line, 4.0, 3.0));
        }
    }
}

pub(super) fn colour_of(mark: &HeldMark, chosen: bool, p: Palette) -> Color32 {
    match (chosen, mark.used || mark.seen == Seen::Missing) {
        (true, _) => p.guide,
        (false, true) => theme::see_through(p.guide, 0.85),
        (false, false) => theme::see_through(p.guide, 0.4),
    }
}

/// The mark's number, kept inside the picture.
fn number(painter: &Painter, inside: Rect, at: Pos2, number: usize, chosen: bool, p: Palette) {
    let font = if chosen { theme::strong_small() } else { theme::small() };
    let (fill, ink) = if chosen { (p.accent, p.on_accent) } else { (p.panel, p.text) };
    let galley = painter.layout_no_wrap(number.to_string(), font, ink);
    let size = galley.size() + Vec2::new(8.0, 2.0);
    let mut corner = at + Vec2::new(ARM + 2.0, -ARM - 2.0 - size.y);
    if corner.x + size.x > inside.right() {
        corner.x = at.x - ARM - 2.0 - size.x;
    }
    if corner.y < inside.top() {
        corner.y = at.y + ARM + 2.0;
    }
    painter.rect_filled(Rect::from_min_size(corner, size), 3.0, fill);
    painter.galley(corner + Vec2::new(4.0, 1.0), galley, ink);
}
