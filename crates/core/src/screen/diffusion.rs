//! Error diffusion (Floyd and Steinberg, "An adaptive algorithm for spatial greyscale", Proceedings of
//! the SID 17(2), 1976): each pixel takes ink or none, and what it got too much or too little of is passed on
//! to the four neighbours not yet decided. Rows run to and fro, which keeps the dots from lining up in worms.

use std::hint::select_unpredictable;

use rayon::prelude::*;

use super::Window;

/// What the neighbours get, in sixteenths: the next pixel, then below behind, below, below ahead.
pub const WEIGHTS: [i32; 4] = [7, 3, 5, 1];

/// Rows that are sampled at once before they are diffused one after the other.
const BAND: usize = 64;

/// The errors carried from row to row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diffusion {
    /// For the row to come, in sixteenths of a gray level, in the order in which it will be walked; one spare at
    /// each end swallows what leaves.
    carried: Vec<i32>,
    /// Room for the row after it.
    gathered: Vec<i32>,
    backwards: bool,
}

impl Diffusion {
    /// Errors of nothing, for rows of this many pixels.
    pub fn new(width: usize) -> Self {
        Self { carried: vec![0; width + 2], gathered: vec![0; width + 2], backwards: false }
    }

    /// Turns the next row, of the width given, into ink (0) and none (255).
    pub fn row(&mut self, gray: &mut [u8]) {
        // Turning rows around costs less than walking them backwards.
        if self.backwards {
            gray.reverse();
        }
        walk(gray, &mut self.carried, &mut self.gathered);
        if self.backwards {
            gray.reverse();
        }
        self.gathered.reverse();
        std::mem::swap(&mut self.carried, &mut self.gathered);
        self.backwards = !self.backwards;
    }
}

/// One row from left to right. Place `i + 1` of the errors belongs to pixel `i`; what was carried is used up.
fn walk(gray: &mut [u8], carried: &mut [i32], gathered: &mut [i32]) {
    let (Some(start), Some((lagging, ends))) =
        (carried.get_mut(1..), gathered.split_at_mut_checked(gray.len()))
    else {
        return;
    };
    for (sum, gray) in start.iter_mut().zip(gray.iter()) {
        *sum += i32::from(*gray) << 4;
    }
    let Some((first, rest)) = start.split_first() else { return };
    let mut value = *first;
    // Errors on the way to the pixel below this one and to the one below the last.
    let (mut under, mut behind) = (0, 0);
    for ((gray, next), gathered) in gray.iter_mut().zip(rest).zip(lagging) {
        // Which way it falls is as good as chance, so nothing here is guessed; and each pixel waits for the last, so
        // white's share of the error is taken from the next pixel while this one's is being worked out: FULL is a
        // whole number of sixteenths, so the rounding is the same.
        let white = value >= 128 << 4;
        let next = select_unpredictable(white, *next - ((FULL * WEIGHTS[0]) >> 4), *next);
        let following = next + ((value * WEIGHTS[0]) >> 4);
        let error = value - select_unpredictable(white, FULL, 0);
        *gray = select_unpredictable(white, 255, 0);
        let [ahead, back, below] = [WEIGHTS[0], WEIGHTS[1], WEIGHTS[2]].map(|w| (error * w) >> 4);
        *gathered = behind + back;
        behind = under + below;
        // The last sixteenth takes what rounding left over, so that no gray is lost.
        under = error - ahead - back - below;
        value = following;
    }
    // What is gathered lags one pixel behind; the last two places take what is left.
    ends.iter_mut().zip([behind, under]).for_each(|(e, v)| *e = v);
}

/// White, in sixteenths.
const FULL: i32 = 255 << 4;

/// Draws a window by diffusing everything above it, over the whole width.
pub(super) fn draw(
    master_width: u32,
    window: Window,
    sample: &(impl Fn(u32, u32, &mut [u8]) + Sync),
    out: &mut [u8],
) {
    let width = (master_width as usize).max(window.x as usize + window.width as usize).max(1);
    let mut state = Diffusion::new(width);
    if (window.x, window.y, window.width as usize) == (0, 0, width) {
        // The whole width from the top: rows are diffused where they lie.
        for (i, rows) in out.chunks_mut(width * BAND).enumerate() {
            rows.par_chunks_mut(width).enumerate().for_each(|(row, gray)| {
                sample((i * BAND + row) as u32, 0, gray);
            });
            rows.chunks_mut(width).for_each(|row| state.row(row));
        }
        return;
    }
    let mut band = vec![255_u8; width * BAND];
    let bottom = window.y as usize + window.height as usize;
    for top in (0..bottom).step_by(BAND) {
        band.par_chunks_mut(width).enumerate().take(bottom - top).for_each(|(row, gray)| {
            gray.fill(255);
            sample((top + row) as u32, 0, gray);
        });
        for (row, gray) in band.chunks_mut(width).enumerate().take(bottom - top) {
            state.row(gray);
            let Some(y) = (top + row).checked_sub(window.y as usize) else { continue };
            let to = out.chunks_mut(window.width as usize).nth(y);
            if let (Some(to), Some(from)) = (to, gray.get(window.x as usize..)) {
                let from = from.iter().chain(std::iter::repeat(&255));
                to.iter_mut().zip(from).for_each(|(t, f)| *t = *f);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The obvious twin: a plane of errors, as the paper draws it.
    fn slow(gray: &[u8], width: usize) -> Vec<u8> {
        let height = gray.len() / width;
        let mut plane: Vec<Vec<i32>> =
            gray.chunks(width).map(|r| r.iter().map(|&g| i32::from(g) * 16).collect()).collect();
        let mut out = vec![0; gray.len()];
        for y in 0..height {
            let ahead: i64 = if y % 2 == 0 { 1 } else { -1 };
            for i in 0..width {
                let x = if y % 2 == 0 { i } else { width - 1 - i };
                let value = plane[y][x];
                let ink = value < 128 * 16;
                out[y * width + x] = if ink { 0 } else { 255 };
                let error = if ink { value } else { value - 255 * 16 };
                let parts = [7, 3, 5].map(|w| (error * w) >> 4);
                let last = error - parts.iter().sum::<i32>();
                let mut give = |dx: i64, dy: usize, e: i32| {
                    let x = x as i64 + dx;
                    if (0..width as i64).contains(&x) && y + dy < height {
                        plane[y + dy][x as usize] += e;
                    }
                };
                give(ahead, 0, parts[0]);
                give(-ahead, 1, parts[1]);
                give(0, 1, parts[2]);
                give(ahead, 1, last);
            }
        }
        out
    }

    #[test]
    fn rows_are_diffused_as_the_paper_says() {
        let (width, height) = (67, 41);
        let gray: Vec<u8> = (0..width * height).map(|i| ((i * i * 31 + i * 7) % 256) as u8).collect();
        let mut fast = gray.clone();
        let mut state = Diffusion::new(width);
        fast.chunks_mut(width).for_each(|row| state.row(row));
        assert_eq!(fast, slow(&gray, width));
    }

    #[test]
    fn an_impulse_is_spread_by_the_published_weights() {
        // One pixel of gray 16 on black: its error of 16 levels goes 7, 3, 5, 1 to its neighbours, and the
        // next pixel passes its 7 on likewise. Errors are kept in sixteenths, so figures are exact.
        let mut state = Diffusion::new(9);
        let mut row = [0, 0, 0, 0, 16, 0, 0, 0, 0];
        state.row(&mut row);
        assert_eq!(row, [0; 9]);
        let below: Vec<i32> = state.carried.iter().rev().skip(1).copied().collect();
        assert_eq!(below[3], 16 * WEIGHTS[1]);
        assert_eq!(below[4], 16 * WEIGHTS[2] + ((7 * 16 * WEIGHTS[1]) >> 4));
        assert_eq!(WEIGHTS, [7, 3, 5, 1]);
        // Nothing is lost but what leaves at the right edge.
        let first = 16 * 16;
        let kept: i32 = state.carried.iter().sum();
        assert!(kept <= first && kept > first - 8, "{kept} of {first}");
    }
}
