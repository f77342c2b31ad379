//! How sharp edges are: the width of their steps, square to them.

use super::profile::Step;
use crate::units::Dpi;

/// Wider steps are soft art and no edges, in mm: a scan that is blurred by more is not told from it.
const WIDEST_MM: f64 = 1.2;
/// Counts for a pixel.
const BINS_A_PX: f32 = 10.0;
const BINS: usize = 1000;
/// An edge near 45 degrees is taken along the rows and along the columns: where both gave it to the other, none would
/// be left of thin strokes. Steeper by so many times it is the columns' alone.
const BOTH: f32 = 1.3;
/// The share of the edges that is the sharpest.
const SHARPEST: f64 = 0.1;
/// The median edge of a scan that is blurred all over is no wider than so many times the sharpest; soft art has edges
/// of every width.
const ALIKE: f64 = 2.2;
/// The least edges, in mm of their length.
const ENOUGH_MM: f64 = 40.0;

/// Edges by their width.
#[derive(Debug, Clone)]
pub(super) struct Edges {
    counts: Vec<u64>,
    /// Steps wider than all of those.
    wider: u64,
}

impl Default for Edges {
    fn default() -> Self {
        Self { counts: vec![0; BINS], wider: 0 }
    }
}

impl Edges {
    /// Takes a step of the middle one of three rows. What runs more along the row than across it is left to the
    /// columns.
    pub fn add(&mut self, step: &Step, rows: [&[u8]; 3]) {
        let x = step.at as usize;
        let pair = |row: &[u8]| Some((f32::from(*row.get(x)?), f32::from(*row.get(x + 1)?)));
        let [Some(above), Some(here), Some(below)] = rows.map(pair) else { return };
        let across = (above.1 - above.0 + here.1 - here.0 + below.1 - below.0) / 3.0;
        let down = (below.0 + below.1 - above.0 - above.1) / 4.0;
        if down.abs() > BOTH * across.abs() {
            return;
        }
        let width = step.width * across.abs() / (across * across + down * down).sqrt().max(1e-6);
        *self.counts.get_mut((width * BINS_A_PX) as usize).unwrap_or(&mut self.wider) += 1;
    }

    pub fn with(mut self, other: &Self) -> Self {
        self.counts.iter_mut().zip(&other.counts).for_each(|(a, b)| *a += b);
        self.wider += other.wider;
        self
    }

    /// Width in pixels of the sharpest edges; `None` where there are too few, or each is of another width.
    pub fn sharpest(&self, dpi: Dpi) -> Option<f64> {
        let all = self.counts.iter().sum::<u64>() + self.wider;
        if (all as f64) < ENOUGH_MM * dpi.px_per_mm() {
            return None;
        }
        let (sharpest, median) = (self.quantile(all, SHARPEST)?, self.quantile(all, 0.5)?);
        if median > WIDEST_MM * dpi.px_per_mm() {
            return None;
        }
        // Steps narrower than a pixel's own are all sharp.
        (median <= ALIKE * sharpest.max(1.5)).then_some(sharpest)
    }

    fn quantile(&self, all: u64, share: f64) -> Option<f64> {
        let mut seen = 0;
        let bin = self.counts.iter().position(|n| {
            seen += n;
            seen as f64 > share * all as f64
        });
        bin.map(|bin| (bin as f64 + 0.5) / f64::from(BINS_A_PX))
    }
}
