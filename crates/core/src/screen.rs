//! Screens: how gray becomes ink or no ink, pixel by pixel of the master.
//!
//! Three kinds compare gray with thresholds and can draw any window by itself; error diffusion walks the
//! master from its top row. Every screen keeps coverage: over a large patch, the share of ink is
//! `1 - gray / 255`.

mod clustered;
mod diffusion;
mod tile;

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

pub use clustered::Clustered;
pub use diffusion::{Diffusion, WEIGHTS};
pub use tile::TILE_SIDE;

/// A window onto a master, in its pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// First column.
    pub x: u32,
    /// First row.
    pub y: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

/// What turns a row of gray into a row of the master.
#[derive(Debug, Clone, PartialEq)]
pub enum Screen {
    /// Gray stays gray: there are no dots.
    None,
    /// Ink where gray is below 128.
    Threshold,
    Clustered(Clustered),
    /// Scattered dots by a threshold tile, shifted by columns and rows: layers that share a shift print dot
    /// on dot.
    Tile {
        /// Columns that the tile is shifted by.
        dx: u32,
        /// Rows that the tile is shifted by.
        dy: u32,
    },
    /// Scattered dots by error diffusion.
    Diffusion,
}

impl Bytes for Screen {
    fn bytes(&self) -> usize {
        match self {
            Self::None | Self::Threshold | Self::Tile { .. } | Self::Diffusion => size_of::<Self>(),
            Self::Clustered(dots) => dots.bytes(),
        }
    }
}

impl Screen {
    /// Draws a window of a master `master_width` pixels wide, 0 for ink and 255 for none, row by row.
    ///
    /// `sample(y, x0, row)` fills a row of gray from column `x0` of row `y` of the master; rows are asked for
    /// in any order and from several threads. Error diffusion asks for every row from the top, over the whole
    /// width, since each dot depends on all before it: keep what it gives rather than ask for windows often.
    pub fn draw(
        &self,
        master_width: u32,
        window: Window,
        sample: impl Fn(u32, u32, &mut [u8]) + Sync,
    ) -> Vec<u8> {
        let width = window.width as usize;
        let mut out = vec![0_u8; width * window.height as usize];
        self.draw_into(master_width, window, sample, &mut out);
        out
    }

    /// As [`Screen::draw`], into a buffer of the window's pixels that is kept from frame to frame: fresh memory
    /// costs more than the dots. Rows that the buffer has no room for are left out.
    pub fn draw_into(
        &self,
        master_width: u32,
        window: Window,
        sample: impl Fn(u32, u32, &mut [u8]) + Sync,
        out: &mut [u8],
    ) {
        let width = window.width as usize;
        if width == 0 {
            return;
        }
        if matches!(self, Self::Diffusion) {
            diffusion::draw(master_width, window, &sample, out);
            return;
        }
        out.par_chunks_mut(width).enumerate().for_each(|(row, out)| {
            let y = window.y.saturating_add(row as u32);
            sample(y, window.x, out);
            self.row(y, window.x, out);
        });
    }

    /// Screens a row of gray in place, whose first pixel is column `x0` of row `y` of the master.
    ///
    /// Error diffusion cannot work on a row alone; here it does nothing: use [`Screen::draw`].
    pub fn row(&self, y: u32, x0: u32, gray: &mut [u8]) {
        match self {
            Self::None | Self::Diffusion => {}
            Self::Threshold => {
                for g in gray {
                    *g = if *g < 128 { 0 } else { 255 };
                }
            }
            Self::Clustered(screen) => screen.row(y, x0, gray),
            Self::Tile { dx, dy } => {
                let row = tile::tile_row(y.wrapping_add(*dy));
                cycle(row, x0.wrapping_add(*dx) as usize, gray);
            }
        }
    }
}

/// Ink where gray is below the threshold; thresholds repeat, from number `start` on.
fn cycle(thresholds: &[u8], start: usize, gray: &mut [u8]) {
    if thresholds.is_empty() {
        return;
    }
    let mut start = start % thresholds.len();
    let mut rest = gray;
    while !rest.is_empty() {
        let run = thresholds.get(start..).unwrap_or(thresholds);
        let (now, later) = rest.split_at_mut(run.len().min(rest.len()));
        for (g, t) in now.iter_mut().zip(run) {
            *g = if *g < *t { 0 } else { 255 };
        }
        (rest, start) = (later, 0);
    }
}

/// The threshold of the dot that is inked as number `rank` of `count`: thresholds are spread evenly over
/// 1..=255, so that gray `g` inks the share `1 - g / 255`, 0 all and 255 none.
fn threshold(rank: usize, count: usize) -> u8 {
    (255 - rank * 255 / count.max(1)) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    fn screens() -> Vec<Screen> {
        let clustered = [(75.0, 45.0, 600.0), (85.0, 15.0, 600.0), (53.0, 71.3, 300.0), (75.0, 0.0, 300.0)]
            .map(|(lpi, angle, dpi)| Screen::Clustered(Clustered::new(lpi, angle, dpi)));
        let mut all = vec![Screen::Tile { dx: 0, dy: 0 }, Screen::Tile { dx: 41, dy: 77 }, Screen::Diffusion];
        all.extend(clustered);
        all
    }

    #[test]
    fn black_is_all_ink_and_white_none() {
        let window = Window { x: 5, y: 9, width: 100, height: 70 };
        for screen in screens() {
            for gray in [0, 255] {
                assert!(screen.draw(200, window, |_, _, row| row.fill(gray)).iter().all(|&p| p == gray));
            }
        }
    }

    #[test]
    fn a_window_is_cut_from_the_whole() {
        let ramp = |y: u32, x0: u32, row: &mut [u8]| {
            for (i, g) in row.iter_mut().enumerate() {
                *g = ((x0 + i as u32 + 3 * y) / 3) as u8;
            }
        };
        for screen in screens() {
            let whole = screen.draw(300, Window { x: 0, y: 0, width: 300, height: 200 }, ramp);
            let part = screen.draw(300, Window { x: 37, y: 51, width: 90, height: 60 }, ramp);
            for (y, row) in part.chunks(90).enumerate() {
                let at = (51 + y) * 300 + 37;
                assert_eq!(row, &whole[at..at + 90]);
            }
        }
    }

    #[test]
    fn blocks_of_64_keep_the_coverage_within_two_points() {
        for screen in screens() {
            for gray in (0..=255_u8).step_by(15) {
                let side = 320_usize;
                let window = Window { x: 0, y: 0, width: side as u32, height: side as u32 };
                let master = screen.draw(side as u32, window, |_, _, row| row.fill(gray));
                for (bx, by) in (0..5).flat_map(|by| (0..5).map(move |bx| (bx, by))) {
                    let sum: u64 = (0..64)
                        .flat_map(|y| (0..64).map(move |x| (x, y)))
                        .map(|(x, y)| u64::from(master[(by * 64 + y) * side + bx * 64 + x]))
                        .sum();
                    let off = (sum as f64 / 4096.0 - f64::from(gray)) / 255.0;
                    assert!(off.abs() < 0.02, "{screen:.0?} at gray {gray}, block {bx} {by}: {off:.4}");
                }
            }
        }
    }
}
