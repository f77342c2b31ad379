//! What is nearest: for each sample of a row of pixels the piece that the eye meets first.

use super::Stage;
use crate::dummy::plane::{at, span};

/// No piece.
pub(super) const NOTHING: u32 = u32::MAX;
/// A pixel whose samples see several pieces.
pub(super) const SEVERAL: u32 = u32::MAX - 1;
/// Pieces reach this far over their edges, in samples, so that no line shows between neighbours.
const OVERLAP: f64 = 1e-3;

/// What is nearest at each sample of one row of pixels, whose samples lie row by row.
pub(super) struct Found {
    /// Pieces that reach the present band.
    pub pieces: Vec<usize>,
    /// One a sample.
    pub nearest: Vec<f32>,
    pub which: Vec<u32>,
    /// One a pixel: the piece that all its samples see.
    pub whole: Vec<u32>,
    pub width: usize,
}

impl Found {
    /// For a row of so many samples across, with so many a pixel each way.
    pub(super) fn new(width: usize, samples: usize) -> Self {
        Self {
            pieces: Vec::new(),
            nearest: vec![0.0; width * samples],
            which: vec![NOTHING; width * samples],
            whole: vec![NOTHING; width / samples],
            width,
        }
    }

    /// Says of each pixel whether one piece covers all of it.
    fn settle(&mut self, samples: usize) {
        let Some(first) = self.which.get(..self.width) else { return };
        for (whole, samples) in self.whole.iter_mut().zip(first.chunks_exact(samples)) {
            let which = samples.first().copied().unwrap_or(NOTHING);
            *whole = if samples.iter().all(|w| *w == which) { which } else { SEVERAL };
        }
        for row in self.which.chunks_exact(self.width.max(1)).skip(1) {
            for (whole, samples) in self.whole.iter_mut().zip(row.chunks_exact(samples)) {
                *whole = if samples.iter().all(|w| w == whole) { *whole } else { SEVERAL };
            }
        }
    }
}

impl Stage<'_> {
    /// Finds what is nearest at every sample of one row of pixels.
    pub(super) fn find(&self, y: usize, found: &mut Found) {
        let s = self.samples;
        found.nearest.fill(0.0);
        found.which.fill(NOTHING);
        let width = found.width;
        for &i in &found.pieces {
            let Some(piece) = self.pieces.get(i) else { continue };
            for sub in 0..s {
                let row = (y * s + sub) as f64 + 0.5;
                let Some((left, right)) = span(&piece.outline, row) else { continue };
                let x0 = (left - 0.5 - OVERLAP).ceil().clamp(0.0, width as f64) as usize;
                let x1 = ((right - 0.5 + OVERLAP).floor() + 1.0).clamp(0.0, width as f64) as usize;
                if x0 >= x1 {
                    continue;
                }
                let k = piece.plane.per_depth;
                let start = (at(piece.plane.det, x0 as f64 + 0.5, row) * k) as f32;
                let step = (piece.plane.det[0] * k) as f32;
                let range = sub * width + x0..sub * width + x1;
                let (Some(nearest), Some(which)) =
                    (found.nearest.get_mut(range.clone()), found.which.get_mut(range))
                else {
                    continue;
                };
                for (x, (n, w)) in nearest.iter_mut().zip(which).enumerate() {
                    let here = start + step * x as f32;
                    let nearer = here > *n;
                    *n = if nearer { here } else { *n };
                    *w = if nearer { i as u32 } else { *w };
                }
            }
        }
        found.settle(s);
    }
}
