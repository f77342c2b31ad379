//! Rulers along the top and the left, counted from the sheet's corner.

use egui::{Align2, Pos2, Rect, Stroke, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_files::home::LengthUnit;

use super::Place;
use crate::window::theme;

/// Paints both rulers of an area whose canvas begins right and below of them.
pub(super) fn paint(ui: &Ui, all: Rect, place: &Place, unit: LengthUnit) {
    let p = theme::of(ui);
    let (r, c) = (theme::RULER, place.canvas);
    let top = Rect::from_min_max(Pos2::new(c.left(), all.top()), Pos2::new(c.right(), all.top() + r));
    let left = Rect::from_min_max(Pos2::new(all.left(), c.top()), Pos2::new(all.left() + r, c.bottom()));
    let corner = Rect::from_min_size(all.min, Vec2::splat(r));
    for strip in [top, left, corner] {
        ui.painter().rect_filled(strip, 0.0, p.strip);
    }
    let line = Stroke::new(1.0, p.line);
    ui.painter().line_segment([top.left_bottom(), top.right_bottom()], line);
    ui.painter().line_segment([left.right_top(), left.right_bottom()], line);
    let name = if unit == LengthUnit::Mm { "mm" } else { "in" };
    ui.painter().text(corner.center(), Align2::CENTER_CENTER, name, theme::small(), p.faint);
    let (mm_per_unit, steps): (f64, &[f64]) = match unit {
        LengthUnit::Mm => (1.0, &[0.1, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0]),
        LengthUnit::Inch => (25.4, &[1.0 / 64.0, 1.0 / 16.0, 0.125, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0]),
    };
    let points = |step: f64| (step * mm_per_unit) as f32 * place.zoom;
    let minor = steps.iter().copied().find(|s| points(*s) >= 5.0).unwrap_or(500.0);
    let major = steps.iter().copied().find(|s| points(*s) >= 52.0).unwrap_or(500.0);
    let (first, last) = (place.face(c.min), place.face(c.max));
    for (across, from, to) in [(true, first.x, last.x), (false, first.y, last.y)] {
        let strip = if across { top } else { left };
        let painter = ui.painter_at(strip);
        let (from, to) = (from / mm_per_unit, to / mm_per_unit);
        let mut i = (from / minor).floor() as i64;
        while i as f64 * minor <= to {
            let value = i as f64 * minor;
            let labelled = (value / major - (value / major).round()).abs() < 1e-6;
            let at = place.screen(Point::new(value * mm_per_unit, value * mm_per_unit));
            let length = if labelled { 9.0 } else { 4.0 };
            let (a, b) = if across {
                (Pos2::new(at.x, strip.bottom() - length), Pos2::new(at.x, strip.bottom()))
            } else {
                (Pos2::new(strip.right() - length, at.y), Pos2::new(strip.right(), at.y))
            };
            painter.line_segment([a, b], Stroke::new(1.0, p.faint));
            if labelled {
                label(&painter, strip, at, across, &text(value), p.faint);
            }
            i += 1;
        }
        // Where the pointer is.
        if let Some(pointer) = ui.input(|i| i.pointer.hover_pos()).filter(|at| c.contains(*at)) {
            let mark = if across {
                [Pos2::new(pointer.x, strip.top()), Pos2::new(pointer.x, strip.bottom())]
            } else {
                [Pos2::new(strip.left(), pointer.y), Pos2::new(strip.right(), pointer.y)]
            };
            painter.line_segment(mark, Stroke::new(1.0, p.text));
        }
    }
}

fn label(painter: &egui::Painter, strip: Rect, at: Pos2, across: bool, text: &str, colour: egui::Color32) {
    let font = theme::small();
    if across {
        painter.text(Pos2::new(at.x + 3.0, strip.top() + 1.0), Align2::LEFT_TOP, text, font, colour);
        return;
    }
    let galley = painter.layout_no_wrap(text.to_owned(), font, colour);
    let corner = Pos2::new(strip.left() + 1.0, at.y - 3.0);
    painter
        .add(egui::epaint::TextShape::new(corner, galley, colour).with_angle(-std::f32::consts::FRAC_PI_2));
}

fn text(value: f64) -> String {
    let value = if value.abs() < 1e-9 { 0.0 } else { value };
    if (value - value.round()).abs() < 1e-6 { format!("{value:.0}") } else { format!("{value}") }
}
