//! Soft pencil: the paper's own shade is estimated place by place and divided out, then the stroke is
//! brought to strength. Each pixel keeps its own gray against its surroundings, so grain is kept.

use rayon::prelude::*;

use super::{Reading, adjust::after_black, line::histogram};
use slipsheet_base::stats::gray_quantile;

use crate::raster::GrayRaster;
use crate::units::Dpi;

/// Side of the cells in which the paper's shade is read.
const CELL_MM: f64 = 0.5;
/// Cells to each side over which the paper is looked for: 6 mm, wider than a shaded patch of pencil is solid.
const REACH: usize = 12;
/// Of the cells around, the share that may be darker than the paper: bright, but not the brightest speck.
const BRIGHT: f64 = 0.8;
/// A cell of at least this share of that is paper itself: the shade then follows it more closely.
const PAPER: f64 = 0.9;
/// Cells to each side over which paper is averaged: 1.5 mm.
const NEAR: usize = 3;
/// Never take for paper what is darker than this share of the sheet's bright cells: that is drawing.
const DARKEST_PAPER: f64 = 0.55;
/// Drop-out that takes the paper's noise away before strokes are strengthened (common practice, no source).
const NOISE: f64 = 0.04;
/// Strokes are strengthened threefold at most.
pub(super) const MOST_GAIN: f64 = 3.0;

/// What only the whole sheet tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sheet {
    /// The darkest gray that may be paper.
    floor: f32,
    /// How much coverage is multiplied by.
    gain: f64,
}

impl Sheet {
    pub fn of(raster: &GrayRaster, dpi: Dpi) -> Self {
        flat_sheet(raster, dpi).1
    }
}

/// The gray that a faint reading aims at.
pub(super) fn tones(reading: &Reading, raster: &GrayRaster, dpi: Dpi) -> GrayRaster {
    let (flat, sheet) = flat_sheet(raster, dpi);
    flat.mapped(&table(reading, sheet))
}

/// From gray with the paper's shade divided out to gray that is asked for.
///
/// The black point is one more reason to strengthen, so the stronger of the two counts. The noise that is taken away
/// grows with it, so that paper stays bare: a coverage `a` that the sheet's own gain has given becomes
/// `(s a - s n) / (1 - s n)`, which rises with the strength `s` wherever it is more than none.
pub(super) fn table(reading: &Reading, sheet: Sheet) -> [u8; 256] {
    let further = (1.0 / (reading.black.get() * sheet.gain)).max(1.0);
    let rest = after_black(reading, reading.background.get().max(NOISE * further));
    std::array::from_fn(|g| {
        let stronger = libm::round(255.0 - (255.0 - g as f64) * sheet.gain).clamp(0.0, 255.0);
        rest((1.0 - stronger / 255.0) * further)
    })
}

fn flat_sheet(raster: &GrayRaster, dpi: Dpi) -> (GrayRaster, Sheet) {
    let (flat, floor) = flattened(raster, dpi, None);
    let gain = gain(&histogram(flat.pixels()));
    (flat, Sheet { floor, gain })
}

/// A part of the sheet with the paper's shade divided out. What lies nearer to the part's rim than [`MARGIN_MM`]
/// may differ from what the whole would give.
pub(super) fn flat_part(part: &GrayRaster, dpi: Dpi, sheet: Sheet) -> GrayRaster {
    flattened(part, dpi, Some(sheet.floor)).0
}

/// A whole scan with the paper's shade divided out, so that paper is white all over.
pub(crate) fn flat(raster: &GrayRaster, dpi: Dpi) -> GrayRaster {
    flattened(raster, dpi, None).0
}

/// How far a pixel's surroundings count: the reach for paper and the mean over it, and a cell.
pub(super) const MARGIN_MM: f64 = CELL_MM * (REACH + NEAR + 2) as f64;

/// How much coverage is multiplied by, so that the darkest twentieth of what is drawn becomes full ink.
fn gain(counts: &[u64; 256]) -> f64 {
    // Drawn is what lies clear of the paper's noise.
    let drawn = 255 - (2.5 * NOISE * 255.0) as usize;
    let total: u64 = counts[..drawn].iter().sum();
    if total * 10_000 < counts.iter().sum() {
        return 1.0;
    }
    let mut seen = 0;
    for (g, n) in counts.iter().enumerate() {
        seen += n;
        if seen * 20 >= total {
            return (255.0 / (255.0 - g as f64)).clamp(1.0, MOST_GAIN);
        }
    }
    1.0
}

/// The raster with the paper's shade divided out, so that paper is white all over, and the darkest gray that may
/// be paper: the one given, or else the one found.
fn flattened(raster: &GrayRaster, dpi: Dpi, floor: Option<f32>) -> (GrayRaster, f32) {
    let cell = (libm::round(CELL_MM * dpi.px_per_mm()) as usize).max(1);
    let (shade, floor) = Shade::of(raster, cell, floor);
    let parts: Vec<f32> = (0..cell).map(|j| ((cell / 2 + j) as f32 + 0.5) / cell as f32 - 0.5).collect();
    let mut out = raster.blank();
    let width = raster.width() as usize;
    out.pixels_mut().par_chunks_mut(width).enumerate().for_each_init(Vec::new, |line, (y, out)| {
        shade.line(y, line);
        let row = raster.row(y as u32);
        // Up to the first cell's middle its own shade holds; from there on straight lines run to the next.
        let (first, rest) = out.split_at_mut((cell / 2).min(width));
        let (first_row, row) = row.split_at(first.len());
        let start = line.first().copied().unwrap_or(255.0);
        divide(first, first_row, &parts, start, start);
        let ends = line.iter().zip(line.iter().skip(1).chain(line.last()));
        for ((out, row), (&a, &b)) in rest.chunks_mut(cell).zip(row.chunks(cell)).zip(ends) {
            divide(out, row, &parts, a, b);
        }
    });
    (out, floor)
}

fn divide(out: &mut [u8], row: &[u8], parts: &[f32], a: f32, b: f32) {
    for ((o, g), part) in out.iter_mut().zip(row).zip(parts) {
        let paper = a + (b - a) * part;
        *o = (f32::from(*g) * 255.0 / paper + 0.5).min(255.0) as u8;
    }
}

/// The paper's gray, one value a cell.
struct Shade {
    cell: usize,
    columns: usize,
    cells: Vec<f32>,
}

impl Shade {
    fn of(raster: &GrayRaster, cell: usize, floor: Option<f32>) -> (Self, f32) {
        let (width, height) = (raster.width() as usize, raster.height() as usize);
        let (columns, rows) = (width.div_ceil(cell), height.div_ceil(cell));
        let mut cells = vec![0_u8; columns * rows];
        cells.par_chunks_mut(columns).enumerate().for_each(|(cy, out)| {
            for (cx, o) in out.iter_mut().enumerate() {
                let mut counts = [0_u32; 256];
                for y in cy * cell..((cy + 1) * cell).min(height) {
                    let row = raster.row(y as u32);
                    for g in row.iter().skip(cx * cell).take(cell) {
                        counts[usize::from(*g)] += 1;
                    }
                }
                *o = gray_quantile(&counts, 0.5);
            }
        });
        let bright = running(&cells, columns);
        let turned = transposed(&bright, columns);
        let bright = transposed(&running(&turned, rows), rows);
        let floor = floor.unwrap_or_else(|| {
            let mut sheet = [0_u32; 256];
            bright.iter().for_each(|g| sheet[usize::from(*g)] += 1);
            (f64::from(gray_quantile(&sheet, 0.9)) * DARKEST_PAPER) as f32
        });
        let bright: Vec<f32> = bright.iter().map(|&g| f32::from(g).max(floor).max(1.0)).collect();
        (Self { cell, columns, cells: nearer(&cells, &bright, columns) }, floor)
    }

    /// The shade along a row of pixels, still one value a cell.
    fn line(&self, y: usize, out: &mut Vec<f32>) {
        let rows = self.cells.len() / self.columns;
        let at = (y as f32 + 0.5) / self.cell as f32 - 0.5;
        let top = at.max(0.0) as usize;
        let part = (at - top as f32).clamp(0.0, 1.0);
        let row = |i: usize| {
            let i = i.min(rows - 1);
            self.cells.get(i * self.columns..(i + 1) * self.columns).unwrap_or(&[])
        };
        out.clear();
        out.extend(row(top).iter().zip(row(top + 1)).map(|(a, b)| a + (b - a) * part));
    }
}

/// The mean of the cells around that are paper themselves; where there are none, what is bright nearby.
fn nearer(cells: &[u8], bright: &[f32], columns: usize) -> Vec<f32> {
    let is_paper = |g: u8, b: f32| f64::from(g) >= f64::from(b) * PAPER;
    let around = |value: fn(u8) -> u32| {
        let own = cells.iter().zip(bright).map(|(&g, &b)| if is_paper(g, b) { value(g) } else { 0 });
        let across = sums(&own.collect::<Vec<_>>(), columns);
        let rows = cells.len() / columns;
        transposed(&sums(&transposed(&across, columns), rows), rows)
    };
    let (sum, count) = (around(u32::from), around(|_| 1));
    let mean = sum.iter().zip(&count).zip(bright);
    mean.map(|((&s, &n), &b)| if n > 0 { (s as f32 / n as f32).max(1.0) } else { b }).collect()
}

/// Sums over the cells near every cell of its row.
fn sums(cells: &[u32], columns: usize) -> Vec<u32> {
    cells
        .chunks(columns)
        .flat_map(|row| {
            (0..row.len()).map(|i| row.iter().take(i + NEAR + 1).skip(i.saturating_sub(NEAR)).sum())
        })
        .collect()
}

/// The bright quantile over a window that runs along every row.
fn running(cells: &[u8], columns: usize) -> Vec<u8> {
    let mut out = cells.to_vec();
    out.par_chunks_mut(columns).zip(cells.par_chunks(columns)).for_each(|(out, row)| {
        let mut counts = [0_u32; 256];
        row.iter().take(REACH).for_each(|g| counts[usize::from(*g)] += 1);
        for (i, o) in out.iter_mut().enumerate() {
            if let Some(g) = row.get(i + REACH) {
                counts[usize::from(*g)] += 1;
            }
            if let Some(g) = i.checked_sub(REACH + 1).and_then(|i| row.get(i)) {
                counts[usize::from(*g)] -= 1;
            }
            *o = gray_quantile(&counts, BRIGHT);
        }
    });
    out
}

fn transposed<T: Copy>(cells: &[T], columns: usize) -> Vec<T> {
    (0..columns).flat_map(|x| cells.iter().skip(x).step_by(columns).copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Mode;

    /// Paper that darkens from 240 to 180 across, with grainy strokes that take a quarter of its light.
    fn pencil() -> GrayRaster {
        let pixels = (0..400_u32 * 300)
            .map(|i| {
                let (x, y) = (i % 400, i / 400);
                let paper = 240.0 - 60.0 * f64::from(x) / 400.0;
                let grain = f64::from((i.wrapping_mul(2_654_435_761) >> 24) % 21) / 100.0 - 0.1;
                let stroke = (y % 40) < 5;
                (paper * if stroke { 0.75 + grain } else { 1.0 }) as u8
            })
            .collect();
        GrayRaster::new(400, 300, pixels).unwrap()
    }

    #[test]
    fn shaded_paper_comes_out_blank_and_strokes_come_out_even() {
        let toned = tones(&Reading::of(Mode::Faint), &pencil(), Dpi::new(150.0).unwrap());
        let mean = |xs: std::ops::Range<usize>, ys: std::ops::Range<u32>| {
            let n = (xs.len() * ys.len()) as f64;
            ys.map(|y| toned.row(y)[xs.clone()].iter().map(|&g| f64::from(g)).sum::<f64>()).sum::<f64>() / n
        };
        assert!(toned.row(20).iter().all(|&g| g == 255), "paper is left: {:?}", toned.row(20).iter().min());
        let (left, right) = (mean(20..120, 40..45), mean(280..380, 40..45));
        assert!((left - right).abs() < 12.0, "the stroke reads {left} on light paper and {right} on dark");
        assert!(left < 100.0, "the stroke stays faint: {left}");
        // Grain is kept: the stroke is no flat tone.
        let row = &toned.row(42)[20..120];
        assert!(row.iter().max().unwrap() - row.iter().min().unwrap() > 60);
    }

    #[test]
    fn a_blank_sheet_stays_blank() {
        let blank = GrayRaster::filled(90, 70, 231).unwrap();
        let toned = tones(&Reading::of(Mode::Faint), &blank, Dpi::new(300.0).unwrap());
        assert!(toned.pixels().iter().all(|&g| g == 255));
    }

    #[test]
    fn a_large_solid_is_not_taken_for_paper() {
        let pixels = (0..600 * 200).map(|i| if i % 600 < 300 { 60 } else { 240 }).collect();
        let toned = tones(
            &Reading::of(Mode::Faint),
            &GrayRaster::new(600, 200, pixels).unwrap(),
            Dpi::new(150.0).unwrap(),
        );
        assert!(toned.row(100)[50] < 150, "{}", toned.row(100)[50]);
    }
}
