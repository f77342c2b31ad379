//! Finds the ringed corner marks of a calibration sheet in a scan.
//!
//! The scan is made smaller, each channel is taken relative to the paper, and the darkest of the three is
//! split at several levels; a mark is a ring with a dot at its own centre, whatever its size, so halftone
//! dots, patches and the scanner's lid are not taken for one.

use super::sheet::RING;
use super::{CalibrateError, ScanPixels};
use crate::geometry::Point;

/// Longest side of the picture that is searched, pixels.
const LONGEST: usize = 1400;
/// How far below the paper a pixel must lie to count as ink, tried in turn.
const LEVELS: [f64; 6] = [0.5, 0.35, 0.25, 0.17, 0.11, 0.07];
/// Side of a tile in which the paper is sought, pixels of the small picture.
const TILE: usize = 40;

/// A small picture: the darkest channel relative to the paper.
struct Small {
    width: usize,
    height: usize,
    shade: Vec<f32>,
    /// Full pixels to one small pixel.
    factor: usize,
}

/// A connected patch of ink.
#[derive(Clone, Copy, Default)]
struct Blob {
    area: f64,
    weight: f64,
    x: f64,
    y: f64,
    low: (usize, usize),
    high: (usize, usize),
}

/// The four marks as they lie in the scan, clockwise from the upper left, in pixels.
pub(super) fn find(scan: &ScanPixels<'_>) -> Result<[Point; 4], CalibrateError> {
    let small = Small::of(scan);
    let mut most = 0;
    for level in LEVELS {
        let marks = bullseyes(&blobs(&small, level));
        most = most.max(marks.len().min(3));
        if let Some(corners) = corners(&marks) {
            let f = small.factor as f64;
            return Ok(corners.map(|p| Point::new((p.x + 0.5) * f, (p.y + 0.5) * f)));
        }
    }
    Err(CalibrateError::Fiducials { found: most })
}

impl Small {
    fn of(scan: &ScanPixels<'_>) -> Self {
        let factor = scan.width.max(scan.height).div_ceil(LONGEST).max(1);
        let (width, height) = (scan.width / factor, scan.height / factor);
        let mut means = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let mut sum = [0_u32; 3];
                for row in y * factor..(y + 1) * factor {
                    let start = (row * scan.width + x * factor) * 3;
                    for px in scan.rgb.get(start..start + 3 * factor).unwrap_or_default().chunks_exact(3) {
                        for (s, v) in sum.iter_mut().zip(px) {
                            *s += u32::from(*v);
                        }
                    }
                }
                means.push(sum.map(|s| s as f32 / (factor * factor) as f32));
            }
        }
        // Most of the middle of the sheet is paper, at the brighter end.
        let paper: [f32; 3] = std::array::from_fn(|c| {
            let inner = (height / 6..height - height / 6)
                .flat_map(|y| (width / 6..width - width / 6).map(move |x| y * width + x))
                .step_by(7);
            let mut values: Vec<f32> = inner.filter_map(|i| means.get(i).map(|m| m[c])).collect();
            values.sort_by(f32::total_cmp);
            values.get(values.len() * 8 / 10).copied().unwrap_or(255.0).max(1.0)
        });
        let shade = means.iter().map(|m| (0..3).map(|c| m[c] / paper[c]).fold(f32::INFINITY, f32::min));
        let mut small = Self { width, height, shade: shade.collect(), factor };
        small.level_light();
        small
    }

    /// Divides by the brightest tile around, so that uneven light does not count as ink.
    fn level_light(&mut self) {
        let (across, down) = (self.width.div_ceil(TILE), self.height.div_ceil(TILE));
        let mut tiles = Vec::with_capacity(across * down);
        for ty in 0..down {
            for tx in 0..across {
                let mut values: Vec<f32> = (ty * TILE..((ty + 1) * TILE).min(self.height))
                    .flat_map(|y| {
                        let (from, to) = (tx * TILE, ((tx + 1) * TILE).min(self.width));
                        self.shade.get(y * self.width + from..y * self.width + to).unwrap_or_default()
                    })
                    .copied()
                    .collect();
                values.sort_by(f32::total_cmp);
                tiles.push(values.get(values.len() * 8 / 10).copied().unwrap_or(1.0));
            }
        }
        for (i, v) in self.shade.iter_mut().enumerate() {
            let (tx, ty) = (i % self.width / TILE, i / self.width / TILE);
            let around = (ty.saturating_sub(1)..=ty + 1)
                .flat_map(|y| (tx.saturating_sub(1)..=tx + 1).map(move |x| (x, y)))
                .filter(|(x, y)| *x < across && *y < down)
                .filter_map(|(x, y)| tiles.get(y * across + x));
            *v /= around.copied().fold(0.05, f32::max);
        }
    }
}

/// Connected patches that are darker than the paper by more than `level`, edge by edge.
fn blobs(small: &Small, level: f64) -> Vec<Blob> {
    let limit = (1.0 - level) as f32;
    let ink = |i: usize| small.shade.get(i).is_some_and(|v| *v < limit);
    let mut seen = vec![false; small.shade.len()];
    let (mut found, mut todo) = (Vec::new(), Vec::new());
    for start in 0..small.shade.len() {
        if seen[start] || !ink(start) {
            continue;
        }
        seen[start] = true;
        todo.push(start);
        let mut blob = Blob { low: (usize::MAX, usize::MAX), ..Blob::default() };
        while let Some(i) = todo.pop() {
            let (x, y) = (i % small.width, i / small.width);
            let weight = f64::from(1.0 - small.shade[i]).max(0.0);
            blob.area += 1.0;
            blob.weight += weight;
            blob.x += weight * x as f64;
            blob.y += weight * y as f64;
            blob.low = (blob.low.0.min(x), blob.low.1.min(y));
            blob.high = (blob.high.0.max(x), blob.high.1.max(y));
            let next = [
                (x > 0).then(|| i - 1),
                (x + 1 < small.width).then_some(i + 1),
                (y > 0).then(|| i - small.width),
                (y + 1 < small.height).then_some(i + small.width),
            ];
            for n in next.into_iter().flatten() {
                if !seen[n] && ink(n) {
                    seen[n] = true;
                    todo.push(n);
                }
            }
        }
        if blob.area >= 4.0 {
            blob.x /= blob.weight;
            blob.y /= blob.weight;
            found.push(blob);
        }
    }
    found
}

/// Rings with a dot at their centre.
fn bullseyes(blobs: &[Blob]) -> Vec<Point> {
    let [outer, inner, dot] = RING.map(|r| r * r);
    let (filled, share) = ((outer - inner) / outer * std::f64::consts::FRAC_PI_4, dot / (outer - inner));
    let mut marks = Vec::new();
    for ring in blobs {
        let side = |(low, high): (usize, usize)| (high - low + 1) as f64;
        let (w, h) = (side((ring.low.0, ring.high.0)), side((ring.low.1, ring.high.1)));
        let near = |v: f64, wanted: f64, by: f64| v > wanted / by && v < wanted * by;
        if w < 12.0 || !near(w / h, 1.0, 1.3) || !near(ring.area / (w * h), filled, 1.5) {
            continue;
        }
        let inside = |b: &&Blob| {
            let off = libm::hypot(b.x - ring.x, b.y - ring.y);
            off < 0.1 * w && near(b.area / ring.area, share, 2.2)
        };
        if let Some(d) = blobs.iter().find(inside) {
            let weight = ring.weight + d.weight;
            marks.push(Point::new(
                (ring.x * ring.weight + d.x * d.weight) / weight,
                (ring.y * ring.weight + d.y * d.weight) / weight,
            ));
        }
    }
    marks
}

/// The outermost four, clockwise from the upper left, where they span a quadrilateral.
fn corners(marks: &[Point]) -> Option<[Point; 4]> {
    let furthest = |of: fn(&Point) -> f64| marks.iter().copied().max_by(|a, b| of(a).total_cmp(&of(b)));
    let four = [
        furthest(|p| -p.x - p.y)?,
        furthest(|p| p.x - p.y)?,
        furthest(|p| p.x + p.y)?,
        furthest(|p| p.y - p.x)?,
    ];
    let apart = (0..4).all(|i| (0..i).all(|j| four[i].distance(four[j]) > 40.0));
    apart.then_some(four)
}
