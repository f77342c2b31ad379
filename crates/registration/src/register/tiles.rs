//! From about right to exact, and an honest answer to whether it is right at all: small tiles are compared
//! one by one, and only where many of them agree on one map do the two pictures belong together.

use rayon::prelude::*;

use super::correlation::{correlate, peak};
use super::plane::{Grid, edges};
use super::solve::{FitKind, solve_rejecting};
use slipsheet_base::fourier::Fft;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::Pyramid;

/// Cells along a tile's side.
const SIDE: usize = 128;
/// The most tiles compared.
const MOST: usize = 36;
/// A tile with less to compare than this is left out.
const LEAST_ENERGY: f64 = 2e-4;
/// How far from the common map a tile may point, in cells.
const AGREE: f64 = 1.5;

/// What the tiles say.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Agreement {
    /// From mm on the second picture to mm on the first, both from their middles.
    pub first_from_second: Affine,
    /// Tiles that had something to compare.
    pub tiles: usize,
    /// Tiles that agree with the map.
    pub agreeing: usize,
    /// Root of the mean square of what the agreeing tiles are off, in mm.
    pub rms_mm: f64,
}

/// Compares tiles of cells of `cell` mm under a first map; `None` when fewer than three have anything to compare.
pub(super) fn agreement(
    first: &Pyramid,
    second: &Pyramid,
    first_from_second: Affine,
    cell: f64,
    extent: (f64, f64),
) -> Option<Agreement> {
    let second_from_first = first_from_second.inverse()?;
    let fft = Fft::new(SIDE);
    let mut tiles: Vec<_> = middles(extent, cell * SIDE as f64)
        .into_par_iter()
        .filter_map(|middle| {
            let grid = Grid { n: SIDE, cell, middle };
            let (a, energy_a) = edges(first, grid, Affine::IDENTITY);
            if energy_a < LEAST_ENERGY {
                return None;
            }
            let (b, energy_b) = edges(second, grid, second_from_first);
            (energy_b >= LEAST_ENERGY).then(|| (energy_a.min(energy_b), middle, a, b))
        })
        .collect();
    tiles.sort_by(|a, b| b.0.total_cmp(&a.0));
    tiles.truncate(MOST);
    let pairs: Vec<(Point, Point)> = tiles
        .par_iter()
        .filter_map(|(_, middle, a, b)| {
            let map = correlate(&fft, SIDE, &fft.square(a, false), &fft.square(b, false));
            let quarter = SIDE as f64 / 4.0;
            let found = peak(&map, SIDE, |dx, dy| dx.abs() <= quarter && dy.abs() <= quarter)?;
            // What lies half a shift before the middle of the tile lies half a shift after it on the first.
            let (hx, hy) = (found.dx * cell / 2.0, found.dy * cell / 2.0);
            let before = Point::new(middle.x - hx, middle.y - hy);
            Some((second_from_first * before, Point::new(middle.x + hx, middle.y + hy)))
        })
        .collect();
    if pairs.len() < 3 {
        return None;
    }
    let fit = solve_rejecting(FitKind::Similarity, &pairs, AGREE * cell).ok()?;
    let agreeing = fit.residuals_mm.iter().filter(|r| **r <= AGREE * cell).count();
    Some(Agreement { first_from_second: fit.to_from_from, tiles: pairs.len(), agreeing, rms_mm: fit.rms_mm })
}

/// Middles of tiles that cover an extent in mm, overlapping by half where there is room for few.
fn middles(extent: (f64, f64), side: f64) -> Vec<Point> {
    let along = |length: f64| {
        let whole = libm::floor(length / side).max(1.0);
        let count = if whole < 4.0 { 2.0 * whole - 1.0 } else { whole };
        let step = if count > 1.0 { (length - side).max(0.0) / (count - 1.0) } else { 0.0 };
        (0..count as usize).map(move |i| (i as f64 - (count - 1.0) / 2.0) * step)
    };
    along(extent.1).flat_map(|y| along(extent.0).map(move |x| Point::new(x, y))).collect()
}
