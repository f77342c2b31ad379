//! Straight edges in a small picture, each with the side on which it is brighter.

use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;

/// Directions told apart, over the whole circle.
const DIRECTIONS: usize = 180;
/// Distances from the middle are told apart by so many pixels: a lens bends an edge by about as many.
const APART: f64 = 2.0;
/// A gray step of so many levels a pixel counts half as much as any step can.
const HALF_STRONG: f32 = 4.0;
/// Steps below this many levels a pixel are grain.
const FAINT: f32 = 0.6;
/// The most edges kept.
const MOST: usize = 96;
/// The most edges of a band of directions: the grain of a wooden table has many, all alike.
const MOST_ALIKE: usize = 14;
/// Bands that directions are counted in.
const BANDS: usize = 18;

/// Grays of the small picture without the finest grain.
pub(super) struct Soft {
    pub width: usize,
    pub height: usize,
    gray: Vec<f32>,
}

impl Soft {
    /// The gray of the pixel that holds a point; `None` off the picture.
    pub fn at(&self, p: Point) -> Option<f64> {
        if !(p.x >= 0.0 && p.y >= 0.0 && p.x < self.width as f64 && p.y < self.height as f64) {
            return None;
        }
        self.gray.get(p.y as usize * self.width + p.x as usize).map(|g| f64::from(*g))
    }

    /// The middle of the picture.
    pub fn middle(&self) -> Point {
        Point::new(self.width as f64 / 2.0, self.height as f64 / 2.0)
    }
}

/// Binomial weights over five pixels, across and down.
pub(super) fn softened(raster: &GrayRaster) -> Soft {
    let (width, height) = (raster.width() as usize, raster.height() as usize);
    let mut across = vec![0.0_f32; width * height];
    for (y, out) in across.chunks_mut(width).enumerate() {
        let row = raster.row(y as u32);
        let gray = |x: usize| f32::from(row.get(x.min(width - 1)).copied().unwrap_or(255));
        for (x, o) in out.iter_mut().enumerate() {
            let near = gray(x.saturating_sub(1)) + gray(x + 1);
            *o = (6.0 * gray(x) + 4.0 * near + gray(x.saturating_sub(2)) + gray(x + 2)) / 16.0;
        }
    }
    let row = |y: usize| across.get(y.min(height - 1) * width..).unwrap_or(&[]);
    let mut gray = vec![0.0_f32; width * height];
    for (y, out) in gray.chunks_mut(width).enumerate() {
        let rows = row(y.saturating_sub(2)).iter().zip(row(y.saturating_sub(1))).zip(row(y));
        for (o, (((a, b), c), (d, e))) in out.iter_mut().zip(rows.zip(row(y + 1).iter().zip(row(y + 2)))) {
            *o = (6.0 * c + 4.0 * (b + d) + a + e) / 16.0;
        }
    }
    Soft { width, height, gray }
}

/// A straight edge: the points whose product with `normal`, counted from the picture's middle, is `distance`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    /// Of length 1, towards the brighter side.
    pub normal: Point,
    /// In pixels from the middle of the picture, along the normal.
    pub distance: f64,
}

/// The straight edges that most pixels vote for, best first.
pub(super) fn lines(soft: &Soft) -> Vec<Line> {
    let middle = soft.middle();
    let reach = libm::ceil(libm::hypot(middle.x, middle.y) / APART) as usize + 2;
    let columns = 2 * reach + 1;
    let turn = |i: usize| libm::sincos(std::f64::consts::TAU * i as f64 / DIRECTIONS as f64);
    let directions: Vec<(f64, f64)> = (0..DIRECTIONS).map(turn).collect();
    let mut votes = vec![0.0_f32; DIRECTIONS * columns];
    for edge in steps(soft) {
        let (x, y) = (edge.at.x - middle.x, edge.at.y - middle.y);
        let towards = libm::atan2(edge.slope.y, edge.slope.x) / std::f64::consts::TAU * DIRECTIONS as f64;
        let nearest = libm::round(towards) as isize;
        for i in nearest - 2..=nearest + 2 {
            let i = i.rem_euclid(DIRECTIONS as isize) as usize;
            let Some((sin, cos)) = directions.get(i) else { continue };
            let cell = libm::round((x * cos + y * sin) / APART) + reach as f64;
            if let Some(vote) = votes.get_mut(i * columns + cell as usize) {
                *vote += edge.weight;
            }
        }
    }
    most_voted(&mut votes, columns)
        .into_iter()
        .filter_map(|(i, cell)| {
            let (sin, cos) = directions.get(i)?;
            let distance = (cell as f64 - reach as f64) * APART;
            Some(Line { normal: Point::new(*cos, *sin), distance })
        })
        .collect()
}

/// The cells with the most votes, their like around them left out.
fn most_voted(votes: &mut [f32], columns: usize) -> Vec<(usize, usize)> {
    let around = (3_isize, 2_isize);
    let (mut found, mut counts) = (Vec::new(), [0_usize; BANDS]);
    let least = votes.iter().fold(0.0_f32, |most, v| most.max(*v)) / 50.0;
    while found.len() < MOST {
        let best = votes.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(&a.0)));
        let Some((at, _)) = best.filter(|(_, v)| **v > least.max(1.0)) else { break };
        let (i, cell) = (at / columns, at % columns);
        if let Some(count) = counts.get_mut(i * BANDS / DIRECTIONS) {
            *count += 1;
            if *count > MOST_ALIKE {
                let band = i * BANDS / DIRECTIONS * (DIRECTIONS / BANDS) * columns;
                if let Some(band) = votes.get_mut(band..band + DIRECTIONS / BANDS * columns) {
                    band.fill(0.0);
                }
                continue;
            }
        }
        found.push((i, cell));
        for di in -around.0..=around.0 {
            let i = (i as isize + di).rem_euclid(DIRECTIONS as isize) as usize;
            let from = cell.saturating_sub(around.1 as usize);
            let to = (cell + around.1 as usize + 1).min(columns);
            if let Some(row) = votes.get_mut(i * columns + from..i * columns + to) {
                row.fill(0.0);
            }
        }
    }
    found
}

/// A pixel on an edge.
struct Step {
    at: Point,
    /// Towards the brighter side.
    slope: Point,
    weight: f32,
}

/// Pixels where the gray changes more than at their neighbours across the edge (after Canny 1986).
fn steps(soft: &Soft) -> Vec<Step> {
    let (w, h) = (soft.width, soft.height);
    let gray = |x: usize, y: usize| soft.gray.get(y * w + x).copied().unwrap_or(0.0);
    let slope = |x: usize, y: usize| {
        let column = |x: usize| gray(x, y - 1) + 2.0 * gray(x, y) + gray(x, y + 1);
        let line = |y: usize| gray(x - 1, y) + 2.0 * gray(x, y) + gray(x + 1, y);
        ((column(x + 1) - column(x - 1)) / 8.0, (line(y + 1) - line(y - 1)) / 8.0)
    };
    let mut steep = vec![0.0_f32; w * h];
    for y in 1..h.max(2) - 1 {
        for x in 1..w.max(2) - 1 {
            let (gx, gy) = slope(x, y);
            if let Some(s) = steep.get_mut(y * w + x) {
                *s = (gx * gx + gy * gy).sqrt();
            }
        }
    }
    let at = |x: usize, y: usize| steep.get(y * w + x).copied().unwrap_or(0.0);
    let mut found = Vec::new();
    for y in 1..h.max(2) - 1 {
        for x in 1..w.max(2) - 1 {
            let here = at(x, y);
            if here < FAINT {
                continue;
            }
            let (gx, gy) = slope(x, y);
            let (before, after) = if gx.abs() > 2.0 * gy.abs() {
                (at(x - 1, y), at(x + 1, y))
            } else if gy.abs() > 2.0 * gx.abs() {
                (at(x, y - 1), at(x, y + 1))
            } else if gx * gy > 0.0 {
                (at(x - 1, y - 1), at(x + 1, y + 1))
            } else {
                (at(x + 1, y - 1), at(x - 1, y + 1))
            };
            if here >= before && here > after {
                found.push(Step {
                    at: Point::new(x as f64 + 0.5, y as f64 + 0.5),
                    slope: Point::new(f64::from(gx), f64::from(gy)),
                    weight: here / (here + HALF_STRONG),
                });
            }
        }
    }
    found
}
