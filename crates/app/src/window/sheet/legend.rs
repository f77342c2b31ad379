//! What the hatches over the sheet mean.

use egui::{FontId, Pos2, Rect, Sense, Stroke as Outline, StrokeKind, Ui, Vec2};
use slipsheet_core::gray_check::{Fate, Stroke};
use slipsheet_core::words::percent;

use crate::window::context::Context;
use crate::window::theme;

/// A sample of a hatch, in points.
const SAMPLE: Vec2 = Vec2::new(30.0, 18.0);
const ROW: f32 = 24.0;
const PADDING: f32 = 9.0;

/// The legend in the canvas's lower left corner, with the shares where they are known.
pub(super) fn legend_ui(ui: &Ui, cx: &Context<'_>, canvas: Rect) {
    if !cx.showing.lost_tones {
        return;
    }
    let p = theme::of(ui);
    let painter = ui.painter_at(canvas);
    let selected = cx.session.selected_layer().filter(|(_, l)| l.face == cx.showing.face);
    let (title, rows) = match selected {
        None => ("Select a layer of this face to see its lost tones".to_owned(), vec![]),
        Some((i, layer)) if !layer.visible && cx.solo() != Some(i) => {
            (format!("{} is hidden: show it to see its lost tones", layer.name), vec![])
        }
        Some((i, layer)) => {
            let share = |of: fn(&slipsheet_editor::FacePrint) -> f64| {
                cx.last_print(i).map_or_else(String::new, |f| format!(", {} of it", percent(of(f))))
            };
            let rows = vec![
                (Fate::Vanishes, format!("too light, will vanish{}", share(|f| f.check.vanishes))),
                (Fate::Clogs, format!("too dark, will fill in{}", share(|f| f.check.clogs))),
            ];
            (format!("Lost tones of {}", layer.name), rows)
        }
    };
    let laid = |text: String, font: FontId| painter.layout_no_wrap(text, font, p.text);
    let message = rows.iter().map(|(_, text)| text.as_str()).collect::<Vec<_>>().join("; ");
    let label = if message.is_empty() { title.clone() } else { format!("{title}: {message}") };
    let title = laid(title, theme::strong_body());
    let rows: Vec<_> = rows.into_iter().map(|(f, text)| (f, laid(text, theme::body()))).collect();
    let widest = rows.iter().map(|(_, g)| SAMPLE.x + 8.0 + g.size().x).fold(title.size().x, f32::max);
    let height = 2.0 * PADDING + title.size().y + rows.len() as f32 * ROW;
    let size = Vec2::new(widest + 2.0 * PADDING, height);
    let rect = Rect::from_min_size(canvas.left_bottom() + Vec2::new(12.0, -12.0 - size.y), size);
    theme::note_ground(&painter, rect, p);
    // Said to those who cannot see it; the pointer goes through to the sheet.
    let response = ui.interact(rect, ui.scope_id().with("legend"), Sense::empty());
    theme::named(&response, egui::Role::Image, &label);
    let mut at = rect.min + Vec2::splat(PADDING);
    let under = title.size().y + 4.0;
    painter.galley(at, title, p.text);
    at.y += under;
    for (fate, text) in rows {
        sample(&painter, Rect::from_min_size(at, SAMPLE), fate, p);
        painter.galley(at + Vec2::new(SAMPLE.x + 8.0, (SAMPLE.y - text.size().y) / 2.0), text, p.text);
        at.y += ROW;
    }
}

/// A patch of the very hatch that the sheet shows, on the tone that it stands for.
fn sample(painter: &egui::Painter, rect: Rect, fate: Fate, p: theme::Palette) {
    let ground = if fate == Fate::Clogs { theme::rgb([60; 3]) } else { theme::rgb([240; 3]) };
    painter.rect_filled(rect, theme::SWATCH, ground);
    // One mesh of whole points, which nothing softens.
    let mut mesh = egui::Mesh::default();
    for y in 0..SAMPLE.y as usize {
        for x in 0..SAMPLE.x as usize {
            let colour = match fate.hatch(x, y) {
                Some(Stroke::Line) => theme::rgb(fate.colour()),
                Some(Stroke::Halo) => theme::rgb([255; 3]),
                None => continue,
            };
            let at = Pos2::new(rect.left() + x as f32, rect.top() + y as f32);
            mesh.add_colored_rect(Rect::from_min_size(at, Vec2::splat(1.0)), colour);
        }
    }
    painter.add(mesh);
    painter.rect_stroke(rect, theme::SWATCH, Outline::new(1.0, p.line), StrokeKind::Outside);
}
