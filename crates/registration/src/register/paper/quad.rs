//! Which four edges stand about a sheet of paper.

use super::edges::{Line, Soft};
use rayon::prelude::*;
use slipsheet_core::geometry::Point;

/// Opposite sides may run apart by this many degrees.
const LEAN: f64 = 35.0;
/// Corners in the picture are at least this many degrees wide.
const NARROW: f64 = 50.0;
/// The least share of the picture that the paper takes up.
const LEAST_SHARE: f64 = 0.18;
/// A corner may lie this share of the picture's longer side outside.
const OUTSIDE: f64 = 0.02;
/// Where beside an edge grays are compared, in pixels: farther than a lens bends it and a pencil line is wide.
const BESIDE: [f64; 2] = [5.0, 8.0];
/// Places along a side.
const ALONG: usize = 28;
/// A difference in gray that counts half as much as any difference can.
const HALF_CLEAR: f64 = 5.0;
/// The least clearness of what may be the paper, over all sides and of the worst.
const LEAST_CLEAR: (f64, f64) = (0.3, 0.15);
/// The most quadrilaterals handed on.
const MOST: usize = 3;

/// What may be the paper, in pixels of the small picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Quad {
    /// Clockwise, from the one nearest to the top left.
    pub corners: [Point; 4],
    /// Whether the paper is brighter than the table.
    pub is_brighter: bool,
    /// How well inside and outside are told apart along the sides, 0..=1.
    pub clear: f64,
    /// How much it speaks for this one: clearness, and a little for size.
    score: f64,
}

/// Quadrilaterals that may be the paper, best first, none much like another.
pub(super) fn quads(soft: &Soft, lines: &[Line]) -> Vec<Quad> {
    let facing = facing(lines);
    let of_pair = |(i, (a, c)): (usize, &(Line, Line))| -> Vec<Quad> {
        let rest = facing.iter().skip(i + 1);
        rest.filter_map(|(b, d)| rated(soft, [*a, *b, *c, *d])).collect()
    };
    let mut all: Vec<Quad> = facing.par_iter().enumerate().flat_map_iter(of_pair).collect();
    all.sort_by(|a, b| b.score.total_cmp(&a.score));
    let far = 0.04 * soft.width.max(soft.height) as f64;
    let mut kept: Vec<Quad> = Vec::new();
    for quad in all {
        let like = |k: &Quad| k.corners.iter().zip(quad.corners).all(|(a, b)| a.distance(b) < far);
        if kept.len() < MOST && !kept.iter().any(like) {
            kept.push(quad);
        }
    }
    kept
}

/// Edges that face one another: brighter between them, or darker.
fn facing(lines: &[Line]) -> Vec<(Line, Line)> {
    let least = libm::cos(LEAN.to_radians());
    let mut pairs = Vec::new();
    for (i, a) in lines.iter().enumerate() {
        for b in lines.iter().skip(i + 1) {
            let along = a.normal.x * b.normal.x + a.normal.y * b.normal.y;
            if along <= -least {
                pairs.push((*a, *b));
            }
        }
    }
    pairs
}

fn rated(soft: &Soft, sides: [Line; 4]) -> Option<Quad> {
    let [a, b, c, d] = sides;
    let steep = (a.normal.x * b.normal.x + a.normal.y * b.normal.y).abs();
    if steep > libm::cos(NARROW.to_radians()) {
        return None;
    }
    let middle = soft.middle();
    let corners = [crossing(a, b)?, crossing(b, c)?, crossing(c, d)?, crossing(d, a)?]
        .map(|p| Point::new(p.x + middle.x, p.y + middle.y));
    let (w, h) = (soft.width as f64, soft.height as f64);
    let out = OUTSIDE * w.max(h);
    let held = |p: &Point| (-out..=w + out).contains(&p.x) && (-out..=h + out).contains(&p.y);
    if !corners.iter().all(held) {
        return None;
    }
    let corners = clockwise(corners)?;
    let share = area(&corners) / (w * h);
    if share < LEAST_SHARE || !is_wide(&corners) {
        return None;
    }
    let inside = Point::new(
        corners.iter().map(|p| p.x).sum::<f64>() / 4.0 - middle.x,
        corners.iter().map(|p| p.y).sum::<f64>() / 4.0 - middle.y,
    );
    // The bright sides of all four edges face inwards, or of none.
    let brighter = |l: &Line| l.normal.x * inside.x + l.normal.y * inside.y > l.distance;
    let is_brighter = brighter(&a);
    if !sides.iter().all(|l| brighter(l) == is_brighter) {
        return None;
    }
    let sign = if is_brighter { 1.0 } else { -1.0 };
    let sides = (0..4).filter_map(|i| Some((*corners.get(i)?, *corners.get((i + 1) % 4)?)));
    let clear: Vec<f64> = sides.map(|(p, q)| clearness(soft, p, q, sign)).collect();
    let (mean, worst) = (clear.iter().sum::<f64>() / 4.0, clear.iter().copied().fold(1.0, f64::min));
    let is_clear = mean >= LEAST_CLEAR.0 && worst >= LEAST_CLEAR.1;
    // Paper is brighter than most tables, and what is drawn on it lies inside it.
    let usual = if is_brighter { 1.0 } else { 0.75 };
    let score = usual * (0.5 * mean + 0.5 * worst) * libm::pow(share, 0.3);
    is_clear.then_some(Quad { corners, is_brighter, clear: mean, score })
}

/// How well the inside is told from the outside along a side, less where the edge goes on beyond its corners.
fn clearness(soft: &Soft, from: Point, to: Point, sign: f64) -> f64 {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let length = libm::hypot(dx, dy).max(1e-9);
    // Corners run clockwise, so the inside lies to the right as one walks, which is this way with y down.
    let inwards = Point::new(-dy / length, dx / length);
    let at = |t: f64, off: f64| {
        soft.at(Point::new(from.x + t * dx + off * inwards.x, from.y + t * dy + off * inwards.y))
    };
    let step = |t: f64| -> Option<f64> {
        let mut sum = 0.0;
        for off in BESIDE {
            sum += at(t, off)? - at(t, -off)?;
        }
        let step = sign * sum / BESIDE.len() as f64;
        Some(step / (step.abs() + HALF_CLEAR))
    };
    let places = (0..ALONG).map(|i| 0.03 + 0.94 * (i as f64 + 0.5) / ALONG as f64);
    let clear = places.map(|t| step(t).unwrap_or(0.0)).sum::<f64>() / ALONG as f64;
    let beyond = [-0.14, -0.11, -0.08, 1.08, 1.11, 1.14];
    let goes_on = beyond.iter().map(|t| step(*t).unwrap_or(0.0).max(0.0)).sum::<f64>() / beyond.len() as f64;
    clear - 0.4 * goes_on
}

/// Where two edges cross, from the picture's middle.
fn crossing(a: Line, b: Line) -> Option<Point> {
    let det = a.normal.x * b.normal.y - a.normal.y * b.normal.x;
    let x = (a.distance * b.normal.y - b.distance * a.normal.y) / det;
    let y = (b.distance * a.normal.x - a.distance * b.normal.x) / det;
    (x.is_finite() && y.is_finite()).then(|| Point::new(x, y))
}

/// The corners clockwise as seen, from the one nearest to the top left.
pub(super) fn clockwise(mut corners: [Point; 4]) -> Option<[Point; 4]> {
    if doubled(&corners) < 0.0 {
        corners.reverse();
    }
    let first = (0..4).min_by(|i, j| {
        let sum = |i: &usize| corners.get(*i).map_or(f64::INFINITY, |p| p.x + p.y);
        sum(i).total_cmp(&sum(j))
    })?;
    corners.rotate_left(first);
    Some(corners)
}

fn doubled(corners: &[Point; 4]) -> f64 {
    let [a, b, c, d] = corners;
    (c.x - a.x) * (d.y - b.y) - (c.y - a.y) * (d.x - b.x)
}

pub(super) fn area(corners: &[Point; 4]) -> f64 {
    doubled(corners).abs() / 2.0
}

/// Whether every corner turns the same way and is wide enough.
fn is_wide(corners: &[Point; 4]) -> bool {
    let least = libm::sin(NARROW.to_radians());
    (0..4).all(|i| {
        let at = |k: usize| corners.get((i + k) % 4).copied().unwrap_or_default();
        let (p, q, r) = (at(0), at(1), at(2));
        let (a, b) = (Point::new(q.x - p.x, q.y - p.y), Point::new(r.x - q.x, r.y - q.y));
        let lengths = libm::hypot(a.x, a.y) * libm::hypot(b.x, b.y);
        a.x * b.y - a.y * b.x >= least * lengths && lengths > 100.0
    })
}
