//! What a camera does to a flat sheet: a projective map of the plane, a lens that bends straight lines, and the
//! picture made flat again. Maps are named `to_from_from`, as those of [`crate::geometry`].

mod flatten;
mod lens;

pub use flatten::Flatten;
pub use lens::Lens;

use crate::geometry::{Affine, Point};
use crate::linear::solve;

/// Rounds of the adjustment in [`Homography::of_pairs`]; it settles in a handful.
const ROUNDS: usize = 30;
/// A triangle of less than this share of the square about its points is a line.
const FLAT: f64 = 1e-9;

/// A map of the plane that keeps straight lines straight, as a camera without a bending lens sees a sheet.
///
/// `(x, y)` goes to `(u / w, v / w)`, where `(u, v, w)` is the matrix times `(x, y, 1)`. The scale of the matrix
/// is of no consequence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homography {
    /// The matrix, row by row.
    pub rows: [[f64; 3]; 3],
}

impl From<Affine> for Homography {
    fn from(m: Affine) -> Self {
        Self { rows: [[m.a, m.c, m.e], [m.b, m.d, m.f], [0.0, 0.0, 1.0]] }
    }
}

impl Homography {
    /// The map that changes nothing.
    pub const IDENTITY: Self = Self { rows: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] };

    /// The one map that carries four points onto four others, pair by pair.
    ///
    /// `None` where three of either four lie on a line. Both fours are compared with the basis of the projective
    /// plane, as in Heckbert, "Fundamentals of Texture Mapping and Image Warping", 1989.
    pub fn of_corners(from: [Point; 4], to: [Point; 4]) -> Option<Self> {
        let (to_from_basis, from_from_basis) = (of_basis(to)?, of_basis(from)?);
        Some((to_from_basis * from_from_basis.inverse()?).scaled()).filter(|m| m.is_finite())
    }

    /// The map with the least sum of squared distances between where it puts each first point and its second.
    ///
    /// A linear solution on points brought to a common size (Hartley, "In Defense of the Eight-Point Algorithm",
    /// 1997) is adjusted by Gauss and Newton's rounds, damped after Levenberg and Marquardt. `None` for fewer than
    /// four pairs, for points that do not fix a map, and where the map would put some of them behind the camera.
    pub fn of_pairs(pairs: &[(Point, Point)]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let from_size = to_common_size(pairs.iter().map(|p| p.0))?;
        let to_size = to_common_size(pairs.iter().map(|p| p.1))?;
        let common: Vec<(Point, Point)> = pairs.iter().map(|(p, q)| (from_size * *p, to_size * *q)).collect();
        let linear = linear(&common)?;
        let adjusted = adjusted(linear, &common);
        let map = Self::from(to_size.inverse()?) * adjusted * Self::from(from_size);
        let sides = common.iter().map(|(p, _)| adjusted.depth(*p));
        let whole = adjusted.determinant().abs() > FLAT && sides.clone().all(|w| w > 0.0);
        Some(map.scaled()).filter(|m| whole && m.is_finite())
    }

    /// The map that undoes this one; `None` when it flattens the plane.
    pub fn inverse(self) -> Option<Self> {
        let det = self.determinant();
        let largest = self.rows.iter().flatten().fold(0.0_f64, |most, v| most.max(v.abs()));
        // So written that what is not a number ends it too.
        let sound = det.abs() > 1e-18 * largest * largest * largest;
        if !sound || !det.is_finite() {
            return None;
        }
        let [[a, b, c], [d, e, f], [g, h, i]] = self.rows;
        let rows = [
            [e * i - f * h, c * h - b * i, b * f - c * e],
            [f * g - d * i, a * i - c * g, c * d - a * f],
            [d * h - e * g, b * g - a * h, a * e - b * d],
        ];
        Some(Self { rows: rows.map(|row| row.map(|v| v / det)) })
    }

    /// What a point's place is divided by. It changes its sign at the map's horizon, where no point has a place.
    #[inline]
    pub fn depth(self, p: Point) -> f64 {
        let [_, _, [g, h, i]] = self.rows;
        g * p.x + h * p.y + i
    }

    /// The affine map that comes nearest around a point: how lengths and directions change there.
    pub fn near(self, p: Point) -> Affine {
        let [[a, b, _], [d, e, _], [g, h, _]] = self.rows;
        let (w, q) = (self.depth(p), self * p);
        let linear = Affine {
            a: (a - q.x * g) / w,
            b: (d - q.y * g) / w,
            c: (b - q.x * h) / w,
            d: (e - q.y * h) / w,
            e: 0.0,
            f: 0.0,
        };
        Affine::shift(q.x, q.y) * linear * Affine::shift(-p.x, -p.y)
    }

    fn determinant(self) -> f64 {
        let [[a, b, c], [d, e, f], [g, h, i]] = self.rows;
        a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    }

    fn is_finite(&self) -> bool {
        self.rows.iter().flatten().all(|v| v.is_finite())
    }

    /// The same map with 1 as the matrix's last number, or as it is where that is nothing against the others.
    fn scaled(self) -> Self {
        let [_, _, [_, _, last]] = self.rows;
        let scaled = Self { rows: self.rows.map(|row| row.map(|v| v / last)) };
        if scaled.is_finite() { scaled } else { self }
    }
}

impl std::ops::Mul<Point> for Homography {
    type Output = Point;

    /// On the horizon the result is not finite.
    #[inline]
    fn mul(self, p: Point) -> Point {
        let [[a, b, c], [d, e, f], _] = self.rows;
        let w = self.depth(p);
        Point::new((a * p.x + b * p.y + c) / w, (d * p.x + e * p.y + f) / w)
    }
}

impl std::ops::Mul for Homography {
    type Output = Self;

    fn mul(self, o: Self) -> Self {
        let [p, q, r] = o.rows;
        let row = |[a, b, c]: [f64; 3]| {
            let mut out = [0.0; 3];
            for (((out, p), q), r) in out.iter_mut().zip(p).zip(q).zip(r) {
                *out = a * p + b * q + c * r;
            }
            out
        };
        Self { rows: self.rows.map(row) }
    }
}

/// The map that carries the unit points of the three axes and (1, 1, 1) onto four points.
fn of_basis([p, q, r, s]: [Point; 4]) -> Option<Homography> {
    let twice = |a: Point, b: Point, c: Point| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
    let (all, areas) = (twice(p, q, r), [twice(s, q, r), twice(p, s, r), twice(p, q, s)]);
    let size = [q, r, s].iter().map(|o| p.distance(*o)).fold(0.0, f64::max);
    let sound = |area: &f64| area.abs() > FLAT * size * size;
    if !sound(&all) || !areas.iter().all(sound) {
        return None;
    }
    let [a, b, c] = areas.map(|area| area / all);
    Some(Homography { rows: [[a * p.x, b * q.x, c * r.x], [a * p.y, b * q.y, c * r.y], [a, b, c]] })
}

/// Carries points to a mean of nothing and a mean distance of the root of 2 from it.
fn to_common_size(points: impl Iterator<Item = Point> + Clone) -> Option<Affine> {
    let n = points.clone().count() as f64;
    let (x, y) = points.clone().fold((0.0, 0.0), |(x, y), p| (x + p.x, y + p.y));
    let middle = Point::new(x / n, y / n);
    let mean = points.map(|p| p.distance(middle)).sum::<f64>() / n;
    let scale = std::f64::consts::SQRT_2 / mean;
    let sound = scale.is_finite() && middle.x.is_finite() && middle.y.is_finite();
    sound.then(|| Affine::scale(scale, scale) * Affine::shift(-middle.x, -middle.y))
}

/// The linear solution. The mean of the first points lies at the origin, and no camera that sees them all sends
/// it to infinity, so the last number of the matrix can be set to 1.
fn linear(pairs: &[(Point, Point)]) -> Option<Homography> {
    let (mut a, mut b) = ([[0.0; 8]; 8], [0.0; 8]);
    for (p, q) in pairs {
        add(&mut a, &mut b, [p.x, p.y, 1.0, 0.0, 0.0, 0.0, -q.x * p.x, -q.x * p.y], q.x);
        add(&mut a, &mut b, [0.0, 0.0, 0.0, p.x, p.y, 1.0, -q.y * p.x, -q.y * p.y], q.y);
    }
    solve(a, b).map(of_eight)
}

/// Adds one equation, `row` times the unknowns is `right`, to normal equations.
fn add(a: &mut [[f64; 8]; 8], b: &mut [f64; 8], row: [f64; 8], right: f64) {
    for ((line, sum), v) in a.iter_mut().zip(b).zip(row) {
        line.iter_mut().zip(row).for_each(|(cell, w)| *cell += v * w);
        *sum += v * right;
    }
}

fn of_eight([a, b, c, d, e, f, g, h]: [f64; 8]) -> Homography {
    Homography { rows: [[a, b, c], [d, e, f], [g, h, 1.0]] }
}

/// The map changed until the squared distances sum to the least.
fn adjusted(start: Homography, pairs: &[(Point, Point)]) -> Homography {
    let cost = |m: Homography| -> f64 {
        let square = |(p, q): &(Point, Point)| {
            let r = m * *p;
            (r.x - q.x) * (r.x - q.x) + (r.y - q.y) * (r.y - q.y)
        };
        pairs.iter().map(square).sum()
    };
    let (mut best, mut least, mut damping) = (start, cost(start), 0.0);
    for _ in 0..ROUNDS {
        let Some(next) = stepped(best, pairs, damping) else { break };
        let now = cost(next);
        if now < least {
            let settled = least - now <= 1e-15 * least;
            (best, least, damping) = (next, now, damping * 0.1);
            if settled {
                break;
            }
        } else if damping > 1.0 || least <= 1e-28 {
            break;
        } else {
            damping = f64::max(damping * 10.0, 1e-4);
        }
    }
    best
}

/// One round: the change that the distances' slopes ask for.
fn stepped(map: Homography, pairs: &[(Point, Point)], damping: f64) -> Option<Homography> {
    let (mut a, mut b) = ([[0.0; 8]; 8], [0.0; 8]);
    for (p, q) in pairs {
        let (w, r) = (map.depth(*p), map * *p);
        let (x, y, one) = (p.x / w, p.y / w, 1.0 / w);
        add(&mut a, &mut b, [x, y, one, 0.0, 0.0, 0.0, -r.x * x, -r.x * y], q.x - r.x);
        add(&mut a, &mut b, [0.0, 0.0, 0.0, x, y, one, -r.y * x, -r.y * y], q.y - r.y);
    }
    for (i, line) in a.iter_mut().enumerate() {
        if let Some(own) = line.get_mut(i) {
            *own *= 1.0 + damping;
        }
    }
    let [da, db, dc, dd, de, df, dg, dh] = solve(a, b)?;
    let [[a, b, c], [d, e, f], [g, h, _]] = map.rows;
    Some(of_eight([a + da, b + db, c + dc, d + dd, e + de, f + df, g + dg, h + dh]))
}

#[cfg(test)]
mod tests;
