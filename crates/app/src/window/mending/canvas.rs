//! A scan that is worked on: zoomed and moved, with what is painted over it.

use egui::{ColorImage, PointerButton, Pos2, Rect, Sense, TextureHandle, TextureOptions, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::retouch;

use super::super::theme;

/// The nearest that one can look, in points a pixel.
const NEAREST: f32 = 12.0;

/// A mask over a scan, and a number that grows with its changes.
#[derive(Clone, Copy)]
pub(in crate::window) struct Masked<'a> {
    pub codes: Option<&'a GrayRaster>,
    pub revision: u64,
}

/// Where a scan was drawn.
pub(in crate::window) struct Shown {
    pub rect: Rect,
    pub response: egui::Response,
    pub painter: egui::Painter,
    /// The pixel of the scan in the middle, and points a pixel.
    at: (Point, f32),
}

impl Shown {
    /// Points a pixel of the scan.
    pub fn zoom(&self) -> f32 {
        self.at.1
    }

    pub fn screen(&self, p: Point) -> Pos2 {
        self.rect.center() + Vec2::new((p.x - self.at.0.x) as f32, (p.y - self.at.0.y) as f32) * self.at.1
    }

    pub fn scan(&self, p: Pos2) -> Point {
        let by = (p - self.rect.center()) / self.at.1;
        Point::new(self.at.0.x + f64::from(by.x), self.at.0.y + f64::from(by.y))
    }
}

/// What of the scan is seen.
#[derive(Default)]
pub(in crate::window) struct Canvas {
    /// The pixel of the scan in the middle, and points a pixel; the whole scan where there is none.
    at: Option<(Point, f32)>,
    texture: Option<(Seen, TextureHandle)>,
    zoomed: f32,
}

/// What a picture depends on.
#[derive(Clone, Copy, PartialEq)]
struct Seen {
    rect: Rect,
    at: (Point, f32),
    revision: u64,
}

impl Canvas {
    pub fn zoom_ui(&mut self, ui: &mut Ui) {
        if ui.button("Fit").on_hover_text("Show the whole scan").clicked() {
            self.at = None;
        }
        for (sign, factor, tip) in [("+", 1.5, "See nearer"), ("−", 1.0 / 1.5, "See more")] {
            let button = ui.add(egui::Button::new(sign).min_size(Vec2::new(28.0, 0.0))).on_hover_text(tip);
            theme::named(&button, egui::Role::Button, tip);
            if button.clicked() {
                self.zoomed = factor;
            }
        }
    }

    /// Draws a scan with its mask into this much room, and says where that lies.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        room: Vec2,
        name: &str,
        (pixels, mask): (&Pyramid, Masked<'_>),
    ) -> Shown {
        let p = theme::of(ui);
        let (rect, response) = ui.allocate_exact_size(room, Sense::click_and_drag());
        theme::named(&response, egui::Role::Image, name);
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, theme::CONTROL, p.canvas);
        let fits = fitting(pixels.full(), rect);
        let mut at = self.at.unwrap_or(fits);
        self.moved(ui, &response, rect, &mut at, fits);
        self.picture_ui(ui, &painter, rect, at, (pixels, mask));
        if response.hovered() {
            ui.set_cursor_icon(egui::CursorIcon::Crosshair);
        }
        Shown { rect, response, at, painter }
    }

    /// Wheel and buttons zoom, the right and the middle button move.
    fn moved(
        &mut self,
        ui: &Ui,
        response: &egui::Response,
        rect: Rect,
        at: &mut (Point, f32),
        fits: (Point, f32),
    ) {
        let mut factor = std::mem::replace(&mut self.zoomed, 1.0);
        if factor == 0.0 {
            factor = 1.0;
        }
        let mut about = rect.center();
        if let Some(pointer) = response.hover_pos() {
            let wheel = ui.input(|i| i.smooth_scroll_delta().y / 200.0 + i.zoom_delta().ln());
            if wheel != 0.0 {
                factor *= wheel.exp();
                about = pointer;
            }
        }
        let drag =
            response.dragged_by(PointerButton::Secondary) || response.dragged_by(PointerButton::Middle);
        let by = if drag { response.drag_delta() / at.1 } else { Vec2::ZERO };
        if factor == 1.0 && by == Vec2::ZERO {
            return;
        }
        let zoom = (at.1 * factor).clamp(fits.1, NEAREST.max(fits.1));
        let off = (about - rect.center()) * (1.0 / at.1 - 1.0 / zoom);
        let x = at.0.x + f64::from(off.x - by.x);
        let y = at.0.y + f64::from(off.y - by.y);
        let (width, height) = (fits.0.x * 2.0, fits.0.y * 2.0);
        *at = (Point::new(x.clamp(0.0, width), y.clamp(0.0, height)), zoom);
        self.at = if zoom <= fits.1 { None } else { Some(*at) };
        if self.at.is_none() {
            *at = fits;
        }
    }

    fn picture_ui(
        &mut self,
        ui: &Ui,
        painter: &egui::Painter,
        rect: Rect,
        at: (Point, f32),
        (pixels, mask): (&Pyramid, Masked<'_>),
    ) {
        let seen = Seen { rect, at, revision: mask.revision };
        let known = self.texture.as_ref().is_some_and(|(known, _)| *known == seen);
        if !known {
            let image = picture(rect, at, pixels, mask.codes);
            match &mut self.texture {
                Some((known, texture)) => {
                    *known = seen;
                    texture.set(image, TextureOptions::NEAREST);
                }
                None => {
                    let texture = ui.ctx().load_texture("scan to be mended", image, TextureOptions::NEAREST);
                    self.texture = Some((seen, texture));
                }
            }
        }
        if let Some((_, texture)) = &self.texture {
            let all = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
            painter.image(texture.id(), rect, all, theme::UNTINTED);
        }
    }
}

/// The whole scan in a part of the screen: the pixel in the middle, and points a pixel.
fn fitting(full: &GrayRaster, rect: Rect) -> (Point, f32) {
    let (width, height) = (full.width() as f32, full.height() as f32);
    let zoom = (rect.width() / width).min(rect.height() / height).min(NEAREST);
    (Point::new(f64::from(width) / 2.0, f64::from(height) / 2.0), zoom)
}

/// One pixel of the picture a point: the scan as far as it reaches, with the mask's codes told by pattern and tint.
fn picture(
    rect: Rect,
    (middle, zoom): (Point, f32),
    pixels: &Pyramid,
    mask: Option<&GrayRaster>,
) -> ColorImage {
    let (width, height) = (rect.width().ceil().max(1.0) as usize, rect.height().ceil().max(1.0) as usize);
    let step = f64::from(1.0 / zoom);
    let level = (step.log2().floor().max(0.0) as usize).min(pixels.levels().saturating_sub(1));
    let shrink = (1_u64 << level) as f64;
    let gray = pixels.level(level);
    let column = |i: usize| middle.x + (i as f64 + 0.5 - f64::from(rect.width()) / 2.0) * step;
    let row = |j: usize| middle.y + (j as f64 + 0.5 - f64::from(rect.height()) / 2.0) * step;
    let mut colours = Vec::with_capacity(width * height);
    for j in 0..height {
        let y = row(j);
        let inside = y >= 0.0 && y < f64::from(pixels.full().height());
        let grays: &[u8] = if inside { gray.row((y / shrink) as u32) } else { &[] };
        let codes: &[u8] = mask.filter(|_| inside).map_or(&[], |mask| mask.row(y as u32));
        for i in 0..width {
            let x = column(i);
            let code = (x >= 0.0).then(|| codes.get(x as usize)).flatten();
            let g = (x >= 0.0).then(|| grays.get((x / shrink) as usize)).flatten();
            let none = || theme::see_through(theme::SHADE, 0.0);
            colours.push(g.map_or_else(none, |g| colour(*g, code.copied().unwrap_or_default(), i + j)));
        }
    }
    ColorImage::new([width, height], colours)
}

/// A pixel with the code of the mask over it; `along` runs across the stripes.
fn colour(gray: u8, code: u8, along: usize) -> egui::Color32 {
    let stripe = (along / 3).is_multiple_of(2);
    let tinted = |[r, g, b]: [u8; 3], part: u32| {
        let mix = |c: u8| ((u32::from(gray) * (100 - part) + u32::from(c) * part) / 100) as u8;
        theme::rgb([mix(r), mix(g), mix(b)])
    };
    match code {
        retouch::WHITE => tinted(theme::PAINTED[0], if stripe { 88 } else { 80 }),
        retouch::FILL | retouch::MARK => tinted(theme::PAINTED[1], if stripe { 55 } else { 25 }),
        retouch::KEEP => tinted(theme::PAINTED[2], if stripe { 45 } else { 15 }),
        _ => theme::rgb([gray; 3]),
    }
}
