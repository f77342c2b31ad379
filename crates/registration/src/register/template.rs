//! How well a patch of a scan looks like a mark. Every stroke of the mark is a template of its own, and the
//! weakest stroke counts: a long straight line looks much like a cross, but two of a cross's arms are missing.

use super::shape::{MarkKind, Stroke, darkness};
use slipsheet_core::geometry::Point;

/// A stroke may be this much weaker than the others before it counts against the mark.
const SLACK: f64 = 1.25;

/// What a kind of mark at a given size is looked for with.
pub(super) fn strokes(kind: MarkKind, size: f64) -> Vec<Stroke> {
    match kind {
        // Arms may be longer than the window; they never end inside it.
        MarkKind::Cross => kind.strokes(1.5 * size),
        MarkKind::CrossedCircle | MarkKind::CornerTicks(_) | MarkKind::Arrow(_) => kind.strokes(size),
    }
}

/// Half a side of the square in mm that a mark of this size is looked for in.
pub(super) fn reach(kind: MarkKind, size: f64) -> f64 {
    match kind {
        MarkKind::CrossedCircle => 1.6 * size + 0.3,
        MarkKind::CornerTicks(_) => size + 0.3,
        MarkKind::Cross | MarkKind::Arrow(_) => size,
    }
}

/// The sizes looked for. A cross's arms are only looked at near its middle, so one size does.
pub(super) fn sizes(kind: MarkKind) -> &'static [f64] {
    match kind {
        MarkKind::Cross => &[2.6],
        MarkKind::CrossedCircle => &[1.2, 1.45, 1.75, 2.1, 2.5, 3.0],
        MarkKind::CornerTicks(_) => &[4.0],
        MarkKind::Arrow(_) => &[3.0, 4.0, 5.5],
    }
}

/// One stroke as numbers over a patch, mean taken off: its product with a patch is a covariance.
#[derive(Debug, Clone)]
struct Part {
    norm: f64,
    /// Correlation of this stroke alone with the whole mark.
    ideal: f64,
}

/// How strokes over a patch relate to one another: from it, sums of products become a score.
#[derive(Debug, Clone)]
pub(super) struct Rating {
    parts: Vec<Part>,
    norm: f64,
    count: f64,
}

impl Rating {
    /// From each stroke's weights over the same patch; `None` when a stroke does not show in it.
    pub fn new(parts: &[Vec<f64>]) -> Option<Self> {
        let count = parts.first()?.len();
        let whole: Vec<f64> = (0..count).map(|i| parts.iter().filter_map(|p| p.get(i)).sum()).collect();
        let n = count as f64;
        let covariance = |a: &[f64], b: &[f64]| {
            let products: f64 = a.iter().zip(b).map(|(a, b)| a * b).sum();
            products - a.iter().sum::<f64>() * b.iter().sum::<f64>() / n
        };
        let norm = libm::sqrt(covariance(&whole, &whole));
        let part = |w: &Vec<f64>| {
            let own = libm::sqrt(covariance(w, w).max(0.0));
            (own > 1e-9 && norm > 1e-9)
                .then(|| Part { norm: own, ideal: covariance(w, &whole) / (own * norm) })
                .filter(|p| p.ideal > 0.02)
        };
        let parts = parts.iter().map(part).collect::<Option<Vec<_>>>()?;
        Some(Self { parts, norm, count: n })
    }

    /// The score, at most 1, from each stroke's covariance with the patch and the patch's own sum of squares
    /// about its mean. Differences of one gray level are noise.
    pub fn score(&self, covariances: impl Iterator<Item = f64> + Clone, squares: f64) -> f64 {
        let spread = libm::sqrt(squares.max(0.0) + self.count);
        let whole = covariances.clone().sum::<f64>() / (self.norm * spread);
        let weakest = covariances
            .zip(&self.parts)
            .map(|(c, p)| c / (p.norm * p.ideal * spread))
            .fold(f64::INFINITY, f64::min);
        whole.min(SLACK * weakest).clamp(0.0, 1.0)
    }
}

/// One pixel of a stroke: where it lies from the middle of the patch, and how dark it is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tap {
    pub dx: i32,
    pub dy: i32,
    pub weight: f32,
}

/// A mark on whole pixels, to be slid over a small copy of the scan.
#[derive(Debug, Clone)]
pub(super) struct Template {
    pub kind: MarkKind,
    pub size: f64,
    pub width: f64,
    /// Half a side of the patch, in pixels.
    pub reach: i32,
    /// For each stroke its pixels that are not white, and their sum.
    pub parts: Vec<(Vec<Tap>, f64)>,
    pub rating: Rating,
}

impl Template {
    pub fn new(kind: MarkKind, size: f64, width: f64, px_per_mm: f64) -> Option<Self> {
        let reach = libm::round(reach(kind, size) * px_per_mm).clamp(3.0, 64.0) as i32;
        let side = |r: i32| (-r..=r).flat_map(move |dy| (-r..=r).map(move |dx| (dx, dy)));
        let weights = |stroke: Stroke| -> Vec<f64> {
            let dark = |(dx, dy): (i32, i32)| {
                let p = Point::new(f64::from(dx) / px_per_mm, f64::from(dy) / px_per_mm);
                darkness(&[stroke], p, width, 1.4 / px_per_mm)
            };
            side(reach).map(dark).collect()
        };
        let dense: Vec<Vec<f64>> = strokes(kind, size).into_iter().map(weights).collect();
        let rating = Rating::new(&dense)?;
        let taps = |w: &Vec<f64>| {
            let taps: Vec<Tap> = side(reach)
                .zip(w)
                .filter(|(_, w)| **w > 0.0)
                .map(|((dx, dy), w)| Tap { dx, dy, weight: *w as f32 })
                .collect();
            (taps, w.iter().sum())
        };
        let parts = dense.iter().map(taps).collect();
        Some(Self { kind, size, width, reach, parts, rating })
    }
}
