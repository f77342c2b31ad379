//! Sections that fold away.

use egui::{Align2, Pos2, Rect, Sense, Shape, Stroke, Ui, Vec2};

use super::theme;

/// Height of a section's head.
const HEAD: f32 = 32.0;
/// Room of the sign in front of a head.
const SIGN: f32 = 22.0;

/// A section whose head opens and closes it; while it is closed the head shows its value.
pub(super) fn section(ui: &mut Ui, open: &mut bool, name: &str, value: &str, add: impl FnOnce(&mut Ui)) {
    let p = theme::of(ui);
    let (rect, response) = ui.allocate_exact_size(Vec2::new(ui.available_width(), HEAD), Sense::click());
    let says = if *open { format!("{name}, open") } else { format!("{name}: {value}") };
    response.widget_info(|| {
        let mut info = egui::WidgetInfo::selected(egui::Role::Button, true, *open, name);
        info.current_text_value = Some(says.clone());
        info
    });
    // A click is also what a key does that has the focus on it.
    if response.clicked() {
        *open = !*open;
    }

    let painter = ui.painter_at(rect);
    painter.hline(rect.x_range(), rect.top() + 0.5, Stroke::new(1.0, p.line));
    if response.hovered() || response.has_focus() {
        painter.rect_filled(rect.shrink2(Vec2::new(0.0, 2.0)), theme::CONTROL, p.strip);
    }
    let at = Pos2::new(rect.left() + 9.0, rect.center().y);
    let points = if *open {
        vec![at + Vec2::new(-5.0, -2.5), at + Vec2::new(5.0, -2.5), at + Vec2::new(0.0, 4.0)]
    } else {
        vec![at + Vec2::new(-2.5, -5.0), at + Vec2::new(4.0, 0.0), at + Vec2::new(-2.5, 5.0)]
    };
    painter.add(Shape::convex_polygon(points, p.text, Stroke::NONE));
    let left = Pos2::new(rect.left() + SIGN, rect.center().y);
    let title = painter.text(left, Align2::LEFT_CENTER, name, theme::strong_body(), p.text);
    if !*open && !value.is_empty() {
        let room = Rect::from_min_max(Pos2::new(title.right() + theme::GAP, rect.top()), rect.max);
        let mut job = egui::text::LayoutJob::simple_singleline(value.to_owned(), theme::small(), p.faint);
        job.wrap = egui::text::TextWrapping::truncate_at_width(room.width());
        let galley = ui.fonts_mut(|f| f.layout_job(job));
        let top = room.center().y - galley.size().y / 2.0;
        painter.galley(Pos2::new(room.left(), top), galley, p.faint);
    }
    if *open {
        ui.add_space(theme::CLOSE);
        add(ui);
        ui.add_space(theme::GROUP_GAP);
    }
}
