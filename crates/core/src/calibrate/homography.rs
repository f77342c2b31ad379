//! The projective map that four pairs of points give.

use slipsheet_base::linear::solve;

use crate::geometry::Point;

/// A projective map of the plane: `(a x + b y + c, d x + e y + f) / (g x + h y + 1)`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Homography([f64; 8]);

impl Homography {
    /// The map that takes each of four points to its partner; `None` where three lie on a line.
    pub fn through(from: [Point; 4], to: [Point; 4]) -> Option<Self> {
        let (mut a, mut b) = ([[0.0; 8]; 8], [0.0; 8]);
        for (i, (p, q)) in from.into_iter().zip(to).enumerate() {
            a[2 * i] = [p.x, p.y, 1.0, 0.0, 0.0, 0.0, -p.x * q.x, -p.y * q.x];
            a[2 * i + 1] = [0.0, 0.0, 0.0, p.x, p.y, 1.0, -p.x * q.y, -p.y * q.y];
            (b[2 * i], b[2 * i + 1]) = (q.x, q.y);
        }
        solve(a, b).map(Self)
    }

    pub fn apply(&self, p: Point) -> Point {
        let [a, b, c, d, e, f, g, h] = self.0;
        let w = g * p.x + h * p.y + 1.0;
        Point::new((a * p.x + b * p.y + c) / w, (d * p.x + e * p.y + f) / w)
    }
}
