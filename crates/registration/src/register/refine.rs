//! From about where a mark is to a fraction of a pixel: the mark's shape is fitted to the pixels around it by
//! least squares (Levenberg and Marquardt; pixels that do not belong to it count less, after Huber).

use super::shape::{MarkKind, Stroke, darkness};
use super::template::{Rating, reach, strokes};
use slipsheet_base::stats::median;
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;

/// How a mark lies in a raster.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pose {
    /// Its point, in pixels of that raster, corners at whole numbers.
    pub at: Point,
    /// Turn in radians, clockwise.
    pub turn: f64,
    /// Size in mm.
    pub size: f64,
    /// Line width in mm.
    pub width: f64,
}

const ROUNDS: usize = 10;
/// The most a mark is turned against the raster, in radians.
const MOST_TURN: f64 = 0.2;

/// The widest line of a mark against its size: anything wider is a blot. Half the radius of a crossed circle
/// still leaves four open quarters.
const MOST_WIDTH: f64 = 0.5;

struct Patch {
    /// Middles of pixels, in pixels from where the search began.
    at: Vec<Point>,
    dark: Vec<f64>,
    px_per_mm: f64,
    start: Pose,
    kind: MarkKind,
    /// Half a side in pixels: what makes a turn comparable to a shift.
    radius: f64,
}

/// The pose near `start` that fits best, and its score; `None` when the fit runs away or there is no mark.
pub(super) fn refine(
    raster: &GrayRaster,
    px_per_mm: f64,
    kind: MarkKind,
    start: Pose,
) -> Option<(Pose, f64)> {
    let patch = Patch::new(raster, px_per_mm, kind, start)?;
    // A cross's arms may end anywhere outside the patch.
    let free = if kind == MarkKind::Cross { 4 } else { 5 };
    let mut p = [0.0, 0.0, start.turn * patch.radius, start.width * px_per_mm, start.size * px_per_mm];
    for _ in 0..ROUNDS {
        let step = patch.step(&p, free)?;
        for (v, d) in p.iter_mut().zip(&step) {
            *v += d.clamp(-1.0, 1.0);
        }
        p[3] = p[3].clamp(0.4, MOST_WIDTH * p[4]);
        if step.iter().all(|d| d.abs() < 0.004) {
            break;
        }
    }
    let pose = patch.pose(&p);
    let moved = libm::hypot(p[0], p[1]);
    let grown = pose.size / start.size;
    let held = moved <= (0.9 * px_per_mm).max(3.0)
        && pose.turn.abs() <= MOST_TURN
        && (0.65..=1.5).contains(&grown)
        && pose.width < 0.98 * MOST_WIDTH * pose.size;
    if !held {
        return None;
    }
    let score = patch.score(&pose)?;
    Some((pose, score))
}

impl Patch {
    fn new(raster: &GrayRaster, px_per_mm: f64, kind: MarkKind, start: Pose) -> Option<Self> {
        let radius = reach(kind, start.size) * px_per_mm;
        let range = |c: f64, size: u32| {
            let low = libm::floor(c - radius).max(0.0) as u32;
            let high = libm::ceil(c + radius).clamp(0.0, f64::from(size)) as u32;
            low..high
        };
        let (xs, ys) = (range(start.at.x, raster.width()), range(start.at.y, raster.height()));
        // Half of a mark that the scan cuts off is not enough to go by.
        let enough = |len: usize| len as f64 >= 1.2 * radius;
        if !enough(xs.len()) || !enough(ys.len()) {
            return None;
        }
        let (mut at, mut dark) = (Vec::new(), Vec::new());
        for y in ys {
            let row = raster.row(y).get(xs.start as usize..xs.end as usize).unwrap_or(&[]);
            for (x, gray) in xs.clone().zip(row) {
                at.push(Point::new(f64::from(x) + 0.5 - start.at.x, f64::from(y) + 0.5 - start.at.y));
                dark.push(255.0 - f64::from(*gray));
            }
        }
        Some(Self { at, dark, px_per_mm, start, kind, radius })
    }

    fn pose(&self, p: &[f64; 5]) -> Pose {
        let at = Point::new(self.start.at.x + p[0], self.start.at.y + p[1]);
        let (width, size) = (p[3] / self.px_per_mm, p[4] / self.px_per_mm);
        Pose { at, turn: p[2] / self.radius, size, width }
    }

    /// The darkness of some strokes at every pixel of the patch.
    fn model(&self, pose: &Pose, strokes: &[Stroke]) -> Vec<f64> {
        let (sin, cos) = libm::sincos(-pose.turn);
        let (ox, oy) = (pose.at.x - self.start.at.x, pose.at.y - self.start.at.y);
        let soft = 1.15 / self.px_per_mm;
        let at = |p: &Point| {
            let (x, y) = ((p.x - ox) / self.px_per_mm, (p.y - oy) / self.px_per_mm);
            darkness(strokes, Point::new(cos * x - sin * y, sin * x + cos * y), pose.width, soft)
        };
        self.at.iter().map(at).collect()
    }

    fn whole(&self, p: &[f64; 5]) -> Vec<f64> {
        let pose = self.pose(p);
        self.model(&pose, &strokes(self.kind, pose.size))
    }

    /// The change of the parameters that one round asks for.
    fn step(&self, p: &[f64; 5], free: usize) -> Option<[f64; 5]> {
        let model = self.whole(p);
        let mut weights = vec![1.0; model.len()];
        let (mut ground, mut ink) = self.levels(&model, &weights)?;
        let residual = |ground: f64, ink: f64| -> Vec<f64> {
            self.dark.iter().zip(&model).map(|(d, m)| d - ground - ink * m).collect()
        };
        let mut left = residual(ground, ink);
        let grain = 1.4826 * median(left.iter().map(|r| r.abs()).collect());
        // The edges of strokes never fit quite and yet say the most: they are not to count less.
        let limit = (1.345 * grain).max(0.3 * ink.abs()).max(4.0);
        weights.iter_mut().zip(&left).for_each(|(w, r)| *w = (limit / r.abs().max(1e-9)).min(1.0));
        (ground, ink) = self.levels(&model, &weights)?;
        left = residual(ground, ink);
        if ink <= 0.0 {
            return None;
        }
        let slopes: Vec<Vec<f64>> = (0..free)
            .map(|i| {
                let (mut up, mut down) = (*p, *p);
                if let (Some(u), Some(d)) = (up.get_mut(i), down.get_mut(i)) {
                    (*u, *d) = (*u + 0.1, *d - 0.1);
                }
                let (up, down) = (self.whole(&up), self.whole(&down));
                up.iter().zip(&down).map(|(u, d)| ink * (u - d) / 0.2).collect()
            })
            .collect();
        let sum = |a: &[f64], b: &[f64]| -> f64 {
            a.iter().zip(b).zip(&weights).map(|((a, b), w)| a * b * w).sum()
        };
        let mut rows: Vec<Vec<f64>> = slopes
            .iter()
            .map(|a| slopes.iter().map(|b| sum(a, b)).chain([sum(a, &left)]).collect())
            .collect();
        for (i, row) in rows.iter_mut().enumerate() {
            if let Some(d) = row.get_mut(i) {
                *d = *d * 1.002 + 1e-6;
            }
        }
        let solved = slipsheet_base::linear::solve_rows(rows)?;
        let mut step = [0.0; 5];
        step.iter_mut().zip(solved).for_each(|(s, v)| *s = v);
        Some(step)
    }

    /// The darkness of the ground and of the ink on it that fit best, given where the mark is.
    fn levels(&self, model: &[f64], weights: &[f64]) -> Option<(f64, f64)> {
        let [mut n, mut m, mut mm, mut d, mut md] = [0.0; 5];
        for ((model, dark), w) in model.iter().zip(&self.dark).zip(weights) {
            n += w;
            m += w * model;
            mm += w * model * model;
            d += w * dark;
            md += w * model * dark;
        }
        let det = n * mm - m * m;
        (det > 1e-9 * n * n).then(|| ((mm * d - m * md) / det, (n * md - m * d) / det))
    }

    fn score(&self, pose: &Pose) -> Option<f64> {
        let parts: Vec<Vec<f64>> =
            strokes(self.kind, pose.size).iter().map(|s| self.model(pose, std::slice::from_ref(s))).collect();
        let rating = Rating::new(&parts)?;
        let n = self.dark.len() as f64;
        let mean = self.dark.iter().sum::<f64>() / n;
        let about: Vec<f64> = self.dark.iter().map(|d| d - mean).collect();
        let squares = about.iter().map(|d| d * d).sum();
        let covariances = parts.iter().map(|w| w.iter().zip(&about).map(|(w, d)| w * d).sum::<f64>());
        Some(rating.score(covariances, squares))
    }
}
