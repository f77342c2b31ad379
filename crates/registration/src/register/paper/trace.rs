//! The paper's edges followed to a fraction of a pixel, and the lens that makes them straight.

use super::Paper;
use super::edges::Soft;
use super::quad::{Quad, clockwise};
use crate::register::perspective::least;
use slipsheet_base::linear;
use slipsheet_base::projective::Lens;
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;

/// Places along a side where the edge is looked for.
const PLACES: usize = 96;
/// How far from the first guess the edge may lie, in pixels of the small picture.
const SMALL_REACH: f64 = 7.0;
/// A side of which fewer places than this agree is not followed.
const LEAST_AGREEING: usize = 40;
/// A lens is believed when it takes the squares of what is left of straight edges below this share.
const LENS_GAIN: f64 = 0.5;
/// The strongest lens looked for, either way.
const MOST_BEND: f64 = 0.12;

/// A guess at a side as a parabola over the line between two corners: how far inwards it lies, in pixels.
#[derive(Clone, Copy)]
struct Side {
    from: Point,
    to: Point,
    /// At `t` along the line, 0..=1, the edge lies `bow[0] + bow[1] t + bow[2] t²` inwards.
    bow: [f64; 3],
}

impl Side {
    fn inwards(&self) -> Point {
        let (dx, dy) = (self.to.x - self.from.x, self.to.y - self.from.y);
        let length = libm::hypot(dx, dy).max(1e-9);
        Point::new(-dy / length, dx / length)
    }

    fn off(&self, t: f64) -> f64 {
        let [a, b, c] = self.bow;
        a + t * (b + t * c)
    }

    fn at(&self, t: f64, off: f64) -> Point {
        let (n, off) = (self.inwards(), off + self.off(t));
        Point::new(
            self.from.x + t * (self.to.x - self.from.x) + off * n.x,
            self.from.y + t * (self.to.y - self.from.y) + off * n.y,
        )
    }

    fn grown(self, by: f64) -> Self {
        let large = |p: Point| Point::new(p.x * by, p.y * by);
        Self { from: large(self.from), to: large(self.to), bow: self.bow.map(|v| v * by) }
    }
}

/// The paper that a quadrilateral of the small picture stands for, in the full one; `None` where a side cannot be
/// followed.
pub(super) fn followed(raster: &GrayRaster, soft: &Soft, shrink: f64, quad: &Quad) -> Option<Paper> {
    let sign = if quad.is_brighter { 1.0 } else { -1.0 };
    let mut sides = Vec::with_capacity(4);
    for (from, to) in quad.corners.iter().zip(quad.corners.iter().cycle().skip(1)) {
        let first = Side { from: *from, to: *to, bow: [0.0; 3] };
        // In the small picture a step of one pixel either way is the edge.
        let small = offsets(&first, SMALL_REACH, 0.5, |p, n| {
            let (far, near) =
                (Point::new(p.x + 1.5 * n.x, p.y + 1.5 * n.y), Point::new(p.x - 1.5 * n.x, p.y - 1.5 * n.y));
            Some(sign * (soft.at(far)? - soft.at(near)?))
        });
        let side = bowed(first, &small, 1.0)?.0.grown(shrink);
        let fine = offsets(&side, 1.6 * shrink + 3.0, 0.5, |p, n| slope(raster, p, n).map(|s| sign * s));
        let (side, agreeing) = bowed(side, &fine, 0.25 * shrink.min(8.0) + 0.75)?;
        if agreeing.len() < LEAST_AGREEING {
            return None;
        }
        sides.push(agreeing.iter().map(|(t, off)| side.at(*t, *off)).collect::<Vec<Point>>());
    }
    straightened(raster, &sides, quad.clear)
}

/// How fast the gray rises along a normal in the full picture, over a short stretch of the edge.
fn slope(raster: &GrayRaster, p: Point, n: Point) -> Option<f64> {
    let mut sum = 0.0;
    for along in [-3.0, -1.5, 0.0, 1.5, 3.0] {
        for (across, weight) in [(0.8, 1.0), (1.8, 0.7), (2.8, 0.3)] {
            let at = |across: f64| {
                raster.between(Point::new(p.x - along * n.y + across * n.x, p.y + along * n.x + across * n.y))
            };
            sum += weight * (at(across)? - at(-across)?);
        }
    }
    Some(sum)
}

/// Where across a side, at places along it, the gray rises fastest: `(t, off)`.
fn offsets(
    side: &Side,
    reach: f64,
    step: f64,
    rise: impl Fn(Point, Point) -> Option<f64>,
) -> Vec<(f64, f64)> {
    let n = side.inwards();
    let count = libm::ceil(reach / step) as i32;
    let place = |i: usize| {
        let t = 0.02 + 0.96 * (i as f64 + 0.5) / PLACES as f64;
        let at = |j: i32| rise(side.at(t, f64::from(j) * step), n);
        let (j, best) = (-count..=count)
            .filter_map(|j| Some((j, at(j)?)))
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
            .filter(|(_, best)| *best > 0.0)?;
        // A parabola through the highest and its neighbours.
        let (Some(before), Some(after)) = (at(j - 1), at(j + 1)) else {
            return Some((t, f64::from(j) * step));
        };
        let curve = before - 2.0 * best + after;
        let part = if curve < 0.0 { ((before - after) / (2.0 * curve)).clamp(-0.5, 0.5) } else { 0.0 };
        Some((t, (f64::from(j) + part) * step))
    };
    (0..PLACES).filter_map(place).collect()
}

/// The side with the parabola that most places agree with to within `near` pixels, and those places, their offsets
/// counted from it (Fischler and Bolles 1981, with an even choice of threes instead of a random one).
fn bowed(side: Side, places: &[(f64, f64)], near: f64) -> Option<(Side, Vec<(f64, f64)>)> {
    if places.len() < LEAST_AGREEING {
        return None;
    }
    let agreeing = |bow: [f64; 3]| {
        let curve = Side { bow, ..side };
        places.iter().filter(move |(t, off)| (off - curve.off(*t)).abs() <= near)
    };
    // A third of the places is far enough from the next third to tell a bow from its chance errors.
    let third = places.len() / 3;
    let mut best: Option<(usize, [f64; 3])> = None;
    for i in 0..third {
        for (skip, jump) in [(0, 0), (7, 13), (17, 5)] {
            let three = [i, third + (i + skip) % third, 2 * third + (i + jump) % third];
            let three: Vec<(f64, f64)> = three.iter().filter_map(|i| places.get(*i).copied()).collect();
            let Some(bow) = parabola(&three) else { continue };
            let count = agreeing(bow).count();
            if best.is_none_or(|(most, _)| count > most) {
                best = Some((count, bow));
            }
        }
    }
    let (_, mut bow) = best?;
    for _ in 0..3 {
        let kept: Vec<(f64, f64)> = agreeing(bow).copied().collect();
        bow = parabola(&kept)?;
    }
    let [a, b, c] = side.bow;
    let [da, db, dc] = bow;
    let kept = agreeing(bow).map(|(t, off)| (*t, off - (da + t * (db + t * dc)))).collect();
    Some((Side { bow: [a + da, b + db, c + dc], ..side }, kept))
}

/// The parabola with the least squared distances.
fn parabola(places: &[(f64, f64)]) -> Option<[f64; 3]> {
    let (mut a, mut b) = ([[0.0; 3]; 3], [0.0; 3]);
    for (t, off) in places {
        let row = [1.0, *t, t * t];
        for ((line, sum), v) in a.iter_mut().zip(&mut b).zip(row) {
            line.iter_mut().zip(row).for_each(|(cell, w)| *cell += v * w);
            *sum += v * off;
        }
    }
    linear::solve(a, b)
}

/// The straight lines that the sides are without their lens, and where they meet.
fn straightened(raster: &GrayRaster, sides: &[Vec<Point>], clear: f64) -> Option<Paper> {
    let lens = Lens::of_photo(raster.width(), raster.height(), 0.0);
    let left = |k: f64| -> f64 {
        sides.iter().filter_map(|side| line(side, Lens { k, ..lens })).map(|l| l.squares).sum()
    };
    let k = least(MOST_BEND, left);
    let lens = if left(k) < LENS_GAIN * left(0.0) { Lens { k, ..lens } } else { lens };
    let lines: Vec<Straight> = sides.iter().filter_map(|side| line(side, lens)).collect();
    let [a, b, c, d] = lines.as_slice() else { return None };
    // The first side runs from the first corner to the second, so the last and the first meet in the first.
    let corners = [meet(d, a)?, meet(a, b)?, meet(b, c)?, meet(c, d)?];
    Some(Paper { corners: clockwise(corners)?, lens, clear })
}

/// A line through a point.
struct Straight {
    through: Point,
    along: Point,
    /// Sum of the squared distances of the points from it.
    squares: f64,
}

/// The line with the least squared distances, square to it, from points without their lens (Pearson 1901).
fn line(points: &[Point], lens: Lens) -> Option<Straight> {
    let n = points.len() as f64;
    let ideal = || points.iter().map(|p| lens.undistort(*p));
    let (x, y) = ideal().fold((0.0, 0.0), |(x, y), p| (x + p.x, y + p.y));
    let through = Point::new(x / n, y / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in ideal() {
        let (dx, dy) = (p.x - through.x, p.y - through.y);
        (xx, xy, yy) = (xx + dx * dx, xy + dx * dy, yy + dy * dy);
    }
    let angle = 0.5 * libm::atan2(2.0 * xy, xx - yy);
    let (sin, cos) = libm::sincos(angle);
    let squares = sin * sin * xx - 2.0 * sin * cos * xy + cos * cos * yy;
    squares.is_finite().then_some(Straight { through, along: Point::new(cos, sin), squares })
}

fn meet(a: &Straight, b: &Straight) -> Option<Point> {
    let det = a.along.x * b.along.y - a.along.y * b.along.x;
    let (dx, dy) = (b.through.x - a.through.x, b.through.y - a.through.y);
    let t = (dx * b.along.y - dy * b.along.x) / det;
    t.is_finite().then(|| Point::new(a.through.x + t * a.along.x, a.through.y + t * a.along.y))
}
