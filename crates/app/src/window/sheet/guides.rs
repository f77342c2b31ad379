//! Creases, slits, trims and page marks over the print.

use egui::{FontId, Painter, Shape, Stroke, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_paper::fold::{Face, LineKind, Scheme, trim_lines};

use super::Place;
use crate::window::theme::{self, Palette};

/// Dashes for valleys, dash and dot for mountains, whole lines for slits, fine ones for trims.
pub(super) fn creases(
    painter: &Painter,
    place: &Place,
    fold: Option<&Scheme>,
    face: Face,
    trim: f64,
    p: Palette,
) {
    let lines = fold.map(|f| f.sheet_lines(place.sheet, face)).unwrap_or_default();
    for line in lines.into_iter().chain(trim_lines(place.sheet, trim)) {
        let ends = [place.screen(line.from), place.screen(line.to)];
        let (dashes, gaps): (&[f32], &[f32]) = match line.kind {
            LineKind::Valley => (&[7.0], &[5.0]),
            LineKind::Mountain => (&[9.0, 1.5], &[4.0, 4.0]),
            LineKind::Slit => {
                painter.line_segment(ends, Stroke::new(4.0, p.guide_halo));
                painter.line_segment(ends, Stroke::new(2.4, p.guide));
                continue;
            }
            LineKind::Trim => {
                painter.line_segment(ends, Stroke::new(1.0, theme::see_through(p.guide, 0.7)));
                continue;
            }
        };
        painter.line_segment(ends, Stroke::new(2.5, p.guide_halo));
        painter.extend(Shape::dashed_line_with_offset(&ends, Stroke::new(1.2, p.guide), dashes, gaps, 0.0));
    }
}

/// The number of each page at its top outer corner, standing as the page stands, with an arrow to its head.
pub(super) fn pages(painter: &Painter, place: &Place, fold: &Scheme, face: Face, p: Palette) {
    for page in fold.places(place.sheet, face) {
        let (w, h) = (page.size.width.get(), page.size.height.get());
        let radius = (w as f32 * place.zoom * 0.055).clamp(6.5, 10.0);
        let from_edge = f64::from((radius + 7.0) / place.zoom);
        if w < 3.0 * from_edge || h < 3.0 * from_edge {
            continue;
        }
        let at = place.screen(page.face_from_page * Point::new(w - from_edge, h - from_edge));
        let up = page.face_from_page.vector(Point::new(0.0, -1.0));
        let up = Vec2::new(up.x as f32, up.y as f32);
        // To the right of someone who looks up along the page.
        let side = Vec2::new(-up.y, up.x);
        painter.circle(at, radius, p.guide_halo, Stroke::new(1.2, p.guide));
        let tip = at + up * (radius + 6.0);
        let base = at + up * (radius + 0.5);
        painter.add(Shape::convex_polygon(
            vec![tip, base + side * 4.0, base - side * 4.0],
            p.guide,
            Stroke::NONE,
        ));
        let galley = painter.layout_no_wrap(
            page.page.to_string(),
            FontId::new(radius * 1.2, theme::strong()),
            p.guide,
        );
        let half = galley.size() / 2.0;
        // A text turns about its top left corner, so that corner is found from the middle.
        let corner = at - side * half.x + up * half.y;
        let text = egui::epaint::TextShape::new(corner, galley, p.guide)
            .with_angle(page.turn.degrees().to_radians() as f32);
        painter.add(text);
    }
}
