//! The steps in which a sheet is folded, in words and small drawings, and the cautions for the tools it takes.

use slipsheet_base::geometry::Point;
use slipsheet_base::units::Size;

use crate::fold::{Binding, Fold, Folding, Over, Scheme};

/// A line of a step's drawing, in the units of a square whose side is 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepLine {
    pub from: Point,
    pub to: Point,
    pub kind: StepLineKind,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepLineKind {
    Edge,
    /// The crease of this step: dashes for a valley, dashes and dots for a mountain, as on the sheet.
    Crease(Fold),
    /// The cut of this step.
    Cut,
}

#[derive(Debug, Clone, PartialEq)]
pub struct FoldStep {
    pub words: String,
    /// Whether it is a cut rather than a fold.
    pub slit: bool,
    /// The outline of the stack before the step and its crease.
    pub lines: Vec<StepLine>,
    /// From the middle of what moves to where it comes to lie.
    pub arrow: (Point, Point),
}

/// The steps in which a scheme is folded, each with a small drawing of the stack as it lies before it, seen from
/// the side of the front. A ring's are its own: lengthwise, slit, push, gather.
pub fn steps(scheme: &Scheme, sheet: Size) -> Vec<FoldStep> {
    if scheme.binding == Binding::Ring {
        return ring_steps(scheme);
    }
    let Ok(folding) = Folding::of(scheme, sheet) else { return Vec::new() };
    let longest = sheet.width.get().max(sheet.height.get()).max(1.0);
    let small = |p: Point| Point::new(p.x / longest, p.y / longest);
    folding
        .steps
        .iter()
        .enumerate()
        .map(|(i, step)| {
            let before = folding.after(i);
            let mut lines = Vec::new();
            for placed in &before.layers {
                let r = folding.rect(placed);
                let (x1, y1) = (r.x + r.width, r.y + r.height);
                let corners =
                    [(r.x, r.y), (x1, r.y), (x1, y1), (r.x, y1)].map(|(x, y)| small(Point::new(x, y)));
                lines.extend((0..4).map(|k| StepLine {
                    from: corners[k],
                    to: corners[(k + 1) % 4],
                    kind: StepLineKind::Edge,
                }));
            }
            let moved = before
                .layers
                .iter()
                .find(|p| step.moved.contains(&(p.cell.1 * scheme.columns.len() + p.cell.0)));
            let middle = moved.map_or_else(Point::default, |p| folding.rect(p).centre());
            let landed = if step.vertical {
                Point::new(2.0 * step.axis - middle.x, middle.y)
            } else {
                Point::new(middle.x, 2.0 * step.axis - middle.y)
            };
            // The crease reaches from edge to edge of the stack as it lies, not of the sheet.
            let rects = || before.layers.iter().map(|p| folding.rect(p));
            let low = |v: fn(&slipsheet_base::geometry::Rect) -> f64| {
                rects().map(|r| v(&r)).fold(f64::INFINITY, f64::min)
            };
            let high =
                |v: fn(&slipsheet_base::geometry::Rect) -> f64| rects().map(|r| v(&r)).fold(0.0, f64::max);
            let (from, to) = if step.vertical {
                (Point::new(step.axis, low(|r| r.y)), Point::new(step.axis, high(|r| r.y + r.height)))
            } else {
                (Point::new(low(|r| r.x), step.axis), Point::new(high(|r| r.x + r.width), step.axis))
            };
            // A full line under the dashes would hide them.
            let on_crease = |p: Point| {
                let across = if step.vertical { p.x } else { p.y };
                (across - step.axis / longest).abs() < 1e-6
            };
            lines.retain(|l: &StepLine| !(on_crease(l.from) && on_crease(l.to)));
            // What comes over the front closes a valley; what goes behind, a mountain.
            let fold = if step.onto == Over::Top { Fold::Valley } else { Fold::Mountain };
            lines.push(StepLine { from: small(from), to: small(to), kind: StepLineKind::Crease(fold) });
            FoldStep {
                words: step_words(step.vertical, middle, step.axis, step.onto),
                slit: false,
                lines,
                arrow: (small(middle), small(landed)),
            }
        })
        .collect()
}

fn step_words(vertical: bool, moved: Point, axis: f64, onto: Over) -> String {
    let part = match (vertical, if vertical { moved.x < axis } else { moved.y < axis }) {
        (true, true) => "left",
        (true, false) => "right",
        (false, true) => "top",
        (false, false) => "bottom",
    };
    let way = if onto == Over::Top { "over the front" } else { "behind" };
    format!("Fold the {part} part {way}.")
}

fn ring_steps(scheme: &Scheme) -> Vec<FoldStep> {
    let messages = [
        "Fold lengthwise with the print outside, crease, and open.",
        "Fold and crease every vertical line both ways, and open.",
        "Slit the middle line between the outermost panels.",
        "Fold lengthwise again and push the ends together until the slit opens into a star.",
        "Gather the leaves so that page 1 is on top.",
    ];
    let drawn = ring_drawings(scheme.columns.len().max(1));
    let steps = messages.into_iter().zip(drawn).enumerate();
    steps
        .map(|(i, (words, (lines, arrow)))| FoldStep { words: words.to_owned(), slit: i == 2, lines, arrow })
        .collect()
}

/// Lines and an arrow.
type Drawing = (Vec<StepLine>, (Point, Point));

/// A ring's steps: the flat sheet three times, the star that opens seen from above, and the closed booklet.
fn ring_drawings(columns: usize) -> [Drawing; 5] {
    let n = columns as f64;
    let line = |(x0, y0): (f64, f64), (x1, y1): (f64, f64), kind| StepLine {
        from: Point::new(x0, y0),
        to: Point::new(x1, y1),
        kind,
    };
    let edges = |corners: &[(f64, f64)]| -> Vec<StepLine> {
        corners.windows(2).map(|pair| line(pair[0], pair[1], StepLineKind::Edge)).collect()
    };
    let frame = edges(&[(0.0, 0.0), (1.0, 0.0), (1.0, 0.7), (0.0, 0.7), (0.0, 0.0)]);
    let with = |more: Vec<StepLine>| frame.iter().copied().chain(more).collect::<Vec<_>>();
    let point = |x, y| Point::new(x, y);
    let middle = StepLineKind::Crease(Fold::Mountain);
    let vertical = |i: usize| {
        let fold = if i.is_multiple_of(2) { Fold::Mountain } else { Fold::Valley };
        line((i as f64 / n, 0.0), (i as f64 / n, 0.7), StepLineKind::Crease(fold))
    };
    // From above: the outer panels are double, the slit opens between them.
    let star = edges(&[(0.0, 0.35), (0.25, 0.35), (0.5, 0.12), (0.75, 0.35), (1.0, 0.35)]);
    let half = edges(&[(0.25, 0.35), (0.5, 0.58), (0.75, 0.35)]);
    let booklet = edges(&[(0.35, 0.05), (0.65, 0.05), (0.65, 0.65), (0.35, 0.65), (0.35, 0.05)]);
    let leaves = edges(&[(0.65, 0.08), (0.68, 0.1), (0.68, 0.62), (0.65, 0.65)]);
    [
        (with(vec![line((0.0, 0.35), (1.0, 0.35), middle)]), (point(0.5, 0.1), point(0.5, 0.6))),
        (with((1..columns).map(vertical).collect()), (point(0.1, 0.5), point(0.9, 0.5))),
        (
            with(vec![line((1.0 / n, 0.35), (1.0 - 1.0 / n, 0.35), StepLineKind::Cut)]),
            (point(1.0 / n, 0.45), point(1.0 - 1.0 / n, 0.45)),
        ),
        ([star, half].concat(), (point(0.02, 0.5), point(0.22, 0.5))),
        ([booklet, leaves].concat(), (point(0.95, 0.35), point(0.74, 0.35))),
    ]
}

/// What to mind with the tools that a folded thing is made with, one sentence each.
pub fn cautions(scheme: &Scheme, stitched: bool) -> Vec<&'static str> {
    let mut messages = Vec::new();
    if !scheme.slits.is_empty() || scheme.binding == Binding::Section {
        messages.push("Blades cut: away from your fingers, on a mat, with a steel rule.");
    }
    if stitched {
        messages.push("Staplers pierce: keep fingers clear of the needle; the machine's manual and the shop's staff come first.");
    }
    messages
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_say_which_part_goes_where() {
        let messages = |id: &str| {
            let scheme = crate::fold::find(id).unwrap();
            let size = scheme.oriented(Size::mm(210.0, 297.0));
            steps(&scheme, size).into_iter().map(|s| s.words).collect::<Vec<_>>()
        };
        assert_eq!(messages("quarter8"), ["Fold the top part behind.", "Fold the left part behind."]);
        assert_eq!(messages("slit8").len(), 5);
    }
}
