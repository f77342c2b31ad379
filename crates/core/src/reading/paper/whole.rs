//! A whole scan whose bare paper becomes white, while what is drawn on it stays as it is, however faint.
//!
//! Paper has grain, and a pencil stroke may be no darker than its grain is. What tells them apart is that a stroke
//! goes on: means over blocks of [`BLOCK_MM`] have far less of the grain than single pixels have. How much is left of
//! it the scan itself says, by the spread of the means on the lighter side of the lightest value that many of them have,
//! where nothing is drawn. A flat pale wash that ends near the rim all around looks like light that falls off there, and
//! counts as paper. Blocks that lie clear of that spread are drawn, with what is around them. (A rule of our own;
//! the figures were found by trying, no source.)

use rayon::prelude::*;

use super::Paper;
use crate::raster::GrayRaster;
use crate::units::Dpi;

/// Side of a block: about half of a pencil stroke.
const BLOCK_MM: f64 = 0.17;
/// From how many spreads of bare paper on a block begins to count as drawn, and from where on it counts in full.
const BARE: f64 = 3.0;
const DRAWN: f64 = 4.5;
/// The least spread that paper has, as coverage: a scanner's own steps.
const LEAST_SPREAD: f64 = 0.002;
/// Where the coverage of bare paper lies, against the paper that was found.
const AROUND: std::ops::Range<f64> = -0.12..0.1;
/// Bins of that range, and how many of them on each side count as near.
const BINS: usize = 880;
const NEAR: usize = 4;
/// The share of all blocks that must be near a coverage for it to be the paper's, and the share of those near the most
/// frequent one: a pale wash may cover more of a sheet than is bare, and a strip of a pale lid is not the paper.
const LEAST_SHARE: f64 = 0.02;
const RIVAL_SHARE: f64 = 0.25;
/// The spread where the blocks do not tell it.
const USUAL_SPREAD: f64 = 0.01;
/// The share of a scan's rim that is bare where it shows a sheet of paper. The sky of a photograph reaches the rim as
/// well, but not all around it (common practice, no source).
const LEAST_RIM: f64 = 0.6;

/// What was found of a scan's bare paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarePaper {
    /// Its gray, 0..=255: the median over the scan.
    pub gray: f64,
    /// How far its light falls off over the scan, as a share of the lightest: 0 for even light.
    pub unevenness: f64,
    /// Spread of its grain over a fifth of a millimetre, as coverage 0..=1.
    pub grain: f64,
}

impl BarePaper {
    /// Finds the bare paper of a scan and makes it white; `None` where there is none to clean or art reaches most of
    /// the rim, and the scan stays as it is: also where a white lid lies beside a gray sheet, which might as well be
    /// white paper beside a wash. What is drawn keeps its coverage against the paper around it.
    pub fn clean(raster: &mut GrayRaster, dpi: Dpi) -> Option<Self> {
        let found = Found::of(raster, dpi)?;
        found.paper.whiten(raster, dpi, found.usual, &found.drawn);
        Some(found.bare())
    }

    /// Finds the bare paper that [`Self::clean`] would make white, and leaves the scan as it is.
    pub fn of(raster: &GrayRaster, dpi: Dpi) -> Option<Self> {
        Found::of(raster, dpi).map(|found| found.bare())
    }
}

/// A scan's paper, and what is drawn on it.
struct Found {
    paper: Paper,
    /// Coverage of bare paper against what was found of it, and its spread.
    usual: f64,
    spread: f64,
    drawn: Drawn,
}

impl Found {
    fn of(raster: &GrayRaster, dpi: Dpi) -> Option<Self> {
        let paper = Paper::of(raster, dpi)?;
        let side = (libm::round(BLOCK_MM * dpi.px_per_mm()) as usize).max(1);
        let blocks = Blocks::of(raster, &paper, dpi, side);
        let (usual, spread) = blocks.bare();
        let drawn = blocks.drawn(usual, spread);
        (drawn.bare_rim() >= LEAST_RIM).then_some(Self { paper, usual, spread, drawn })
    }

    fn bare(&self) -> BarePaper {
        let paper = &self.paper;
        BarePaper { gray: paper.median(), unevenness: paper.unevenness(), grain: self.spread }
    }
}

/// Mean coverage of blocks against the paper, smoothed over their neighbours.
struct Blocks {
    columns: usize,
    /// Pixels along each side of a block.
    side: usize,
    means: Vec<f32>,
}

impl Blocks {
    fn of(raster: &GrayRaster, paper: &Paper, dpi: Dpi, side: usize) -> Self {
        let (width, height) = (raster.width() as usize, raster.height() as usize);
        let columns = width.div_ceil(side);
        let mut means = vec![0.0_f32; columns * height.div_ceil(side)];
        means.par_chunks_mut(columns).enumerate().for_each_init(Vec::new, |line, (by, out)| {
            let rows = by * side..((by + 1) * side).min(height);
            let mut sums = vec![0_u32; columns];
            for y in rows.clone() {
                for (sum, block) in sums.iter_mut().zip(raster.row(y as u32).chunks(side)) {
                    *sum += block.iter().map(|g| u32::from(*g)).sum::<u32>();
                }
            }
            paper.line(paper.cell_of((rows.start + rows.end) as f64 / 2.0, dpi), line);
            for (bx, (out, sum)) in out.iter_mut().zip(&sums).enumerate() {
                let across = (width - bx * side).min(side);
                let mean = f64::from(*sum) / (across * rows.len()) as f64;
                let at = paper.cell_of((bx * side) as f64 + across as f64 / 2.0, dpi);
                *out = (1.0 - mean / f64::from(between(line, at))) as f32;
            }
        });
        Self { columns, side, means: smoothed(&means, columns) }
    }

    /// The coverage that most of bare paper has, and its spread below that.
    fn bare(&self) -> (f64, f64) {
        let wide = AROUND.end - AROUND.start;
        let mut counts = vec![0_u32; BINS];
        for mean in &self.means {
            let at = (f64::from(*mean) - AROUND.start) / wide * BINS as f64;
            if let Some(count) = counts.get_mut(at.max(0.0) as usize).filter(|_| at >= 0.0) {
                *count += 1;
            }
        }
        let near: Vec<u32> = counts.windows(2 * NEAR + 1).map(|w| w.iter().sum()).collect();
        let most = f64::from(near.iter().copied().max().unwrap_or(0));
        let enough = (LEAST_SHARE * self.means.len() as f64).max(RIVAL_SHARE * most);
        let is_peak = |i: &usize| {
            let around = i.saturating_sub(2 * NEAR)..(i + 2 * NEAR + 1).min(near.len());
            f64::from(near[*i]) >= enough && near[around].iter().all(|n| *n <= near[*i])
        };
        let Some(peak) = (0..near.len()).find(is_peak) else { return (0.0, USUAL_SPREAD) };
        let value = |bin: usize| AROUND.start + (bin as f64 + 0.5) * wide / BINS as f64;
        let mode = peak + NEAR;
        // Of one half of a normal distribution 68 % lie within a standard deviation.
        let below: u32 = counts[..mode].iter().sum();
        let (mut seen, mut at) = (0, mode);
        while at > 0 && f64::from(seen) < 0.6827 * f64::from(below) {
            at -= 1;
            seen += counts[at];
        }
        (value(mode), (value(mode) - value(at)).max(LEAST_SPREAD))
    }

    /// How much of each block is drawn, with what is around it.
    fn drawn(&self, usual: f64, spread: f64) -> Drawn {
        let (from, to) = (usual + BARE * spread, usual + DRAWN * spread);
        let share = |mean: &f32| (((f64::from(*mean) - from) / (to - from)).clamp(0.0, 1.0) * 255.0) as u8;
        let drawn: Vec<u8> = self.means.iter().map(share).collect();
        Drawn { columns: self.columns, side: self.side, shares: widened(&drawn, self.columns) }
    }
}

/// How much of each block is drawn, 0..=255.
struct Drawn {
    columns: usize,
    side: usize,
    shares: Vec<u8>,
}

impl Drawn {
    /// The share of the rim on which nothing is drawn, each side counting as much as another.
    fn bare_rim(&self) -> f64 {
        let bare = |sides: &mut dyn Iterator<Item = &u8>| {
            let (mut bare, mut all) = (0.0, 0.0);
            for share in sides {
                bare += f64::from(u8::from(*share == 0));
                all += 1.0;
            }
            bare / f64::max(all, 1.0)
        };
        let (columns, last) = (self.columns, self.shares.len().saturating_sub(self.columns));
        let top = bare(&mut self.shares.iter().take(columns));
        let bottom = bare(&mut self.shares.iter().skip(last));
        let left = bare(&mut self.shares.iter().step_by(columns));
        let right = bare(&mut self.shares.iter().skip(columns - 1).step_by(columns));
        (top + bottom + left + right) / 4.0
    }
}

impl Paper {
    /// Makes white what is not drawn. `usual` is the coverage of bare paper against what was found of it.
    fn whiten(&self, raster: &mut GrayRaster, dpi: Dpi, usual: f64, drawn: &Drawn) {
        let width = raster.width() as usize;
        let lighter = 255.0 / (1.0 - usual) as f32;
        let rows = raster.pixels_mut().par_chunks_mut(width).enumerate();
        rows.for_each_init(Vec::new, |line, (y, row)| {
            self.line(self.cell_of(y as f64 + 0.5, dpi), line);
            let shares = drawn.shares.iter().skip(y / drawn.side * drawn.columns);
            for ((bx, block), share) in row.chunks_mut(drawn.side).enumerate().zip(shares) {
                if *share == 0 {
                    block.fill(255);
                    continue;
                }
                // Paper changes little along a block.
                let at = self.cell_of((bx * drawn.side) as f64 + block.len() as f64 / 2.0, dpi);
                let gain = lighter / between(line, at);
                let share = f32::from(*share) / 255.0;
                for g in block {
                    let gray = (f32::from(*g) * gain).min(255.0);
                    *g = (255.0 - share * (255.0 - gray) + 0.5) as u8;
                }
            }
        });
    }

    /// Gray of the paper, 0..=255: the median over the scan.
    pub(crate) fn median(&self) -> f64 {
        let mut shades = self.shades.to_vec();
        shades.sort_by(f32::total_cmp);
        shades.get(shades.len() / 2).map_or(255.0, |g| f64::from(*g))
    }

    fn unevenness(&self) -> f64 {
        let most = self.shades.iter().copied().fold(1.0, f32::max);
        let least = self.shades.iter().copied().fold(most, f32::min);
        f64::from(1.0 - least / most)
    }
}

/// A value of a row of cells, between their middles.
fn between(line: &[f32], at: f64) -> f32 {
    let last = line.len().saturating_sub(1);
    let cell = (at as usize).min(last);
    let (a, b) = (line[cell], line[(cell + 1).min(last)]);
    a + (b - a) * (at - cell as f64).clamp(0.0, 1.0) as f32
}

/// Means over each value and its neighbours, weighted 1, 2, 1 across and down.
fn smoothed(values: &[f32], columns: usize) -> Vec<f32> {
    around(values, columns, |[a, b, c]| (a + 2.0 * b + c) / 4.0)
}

/// The largest of each value and its neighbours.
fn widened(values: &[u8], columns: usize) -> Vec<u8> {
    around(values, columns, |[a, b, c]| a.max(b).max(c))
}

/// Each value put together with its neighbours, across and then down; at the rim it stands in for them.
fn around<T: Copy + Send + Sync>(values: &[T], columns: usize, join: impl Fn([T; 3]) -> T + Sync) -> Vec<T> {
    let across = |row: &[T]| -> Vec<T> {
        let at = |i: usize| row[i.min(row.len() - 1)];
        (0..row.len()).map(|i| join([at(i.saturating_sub(1)), at(i), at(i + 1)])).collect()
    };
    let rows: Vec<Vec<T>> = values.par_chunks(columns.max(1)).map(across).collect();
    let row = |y: usize| &rows[y.min(rows.len() - 1)];
    (0..rows.len())
        .into_par_iter()
        .flat_map_iter(|y| {
            let (above, here, below) = (row(y.saturating_sub(1)), row(y), row(y + 1));
            above.iter().zip(here).zip(below).map(|((a, b), c)| join([*a, *b, *c])).collect::<Vec<T>>()
        })
        .collect()
}

#[cfg(test)]
mod published;
#[cfg(test)]
mod tests;
