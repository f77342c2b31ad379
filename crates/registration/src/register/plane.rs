//! What is compared when there are no marks: how strongly the gray changes, on a grid of cells in mm. Edges
//! are shared by layers whose grays are not: a wash and its outline, a shape and its knockout.

use rayon::prelude::*;

use slipsheet_base::fourier::Complex;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::{GrayRaster, Pyramid};

/// A square grid of `n` by `n` cells laid on artwork.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    /// Cells along a side, a power of two.
    pub n: usize,
    /// Side of a cell in mm.
    pub cell: f64,
    /// Its middle, in mm from the middle of the artwork it is laid on.
    pub middle: Point,
}

impl Grid {
    /// The middle of a cell, in mm from the artwork's middle.
    fn at(&self, x: usize, y: usize) -> Point {
        let half = self.n as f64 / 2.0 - 0.5;
        Point::new(
            self.middle.x + (x as f64 - half) * self.cell,
            self.middle.y + (y as f64 - half) * self.cell,
        )
    }
}

/// The edges in a pyramid under a grid, at most 1, without their mean and fading towards the grid's border.
/// `art_from_grid` carries mm on the grid to mm on the artwork, both from the artwork's middle. The second
/// result says how much there is to compare: the mean square of what the fading left.
pub(super) fn edges(pyramid: &Pyramid, grid: Grid, art_from_grid: Affine) -> (Vec<Complex>, f64) {
    let n = grid.n;
    let full = pyramid.full();
    let cell_px = grid.cell * art_from_grid.growth() * pyramid.dpi().px_per_mm();
    // The level whose pixels are as large as a cell, or the next finer one.
    let level = if cell_px > 1.0 { libm::floor(libm::log2(cell_px)) as usize } else { 0 };
    let level = level.min(pyramid.levels() - 1);
    let raster = pyramid.level(level);
    let shrink = f64::from(1_u32 << level.min(31));
    let (px, py) = (f64::from(full.width()) / 2.0, f64::from(full.height()) / 2.0);
    let scale = pyramid.dpi().px_per_mm() / shrink;
    let raster_from_grid =
        Affine::shift(px / shrink - 0.5, py / shrink - 0.5) * Affine::scale(scale, scale) * art_from_grid;
    let mut dark = vec![f32::NAN; n * n];
    dark.par_chunks_mut(n).enumerate().for_each(|(y, row)| {
        for (x, d) in row.iter_mut().enumerate() {
            *d = sample(raster, raster_from_grid * grid.at(x, y)).unwrap_or(f32::NAN);
        }
    });
    let fade = fading(n);
    let at = |x: usize, y: usize| dark.get(y * n + x).copied().unwrap_or(f32::NAN);
    let mut out = vec![Complex::default(); n * n];
    out.par_chunks_mut(n).enumerate().for_each(|(y, row)| {
        if y == 0 || y + 1 == n {
            return;
        }
        for (x, o) in row.iter_mut().enumerate().take(n - 1).skip(1) {
            let column = |x: usize| at(x, y - 1) + 2.0 * at(x, y) + at(x, y + 1);
            let line = |y: usize| at(x - 1, y) + 2.0 * at(x, y) + at(x + 1, y);
            let (gx, gy) = (column(x + 1) - column(x - 1), line(y + 1) - line(y - 1));
            let steep = f64::from(gx * gx + gy * gy).sqrt() / 4.0;
            // Where the artwork ends there is no edge. Strong edges do not drown faint ones.
            if steep.is_finite() {
                o.re = steep / (steep + HALF_STRONG);
            }
        }
    });
    let mean = out.iter().map(|c| c.re).sum::<f64>() / (n * n) as f64;
    let mut energy = 0.0;
    for (row, fy) in out.chunks_mut(n).zip(&fade) {
        for (o, fx) in row.iter_mut().zip(&fade) {
            o.re = (o.re - mean) * fx * fy;
            energy += o.re * o.re;
        }
    }
    (out, energy / (n * n) as f64)
}

/// The change of gray from cell to cell, of 255, that counts half as much as any change can.
const HALF_STRONG: f64 = 24.0;

/// Hann's window (Blackman and Tukey 1958).
fn fading(n: usize) -> Vec<f64> {
    let at = |i: usize| 0.5 - 0.5 * libm::cos(2.0 * std::f64::consts::PI * (i as f64 + 0.5) / n as f64);
    (0..n).map(at).collect()
}

/// Darkness between pixels; `None` off the raster.
fn sample(raster: &GrayRaster, p: Point) -> Option<f32> {
    let (w, h) = (raster.width() as usize, raster.height() as usize);
    if !(p.x >= -0.5 && p.y >= -0.5 && p.x <= w as f64 - 0.5 && p.y <= h as f64 - 0.5) {
        return None;
    }
    let (x, y) = (p.x.clamp(0.0, (w - 1) as f64), p.y.clamp(0.0, (h - 1) as f64));
    let (x0, y0) = (x as usize, y as usize);
    let (fx, fy) = ((x - x0 as f64) as f32, (y - y0 as f64) as f32);
    let line = |y: usize| {
        let row = raster.row(y.min(h - 1) as u32);
        let a = f32::from(*row.get(x0)?);
        let b = f32::from(*row.get((x0 + 1).min(w - 1))?);
        Some(a + (b - a) * fx)
    };
    let (a, b) = (line(y0)?, line(y0 + 1)?);
    Some(255.0 - (a + (b - a) * fy))
}
