//! The parts of a sheet: dark pixels that hang together, with their corners.
//!
//! Rows are cut into runs of dark pixels, and runs that touch are joined (union by the lesser root with path halving,
//! Tarjan 1975). Runs keep their order, so parts are numbered from top to bottom.

use std::ops::Range;

use rayon::prelude::*;

use crate::raster::GrayRaster;
use crate::units::Dpi;

/// Paper divided out, what is darker than this is dark: a coverage of 6 %.
const DARK: u8 = 240;
/// A part stands out where its darkest pixel is so many times the noise around it.
const ABOVE_NOISE: f64 = 7.0;
/// And where its darkest pixel is so many grays darker than white, an eighth of full ink: less is grain.
const LEAST_DEPTH: u8 = 32;
/// Side of the cells in which noise is told, in mm, and pixels at the least.
const CELL_MM: f64 = 4.0;
const CELL_PX: usize = 24;

/// Dark pixels beside one another in a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run {
    pub row: u32,
    pub from: u32,
    /// The first column that is no longer dark.
    pub to: u32,
    /// The number of its part.
    pub part: u32,
    dark: u32,
    depth: u8,
}

/// The pixels that a part lies in, the last ones excluded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Extent {
    pub left: u32,
    pub top: u32,
    pub right: u32,
    pub bottom: u32,
}

impl Extent {
    pub fn longer(&self) -> u32 {
        (self.right - self.left).max(self.bottom - self.top)
    }

    /// Its middle, in pixels.
    pub fn middle(&self) -> (f64, f64) {
        (f64::from(self.left + self.right) / 2.0, f64::from(self.top + self.bottom) / 2.0)
    }

    pub fn holds(&self, x: u32, y: u32) -> bool {
        (self.left..self.right).contains(&x) && (self.top..self.bottom).contains(&y)
    }

    /// With so many pixels more on each side, as far as the raster goes.
    pub fn grown(&self, by: usize, raster: &GrayRaster) -> Self {
        let by = by as u32;
        Self {
            left: self.left.saturating_sub(by),
            top: self.top.saturating_sub(by),
            right: self.right.saturating_add(by).min(raster.width()),
            bottom: self.bottom.saturating_add(by).min(raster.height()),
        }
    }

    pub fn touches(&self, other: &Self) -> bool {
        let apart = self.right < other.left || other.right < self.left;
        !apart && self.bottom >= other.top && other.bottom >= self.top
    }

    fn join(&mut self, other: &Self) {
        self.left = self.left.min(other.left);
        self.top = self.top.min(other.top);
        self.right = self.right.max(other.right);
        self.bottom = self.bottom.max(other.bottom);
    }
}

/// Dark pixels that hang together.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub number: u32,
    pub extent: Extent,
    pub pixels: u32,
    /// Grays that its darkest pixel is darker than the paper.
    pub depth: u8,
    /// The same of all its pixels.
    dark: u64,
    /// Whether it is darker than the paper's noise.
    pub stands_out: bool,
}

impl Part {
    /// About how thick it is, in pixels: as much ink as it has, at its darkest, over its length.
    pub fn thickness(&self) -> f64 {
        let Extent { left, top, right, bottom } = self.extent;
        let length = libm::hypot(f64::from(right - left), f64::from(bottom - top));
        self.dark as f64 / f64::from(self.depth.max(1)) / length
    }
}

/// All parts of a sheet.
pub(super) struct Parts {
    size: (u32, u32),
    runs: Vec<Run>,
    /// Where the runs of each row begin, and where the last one's end.
    rows: Vec<usize>,
    pub all: Vec<Part>,
}

impl Parts {
    /// The parts of a sheet whose paper is white.
    pub fn of(flat: &GrayRaster, dpi: Dpi) -> Self {
        let width = flat.width() as usize;
        let by_row: Vec<Vec<Run>> =
            flat.pixels().par_chunks(width).enumerate().map(|(y, row)| runs(y as u32, row)).collect();
        let mut rows = Vec::with_capacity(by_row.len() + 1);
        rows.push(0);
        let mut end = 0;
        rows.extend(by_row.iter().map(|runs| {
            end += runs.len();
            end
        }));
        let mut runs: Vec<Run> = by_row.concat();
        let count = number(&mut runs, &rows);
        let noise = Noise::of(flat, dpi);
        let all = joined(&runs, count, &noise);
        Self { size: (flat.width(), flat.height()), runs, rows, all }
    }

    /// The runs of a row that reach into some columns.
    pub fn in_row(&self, y: u32, columns: Range<u32>) -> impl Iterator<Item = &Run> {
        let y = y as usize;
        let bounds = self.rows.get(y).zip(self.rows.get(y + 1));
        let row = bounds.and_then(|(from, to)| self.runs.get(*from..*to)).unwrap_or(&[]);
        let first = row.partition_point(|run| run.to <= columns.start);
        row.iter().skip(first).take_while(move |run| run.from < columns.end)
    }

    /// Whether a part reaches from one rim of the sheet to the other.
    pub fn is_as_wide_or_high(&self, part: &Part) -> bool {
        let Extent { left, top, right, bottom } = part.extent;
        right - left == self.size.0 || bottom - top == self.size.1
    }

    pub fn is_dark(&self, x: u32, y: u32) -> bool {
        self.in_row(y, x..x + 1).next().is_some()
    }

    /// The runs of a part.
    pub fn runs_of(&self, part: &Part) -> impl Iterator<Item = &Run> {
        let (extent, number) = (part.extent, part.number);
        let of_row = move |y| self.in_row(y, extent.left..extent.right);
        (extent.top..extent.bottom).flat_map(of_row).filter(move |run| run.part == number)
    }
}

fn runs(row: u32, pixels: &[u8]) -> Vec<Run> {
    let mut all: Vec<Run> = Vec::new();
    let mut open = false;
    for (x, block) in (0_u32..).step_by(16).zip(pixels.chunks(16)) {
        // Most of a sheet is paper.
        if block.iter().fold(255, |a: u8, g| a.min(*g)) >= DARK {
            open = false;
            continue;
        }
        for (x, gray) in (x..).zip(block) {
            if *gray >= DARK {
                open = false;
                continue;
            }
            let depth = 255 - gray;
            match all.last_mut().filter(|_| open) {
                Some(run) => {
                    run.to = x + 1;
                    run.dark += u32::from(depth);
                    run.depth = run.depth.max(depth);
                }
                None => all.push(Run { row, from: x, to: x + 1, part: 0, dark: u32::from(depth), depth }),
            }
            open = true;
        }
    }
    all
}

/// Gives every run the number of its part, and returns how many there are.
fn number(runs: &mut [Run], rows: &[usize]) -> usize {
    let mut parent: Vec<u32> = (0..runs.len() as u32).collect();
    for bounds in rows.windows(3) {
        let [above, here, below] = bounds else { continue };
        let (Some(upper), Some(lower)) = (runs.get(*above..*here), runs.get(*here..*below)) else { continue };
        let mut from = 0;
        for (j, run) in lower.iter().enumerate() {
            // Corners touch as well.
            while upper.get(from).is_some_and(|u| u.to < run.from) {
                from += 1;
            }
            let touching = upper.iter().enumerate().skip(from).take_while(|(_, u)| u.from <= run.to);
            for (i, _) in touching {
                unite(&mut parent, (*above + i) as u32, (*here + j) as u32);
            }
        }
    }
    let mut count = 0;
    for i in 0..runs.len() {
        let root = root(&mut parent, i as u32) as usize;
        let number = match runs.get(root) {
            // A root is the first of its runs, so it has its number already.
            Some(first) if root < i => first.part,
            _ => {
                count += 1;
                count - 1
            }
        };
        if let Some(run) = runs.get_mut(i) {
            run.part = number;
        }
    }
    count as usize
}

fn root(parent: &mut [u32], mut i: u32) -> u32 {
    while let Some(&up) = parent.get(i as usize).filter(|up| **up != i) {
        let over = parent.get(up as usize).copied().unwrap_or(up);
        if let Some(mine) = parent.get_mut(i as usize) {
            *mine = over;
        }
        i = over;
    }
    i
}

fn unite(parent: &mut [u32], a: u32, b: u32) {
    let (a, b) = (root(parent, a), root(parent, b));
    if let Some(other) = parent.get_mut(a.max(b) as usize) {
        *other = a.min(b);
    }
}

fn joined(runs: &[Run], count: usize, noise: &Noise) -> Vec<Part> {
    let mut all: Vec<Part> = Vec::with_capacity(count);
    for run in runs {
        let extent = Extent { left: run.from, top: run.row, right: run.to, bottom: run.row + 1 };
        let (pixels, dark) = (run.to - run.from, u64::from(run.dark));
        match all.get_mut(run.part as usize) {
            Some(part) => {
                part.extent.join(&extent);
                part.pixels += pixels;
                part.dark += dark;
                part.depth = part.depth.max(run.depth);
            }
            None => {
                let (number, depth) = (run.part, run.depth);
                all.push(Part { number, extent, pixels, depth, dark, stands_out: false });
            }
        }
    }
    all.par_iter_mut().for_each(|part| {
        part.stands_out = part.depth >= LEAST_DEPTH
            && f64::from(part.depth) >= ABOVE_NOISE * noise.at(part.extent.middle());
    });
    all
}

/// How noisy the paper is, cell by cell: the standard deviation of its grays, by the median step from a pixel to its
/// neighbour, in which strokes do not count (the median absolute deviation, Hampel 1974).
struct Noise {
    side: usize,
    columns: usize,
    deviations: Vec<f64>,
}

impl Noise {
    fn of(flat: &GrayRaster, dpi: Dpi) -> Self {
        let side = ((CELL_MM * dpi.px_per_mm()) as usize).max(CELL_PX);
        let (width, height) = (flat.width() as usize, flat.height() as usize);
        let columns = width.div_ceil(side);
        let step = (side / CELL_PX).max(1);
        let deviations = (0..columns * height.div_ceil(side)).into_par_iter().map(|cell| {
            let (x0, y0) = (cell % columns * side, cell / columns * side);
            let mut counts = [0_u32; 256];
            for y in (y0..(y0 + side).min(height)).step_by(step) {
                let row = flat.row(y as u32).get(x0..(x0 + side).min(width)).unwrap_or(&[]);
                // A pixel and the next but one: neighbours of a blurred scan are too alike.
                for (a, b) in row.iter().zip(row.iter().skip(2)) {
                    counts[usize::from(a.abs_diff(*b))] += 1;
                }
            }
            let all: u32 = counts.iter().sum();
            let mut seen = 0;
            let median = counts.iter().position(|n| {
                seen += n;
                2 * seen > all
            });
            // Of a normal distribution's steps the median is 0.6745 times the square root of 2 of its deviation.
            median.unwrap_or(0) as f64 / 0.954
        });
        Self { side, columns, deviations: deviations.collect() }
    }

    fn at(&self, (x, y): (f64, f64)) -> f64 {
        let cell = (y as usize / self.side) * self.columns + x as usize / self.side;
        self.deviations.get(cell).copied().unwrap_or(0.0)
    }
}
