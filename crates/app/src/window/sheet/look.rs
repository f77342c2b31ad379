//! Where the Sheet view looks: fitted, zoomed about a point, and moved.

use egui::{PointerButton, Rect, Response, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Size;

use super::{Drag, Place, SheetView};
use crate::window::context::Context;

/// Points per mm between which one can zoom.
const ZOOM: std::ops::RangeInclusive<f32> = 0.2..=120.0;

impl SheetView {
    /// Zooms about the middle.
    pub fn zoom_by(&mut self, factor: f32) {
        self.fit = false;
        self.zoom = (self.zoom * factor).clamp(*ZOOM.start(), *ZOOM.end());
    }

    /// Looks at a place of the face, at so many points per mm.
    pub fn look_at(&mut self, at: Point, zoom: f32) {
        self.fit = false;
        self.centre = at;
        self.zoom = zoom.clamp(*ZOOM.start(), *ZOOM.end());
    }

    pub(super) fn place(&self, canvas: Rect, sheet: Size) -> Place {
        Place { canvas, centre: self.centre, zoom: self.zoom, sheet }
    }

    pub(super) fn frame_view(&mut self, canvas: Rect, sheet: Size) {
        if self.fit {
            let (w, h) = (sheet.width.get() as f32, sheet.height.get() as f32);
            self.zoom = ((canvas.width() - 56.0) / w)
                .min((canvas.height() - 56.0) / h)
                .clamp(*ZOOM.start(), *ZOOM.end());
            self.centre = Point::new(f64::from(w) / 2.0, f64::from(h) / 2.0);
        }
        if let Some(zoom) = self.wanted_zoom.take() {
            self.fit = false;
            self.zoom = zoom.clamp(*ZOOM.start(), *ZOOM.end());
        }
    }

    pub(super) fn zoom_and_pan(&mut self, ui: &Ui, cx: &Context<'_>, response: &Response, canvas: Rect) {
        let sheet = cx.session.printing().sheet.size();
        if response.hovered() {
            let (pinch, scroll, by_line, pointer) = ui.input(|i| {
                let by_line = i.raw.events.iter().any(|e| {
                    matches!(
                        e,
                        egui::Event::MouseWheel {
                            unit: egui::MouseWheelUnit::Line | egui::MouseWheelUnit::Page,
                            ..
                        }
                    )
                });
                (i.zoom_delta(), i.smooth_scroll_delta(), by_line, i.pointer.hover_pos())
            });
            // A wheel zooms; the two fingers of a touch pad move, and pinch to zoom.
            let wheel = ui.data(|d| d.get_temp::<bool>(response.id)).unwrap_or(false) || by_line;
            let moving = scroll != Vec2::ZERO;
            ui.data_mut(|d| d.insert_temp(response.id, wheel && moving));
            let factor = if wheel { (scroll.y / 160.0).exp() * pinch } else { pinch };
            if let Some(pointer) = pointer.filter(|_| (factor - 1.0).abs() > 1e-4) {
                let before = self.place(canvas, sheet).face(pointer);
                self.zoom_by(factor);
                let after = self.place(canvas, sheet).face(pointer);
                let c = &mut self.centre;
                *c = Point::new(c.x + before.x - after.x, c.y + before.y - after.y);
            } else if moving && !wheel {
                self.pan(scroll);
            }
        }
        let panning = response.dragged_by(PointerButton::Middle)
            || (response.dragged_by(PointerButton::Primary) && matches!(self.drag, Some(Drag::Pan)));
        if panning {
            self.pan(response.drag_delta());
        }
    }

    fn pan(&mut self, by: Vec2) {
        self.fit = false;
        self.centre.x -= f64::from(by.x / self.zoom);
        self.centre.y -= f64::from(by.y / self.zoom);
    }
}
