//! The shapes of registration marks: a few strokes about a point. The guide sheet is printed from them, and
//! the same strokes are what the search looks for.

use slipsheet_core::geometry::{Affine, Point};
use slipsheet_paper::fold::Turn;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    TopLeft,
    /// Top right.
    TopRight,
    /// Bottom right.
    BottomRight,
    BottomLeft,
}

impl Corner {
    /// All four, clockwise.
    pub const ALL: [Self; 4] = [Self::TopLeft, Self::TopRight, Self::BottomRight, Self::BottomLeft];

    fn quarters(self) -> u8 {
        match self {
            Self::TopLeft => 0,
            Self::TopRight => 1,
            Self::BottomRight => 2,
            Self::BottomLeft => 3,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// Four arms; its point is where they meet.
    Cross,
    /// Four arms through a circle; its point is the circle's middle.
    CrossedCircle,
    /// Two ticks outside a corner of the sheet; its point is the corner they aim at.
    CornerTicks(Corner),
    /// A centre mark: an arrow whose tip touches the edge; its point is the tip. Unturned it points down,
    /// as it stands above the leading edge.
    Arrow(Turn),
}

impl MarkKind {
    pub fn name(self) -> &'static str {
        match self {
            Self::Cross => "Cross",
            Self::CrossedCircle => "Crossed circle",
            Self::CornerTicks(_) => "Corner ticks",
            Self::Arrow(_) => "Centre arrow",
        }
    }

    /// The same mark on a sheet that was turned by so many quarters, clockwise.
    #[must_use]
    pub fn turned(self, quarters: u8) -> Self {
        match self {
            Self::Cross | Self::CrossedCircle => self,
            Self::CornerTicks(c) => {
                let at = usize::from((c.quarters() + quarters) % 4);
                Self::CornerTicks(Corner::ALL.get(at).copied().unwrap_or(c))
            }
            Self::Arrow(t) => {
                let now = (libm::round(t.degrees() / 90.0) as u8 + quarters) % 4;
                Self::Arrow(match now {
                    0 => Turn::Upright,
                    1 => Turn::Right,
                    2 => Turn::Half,
                    _ => Turn::Left,
                })
            }
        }
    }

    /// The strokes, in mm about the mark's point. `size` is the length of an arm (cross), the radius
    /// (crossed circle), how far out the ticks end (corner ticks), or the length of the shaft (arrow).
    pub fn strokes(self, size: f64) -> Vec<Stroke> {
        let arm = |x: f64, y: f64| Stroke::Line { from: Point::default(), to: Point::new(x, y) };
        match self {
            Self::Cross => vec![arm(size, 0.0), arm(0.0, size), arm(-size, 0.0), arm(0.0, -size)],
            Self::CrossedCircle => {
                let out = size * CIRCLE_ARM;
                let arcs = (0..4).map(|quadrant| Stroke::Arc { radius: size, quadrant });
                [arm(out, 0.0), arm(0.0, out), arm(-out, 0.0), arm(0.0, -out)]
                    .into_iter()
                    .chain(arcs)
                    .collect()
            }
            Self::CornerTicks(corner) => {
                let turn = Affine::turn(90.0 * f64::from(corner.quarters()));
                let tick = |x: f64, y: f64| Stroke::Line {
                    from: turn * Point::new(x * TICK_GAP, y * TICK_GAP),
                    to: turn * Point::new(x, y),
                };
                vec![tick(-size, 0.0), tick(0.0, -size)]
            }
            Self::Arrow(t) => {
                let turn = Affine::turn(t.degrees());
                let line =
                    |x: f64, y: f64| Stroke::Line { from: Point::default(), to: turn * Point::new(x, y) };
                let barb = size * BARB;
                vec![line(0.0, -size), line(-0.7 * barb, -barb), line(0.7 * barb, -barb)]
            }
        }
    }
}

/// Arms of a crossed circle reach this many radii.
const CIRCLE_ARM: f64 = 1.6;
/// Corner ticks begin at this share of their reach, so that the corner itself stays free.
const TICK_GAP: f64 = 0.25;
/// Height of an arrow's barbs against its shaft.
const BARB: f64 = 0.45;

/// One stroke of a mark, in mm about the mark's point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stroke {
    /// A straight line.
    Line { from: Point, to: Point },
    /// A quarter of a circle about the mark's point: quadrant 0 lies right and below, then clockwise
    /// to 3; its radius is in mm.
    Arc { radius: f64, quadrant: u8 },
}

impl Stroke {
    /// Distance of a point from the stroke's middle line.
    pub fn distance(&self, p: Point) -> f64 {
        // A square root is exact on every machine, and asked for millions of times.
        let length = |x: f64, y: f64| (x * x + y * y).sqrt();
        match *self {
            Self::Line { from, to } => {
                let (vx, vy) = (to.x - from.x, to.y - from.y);
                let length2 = vx * vx + vy * vy;
                let along = ((p.x - from.x) * vx + (p.y - from.y) * vy) / length2.max(1e-12);
                let t = along.clamp(0.0, 1.0);
                length(p.x - from.x - t * vx, p.y - from.y - t * vy)
            }
            Self::Arc { radius, quadrant } => {
                let (x, y) = match quadrant % 4 {
                    0 => (p.x, p.y),
                    1 => (p.y, -p.x),
                    2 => (-p.x, -p.y),
                    _ => (-p.y, p.x),
                };
                if x >= 0.0 && y >= 0.0 {
                    (length(x, y) - radius).abs()
                } else {
                    length(x - radius, y).min(length(x, y - radius))
                }
            }
        }
    }
}

/// How dark a point is, 0..=1: full within half a line width of a stroke, none half a line width and `soft`
/// beyond it.
pub(crate) fn darkness(strokes: &[Stroke], p: Point, width: f64, soft: f64) -> f64 {
    let near = strokes.iter().map(|s| s.distance(p)).fold(f64::INFINITY, f64::min);
    ((width / 2.0 - near) / soft + 0.5).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arc_is_as_far_as_its_circle_within_its_quarter_alone() {
        let arc = Stroke::Arc { radius: 2.0, quadrant: 2 };
        assert!((arc.distance(Point::new(-3.0, -0.0)) - 1.0).abs() < 1e-12);
        assert!((arc.distance(Point::new(2.0, 0.0)) - libm::sqrt(8.0)).abs() < 1e-12);
    }

    #[test]
    fn ticks_lie_outside_their_corner() {
        for (corner, sx, sy) in [(Corner::TopLeft, -1.0, -1.0), (Corner::BottomRight, 1.0, 1.0)] {
            for stroke in MarkKind::CornerTicks(corner).strokes(4.0) {
                let Stroke::Line { from, to } = stroke else { panic!("a tick is a line") };
                for p in [from, to] {
                    assert!(p.x * sx >= -1e-12 && p.y * sy >= -1e-12, "{corner:?} {p:?}");
                }
            }
        }
    }

    #[test]
    fn a_mark_turned_four_times_is_itself() {
        for kind in [MarkKind::Arrow(Turn::Right), MarkKind::CornerTicks(Corner::BottomLeft), MarkKind::Cross]
        {
            assert_eq!(kind.turned(1).turned(3), kind);
        }
        assert_eq!(MarkKind::CornerTicks(Corner::TopLeft).turned(1), MarkKind::CornerTicks(Corner::TopRight));
    }
}
