//! The paper of a scan: how light bare paper is at every place, however unevenly the scan was lit, so that it can
//! be cleaned to white and a wash beside it stays the tone that it is.
//!
//! Light falls off gently, and artwork begins at an edge: of the steps in gray from cell to cell the gentle ones
//! are the light's and the steep ones the artwork's (B. K. P. Horn, "Determining lightness from an image",
//! Computer Graphics and Image Processing 3(4), 1974). A smooth surface through the gentle steps alone, lifted to
//! the lightest tone that covers a part of the sheet, is the paper's [`trend`]; where cells that hang together
//! stray a little from it, as in a soft shadow, the paper follows them.
//!
//! A tone that sets in over several centimetres looks like falling light and counts as paper.

mod trend;
mod whole;

use std::sync::Arc;

use rayon::prelude::*;

use slipsheet_base::stats::gray_quantile;

use crate::raster::GrayRaster;
use crate::units::Dpi;
use trend::Grid;
pub use whole::BarePaper;

/// The least side of a cell: a few strokes of type and the paper between them.
const CELL_MM: f64 = 2.0;
/// Cells along the longer side at most, for the trend is fitted to all of them.
const MOST_CELLS: f64 = 120.0;
/// Pixels that are looked at along each side of a cell.
const SAMPLES: usize = 16;
/// The share of a cell's pixels that may be darker than its paper.
const BRIGHT: f64 = 0.8;
/// The share that may be darker than the paper between dense strokes, or than a light stroke in a dark ground.
const BRIGHTEST: f64 = 0.98;
/// A cell whose brightest pixels are lighter than its bright ones by this share is taken at its brightest.
const DETAIL: f64 = 1.2;

/// Cells this near to the trend, in natural logarithms of gray, are paper.
const SEED: f64 = 0.05;
/// Neighbours of paper whose gray differs by no more than this a millimetre are paper as well ..
const GENTLE: f64 = 0.01;
/// .. unless they are darker than the trend by more than this: then they are tone.
const DEEPEST: f64 = 0.16;
/// How far paper is averaged.
const NEAR_MM: f64 = 3.0;
/// How much the trend counts in that average, as a share of all cells that it is taken over.
const PRIOR: f64 = 0.02;

/// Paper that is nowhere as light as this is no paper: a solid, or a scan of black stock.
const LIGHTEST: f64 = 110.0;
/// Paper that is everywhere as light as this is clean.
const CLEAN: f64 = 250.0;
/// A ground of one gray without any grain is drawn, not scanned, when more than this share of its cells show it.
const DRAWN: f64 = 0.4;
/// Grain lies within this many gray levels of its paper; what lies farther off is drawn on it.
const GRAIN: u8 = 8;

/// Of the paper's light, what noise takes at most; and from where on a tone keeps its full coverage.
const NOISE: f64 = 0.04;
const TONE: f64 = 0.12;

/// The gray of the paper in every cell of a scan.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Paper {
    cell_mm: f64,
    columns: usize,
    shades: Arc<[f32]>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    /// The gray of its paper, if there is any in it.
    gray: u8,
    /// Whether its paper is of one gray, without any grain.
    flat: bool,
}

impl Paper {
    /// Bytes held.
    pub fn bytes(&self) -> usize {
        size_of_val(&*self.shades)
    }

    /// The paper of a whole scan; `None` where there is none to clean: it is white already, it was drawn and not
    /// scanned, or all is dark.
    pub fn of(raster: &GrayRaster, dpi: Dpi) -> Option<Self> {
        let (width, height) = (raster.width() as usize, raster.height() as usize);
        let longest = width.max(height) as f64;
        let side = (CELL_MM * dpi.px_per_mm()).max(longest / MOST_CELLS);
        let side = (libm::round(side) as usize).max(1);
        let cell_mm = side as f64 / dpi.px_per_mm();

        let columns = width.div_ceil(side);
        let cells = cells(raster, side, columns);
        let logs = cells.iter().map(|c| libm::log(f64::from(c.gray.max(4)))).collect();
        let grid = Grid { columns, cell_mm, logs };
        let trend = trend::of(&grid);
        let off: Vec<f64> = grid.logs.iter().zip(&trend).map(|(z, t)| z - t).collect();
        let bare = bare(&off, columns, cell_mm);
        if is_drawn(&cells, &bare) {
            return None;
        }

        let strayed = strayed(&off, &bare, columns, cell_mm);
        let shade = |(t, s): (&f64, f64)| libm::exp(t + s).min(255.0) as f32;
        let shades: Arc<[f32]> = trend.iter().zip(strayed).map(shade).collect();
        let range = |pick: fn(f32, f32) -> f32, from: f32| f64::from(shades.iter().copied().fold(from, pick));
        if range(f32::max, 0.0) < LIGHTEST || range(f32::min, 255.0) >= CLEAN {
            return None;
        }
        Some(Self { cell_mm, columns, shades })
    }

    /// Cleans a part of the scan, or of one of its halvings; `at` is where its first pixel lies, in pixels of that
    /// resolution.
    pub(crate) fn clean(&self, part: &mut GrayRaster, dpi: Dpi, at: (u32, u32)) {
        let place = |px: u32| self.cell_of(f64::from(px) + 0.5, dpi);
        let width = part.width() as usize;
        let spans = Spans::new(width, self.columns, |x| place(at.0 + x as u32));
        let tones = tones();
        part.pixels_mut().par_chunks_mut(width).enumerate().for_each_init(Vec::new, |line, (y, row)| {
            self.line(place(at.1 + y as u32), line);
            spans.clean(line, &tones, row);
        });
    }

    /// Where a place of the scan, in pixels, lies between the middles of cells.
    fn cell_of(&self, px: f64, dpi: Dpi) -> f64 {
        let cells_from_px = 1.0 / (self.cell_mm * dpi.px_per_mm());
        (px * cells_from_px - 0.5).max(0.0)
    }

    /// The paper along a row of pixels, one value a cell.
    fn line(&self, at: f64, out: &mut Vec<f32>) {
        let last = (self.shades.len() / self.columns).saturating_sub(1);
        let top = (at as usize).min(last);
        let part = (at - top as f64).clamp(0.0, 1.0) as f32;
        let row = |i: usize| self.shades.iter().skip(i.min(last) * self.columns).take(self.columns);
        out.clear();
        out.extend(row(top).zip(row(top + 1)).map(|(a, b)| a + (b - a) * part));
    }
}

/// Which pixels of a row lie between the middles of which cells, and how far along.
struct Spans {
    /// A cell, and how many pixels from its middle on to the next cell's.
    spans: Vec<(usize, usize)>,
    parts: Vec<f32>,
}

impl Spans {
    fn new(width: usize, columns: usize, place: impl Fn(usize) -> f64) -> Self {
        let mut spans: Vec<(usize, usize)> = Vec::new();
        let mut parts = Vec::with_capacity(width);
        for x in 0..width {
            let at = place(x);
            let cell = (at as usize).min(columns - 1);
            parts.push((at - cell as f64).clamp(0.0, 1.0) as f32);
            match spans.last_mut() {
                Some((last, count)) if *last == cell => *count += 1,
                _ => spans.push((cell, 1)),
            }
        }
        Self { spans, parts }
    }

    fn clean(&self, line: &[f32], tones: &[u8; 256], row: &mut [u8]) {
        let (mut row, mut parts) = (row, self.parts.as_slice());
        for &(cell, count) in &self.spans {
            let (now, rest) = row.split_at_mut(count.min(row.len()));
            let (now_parts, rest_parts) = parts.split_at(count.min(parts.len()));
            let a = line.get(cell).copied().unwrap_or(255.0);
            let b = line.get(cell + 1).copied().unwrap_or(a);
            for (g, part) in now.iter_mut().zip(now_parts) {
                let paper = a + (b - a) * part;
                *g = (f32::from(*g) * 255.0 / paper + 0.5).min(255.0) as u8;
            }
            now.iter_mut().for_each(|g| *g = tones[usize::from(*g)]);
            (row, parts) = (rest, rest_parts);
        }
    }
}

/// From gray against the paper to gray without the paper's noise: up to [`NOISE`] of coverage is paper, from
/// [`TONE`] on all is kept, and a straight line runs between.
fn tones() -> [u8; 256] {
    std::array::from_fn(|g| {
        let coverage = 1.0 - g as f64 / 255.0;
        let kept =
            if coverage >= TONE { coverage } else { (coverage - NOISE).max(0.0) * TONE / (TONE - NOISE) };
        libm::round(255.0 * (1.0 - kept)) as u8
    })
}

fn cells(raster: &GrayRaster, side: usize, columns: usize) -> Vec<Cell> {
    let height = raster.height() as usize;
    let step = (side / SAMPLES).max(1);
    let mut cells = vec![Cell::default(); columns * height.div_ceil(side)];
    cells.par_chunks_mut(columns).enumerate().for_each(|(cy, out)| {
        for (cx, out) in out.iter_mut().enumerate() {
            let mut counts = [0_u32; 256];
            for y in (cy * side..((cy + 1) * side).min(height)).step_by(step) {
                let row = raster.row(y as u32);
                for g in row.iter().skip(cx * side).take(side).step_by(step) {
                    counts[usize::from(*g)] += 1;
                }
            }
            *out = Cell::of(&counts);
        }
    });
    cells
}

impl Cell {
    fn of(counts: &[u32; 256]) -> Self {
        let of_share = |share| gray_quantile(counts, share);
        let (bright, brightest) = (of_share(BRIGHT), of_share(BRIGHTEST));
        let detailed = f64::from(brightest) > f64::from(bright) * DETAIL + 4.0;
        let gray = if detailed { brightest } else { bright };
        let near = usize::from(gray.saturating_sub(GRAIN))..=usize::from(gray.saturating_add(GRAIN));
        let grays = counts.get(near).unwrap_or(&[]).iter().filter(|n| **n > 0).count();
        Self { gray, flat: grays == 1 }
    }
}

/// Whether too many of the bare cells show one and the same gray throughout: light on paper never does that.
fn is_drawn(cells: &[Cell], bare: &[bool]) -> bool {
    let mut counts = [0_usize; 256];
    let (mut all, bare) = (0, cells.iter().zip(bare).filter(|(_, bare)| **bare));
    for (cell, _) in bare {
        all += 1;
        counts[usize::from(cell.gray)] += usize::from(cell.flat);
    }
    counts.iter().any(|n| *n as f64 > all as f64 * DRAWN)
}

/// Which cells show bare paper: those near the trend, and what hangs together with them by gentle steps.
fn bare(off: &[f64], columns: usize, cell_mm: f64) -> Vec<bool> {
    let mut bare: Vec<bool> = off.iter().map(|o| o.abs() < SEED).collect();
    let mut todo: Vec<usize> = (0..off.len()).filter(|i| bare.get(*i) == Some(&true)).collect();
    let gentle = GENTLE * cell_mm;
    while let Some(i) = todo.pop() {
        let Some(&here) = off.get(i) else { continue };
        let column = i % columns;
        let beside = [
            i.checked_sub(columns),
            Some(i + columns),
            i.checked_sub(1).filter(|_| column > 0),
            Some(i + 1).filter(|_| column + 1 < columns),
        ];
        for j in beside.into_iter().flatten() {
            let (Some(&there), Some(known)) = (off.get(j), bare.get_mut(j)) else { continue };
            if !*known && there > -DEEPEST && (there - here).abs() < gentle {
                *known = true;
                todo.push(j);
            }
        }
    }
    bare
}

/// How far the paper strays from its trend: the mean of the bare cells around.
fn strayed(off: &[f64], bare: &[bool], columns: usize, cell_mm: f64) -> Vec<f64> {
    let reach = (libm::round(NEAR_MM / cell_mm) as usize).max(1);
    let around = |cells: Vec<f64>| {
        // Twice, so that the weight falls off toward the rim.
        let once = trend::box_sums(&cells, columns, reach);
        trend::box_sums(&once, columns, reach)
    };
    let sums = around(off.iter().zip(bare).map(|(o, b)| if *b { *o } else { 0.0 }).collect());
    let counts = around(bare.iter().map(|b| if *b { 1.0 } else { 0.0 }).collect());
    let window = (2 * reach + 1) as f64;
    let prior = PRIOR * window * window * window * window;
    sums.iter().zip(&counts).map(|(s, n)| s / (n + prior)).collect()
}

#[cfg(test)]
mod tests;
