//! Small linear systems, and the projective map that they give from four pairs of points.

use crate::geometry::Point;

/// Solves `a x = b` by elimination with row exchange; `None` where the system is singular.
pub(crate) fn solve<const N: usize>(mut a: [[f64; N]; N], mut b: [f64; N]) -> Option<[f64; N]> {
    for col in 0..N {
        let best = (col..N).max_by(|i, j| a[*i][col].abs().total_cmp(&a[*j][col].abs()))?;
        if a[best][col].abs() < 1e-12 {
            return None;
        }
        a.swap(col, best);
        b.swap(col, best);
        let pivot = a[col];
        for row in col + 1..N {
            let share = a[row][col] / pivot[col];
            for (v, p) in a[row].iter_mut().zip(pivot).skip(col) {
                *v -= share * p;
            }
            b[row] -= share * b[col];
        }
    }
    let mut x = [0.0; N];
    for row in (0..N).rev() {
        let known: f64 = (row + 1..N).map(|c| a[row][c] * x[c]).sum();
        x[row] = (b[row] - known) / a[row][row];
    }
    Some(x)
}

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

    /// Where a point goes.
    pub fn apply(&self, p: Point) -> Point {
        let [a, b, c, d, e, f, g, h] = self.0;
        let w = g * p.x + h * p.y + 1.0;
        Point::new((a * p.x + b * p.y + c) / w, (d * p.x + e * p.y + f) / w)
    }
}
