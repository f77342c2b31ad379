//! The heat line: tight edges drawn on the sheet, coloured by their trap.

use egui::{Align2, Painter, Pos2, Rect, Stroke, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_registration::slip::Study;

use crate::window::sheet::Place;
use crate::window::theme::{self, Palette};

/// The trap in mm from which an edge counts as easy.
const EASY: f64 = 1.0;
/// Stretches were gathered in cells of 2 mm, so none is longer than this.
const LONGEST: f64 = 2.9;

/// Draws every tight edge that is in sight, and a legend.
pub(in crate::window) fn paint(painter: &Painter, place: &Place, study: &Study, p: Palette) {
    let seen = place.canvas.expand(20.0);
    for t in &study.tight {
        let at = place.screen(t.at);
        if !seen.contains(at) {
            continue;
        }
        let half = t.length.min(LONGEST) / 2.0;
        let end =
            |s: f64| place.screen(Point::new(t.at.x - t.normal.y * half * s, t.at.y + t.normal.x * half * s));
        let ends = [end(-1.0), end(1.0)];
        painter.line_segment(ends, Stroke::new(5.0, theme::see_through(theme::SHADE, 0.35)));
        painter.line_segment(ends, Stroke::new(3.0, theme::trap_colour(t.trap / EASY)));
    }
    legend(painter, place.canvas, p);
}

fn legend(painter: &Painter, canvas: Rect, p: Palette) {
    let rect = Rect::from_min_size(canvas.left_bottom() + Vec2::new(12.0, -58.0), Vec2::new(196.0, 46.0));
    theme::note_ground(painter, rect, p);
    let font = theme::small();
    let text = |at: Pos2, align: Align2, text: &str| {
        painter.text(at, align, text, font.clone(), p.text);
    };
    text(rect.min + Vec2::new(10.0, 6.0), Align2::LEFT_TOP, "Trap of abutting edges");
    let bar = Rect::from_min_max(
        Pos2::new(rect.left() + 46.0, rect.bottom() - 17.0),
        Pos2::new(rect.right() - 52.0, rect.bottom() - 9.0),
    );
    for i in 0..24 {
        let x = |i: i32| bar.left() + bar.width() * i as f32 / 24.0;
        let part = Rect::from_min_max(Pos2::new(x(i), bar.top()), Pos2::new(x(i + 1), bar.bottom()));
        painter.rect_filled(part, 0.0, theme::trap_colour(f64::from(i) / 23.0));
    }
    text(Pos2::new(rect.left() + 10.0, bar.center().y), Align2::LEFT_CENTER, "0 mm");
    text(Pos2::new(rect.right() - 8.0, bar.center().y), Align2::RIGHT_CENTER, "1 mm +");
}
