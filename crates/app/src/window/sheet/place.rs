//! From mm on the face to points on the screen and back.

use egui::{Pos2, Rect};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::units::Size;
use slipsheet_render::View;

/// Where the face lies on the screen.
#[derive(Clone, Copy)]
pub(in crate::window) struct Place {
    pub canvas: Rect,
    pub(super) centre: Point,
    pub zoom: f32,
    pub sheet: Size,
}

impl Place {
    pub fn screen(&self, p: Point) -> Pos2 {
        let mid = self.canvas.center();
        Pos2::new(
            mid.x + (p.x - self.centre.x) as f32 * self.zoom,
            mid.y + (p.y - self.centre.y) as f32 * self.zoom,
        )
    }

    pub fn face(&self, p: Pos2) -> Point {
        let mid = self.canvas.center();
        Point::new(
            self.centre.x + f64::from((p.x - mid.x) / self.zoom),
            self.centre.y + f64::from((p.y - mid.y) / self.zoom),
        )
    }

    pub fn sheet_rect(&self) -> Rect {
        let end = Point::new(self.sheet.width.get(), self.sheet.height.get());
        Rect::from_two_pos(self.screen(Point::default()), self.screen(end))
    }

    pub(super) fn view(&self, pixels_per_point: f32) -> View {
        let (w, h) = (self.canvas.width() * pixels_per_point, self.canvas.height() * pixels_per_point);
        let (w, h) = (w.round().max(1.0) as usize, h.round().max(1.0) as usize);
        let mm = 1.0 / f64::from(self.zoom * pixels_per_point);
        let face_from_view = Affine::shift(self.centre.x, self.centre.y)
            * Affine::scale(mm, mm)
            * Affine::shift(-(w as f64) / 2.0, -(h as f64) / 2.0);
        View { width: w, height: h, face_from_view }
    }
}
