//! A sheet of drawing paper as numbers: how much ink, pigment or pressure each spot has received, 0 to 1.
//! Every mark goes through [`Field::paint`], [`Field::stroke`] or [`Field::fill`], row by row in parallel.

use rayon::prelude::*;

use crate::noise::screen;
use crate::shape::{Bounds, Outline, V, v};

/// Amounts on a rectangle of paper.
#[derive(Debug, Clone)]
pub struct Field {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Pixels per mm.
    pub px_per_mm: f32,
    /// Row by row.
    pub data: Vec<f32>,
}

/// Where a pixel lies beside a stroke.
#[derive(Debug, Clone, Copy)]
pub struct Hit {
    /// The pixel.
    pub p: V,
    /// Signed distance from the middle of the stroke, mm.
    pub off: f32,
    /// Half the stroke's width there, mm.
    pub half: f32,
    /// mm along the stroke.
    pub along: f32,
    /// 0 at the start, 1 at the end.
    pub share: f32,
}

struct Segment {
    a: V,
    b: V,
    start: f32,
    length: f32,
}

impl Field {
    /// Empty paper.
    pub fn new(width: usize, height: usize, px_per_mm: f32) -> Self {
        Self { width, height, px_per_mm, data: vec![0.0; width * height] }
    }

    /// The amount at a pixel; nothing outside.
    pub fn at(&self, x: usize, y: usize) -> f32 {
        if x < self.width { self.data.get(y * self.width + x).copied().unwrap_or(0.0) } else { 0.0 }
    }

    /// The amount at a point in mm; nothing outside.
    pub fn near(&self, p: V) -> f32 {
        let at = |mm: f32| (mm * self.px_per_mm).max(0.0) as usize;
        self.at(at(p.x), at(p.y))
    }

    fn rows(&mut self, b: Bounds, row: impl Fn(f32, std::ops::Range<usize>, &mut [f32]) + Sync) {
        let k = self.px_per_mm;
        let clip = |x: f32, n: usize| x.clamp(0.0, n as f32) as usize;
        let (x0, x1) = (clip((b.x0 * k).floor(), self.width), clip((b.x1 * k).ceil(), self.width));
        let (y0, y1) = (clip((b.y0 * k).floor(), self.height), clip((b.y1 * k).ceil(), self.height));
        if x0 >= x1 || y0 >= y1 {
            return;
        }
        let w = self.width;
        let Some(band) = self.data.get_mut(y0 * w..y1 * w) else { return };
        band.par_chunks_mut(w).enumerate().for_each(|(i, line)| {
            row(((y0 + i) as f32 + 0.5) / k, x0..x1, line);
        });
    }

    /// Replaces each amount inside `b` by `f(point, amount)`.
    pub fn paint(&mut self, b: Bounds, f: impl Fn(V, f32) -> f32 + Sync) {
        let k = self.px_per_mm;
        self.rows(b, |y, xs, line| {
            for (x, a) in line.iter_mut().enumerate().skip(xs.start).take(xs.len()) {
                *a = f(v((x as f32 + 0.5) / k, y), *a);
            }
        });
    }

    /// Lays a stroke over what is there. `half` gives half its width in mm at a share of its length,
    /// `reach` is the most that can be, `ink` the amount at a spot.
    pub fn stroke(
        &mut self,
        path: &[V],
        reach: f32,
        half: impl Fn(f32) -> f32 + Sync,
        ink: impl Fn(Hit) -> f32 + Sync,
    ) {
        let mut start = 0.0;
        let mut segments = Vec::new();
        for pair in path.windows(2) {
            if let [a, b] = *pair {
                let length = (b - a).length();
                segments.push(Segment { a, b, start, length });
                start += length;
            }
        }
        let total = start.max(1e-6);
        let k = self.px_per_mm;
        self.rows(Bounds::around(path, reach), |y, _, line| {
            let near: Vec<&Segment> = segments
                .iter()
                .filter(|s| y >= s.a.y.min(s.b.y) - reach && y <= s.a.y.max(s.b.y) + reach)
                .collect();
            let lo = near.iter().fold(f32::MAX, |m, s| m.min(s.a.x.min(s.b.x))) - reach;
            let hi = near.iter().fold(f32::MIN, |m, s| m.max(s.a.x.max(s.b.x))) + reach;
            let x0 = (lo * k).max(0.0) as usize;
            let x1 = ((hi * k).max(0.0) as usize + 1).min(line.len());
            for (x, amount) in line.iter_mut().enumerate().take(x1).skip(x0) {
                let p = v((x as f32 + 0.5) / k, y);
                let mut best = (f32::MAX, 0.0, 0.0);
                for s in &near {
                    let (ab, ap) = (s.b - s.a, p - s.a);
                    let t = ((ap.x * ab.x + ap.y * ab.y) / (s.length * s.length).max(1e-12)).clamp(0.0, 1.0);
                    let gap = (ap - ab * t).length();
                    if gap < best.0 {
                        best = (gap, (ab.x * ap.y - ab.y * ap.x).signum(), s.start + t * s.length);
                    }
                }
                if best.0 <= reach {
                    let share = best.2 / total;
                    let hit = Hit { p, off: best.0 * best.1, half: half(share), along: best.2, share };
                    *amount = screen(*amount, ink(hit));
                }
            }
        });
    }

    /// Replaces amounts inside outlines (non-zero winding) by `f(point, amount, coverage)`.
    pub fn fill(&mut self, outlines: &[Outline], f: impl Fn(V, f32, f32) -> f32 + Sync) {
        const SUB: usize = 5;
        let mut edges: Vec<(V, V)> = Vec::new();
        for o in outlines {
            let mut a = o.last().copied().unwrap_or_default();
            for &b in o {
                edges.push((a, b));
                a = b;
            }
        }
        let k = self.px_per_mm;
        let b = Bounds::around(outlines.iter().flatten(), 1.0 / k);
        self.rows(b, |y, xs, line| {
            let mut cover = vec![0.0_f32; xs.len() + 1];
            let mut hits: Vec<(f32, i32)> = Vec::new();
            for sub in 0..SUB {
                let sy = y + ((sub as f32 + 0.5) / SUB as f32 - 0.5) / k;
                hits.clear();
                for (a, b) in &edges {
                    if (a.y > sy) != (b.y > sy) {
                        let x = a.x + (b.x - a.x) * (sy - a.y) / (b.y - a.y);
                        hits.push((x * k - xs.start as f32, if a.y < b.y { 1 } else { -1 }));
                    }
                }
                hits.sort_by(|p, q| p.0.total_cmp(&q.0));
                let mut wind = 0;
                for pair in hits.windows(2) {
                    if let [(x0, turn), (x1, _)] = *pair {
                        wind += turn;
                        if wind != 0 {
                            span(&mut cover, x0.max(0.0), x1.max(0.0), 1.0 / SUB as f32);
                        }
                    }
                }
            }
            for ((x, a), c) in line.iter_mut().enumerate().skip(xs.start).take(xs.len()).zip(&cover) {
                if *c > 0.0 {
                    *a = f(v((x as f32 + 0.5) / k, y), *a, c.min(1.0));
                }
            }
        });
    }

    /// Takes away what lies inside outlines: a knockout.
    pub fn knock_out(&mut self, outlines: &[Outline]) {
        self.fill(outlines, |_, a, c| a * (1.0 - c));
    }
}

fn span(cover: &mut [f32], x0: f32, x1: f32, weight: f32) {
    let (first, last) = (x0 as usize, x1 as usize);
    for (i, c) in cover.iter_mut().enumerate().take(last + 1).skip(first) {
        let share = (x1.min(i as f32 + 1.0) - x0.max(i as f32)).max(0.0);
        *c += share * weight;
    }
}
