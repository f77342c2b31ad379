//! The flat sheet of a scheme: panels with their pages, creases and slits; in the editor also to be clicked.

use egui::{Align2, FontId, Pos2, Rect, Sense, Shape, Stroke, Ui, Vec2};
use slipsheet_core::units::Size;
use slipsheet_paper::fold::{Face, Fold, FoldPlan, GridLine, LineUse, PagePlace, Scheme, Turn};

use super::super::theme::{self, Palette};
use super::editor::Editor;

/// A sheet drawn into a rectangle.
struct Drawing {
    rect: Rect,
    scale: f32,
    /// Lines of the grid in points, as the face is seen.
    xs: Vec<f32>,
    ys: Vec<f32>,
}

impl Drawing {
    fn fit(room: Rect, scheme: &Scheme, sheet: Size, face: Face) -> Self {
        let sheet = scheme.oriented(sheet);
        let (w, h) = (sheet.width.get() as f32, sheet.height.get() as f32);
        let scale = (room.width() / w).min(room.height() / h);
        let rect = Rect::from_center_size(room.center(), Vec2::new(w, h) * scale);
        let xs = scheme.column_lines(sheet, face).iter().map(|x| rect.left() + *x as f32 * scale).collect();
        let ys = scheme.row_lines(sheet).iter().map(|y| rect.top() + *y as f32 * scale).collect();
        Self { rect, scale, xs, ys }
    }

    /// A grid line counted on the front, between two places along it.
    fn ends(&self, line: GridLine, (from, to): (usize, usize), face: Face) -> Option<[Pos2; 2]> {
        let x = |i: usize| {
            let i = if face == Face::Back { (self.xs.len() - 1).checked_sub(i)? } else { i };
            self.xs.get(i).copied()
        };
        let y = |i: usize| self.ys.get(i).copied();
        Some(match line {
            GridLine::Vertical(i) => [Pos2::new(x(i)?, y(from)?), Pos2::new(x(i)?, y(to)?)],
            GridLine::Horizontal(i) => [Pos2::new(x(from)?, y(i)?), Pos2::new(x(to)?, y(i)?)],
        })
    }

    fn cell(&self, place: &PagePlace) -> Option<Rect> {
        let (c, r) = place.cell;
        let min = Pos2::new(*self.xs.get(c)?, *self.ys.get(r)?);
        Some(Rect::from_min_max(min, Pos2::new(*self.xs.get(c + 1)?, *self.ys.get(r + 1)?)))
    }
}

/// Draws a stretch of line as what it is used for: a valley is dashed, a mountain dash-dotted, a slit solid
/// (drawing practice for folds; common practice, no source).
fn line_shape(ui: &Ui, ends: [Pos2; 2], used: LineUse, back: bool, width: f32) {
    let p = theme::of(ui);
    let painter = ui.painter();
    let stroke = Stroke::new(width, p.guide);
    match used {
        LineUse::Plain => {
            painter.line_segment(ends, Stroke::new(1.0, theme::see_through(theme::SHADE, 0.25)));
        }
        // What is a valley on the front is a mountain on the back.
        LineUse::Crease(fold) if (fold == Fold::Valley) != back => {
            painter.extend(Shape::dashed_line(&ends, stroke, 3.4 * width, 2.4 * width));
        }
        LineUse::Crease(_) => {
            let (dashes, gaps) = ([4.6 * width, width], [2.0 * width, 2.0 * width]);
            painter.extend(Shape::dashed_line_with_offset(&ends, stroke, &dashes, &gaps, 0.0));
        }
        LineUse::Slit => {
            painter.line_segment(ends, Stroke::new(width * 1.7, theme::SHADE));
        }
    }
}

/// The number of a page, standing as the page does, with a bar at its foot.
fn page_shape(ui: &Ui, rect: Rect, number: u32, turn: Turn, p: &Palette) {
    let turned = matches!(turn, Turn::Left | Turn::Right);
    let size = (rect.height().min(rect.width()) * 0.34).clamp(7.0, 26.0);
    let angle = (turn.degrees() as f32).to_radians();
    number_at(ui, rect.center(), number, size, angle, theme::SHADE);
    let (along, across) = if turned { (rect.height(), rect.width()) } else { (rect.width(), rect.height()) };
    if size > 11.0 && number > 0 {
        // A line along the foot of the page, so that 6 and 9 cannot be mistaken.
        let rotate = egui::emath::Rot2::from_angle(angle);
        let foot = across / 2.0 - (across * 0.12).min(9.0);
        let half = along * 0.2;
        let ends = [Vec2::new(-half, foot), Vec2::new(half, foot)].map(|v| rect.center() + rotate * v);
        ui.painter().line_segment(ends, Stroke::new(1.5, theme::see_through(p.guide, 0.7)));
    }
}

/// A number turned about its middle.
pub(super) fn number_at(ui: &Ui, at: Pos2, number: u32, size: f32, angle: f32, colour: egui::Color32) {
    let colour = if number == 0 { theme::see_through(colour, 0.35) } else { colour };
    let text = if number == 0 { "?".to_owned() } else { number.to_string() };
    let galley = ui.painter().layout_no_wrap(text, FontId::new(size, theme::strong()), colour);
    let shape = egui::epaint::TextShape::new(at - galley.size() / 2.0, galley, colour);
    ui.painter().add(shape.with_angle_and_anchor(angle, Align2::CENTER_CENTER));
}

fn paint(ui: &Ui, drawing: &Drawing, scheme: &Scheme, sheet: Size, face: Face, large: bool) {
    let p = theme::of(ui);
    let painter = ui.painter();
    if large {
        let shadow = drawing.rect.translate(Vec2::new(0.0, 2.0)).expand(1.0);
        painter.rect_filled(shadow, theme::SWATCH, p.shadow);
    }
    painter.rect_filled(drawing.rect, 0.0, theme::UNTINTED);
    painter.rect_stroke(drawing.rect, 0.0, Stroke::new(1.0, p.line), egui::StrokeKind::Outside);
    for place in scheme.places(scheme.oriented(sheet), face) {
        if let Some(rect) = drawing.cell(&place) {
            page_shape(ui, rect, place.page, place.turn, &p);
        }
    }
    let plan = FoldPlan { scheme: scheme.clone() };
    for (line, stretches) in lines(scheme) {
        for at in 0..stretches {
            if let Some(ends) = drawing.ends(line, (at, at + 1), face) {
                let width = if large { 2.0 } else { 1.2 };
                line_shape(ui, ends, plan.line_use(line, at), face == Face::Back, width);
            }
        }
    }
}

fn lines(scheme: &Scheme) -> Vec<(GridLine, usize)> {
    let (c, r) = (scheme.columns.len(), scheme.rows.len());
    let upright = (1..c).map(|i| (GridLine::Vertical(i), r));
    upright.chain((1..r).map(|i| (GridLine::Horizontal(i), c))).collect()
}

/// A scheme's flat sheet, only to be looked at.
pub(super) fn picture(ui: &Ui, rect: Rect, scheme: &Scheme, sheet: Size, face: Face, large: bool) {
    let drawing = Drawing::fit(rect.shrink(if large { 6.0 } else { 1.0 }), scheme, sheet, face);
    paint(ui, &drawing, scheme, sheet, face, large);
}

/// The flat sheet to be drawn on.
pub(super) fn editor_ui(ui: &Ui, room: Rect, editor: &mut Editor, sheet: Size) {
    let p = theme::of(ui);
    ui.painter().rect_filled(room, theme::CONTROL, p.canvas);
    let face = editor.face;
    let scheme = editor.plan.scheme.clone();
    let drawing = Drawing::fit(room.shrink(22.0), &scheme, sheet, face);
    for place in scheme.places(scheme.oriented(sheet), face) {
        let Some(rect) = drawing.cell(&place) else { continue };
        let (c, r) = place.cell;
        let label = format!("{} panel, column {}, row {}", face.name(), c + 1, r + 1);
        let response = ui.interact(rect, ui.scope_id().with(("panel", face.name(), c, r)), Sense::click());
        theme::named(&response, egui::Role::Button, &label);
        if response.clicked() {
            editor.panel = Some((face, place.cell));
        }
    }
    paint(ui, &drawing, &scheme, sheet, face, true);
    if let Some((_, cell)) = editor.panel.filter(|(f, _)| *f == face)
        && let Some(place) = scheme.places(scheme.oriented(sheet), face).iter().find(|s| s.cell == cell)
        && let Some(rect) = drawing.cell(place)
    {
        let stroke = Stroke::new(2.0, p.accent);
        ui.painter().rect_stroke(rect.shrink(3.0), theme::SWATCH, stroke, egui::StrokeKind::Inside);
    }
    // Lines come last: they lie over the panels.
    for (line, stretches) in lines(&scheme) {
        for at in 0..stretches {
            line_ui(ui, &drawing, editor, (line, at, stretches));
        }
    }
    if let Some(i) = editor.marked
        && let Some(crease) = scheme.creases.get(i)
        && let Some(ends) =
            drawing.ends(crease.line, crease.span.unwrap_or((0, editor.plan.stretches(crease.line))), face)
    {
        ui.painter().line_segment(ends, Stroke::new(7.0, theme::see_through(p.error, 0.45)));
    }
    if drawing.scale <= 0.0 {
        editor.panel = None;
    }
}

fn line_ui(ui: &Ui, drawing: &Drawing, editor: &mut Editor, (line, at, stretches): (GridLine, usize, usize)) {
    let Some(ends) = drawing.ends(line, (at, at + 1), editor.face) else { return };
    let hit = Rect::from_two_pos(ends[0], ends[1]);
    let hit = match line {
        GridLine::Vertical(_) => hit.expand2(Vec2::new(7.0, -3.0)),
        GridLine::Horizontal(_) => hit.expand2(Vec2::new(-3.0, 7.0)),
    };
    let used = editor.plan.line_use(line, at);
    let (name, n, along) = match line {
        GridLine::Vertical(i) => ("Vertical line", i, "row"),
        GridLine::Horizontal(i) => ("Horizontal line", i, "column"),
    };
    let label = format!("{name} {n}, {along} {}: {}", at + 1, use_name(used));
    let response = ui.interact(hit, ui.scope_id().with(("line", name, n, at)), Sense::click());
    theme::named(&response, egui::Role::Button, &label);
    if response.hovered() {
        let p = theme::of(ui);
        let whole = editor.whole != ui.input(|i| i.modifiers.shift);
        let span = if whole { (0, stretches) } else { (at, at + 1) };
        if let Some(ends) = drawing.ends(line, span, editor.face) {
            ui.painter().line_segment(ends, Stroke::new(7.0, theme::see_through(p.accent, 0.45)));
        }
    }
    let clicked = response.clicked();
    response.on_hover_cursor(egui::CursorIcon::PointingHand).on_hover_text(label);
    if clicked {
        let whole = editor.whole != ui.input(|i| i.modifiers.shift);
        let span = if whole { (0, stretches) } else { (at, at + 1) };
        editor.plan.use_line(line, span, next_use(used));
    }
}

/// none -> valley -> mountain -> slit -> none.
fn next_use(used: LineUse) -> LineUse {
    match used {
        LineUse::Plain => LineUse::Crease(Fold::Valley),
        LineUse::Crease(Fold::Valley) => LineUse::Crease(Fold::Mountain),
        LineUse::Crease(Fold::Mountain) => LineUse::Slit,
        LineUse::Slit => LineUse::Plain,
    }
}

fn use_name(used: LineUse) -> &'static str {
    match used {
        LineUse::Plain => "not used",
        LineUse::Crease(Fold::Valley) => "valley",
        LineUse::Crease(Fold::Mountain) => "mountain",
        LineUse::Slit => "slit",
    }
}
