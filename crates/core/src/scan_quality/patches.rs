//! Which patches of a scan are looked at, and a patch's pixels.

use rayon::prelude::*;

use super::MOST_PATCHES;
use crate::raster::GrayRaster;

/// Pixels along each side of a patch: a multiple of 8, so that blocks of a JPEG lie alike in all of them.
const SIDE: u32 = 256;
/// Of so many rows one tells whether there is art.
const ROWS: usize = 4;
/// The share of a scan that is darker than its lightest tones.
const TOP: f64 = 0.98;
/// Art is darker than those by this many grays.
const CLEAR: u8 = 16;

/// A small raster that is read along its rows and along its columns.
pub(super) struct Patch {
    width: usize,
    pixels: Vec<u8>,
}

impl Patch {
    pub fn of(part: &GrayRaster) -> Self {
        Self { width: part.width() as usize, pixels: part.pixels().to_vec() }
    }

    pub fn pixels(&self) -> &[u8] {
        &self.pixels
    }

    /// Pixels of a row.
    pub fn width(&self) -> usize {
        self.width
    }

    pub fn rows(&self) -> std::slice::ChunksExact<'_, u8> {
        self.pixels.chunks_exact(self.width.max(1))
    }

    /// Its columns as rows.
    pub fn turned(&self) -> Self {
        let height = self.pixels.len() / self.width.max(1);
        let mut pixels = vec![0; self.pixels.len()];
        for (y, row) in self.rows().enumerate() {
            let places = pixels.iter_mut().skip(y).step_by(height.max(1));
            places.zip(row).for_each(|(to, from)| *to = *from);
        }
        Self { width: height, pixels }
    }
}

/// The gray of the lightest tones, without specks.
pub(super) fn top(raster: &GrayRaster) -> u8 {
    let width = raster.width() as usize;
    let mut counts = [0_u64; 256];
    for row in raster.pixels().chunks(width).step_by(ROWS) {
        row.iter().for_each(|g| counts[usize::from(*g)] += 1);
    }
    let wanted = counts.iter().sum::<u64>() as f64 * TOP;
    let mut seen = 0;
    for (gray, n) in counts.iter().enumerate() {
        seen += n;
        if seen as f64 >= wanted {
            return gray as u8;
        }
    }
    255
}

/// Column and row of the patches with something on them; of too many, some from all over the scan.
pub(super) fn with_art(raster: &GrayRaster, top: u8) -> Vec<(u32, u32)> {
    let least = top.saturating_sub(CLEAR);
    let bands: Vec<u32> = (0..raster.height()).step_by(SIDE as usize).collect();
    let of_band = |y: &u32| -> Vec<(u32, u32)> {
        let mut has_art = vec![false; raster.width().div_ceil(SIDE) as usize];
        for row in (*y..(*y + SIDE).min(raster.height())).step_by(ROWS) {
            for (known, part) in has_art.iter_mut().zip(raster.row(row).chunks(SIDE as usize)) {
                *known |= part.iter().fold(255, |a: u8, g| a.min(*g)) < least;
            }
        }
        has_art.iter().enumerate().filter(|(_, art)| **art).map(|(i, _)| (i as u32 * SIDE, *y)).collect()
    };
    let all: Vec<(u32, u32)> = bands.par_iter().flat_map_iter(of_band).collect();
    let most = MOST_PATCHES.min(all.len());
    (0..most).filter_map(|i| all.get(i * all.len() / most)).copied().collect()
}

pub(super) fn cut(raster: &GrayRaster, (x, y): (u32, u32)) -> GrayRaster {
    // A patch that was listed lies inside.
    raster.part(x, y, SIDE, SIDE).unwrap_or_else(|| raster.clone())
}
