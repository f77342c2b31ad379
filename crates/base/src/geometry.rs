//! Points, rectangles and affine maps of the plane. Maps are named
//! `to_from_from`: `sheet_from_layer * point_in_layer` is a point on the sheet.

use serde::{Deserialize, Serialize};

/// A point or a vector of the plane; the space it lives in is said by its name.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Downwards.
    pub y: f64,
}

impl Point {
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    pub fn distance(self, other: Self) -> f64 {
        libm::hypot(self.x - other.x, self.y - other.y)
    }
}

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width, not negative.
    pub width: f64,
    /// Height, not negative.
    pub height: f64,
}

impl Rect {
    pub fn centre(self) -> Point {
        Point::new(self.x + self.width / 2.0, self.y + self.height / 2.0)
    }

    /// Whether a point lies inside or on the edge.
    pub fn contains(self, p: Point) -> bool {
        (self.x..=self.x + self.width).contains(&p.x) && (self.y..=self.y + self.height).contains(&p.y)
    }
}

/// An affine map: `(x, y) -> (a x + c y + e, b x + d y + f)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Affine {
    /// x to x.
    pub a: f64,
    /// x to y.
    pub b: f64,
    /// y to x.
    pub c: f64,
    /// y to y.
    pub d: f64,
    /// Shift in x.
    pub e: f64,
    /// Shift in y.
    pub f: f64,
}

impl Affine {
    /// The map that changes nothing.
    pub const IDENTITY: Self = Self { a: 1.0, b: 0.0, c: 0.0, d: 1.0, e: 0.0, f: 0.0 };

    pub fn shift(x: f64, y: f64) -> Self {
        Self { e: x, f: y, ..Self::IDENTITY }
    }

    /// A scaling about the origin.
    pub fn scale(x: f64, y: f64) -> Self {
        Self { a: x, d: y, ..Self::IDENTITY }
    }

    /// A turn about the origin, clockwise on a page (y runs down). Quarter turns are exact.
    pub fn turn(degrees: f64) -> Self {
        let quarters = degrees / 90.0;
        let (sin, cos) = if (quarters - libm::round(quarters)).abs() < 1e-12 {
            match libm::round(quarters).rem_euclid(4.0) as u8 {
                0 => (0.0, 1.0),
                1 => (1.0, 0.0),
                2 => (0.0, -1.0),
                _ => (-1.0, 0.0),
            }
        } else {
            libm::sincos(degrees.to_radians())
        };
        Self { a: cos, b: sin, c: -sin, d: cos, e: 0.0, f: 0.0 }
    }

    /// A turn about a point, clockwise on a page.
    pub fn turn_about(degrees: f64, centre: Point) -> Self {
        Self::shift(centre.x, centre.y) * Self::turn(degrees) * Self::shift(-centre.x, -centre.y)
    }

    /// The map that undoes this one; `None` when it flattens the plane.
    pub fn inverse(self) -> Option<Self> {
        let det = self.a * self.d - self.b * self.c;
        if !det.is_finite() || det.abs() < 1e-18 {
            return None;
        }
        let (a, b, c, d) = (self.d / det, -self.b / det, -self.c / det, self.a / det);
        Some(Self { a, b, c, d, e: -(a * self.e + c * self.f), f: -(b * self.e + d * self.f) })
    }

    /// How much lengths grow, as the square root of the growth of areas.
    pub fn growth(self) -> f64 {
        libm::sqrt((self.a * self.d - self.b * self.c).abs())
    }

    /// A direction carried over, without the shift.
    pub fn vector(self, v: Point) -> Point {
        Point::new(self.a * v.x + self.c * v.y, self.b * v.x + self.d * v.y)
    }

    /// The smallest upright rectangle that holds the image of a rectangle.
    pub fn bounds(self, r: Rect) -> Rect {
        let corners = [
            self * Point::new(r.x, r.y),
            self * Point::new(r.x + r.width, r.y),
            self * Point::new(r.x, r.y + r.height),
            self * Point::new(r.x + r.width, r.y + r.height),
        ];
        let fold = |pick: fn(&Point) -> f64, best: fn(f64, f64) -> f64, start: f64| {
            corners.iter().map(pick).fold(start, best)
        };
        let (x0, x1) = (fold(|p| p.x, f64::min, f64::INFINITY), fold(|p| p.x, f64::max, f64::NEG_INFINITY));
        let (y0, y1) = (fold(|p| p.y, f64::min, f64::INFINITY), fold(|p| p.y, f64::max, f64::NEG_INFINITY));
        Rect { x: x0, y: y0, width: x1 - x0, height: y1 - y0 }
    }
}

impl std::ops::Mul for Affine {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self {
            a: self.a * o.a + self.c * o.b,
            b: self.b * o.a + self.d * o.b,
            c: self.a * o.c + self.c * o.d,
            d: self.b * o.c + self.d * o.d,
            e: self.a * o.e + self.c * o.f + self.e,
            f: self.b * o.e + self.d * o.f + self.f,
        }
    }
}

impl std::ops::Mul<Point> for Affine {
    type Output = Point;
    fn mul(self, p: Point) -> Point {
        Point::new(self.a * p.x + self.c * p.y + self.e, self.b * p.x + self.d * p.y + self.f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: Point, b: Point) {
        assert!(a.distance(b) < 1e-9, "{a:?} is not {b:?}");
    }

    #[test]
    fn a_quarter_turn_is_clockwise_and_exact() {
        assert_eq!(Affine::turn(90.0) * Point::new(1.0, 0.0), Point::new(0.0, 1.0));
        assert_eq!(Affine::turn(-90.0) * Point::new(1.0, 0.0), Point::new(0.0, -1.0));
        assert_eq!(Affine::turn(180.0) * Point::new(1.0, 2.0), Point::new(-1.0, -2.0));
    }

    #[test]
    fn an_inverse_undoes() {
        let m = Affine::shift(3.0, -2.0) * Affine::turn(33.0) * Affine::scale(2.0, 0.5);
        let p = Point::new(7.0, 11.0);
        near(m.inverse().unwrap() * (m * p), p);
        assert!(Affine::scale(0.0, 1.0).inverse().is_none());
    }

    #[test]
    fn turning_about_a_point_leaves_it() {
        let c = Point::new(5.0, 6.0);
        near(Affine::turn_about(12.5, c) * c, c);
    }
}
