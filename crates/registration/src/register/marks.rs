//! Finding registration marks in a scan.
//!
//! Every place of a small copy is compared with each mark (normalised cross-correlation, Lewis 1995), and the best places are fitted on finer copies to a fraction of a pixel.

use std::borrow::Cow;

use rayon::prelude::*;

use super::refine::{Pose, refine};
use super::shape::MarkKind;
use super::template::{Template, sizes};
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::Dpi;

/// A mark found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    pub kind: MarkKind,
    /// Its point in pixels of the scan, corners at whole numbers.
    pub at: Point,
    /// How well its weakest stroke is seen, 0..=1: a correlation, so noise and faint pencil lower it.
    pub score: f64,
}

/// A place where a mark should be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExpectedMark {
    /// What it should look like.
    pub kind: MarkKind,
    /// Where its point should lie, in pixels of the scan.
    pub at: Point,
    /// How far from there it may lie, in pixels of the scan.
    pub within: f64,
}

/// A mark that nothing leads to must score at least this.
pub(crate) const LEAST_SCORE: f64 = 0.5;
/// A mark at an expected place must score at least this.
const LEAST_EXPECTED: f64 = 0.3;
/// Line widths looked for, in mm; the fit finds the true one, from a hard pencil's to a felt pen's.
const WIDTHS: [f64; 2] = [0.25, 0.7];
/// The share of the score asked for in the end that a place must reach on every copy.
const PROMISING: f64 = 0.7;
/// The most places of a kind that are fitted.
const MOST_PLACES: usize = 48;
/// Two marks are at least this far apart, in mm.
const APART: f64 = 2.0;

/// A scan made ready for searches.
pub struct MarkSearch<'a> {
    levels: Vec<Cow<'a, GrayRaster>>,
    dpi: Dpi,
    coarse: Coarse,
}

/// Half-open ranges of coarse pixels.
#[derive(Clone, Copy)]
struct Window {
    x: (usize, usize),
    y: (usize, usize),
}

struct Place {
    kind: MarkKind,
    at: Point,
    size: f64,
    width: f64,
    score: f64,
}

impl<'a> MarkSearch<'a> {
    /// Makes the small copies that a search needs.
    pub fn new(raster: &'a GrayRaster, dpi: Dpi) -> Self {
        let mut levels = vec![Cow::Borrowed(raster)];
        let mut now = dpi.get();
        while let Some(last) = levels.last().filter(|l| now >= 120.0 && l.width().min(l.height()) >= 2) {
            let half = last.halved();
            levels.push(Cow::Owned(half));
            now /= 2.0;
        }
        let coarse = Coarse::new(levels.last().map_or(raster, |l| l), now / 25.4);
        Self { levels, dpi, coarse }
    }

    /// Every mark of these kinds, best first.
    pub fn anywhere(&self, kinds: &[MarkKind]) -> Vec<Mark> {
        let window = Window { x: (0, self.coarse.width), y: (0, self.coarse.height) };
        let mut marks = Vec::new();
        for &kind in kinds {
            let places = self.places(kind, window, LEAST_SCORE * 0.8, MOST_PLACES);
            marks.par_extend(places.into_par_iter().filter_map(|p| self.fitted(&p, LEAST_SCORE)));
        }
        marks.sort_by(|a: &Mark, b| b.score.total_cmp(&a.score).then(a.at.y.total_cmp(&b.at.y)));
        let apart = APART * self.dpi.px_per_mm();
        let mut kept: Vec<Mark> = Vec::new();
        for mark in marks {
            if kept.iter().all(|k| k.at.distance(mark.at) >= apart) {
                kept.push(mark);
            }
        }
        kept
    }

    pub fn near(&self, place: ExpectedMark) -> Option<Mark> {
        let shrink = f64::from(1_u32 << (self.levels.len() - 1));
        let range = |c: f64, size: usize| {
            let low = libm::floor((c - place.within) / shrink).clamp(0.0, size as f64) as usize;
            let high = libm::ceil((c + place.within) / shrink).clamp(0.0, size as f64) as usize;
            (low, high)
        };
        let window =
            Window { x: range(place.at.x, self.coarse.width), y: range(place.at.y, self.coarse.height) };
        let places = self.places(place.kind, window, LEAST_EXPECTED * 0.8, 4);
        let fitted = places.iter().filter_map(|p| self.fitted(p, LEAST_EXPECTED));
        let held = fitted.filter(|m| m.at.distance(place.at) <= place.within);
        held.max_by(|a, b| a.score.total_cmp(&b.score))
    }

    /// Where the small copy looks like a mark, best first, in coarse pixels.
    fn places(&self, kind: MarkKind, window: Window, least: f64, most: usize) -> Vec<Place> {
        let mut places = Vec::new();
        for &size in sizes(kind) {
            for width in WIDTHS {
                let Some(t) = Template::new(kind, size, width, self.coarse.px_per_mm) else { continue };
                places.extend(self.coarse.peaks(&t, window, least));
            }
        }
        places.sort_by(|a: &Place, b| {
            b.score.total_cmp(&a.score).then(a.at.y.total_cmp(&b.at.y)).then(a.at.x.total_cmp(&b.at.x))
        });
        let apart = 0.75 * APART * self.coarse.px_per_mm;
        let mut kept: Vec<Place> = Vec::new();
        for place in places {
            if kept.len() < most && kept.iter().all(|k| k.at.distance(place.at) >= apart) {
                kept.push(place);
            }
        }
        kept
    }

    /// Fits a place on finer and finer copies, up to about 400 dpi.
    fn fitted(&self, place: &Place, least: f64) -> Option<Mark> {
        let mut pose = Pose { at: place.at, turn: 0.0, size: place.size, width: place.width };
        let mut score = 0.0;
        let mut level = self.levels.len() - 1;
        loop {
            let raster = self.levels.get(level)?;
            let px_per_mm = self.dpi.px_per_mm() / f64::from(1_u32 << level);
            (pose, score) = match refine(raster, px_per_mm, place.kind, pose) {
                Some(better) => better,
                // The coarsest copy may be too coarse for a faint mark; finer ones decide.
                None if level + 1 == self.levels.len() && level > 0 => (pose, score),
                None => return None,
            };
            // Finer copies add grain and take away blur; they do not make a mark of what is far from one.
            if score < PROMISING * least {
                return None;
            }
            if level == 0 || px_per_mm * 2.0 * 25.4 > 400.0 {
                break;
            }
            level -= 1;
            pose.at = Point::new(pose.at.x * 2.0, pose.at.y * 2.0);
        }
        let grow = f64::from(1_u32 << level);
        let at = Point::new(pose.at.x * grow, pose.at.y * grow);
        (score >= least).then_some(Mark { kind: place.kind, at, score })
    }
}

/// The small copy: darkness with its border repeated outwards, and running sums for means and spreads.
struct Coarse {
    width: usize,
    height: usize,
    pad: usize,
    stride: usize,
    dark: Vec<f32>,
    /// Sums of darkness and of its square over everything above and to the left.
    sums: Vec<(f64, f64)>,
    px_per_mm: f64,
}

impl Coarse {
    fn new(raster: &GrayRaster, px_per_mm: f64) -> Self {
        let pad = (6.0 * px_per_mm) as usize + 8;
        let (width, height) = (raster.width() as usize, raster.height() as usize);
        let (stride, rows) = (width + 2 * pad, height + 2 * pad);
        let mut dark = Vec::with_capacity(stride * rows);
        for y in 0..rows {
            let row = raster.row(y.saturating_sub(pad).min(height - 1) as u32);
            let gray = |x: usize| row.get(x.saturating_sub(pad).min(width - 1)).copied().unwrap_or(255);
            dark.extend((0..stride).map(|x| 255.0 - f32::from(gray(x))));
        }
        let mut sums = vec![(0.0, 0.0); (stride + 1) * (rows + 1)];
        for y in 0..rows {
            let (above, below) = sums.split_at_mut((y + 1) * (stride + 1));
            let above = above.get(y * (stride + 1)..).unwrap_or(&[]);
            let line = dark.get(y * stride..(y + 1) * stride).unwrap_or(&[]);
            let mut run = (0.0, 0.0);
            for ((out, up), d) in below.iter_mut().skip(1).zip(above.iter().skip(1)).zip(line) {
                let d = f64::from(*d);
                run = (run.0 + d, run.1 + d * d);
                *out = (up.0 + run.0, up.1 + run.1);
            }
        }
        Self { width, height, pad, stride, dark, sums, px_per_mm }
    }

    /// Local maxima of a template's score inside a window.
    fn peaks(&self, t: &Template, window: Window, least: f64) -> Vec<Place> {
        let ((x0, x1), (y0, y1)) = (window.x, window.y);
        if x1 <= x0 || y1 <= y0 || t.reach as usize > self.pad {
            return Vec::new();
        }
        let mut scores = vec![0.0_f32; (x1 - x0) * (y1 - y0)];
        scores.par_chunks_mut(x1 - x0).enumerate().for_each(|(i, out)| self.score_row(t, x0, y0 + i, out));
        let w = x1 - x0;
        let at = |x: usize, y: usize| scores.get(y * w + x).copied().unwrap_or(0.0);
        let mut peaks = Vec::new();
        for (i, &score) in scores.iter().enumerate().filter(|(_, s)| f64::from(**s) >= least) {
            let (x, y) = (i % w, i / w);
            let around = (y.saturating_sub(1)..(y + 2).min(y1 - y0))
                .flat_map(|v| (x.saturating_sub(1)..(x + 2).min(w)).map(move |u| (u, v)));
            if around.into_iter().all(|(u, v)| at(u, v) <= score) {
                let at = Point::new((x0 + x) as f64 + 0.5, (y0 + y) as f64 + 0.5);
                peaks.push(Place { kind: t.kind, at, size: t.size, width: t.width, score: f64::from(score) });
            }
        }
        peaks
    }

    fn score_row(&self, t: &Template, x0: usize, y: usize, out: &mut [f32]) {
        let n = out.len();
        let row = |dx: i32, dy: i32| {
            let from = (self.pad + y).wrapping_add_signed(dy as isize) * self.stride
                + (self.pad + x0).wrapping_add_signed(dx as isize);
            self.dark.get(from..from + n).unwrap_or(&[])
        };
        let products: Vec<Vec<f32>> = t
            .parts
            .iter()
            .map(|(taps, _)| {
                let mut sum = vec![0.0_f32; n];
                for tap in taps {
                    for (s, d) in sum.iter_mut().zip(row(tap.dx, tap.dy)) {
                        *s += tap.weight * d;
                    }
                }
                sum
            })
            .collect();
        let reach = t.reach as usize;
        let count = ((2 * reach + 1) * (2 * reach + 1)) as f64;
        for (i, o) in out.iter_mut().enumerate() {
            let (sum, squares) = self.sums_around(x0 + i, y, reach);
            let mean = sum / count;
            let covariances = products
                .iter()
                .zip(&t.parts)
                .map(|(p, (_, weight))| f64::from(p.get(i).copied().unwrap_or(0.0)) - mean * weight);
            *o = t.rating.score(covariances, squares - sum * mean) as f32;
        }
    }

    fn sums_around(&self, x: usize, y: usize, reach: usize) -> (f64, f64) {
        let (x, y) = (x + self.pad, y + self.pad);
        let at = |x: usize, y: usize| self.sums.get(y * (self.stride + 1) + x).copied().unwrap_or_default();
        let (a, b) = (at(x - reach, y - reach), at(x + reach + 1, y - reach));
        let (c, d) = (at(x - reach, y + reach + 1), at(x + reach + 1, y + reach + 1));
        (d.0 - b.0 - c.0 + a.0, d.1 - b.1 - c.1 + a.1)
    }
}

#[cfg(test)]
pub(in crate::register) mod tests;
