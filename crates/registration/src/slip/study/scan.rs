//! Walks along the edges of two inks and gathers what abuts into stretches.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::thin::{self, ThinPoint};
use super::visible::visible;
use super::{StudyOptions, Thin, ThinKind, Tight};
use crate::slip::cover::Covers;
use crate::slip::edges::{Edge, Edges, prints};
use slipsheet_core::geometry::Point;

/// Side in mm of the cells that stretches are gathered in.
const CELL: f64 = 2.0;
/// Directions of normals that are kept apart.
const NORMALS: f64 = 32.0;
/// Traps in mm that are kept apart.
const TRAPS: f64 = 0.05;
/// Edges that face each other or run together have normals within 37 degrees.
const ALONG: f64 = 0.8;
/// Traps within this of each other, in mm, are alike.
const ALIKE: f64 = 0.12;
/// A fit that is shorter than this, in mm, is chance.
const LEAST: f64 = 2.5;
/// Two inks that share an edge lie within this of each other, in mm; what is drawn farther apart leaves a gap
/// on purpose, whatever gap a person accepts.
const SHARED: f64 = 0.15;

/// Two inks, by their place in the covers.
pub(super) struct Pair<'a> {
    pub covers: &'a Covers,
    pub options: &'a StudyOptions,
    pub lower: usize,
    pub upper: usize,
    pub lower_edges: &'a Edges,
    pub upper_edges: &'a Edges,
}

/// What a scan gathers.
pub(super) struct Found {
    pub tight: Vec<Tight>,
    pub thin: Vec<Thin>,
}

/// One edge point where the inks abut, in pixels.
struct Abutting {
    key: u64,
    x: f64,
    y: f64,
    nx: f64,
    ny: f64,
    trap: f64,
    length: f64,
}

impl Pair<'_> {
    pub(super) fn scan(&self) -> Found {
        let parts: Vec<(Vec<Abutting>, Vec<ThinPoint>)> = self
            .upper_edges
            .all
            .par_chunks(2048)
            .map(|edges| {
                let (mut abutting, mut thin) = (Vec::new(), Vec::new());
                for edge in edges {
                    self.look(edge, &mut abutting, &mut thin);
                }
                (abutting, thin)
            })
            .collect();
        let (mut abutting, mut thin) = (Vec::new(), Vec::new());
        for (a, t) in parts {
            abutting.extend(a);
            thin.extend(t);
        }
        // Stable, so that sums are the same on every machine.
        abutting.par_sort_by_key(|a| a.key);
        let groups: Vec<&[Abutting]> = abutting.chunk_by(|a, b| a.key == b.key).collect();
        let stretches: Vec<Tight> = groups.par_iter().filter_map(|group| self.stretch(group)).collect();
        let tight = self.meant(stretches);
        let (lower, upper) = (self.layer(self.lower), self.layer(self.upper));
        Found { tight, thin: thin::gather(thin, self.covers.px_per_mm, lower, upper) }
    }

    /// The stretches that are part of a drawn fit. Where a rough stroke or grain lies on another ink, edges
    /// meet here and there by chance, with any trap; a fit goes on with the same trap along much of the edge.
    fn meant(&self, stretches: Vec<Tight>) -> Vec<Tight> {
        let cell = |p: Point| ((p.y / CELL) as i32, (p.x / CELL) as i32);
        let mut by_cell: BTreeMap<(i32, i32), Vec<usize>> = BTreeMap::new();
        for (i, t) in stretches.iter().enumerate() {
            by_cell.entry(cell(t.at)).or_default().push(i);
        }
        let around =
            |(y, x): (i32, i32)| (y - 1..=y + 1).flat_map(move |y| (x - 1..=x + 1).map(move |x| (y, x)));
        let [of_lower, of_upper] =
            [self.lower_edges, self.upper_edges].map(|edges| self.lengths(edges, &by_cell, cell));
        let fits = |t: &Tight| {
            let here = cell(t.at);
            let alike = |o: &&Tight| {
                let along = o.normal.x * t.normal.x + o.normal.y * t.normal.y;
                along > 0.7 && (o.trap - t.trap).abs() <= ALIKE
            };
            let near = around(here).filter_map(|c| by_cell.get(&c)).flatten();
            let support: f64 = near.filter_map(|i| stretches.get(*i)).filter(alike).map(|o| o.length).sum();
            let all = |lengths: &BTreeMap<(i32, i32), f64>| -> f64 {
                around(here).filter_map(|c| lengths.get(&c)).sum()
            };
            support >= LEAST && support >= 0.25 * all(&of_upper) && support >= 0.06 * all(&of_lower)
        };
        let keep: Vec<bool> = stretches.par_iter().map(fits).collect();
        stretches.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(t, _)| t).collect()
    }

    /// The length of an ink's edges by cell, in and beside the cells that have stretches.
    fn lengths(
        &self,
        edges: &Edges,
        used: &BTreeMap<(i32, i32), Vec<usize>>,
        cell: impl Fn(Point) -> (i32, i32),
    ) -> BTreeMap<(i32, i32), f64> {
        let ppm = self.covers.px_per_mm;
        let mut lengths: BTreeMap<(i32, i32), f64> = BTreeMap::new();
        if used.is_empty() {
            return lengths;
        }
        // Edges come row by row, so that runs of them lie in one cell.
        let mut run: Option<((i32, i32), f64)> = None;
        for edge in &edges.all {
            let at = cell(Point::new(f64::from(edge.x) / ppm, f64::from(edge.y) / ppm));
            match &mut run {
                Some((known, sum)) if *known == at => *sum += edge.length() / ppm,
                _ => {
                    if let Some((known, sum)) = run.replace((at, edge.length() / ppm)) {
                        *lengths.entry(known).or_default() += sum;
                    }
                }
            }
        }
        if let Some((known, sum)) = run {
            *lengths.entry(known).or_default() += sum;
        }
        lengths
    }

    fn layer(&self, ink: usize) -> usize {
        self.covers.inks.get(ink).map_or(0, |i| i.layer)
    }

    /// What lies at one edge point of the upper ink.
    fn look(&self, edge: &Edge, abutting: &mut Vec<Abutting>, thin: &mut Vec<ThinPoint>) {
        let ppm = self.covers.px_per_mm;
        let (x, y) = edge.point();
        let Some(near) = self.lower_edges.near(x, y) else { return };
        let depth = near.depth / ppm;
        if depth < -SHARED || depth > self.options.reach {
            return;
        }
        if near.beside > 1.0 + 0.3 * near.depth.abs() {
            return;
        }
        let (nx, ny) = (f64::from(edge.nx), f64::from(edge.ny));
        let along = nx * f64::from(near.edge.nx) + ny * f64::from(near.edge.ny);
        let thinnest = self.options.thin * ppm;
        let mut add_thin = |kind, size: Option<f64>, length: f64| {
            if let Some(size) = size {
                thin.push(ThinPoint { kind, x, y, size: size / ppm, length: length / ppm });
            }
        };
        if along > ALONG && depth.abs() <= SHARED {
            let inside = self.walk(self.upper, (x, y), (-nx, -ny), thinnest, true);
            add_thin(ThinKind::TwoInkStroke, inside, edge.length());
            let outside = self.walk(self.upper, (x, y), (nx, ny), thinnest, false);
            let both = outside.filter(|_| !self.prints(self.lower, x + 1.5 * nx, y + 1.5 * ny));
            add_thin(ThinKind::Knockout, both, edge.length());
            return;
        }
        if along >= -ALONG {
            return;
        }
        // The lower ink runs on beyond the edge, and the upper one covers the trap.
        let beyond = 1.5 + (-near.depth).max(0.0);
        let half = near.depth.max(0.0) / 2.0;
        let sound = self.prints(self.lower, x + nx * beyond, y + ny * beyond)
            && (near.depth < 2.0 || self.prints(self.lower, x - nx * half, y - ny * half))
            && (near.depth < 2.0 || self.prints(self.upper, x - nx * half, y - ny * half))
            && (near.depth < 2.0
                || self.prints(self.upper, x - nx * (near.depth - 1.0), y - ny * (near.depth - 1.0)));
        if !sound {
            return;
        }
        let inside = self.walk(self.upper, (x, y), (-nx, -ny), thinnest, true);
        add_thin(ThinKind::Stroke, inside, edge.length());
        let from = (x - nx * near.depth, y - ny * near.depth);
        let across = self.walk(self.lower, from, (nx, ny), thinnest, true);
        add_thin(ThinKind::LowerStroke, across, edge.length());
        let turn = (libm::atan2(ny, nx) / std::f64::consts::TAU).rem_euclid(1.0);
        let cell = |v: f64| (v / (CELL * ppm)) as u64 & 0xfff;
        let key = cell(y) << 32
            | cell(x) << 20
            | ((turn * NORMALS) as u64 % NORMALS as u64) << 12
            | ((depth + 1.0) / TRAPS) as u64 & 0xfff;
        abutting.push(Abutting { key, x, y, nx, ny, trap: depth, length: edge.length() / ppm });
    }

    fn prints(&self, ink: usize, x: f64, y: f64) -> bool {
        if x < 0.0 || y < 0.0 || x >= self.covers.width as f64 {
            return false;
        }
        let at = y as usize * self.covers.width + x as usize;
        self.covers.inks.get(ink).and_then(|i| i.plane.get(at)).is_some_and(|v| prints(*v))
    }

    /// How far one can walk from an edge before the ink ends (or begins), in pixels; `None` when farther
    /// than `most` or off the sheet.
    fn walk(&self, ink: usize, from: (f64, f64), by: (f64, f64), most: f64, printed: bool) -> Option<f64> {
        let mut gone = 1.0;
        while gone <= most {
            let (x, y) = (from.0 + by.0 * gone, from.1 + by.1 * gone);
            if x < 0.0 || y < 0.0 || x >= self.covers.width as f64 || y >= self.covers.height as f64 {
                return None;
            }
            if self.prints(ink, x, y) != printed {
                return Some(gone);
            }
            gone += 0.5;
        }
        None
    }

    /// The points of one cell as one stretch; `None` when a gap would not show there.
    fn stretch(&self, points: &[Abutting]) -> Option<Tight> {
        let length: f64 = points.iter().map(|p| p.length).sum();
        let mean = |of: fn(&Abutting) -> f64| points.iter().map(|p| of(p) * p.length).sum::<f64>() / length;
        let (nx, ny, trap) = (mean(|p| p.nx), mean(|p| p.ny), mean(|p| p.trap));
        let size = libm::hypot(nx, ny);
        if length <= 0.0 || size < 1e-6 {
            return None;
        }
        let middle = points.get(points.len() / 2)?;
        let ppm = self.covers.px_per_mm;
        let place = ((middle.x, middle.y), (middle.nx, middle.ny), middle.trap * ppm);
        let (shows, difference) = visible(self.covers, self.lower, self.upper, place);
        (difference >= self.options.least_difference).then(|| Tight {
            lower: self.layer(self.lower),
            upper: self.layer(self.upper),
            at: Point::new(mean(|p| p.x) / ppm, mean(|p| p.y) / ppm),
            normal: Point::new(nx / size, ny / size),
            trap,
            length,
            shows,
            difference,
        })
    }
}
