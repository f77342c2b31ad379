//! Nets drawn on screen: over the art in the Sheet view, and in the wrap's own window.

use egui::{Align2, Painter, Pos2, Rect, Shape, Stroke, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_document::wrap::{FaceName, NetLine, NetLineKind, WrapPlan};

use super::theme::{self, Palette};

/// How lines are drawn.
#[derive(Clone, Copy)]
pub(super) struct Pens {
    /// A pale copy under each line, where they lie over art.
    pub over_art: bool,
    pub palette: Palette,
}

/// Cuts whole, scores dashed, glue in fine hatches.
pub(super) fn lines(painter: &Painter, screen: impl Fn(Point) -> Pos2, lines: &[NetLine], pens: Pens) {
    let p = pens.palette;
    let cut = if pens.over_art { p.guide } else { p.text };
    for line in lines {
        let ends = [screen(line.from), screen(line.to)];
        if pens.over_art && line.kind != NetLineKind::Glue {
            painter.line_segment(ends, Stroke::new(3.0, p.guide_halo));
        }
        match line.kind {
            NetLineKind::Cut => drop(painter.line_segment(ends, Stroke::new(1.5, cut))),
            NetLineKind::Score => {
                let dashes = Shape::dashed_line(&ends, Stroke::new(1.2, p.guide), 6.0, 4.0);
                painter.extend(dashes);
            }
            NetLineKind::Glue => {
                let colour = if pens.over_art { p.guide } else { p.faint };
                painter.line_segment(ends, Stroke::new(1.0, theme::see_through(colour, 0.5)));
            }
        }
    }
}

/// A drawing of this size in mm, as large as a rectangle holds it: its place and points per mm.
fn fitted(rect: Rect, width: f64, height: f64) -> (Rect, f32) {
    let size = Vec2::new(width.max(1.0) as f32, height.max(1.0) as f32);
    let zoom = (rect.width() / size.x).min(rect.height() / size.y);
    (Rect::from_center_size(rect.center(), size * zoom), zoom)
}

/// The flat net with its faces' names and widths.
pub(super) fn net_ui(painter: &Painter, rect: Rect, plan: &WrapPlan, palette: Palette) {
    let (width, height) = (plan.net.size.width.get(), plan.net.size.height.get());
    let (frame, zoom) = fitted(rect.shrink2(Vec2::new(4.0, 18.0)), width, height);
    let screen = |p: Point| frame.min + Vec2::new(p.x as f32, p.y as f32) * zoom;
    let paper = theme::shown(plan.order.stock.colour.lab());
    for face in plan.net.faces.iter().filter(|f| f.name != FaceName::GlueFlap) {
        let r = face.rect;
        let corner = Point::new(r.x + r.width, r.y + r.height);
        let at = Rect::from_two_pos(screen(Point::new(r.x, r.y)), screen(corner));
        painter.rect_filled(at, 0.0, paper);
    }
    // Flaps lean in, so they are filled as they are cut.
    for flap in &plan.net.glue {
        let corners = flap.iter().map(|p| screen(*p)).collect();
        painter.add(Shape::convex_polygon(corners, paper, Stroke::NONE));
    }
    lines(painter, screen, &plan.net.lines(), Pens { over_art: false, palette: on_paper(plan, palette) });
    let ink = theme::reads_on(plan.order.stock.colour.lab());
    let mut taken = f32::MIN;
    for face in &plan.net.faces {
        let centre = face.rect.centre();
        let size = Vec2::new(face.rect.width as f32, face.rect.height as f32) * zoom;
        let name = painter.layout_no_wrap(face.name.name().to_owned(), theme::small(), ink);
        let at = screen(Point::new(centre.x, centre.y));
        if face.name != FaceName::GlueFlap && name.size().x + 6.0 < size.x && size.y > 34.0 {
            painter.galley(at - name.size() / 2.0 - Vec2::new(0.0, 8.0), name, ink);
            let mm = format!("{:.1} mm", face.rect.width);
            painter.text(at + Vec2::new(0.0, 8.0), Align2::CENTER_CENTER, mm, theme::small(), ink);
        } else if frame.bottom() - at.y < size.y / 2.0 + 2.0 {
            // Narrow faces are told below the net, where there is room between two.
            let font = theme::small();
            let mut reach = face.rect.width;
            if face.name == FaceName::GlueFlap {
                reach = reach.min(face.rect.height);
            }
            let text = painter.layout_no_wrap(format!("{reach:.1}"), font, palette.faint);
            let left = at.x - text.size().x / 2.0;
            if left > taken {
                taken = left + text.size().x + 5.0;
                painter.galley(Pos2::new(left, frame.bottom() + 3.0), text, palette.faint);
            }
        }
    }
    let above = Pos2::new(frame.center().x, frame.top() - 9.0);
    let text = format!("{width:.1} × {height:.1} mm");
    painter.text(above, Align2::CENTER_CENTER, text, theme::small(), palette.text);
}

/// Nets on their sheet, with the edge that cannot be used.
pub(super) fn sheet_ui(painter: &Painter, rect: Rect, plan: &WrapPlan, palette: Palette) {
    let (width, height) = (plan.sheet.width.get(), plan.sheet.height.get());
    let (frame, zoom) = fitted(rect.shrink(4.0), width, height);
    let screen = |p: Point| frame.min + Vec2::new(p.x as f32, p.y as f32) * zoom;
    let paper = theme::shown(plan.order.stock.colour.lab());
    painter.rect(frame, 0.0, paper, Stroke::new(1.0, palette.line), egui::StrokeKind::Outside);
    let on_paper = on_paper(plan, palette);
    let room = plan.room;
    let room = Rect::from_two_pos(
        screen(Point::new(room.x, room.y)),
        screen(Point::new(room.x + room.width, room.y + room.height)),
    );
    let corners =
        [room.left_top(), room.right_top(), room.right_bottom(), room.left_bottom(), room.left_top()];
    let stroke = Stroke::new(1.0, theme::see_through(on_paper.text, 0.35));
    painter.extend(Shape::dashed_line(&corners, stroke, 2.0, 3.0));
    lines(painter, screen, &plan.lines(), Pens { over_art: false, palette: on_paper });
}

/// The palette with text that reads on the wrap's stock.
fn on_paper(plan: &WrapPlan, palette: Palette) -> Palette {
    Palette { text: theme::reads_on(plan.order.stock.colour.lab()), ..palette }
}
