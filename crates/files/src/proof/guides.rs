//! Guides over the print: creases, slits and what is trimmed off.

use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_document::wrap::{NetLine, NetLineKind};
use slipsheet_paper::fold::{Face, LineKind, SheetLine, trim_lines};

use super::Sheet;
use super::canvas::{Canvas, GUIDE, PxRect};
use crate::dashes::{Dashes, dashes};

/// A line on the face, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Guide {
    pub from: Point,
    pub to: Point,
    pub dashes: Dashes,
}

impl Guide {
    pub(crate) fn of(line: SheetLine) -> Self {
        Self { from: line.from, to: line.to, dashes: dashes(line.kind) }
    }

    /// Scores are dashed, cuts and hatches over glue are whole.
    pub(crate) fn of_net(line: NetLine) -> Self {
        let dashes = match line.kind {
            NetLineKind::Score => dashes(LineKind::Valley),
            NetLineKind::Cut | NetLineKind::Glue => dashes(LineKind::Slit),
        };
        Self { from: line.from, to: line.to, dashes }
    }
}

pub(super) fn draw(sheet: &Sheet<'_>, print: PxRect, canvas: &mut Canvas) {
    let mut guides = Vec::new();
    let size = sheet.scene.sheet();
    if sheet.options.fold_guides
        && let Some(scheme) = &sheet.printing.sheet.fold
    {
        guides.extend(scheme.sheet_lines(size, sheet.face).into_iter().map(Guide::of));
    }
    if sheet.options.fold_guides
        && let Some(plan) = sheet.printing.own_wrap()
    {
        let lines = if sheet.face == Face::Back { plan.lines_from_behind() } else { plan.lines() };
        guides.extend(lines.into_iter().map(Guide::of_net));
    }
    if sheet.options.trim_guides {
        guides.extend(trim_lines(size, sheet.printing.sheet.trim.get()).into_iter().map(Guide::of));
    }
    let Some(view_from_face) = sheet.view.face_from_view.inverse() else { return };
    let canvas_from_face = Affine::shift(print.x as f64, print.y as f64) * view_from_face;
    let width = canvas.px(0.15).max(1.0);
    let frame =
        Rect { x: print.x as f64, y: print.y as f64, width: print.width as f64, height: print.height as f64 };
    for guide in guides {
        for (from, to) in strokes(guide) {
            let (from, to) = (canvas_from_face * from, canvas_from_face * to);
            if let Some((from, to)) = within(frame, width, from, to) {
                canvas.line(from, to, width, GUIDE);
            }
        }
    }
}

/// The strokes of a line. A pattern is laid so that both ends look alike.
pub(crate) fn strokes(guide: Guide) -> Vec<(Point, Point)> {
    let length = guide.from.distance(guide.to);
    let period: f64 = guide.dashes.iter().sum();
    if period <= 0.0 || length <= 0.0 {
        return vec![(guide.from, guide.to)];
    }
    let at = |s: f64| {
        let t = s / length;
        Point::new(
            guide.from.x + (guide.to.x - guide.from.x) * t,
            guide.from.y + (guide.to.y - guide.from.y) * t,
        )
    };
    let first = guide.dashes.first().copied().unwrap_or(period);
    let repeats = ((length - first) / period).round().max(1.0);
    let stretch = length / (repeats * period + first);
    let mut out = Vec::new();
    let mut s = 0.0;
    for (i, part) in guide.dashes.iter().cycle().enumerate() {
        if s >= length - 1e-6 {
            break;
        }
        let end = (s + part * stretch).min(length);
        if i % 2 == 0 {
            out.push((at(s), at(end)));
        }
        s = end;
    }
    out
}

/// A horizontal or vertical stroke brought wholly inside the frame, so that guides on the edge of a page are
/// seen; `None` when it lies outside.
fn within(frame: Rect, width: f64, from: Point, to: Point) -> Option<(Point, Point)> {
    let reach = 1.0;
    let half = width.round().max(1.0) / 2.0;
    let outside = |v: f64, low: f64, size: f64| v < low - reach || v > low + size + reach;
    let hold = |v: f64, low: f64, size: f64, by: f64| v.clamp(low + by, (low + size - by).max(low + by));
    let (low_x, high_x) = (from.x.min(to.x), from.x.max(to.x));
    let (low_y, high_y) = (from.y.min(to.y), from.y.max(to.y));
    if outside(low_x, frame.x, frame.width) && outside(high_x, frame.x, frame.width)
        || outside(low_y, frame.y, frame.height) && outside(high_y, frame.y, frame.height)
    {
        return None;
    }
    let (by_x, by_y) = if high_x - low_x < high_y - low_y { (half, 0.0) } else { (0.0, half) };
    let held =
        |p: Point| Point::new(hold(p.x, frame.x, frame.width, by_x), hold(p.y, frame.y, frame.height, by_y));
    let (from, to) = (held(from), held(to));
    (from.distance(to) > 0.0).then_some((from, to))
}
