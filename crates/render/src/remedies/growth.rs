//! Thick shapes grown to a fraction of a pixel.
//!
//! The way to a shape's edge is that to the nearest pixel of which the shape covers half, less the way from this
//! pixel's middle to the edge. As an edge runs through several pixels of a scan, where it lies follows from the sum of
//! the coverage across it along the axis that it crosses more steeply, which is exact for a straight edge under any even
//! blur. A digital disc, as a morphological dilation takes it, is up to half a pixel short along the diagonals.

use rayon::prelude::*;

use super::thick::{Thick, distance};
use slipsheet_base::distance::Nearest;
use slipsheet_core::raster::GrayRaster;

/// How far across an edge its blur is followed, in pixels.
const BLUR: isize = 6;

/// Shapes that can be grown.
pub(super) struct Growing {
    width: usize,
    height: usize,
    /// The shapes as if they were solid, 0 ink.
    even: GrayRaster,
    /// The nearest pixel that is half covered or more.
    covered: Nearest,
}

impl Growing {
    /// The thick shapes of a plate.
    pub(super) fn of(thick: &Thick, plate: &GrayRaster) -> Option<Self> {
        let even = thick.evened(plate);
        let (width, height) = (plate.width() as usize, plate.height() as usize);
        let seeds: Vec<bool> = even.pixels().par_iter().map(|g| *g < 128).collect();
        Some(Self { width, height, even, covered: Nearest::of(width, height, &seeds)? })
    }

    /// How much of a pixel shapes cover that have grown by so many pixels, 0 none to 255.
    pub(super) fn cover(&self, x: usize, y: usize, by: f64) -> u8 {
        let now = self.at(x as isize, y as isize);
        let cover = if now >= 0.5 {
            now + by
        } else {
            let Some((sx, sy)) = self.covered.seed(x, y) else { return 0 };
            let way = distance(&self.covered, x, y);
            // Farther away the edge cannot be reached, wherever in its pixel it runs.
            if way > by + BLUR as f64 {
                return 0;
            }
            let (dx, dy) = (x as f64 - sx as f64, y as f64 - sy as f64);
            by - way + self.edge((sx as isize, sy as isize), (dx / way, dy / way)) + 0.5
        };
        (cover.clamp(0.0, 1.0) * 255.0 + 0.5) as u8
    }

    /// From a pixel's middle to the edge of its shape, along a direction out of it, in pixels.
    fn edge(&self, (x, y): (isize, isize), (nx, ny): (f64, f64)) -> f64 {
        let (ax, ay) =
            if nx.abs() >= ny.abs() { (nx.signum() as isize, 0) } else { (0, ny.signum() as isize) };
        let along = |i: isize| self.at(x + ax * i, y + ay * i);
        let outwards = (0..BLUR).take_while(|i| along(i + 1) < along(*i)).count() as isize;
        let inwards = (0..BLUR).take_while(|i| along(-i - 1) > along(-*i)).count() as isize;
        let sum: f64 = (-inwards..=outwards).map(along).sum();
        (sum - 0.5 - inwards as f64) * nx.abs().max(ny.abs())
    }

    /// The coverage of a pixel, 0..=1; beyond the sheet that at its edge.
    fn at(&self, x: isize, y: isize) -> f64 {
        let x = x.clamp(0, self.width as isize - 1) as usize;
        let y = y.clamp(0, self.height as isize - 1) as usize;
        self.even.pixels().get(y * self.width + x).map_or(0.0, |g| f64::from(255 - g) / 255.0)
    }
}
