//! The sheet folded so far: the stack from above with its layers drawn apart, or a ring on its way together.

use egui::{Pos2, Rect, Sense, Shape, Slider, Stroke, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Size;
use slipsheet_paper::fold::{Binding, DrawnStack, Face, Scheme, Trial};

use super::super::theme;
use super::editor::Editor;
use super::flat;

/// How far one layer is drawn from the next, in points, to the left and up.
const STEP: Vec2 = Vec2::new(-5.0, -5.0);

pub(super) fn folded_ui(ui: &mut Ui, editor: &mut Editor, trial: &Trial, sheet: Size) {
    ui.label(theme::heading("Folded"));
    let ring = editor.plan.scheme.binding == Binding::Ring;
    let steps = trial.folding.steps.len();
    editor.step = editor.step.min(steps);
    ui.horizontal(|ui| {
        ui.spacing_mut().slider_width = 120.0;
        if ring {
            let label = ui.label("Gathered");
            let field = Slider::new(&mut editor.gathered, 0.0..=1.0).show_value(false);
            ui.add_enabled(trial.trouble.is_none(), field).labelled_by(label.id);
            return;
        }
        let label = ui.label("Step");
        let field = Slider::new(&mut editor.step, 0..=steps.max(1)).show_value(false);
        ui.add_enabled(steps > 0, field).labelled_by(label.id);
        editor.step = editor.step.min(steps);
        let all = editor.plan.scheme.creases.len();
        let shown = if editor.step == 0 { "flat".to_owned() } else { format!("{} of {all}", editor.step) };
        ui.label(shown);
    });
    let room = Vec2::new(ui.available_width(), (ui.available_height() - 2.0).max(90.0));
    let (rect, _) = ui.allocate_exact_size(room, Sense::hover());
    ui.painter().rect_filled(rect, theme::CONTROL, theme::of(ui).canvas);
    let scheme = &editor.plan.scheme;
    let size = scheme.oriented(sheet);
    if ring {
        let fold = if trial.trouble.is_none() { editor.gathered } else { 0.0 };
        return ring_ui(ui, rect, scheme, size, fold);
    }
    let drawn = trial.folding.drawn(trial.folding.after(editor.step));
    stack_ui(ui, rect, scheme, &drawn, size);
}

/// Paints layers from the lowest to the highest, each a little up and to the left of the one below.
fn stack_ui(ui: &Ui, room: Rect, scheme: &Scheme, drawn: &DrawnStack, sheet: Size) {
    let p = theme::of(ui);
    let painter = ui.painter_at(room);
    let top = drawn.panels.iter().map(|panel| panel.level).max().unwrap_or(0);
    let bounds = drawn.panels.iter().fold(egui::Rect::NOTHING, |all, panel| {
        let r = panel.rect;
        let min = Pos2::new(r.x as f32, r.y as f32);
        all.union(Rect::from_min_size(min, Vec2::new(r.width as f32, r.height as f32)))
    });
    if !bounds.is_positive() {
        return;
    }
    // One scale for every step, so that the piece is seen to become smaller.
    let inner = room.shrink(14.0).size() + STEP * top as f32;
    let flat = Vec2::new(sheet.width.get() as f32, sheet.height.get() as f32);
    let largest = bounds.size().max(flat);
    let scale = (inner.x / largest.x).min(inner.y / largest.y).max(0.01);
    let centre = room.center() - STEP * (top as f32 / 2.0);
    let at = |point: Point, level: usize| {
        let from_middle = Vec2::new(point.x as f32, point.y as f32) - bounds.center().to_vec2();
        centre + from_middle * scale + STEP * level as f32
    };
    let edge = Stroke::new(1.0, theme::see_through(theme::SHADE, 0.55));
    for level in 0..=top {
        // The paper that comes up to this level from lower ones.
        for bend in drawn.bends.iter().filter(|b| b.levels.1 == level) {
            let quad = vec![
                at(bend.from, bend.levels.0),
                at(bend.to, bend.levels.0),
                at(bend.to, level),
                at(bend.from, level),
            ];
            painter.add(Shape::convex_polygon(quad, p.leaf, edge));
        }
        for panel in drawn.panels.iter().filter(|panel| panel.level == level) {
            let r = panel.rect;
            let min = at(Point::new(r.x, r.y), level);
            let rect = Rect::from_min_size(min, Vec2::new(r.width as f32, r.height as f32) * scale);
            painter.rect_filled(rect, 0.0, theme::UNTINTED);
            if panel.shows == Face::Back {
                // The back is a shade darker, so that it is told from the front.
                painter.rect_filled(rect, 0.0, theme::see_through(theme::SHADE, 0.13));
            }
            painter.rect_stroke(rect, 0.0, edge, egui::StrokeKind::Middle);
            let cell = match panel.shows {
                Face::Front => panel.cell,
                Face::Back => (scheme.columns.len().saturating_sub(1) - panel.cell.0, panel.cell.1),
            };
            let Some(place) = scheme.places(sheet, panel.shows).into_iter().find(|s| s.cell == cell) else {
                continue;
            };
            if panel.seen {
                let head = (panel.up.x as f32).atan2(-panel.up.y as f32);
                let angle = head + (place.turn.degrees() as f32).to_radians();
                let size = (rect.width().min(rect.height()) * 0.4).clamp(8.0, 22.0);
                flat::number_at(ui, rect.center(), place.page, size, angle, theme::SHADE);
            }
        }
    }
}

/// A ring seen obliquely from above, far panels first.
fn ring_ui(ui: &Ui, room: Rect, scheme: &Scheme, sheet: Size, fold: f64) {
    let pose = scheme.pose(sheet, fold, 0.0);
    let painter = ui.painter_at(room);
    let (sin, cos) = 38_f64.to_radians().sin_cos();
    // Tilted about the horizontal axis: x stays, y and z mix.
    let seen =
        |x: f64, y: f64, z: f64| (Vec2::new(x as f32, (-(y * cos + z * sin)) as f32), z * cos - y * sin);
    let mut panels: Vec<(f64, Vec<Vec2>, bool)> = pose
        .panels
        .iter()
        .map(|panel| {
            let corners: Vec<(Vec2, f64)> = panel.corners.iter().map(|c| seen(c.x, c.y, c.z)).collect();
            let depth = corners.iter().map(|c| c.1).sum::<f64>() / 4.0;
            let flat: Vec<Vec2> = corners.iter().map(|c| c.0).collect();
            // Seen clockwise it shows the side that its corners are listed for.
            let area: f32 =
                (0..4).map(|i| flat[i].x * flat[(i + 1) % 4].y - flat[i].y * flat[(i + 1) % 4].x).sum();
            let shows = if area > 0.0 { panel.front } else { panel.back };
            (depth, flat, shows.is_some_and(|(face, _)| face == Face::Front))
        })
        .collect();
    panels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let largest = (sheet.width.get() as f32, sheet.height.get() as f32);
    let scale = ((room.width() - 24.0) / largest.0).min((room.height() - 24.0) / largest.1);
    let edge = Stroke::new(1.0, theme::see_through(theme::SHADE, 0.55));
    for (_, corners, front) in panels {
        let points: Vec<Pos2> = corners.iter().map(|v| room.center() + *v * scale).collect();
        painter.add(Shape::convex_polygon(points.clone(), theme::UNTINTED, edge));
        if !front {
            painter.add(Shape::convex_polygon(points, theme::see_through(theme::SHADE, 0.13), Stroke::NONE));
        }
    }
}
