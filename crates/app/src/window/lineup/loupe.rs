//! The loupe: the scan's own pixels around one mark, and the crosshair that a person drags over them.

use egui::{ColorImage, Painter, Rect, Sense, Shape, Stroke, TextureHandle, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;

use super::LineUp;
use super::overview::{Spot, UV};
use crate::window::theme::{self, Palette};

/// How wide the loupe sees, in mm.
const WIDE: std::ops::RangeInclusive<f64> = 1.5..=40.0;

/// Where the loupe looks.
pub(super) struct Loupe {
    /// The pixel of the scan in its middle.
    centre: Point,
    /// How wide it sees, in mm.
    wide: f64,
    /// The pixels last shown: left, top, width, height.
    texture: Option<([u32; 4], TextureHandle)>,
}

impl Default for Loupe {
    fn default() -> Self {
        Self { centre: Point::default(), wide: 14.0, texture: None }
    }
}

impl Loupe {
    pub fn look_at(&mut self, at: Point) {
        self.centre = at;
    }

    fn zoom_by(&mut self, factor: f64) {
        self.wide = (self.wide / factor).clamp(*WIDE.start(), *WIDE.end());
    }
}

impl LineUp {
    pub(super) fn loupe_ui(&mut self, ui: &mut Ui, size: Vec2) {
        let p = theme::of(ui);
        let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
        theme::named(&response, egui::Role::Image, "Loupe");
        if response.hovered() {
            let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
            self.loupe.zoom_by(f64::from((scroll / 160.0).exp() * pinch));
            ui.set_cursor_icon(egui::CursorIcon::Crosshair);
        }
        let ppm = self.table.dpi.px_per_mm();
        let zoom = rect.width() / (self.loupe.wide * ppm) as f32;
        let centre = self.loupe.centre;
        let origin = rect.center() - Vec2::new(centre.x as f32, centre.y as f32) * zoom;
        let spot = Spot { origin, zoom };
        let at = self.table.marks.get(self.selected).map(|m| m.in_scan);
        if let Some(at) = at {
            let by = response.drag_delta();
            if response.dragged_by(egui::PointerButton::Primary) && by != Vec2::ZERO {
                let moved = |v: f64, d: f32| v + f64::from(d / zoom);
                self.set(Point::new(moved(at.x, by.x), moved(at.y, by.y)));
            } else if let Some(to) = response.interact_pointer_pos().filter(|_| response.clicked()) {
                // A click takes a mark there that was not found; one that is there is not lost by a slip of the hand.
                if self.is_missing() {
                    self.set(spot.scan(to));
                }
            }
            if response.drag_stopped() && !rect.shrink(rect.height() * 0.2).contains(spot.screen(at)) {
                self.loupe.look_at(at);
            }
        }
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, theme::CONTROL, p.canvas);
        let corner = (spot.scan(rect.min), spot.scan(rect.max));
        self.loupe.pixels_ui(ui, &painter, self.pixels.full(), spot, corner);
        self.loupe_marks(&painter, rect, spot, p);
    }

    /// The selected mark's crosshair, and where the other marks put it.
    fn loupe_marks(&self, painter: &Painter, rect: Rect, spot: Spot, p: Palette) {
        let Some(mark) = self.table.marks.get(self.selected) else { return };
        let expected = self.fit.as_ref().ok().and_then(|fit| fit.map.in_scan(mark.on_sheet));
        if let Some(expected) = expected {
            let at = spot.screen(expected);
            let c = |x: f32, y: f32| at + Vec2::new(x, y) * 9.0;
            let diamond = vec![c(0.0, -1.0), c(1.0, 0.0), c(0.0, 1.0), c(-1.0, 0.0), c(0.0, -1.0)];
            painter.add(Shape::line(diamond.clone(), Stroke::new(3.5, p.guide_halo)));
            painter.add(Shape::line(diamond, Stroke::new(1.5, p.accent)));
        }
        let at = spot.screen(mark.in_scan);
        let missing = self.is_missing();
        // Thin, and open in the middle, so that what lies under it is seen.
        for (stroke, gap) in [(Stroke::new(3.0, p.guide_halo), 7.0), (Stroke::new(1.0, p.guide), 7.0)] {
            let far = rect.width() + rect.height();
            for way in [Vec2::X, -Vec2::X, Vec2::Y, -Vec2::Y] {
                let ends = [at + way * gap, at + way * far];
                if missing {
                    painter.extend(Shape::dashed_line(&ends, stroke, 5.0, 4.0));
                } else {
                    painter.line_segment(ends, stroke);
                }
            }
            painter.circle_filled(at, stroke.width * 0.9, stroke.color);
        }
        let what = if missing { "not found: click on it" } else { "" };
        let galley = painter.layout_no_wrap(what.to_owned(), theme::small(), p.guide);
        let corner = rect.left_bottom() + Vec2::new(6.0, -galley.size().y - 6.0);
        if missing {
            let under = Rect::from_min_size(corner, galley.size()).expand2(Vec2::new(4.0, 1.0));
            painter.rect_filled(under, theme::SWATCH, p.guide_halo);
        }
        painter.galley(corner, galley, p.guide);
    }

    /// Zoom of the loupe, and where the mark lies.
    pub(super) fn loupe_bar_ui(&mut self, ui: &mut Ui) {
        let p = theme::of(ui);
        ui.horizontal(|ui| {
            for (sign, factor, tip) in [("−", 0.8, "See more"), ("+", 1.25, "See nearer")] {
                let button = egui::Button::new(sign).min_size(Vec2::new(24.0, 22.0));
                let button = ui.add(button).on_hover_text(tip);
                theme::named(&button, egui::Role::Button, tip);
                if button.clicked() {
                    self.loupe.zoom_by(factor);
                }
            }
            ui.label(egui::RichText::new(format!("{:.0} mm wide", self.loupe.wide)).small().color(p.faint));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if let Some(mark) = self.table.marks.get(self.selected) {
                    let text = format!("{:.1}, {:.1} px", mark.in_scan.x, mark.in_scan.y);
                    ui.label(egui::RichText::new(text).small().color(p.faint))
                        .on_hover_text("Where the crosshair lies in the scan");
                }
            });
        });
    }
}

impl Loupe {
    /// The pixels between two corners in pixels of the scan; the texture is made again when others are seen.
    fn pixels_ui(
        &mut self,
        ui: &Ui,
        painter: &Painter,
        scan: &GrayRaster,
        spot: Spot,
        corner: (Point, Point),
    ) {
        let low = |v: f64, most: u32| v.floor().clamp(0.0, f64::from(most)) as u32;
        let high = |v: f64, most: u32| v.ceil().clamp(0.0, f64::from(most)) as u32;
        let (x, y) = (low(corner.0.x, scan.width()), low(corner.0.y, scan.height()));
        let (x1, y1) = (high(corner.1.x, scan.width()), high(corner.1.y, scan.height()));
        if x1 <= x || y1 <= y {
            return;
        }
        let part = [x, y, x1 - x, y1 - y];
        let same = |t: &&([u32; 4], TextureHandle)| t.0 == part;
        if self.texture.as_ref().filter(same).is_none() {
            let row = |y: u32| scan.row(y).get(x as usize..x1 as usize).unwrap_or(&[]);
            let gray: Vec<u8> = (y..y1).flat_map(|y| row(y).iter().copied()).collect();
            let image = ColorImage::from_gray([(x1 - x) as usize, (y1 - y) as usize], &gray);
            // Pixels are shown as they are where they are large, for a mark is set between them.
            let options = egui::TextureOptions {
                magnification: egui::TextureFilter::Nearest,
                ..egui::TextureOptions::LINEAR
            };
            self.texture = Some((part, ui.ctx().load_texture("loupe", image, options)));
        }
        if let Some((_, texture)) = &self.texture {
            let at = |x: u32, y: u32| spot.screen(Point::new(f64::from(x), f64::from(y)));
            painter.image(texture.id(), Rect::from_two_pos(at(x, y), at(x1, y1)), UV, theme::UNTINTED);
        }
    }
}
