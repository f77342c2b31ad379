//! The slip map: how much the picture changes when one layer slips by each of a grid of shifts.

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

use super::SlipError;
use super::painter::{Change, Painter};
use slipsheet_core::geometry::Affine;

/// Visible change by shift.
#[derive(Debug, Clone, PartialEq)]
pub struct SlipMap {
    /// Index of the layer in the project.
    pub layer: usize,
    /// Shifts from minus this to this in mm, each way.
    pub reach: f64,
    /// Shifts each way; odd, so that one of them is none.
    pub side: usize,
    /// The change, row by row from the top left.
    pub changes: Vec<Change>,
}

impl Bytes for SlipMap {
    fn bytes(&self) -> usize {
        self.changes.bytes()
    }
}

impl SlipMap {
    /// The map of a layer; `None` when the painter does not paint it.
    ///
    /// # Errors
    /// [`SlipError::Cancelled`] when `stop` says so.
    pub fn of(
        painter: &Painter,
        layer: usize,
        reach: f64,
        side: usize,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Result<Option<Self>, SlipError> {
        let Some(at) = painter.layers().iter().position(|l| *l == layer) else { return Ok(None) };
        let side = side.max(1) | 1;
        let step =
            |i: usize| if side == 1 { 0.0 } else { (2.0 * i as f64 / (side - 1) as f64 - 1.0) * reach };
        let changes: Option<Vec<Change>> = (0..side * side)
            .into_par_iter()
            .map(|i| {
                if stop() {
                    return None;
                }
                let mut moves = vec![Affine::IDENTITY; painter.layers().len()];
                *moves.get_mut(at)? = Affine::shift(step(i % side), step(i / side));
                Some(painter.change(&moves))
            })
            .collect();
        let changes = changes.ok_or(SlipError::Cancelled)?;
        Ok(Some(Self { layer, reach, side, changes }))
    }

    /// The mean change at a shift in mm, between the grid's.
    pub fn mean_at(&self, dx: f64, dy: f64) -> f64 {
        let place = |v: f64| {
            let most = (self.side - 1) as f64;
            let v = ((v / self.reach.max(1e-9) + 1.0) / 2.0 * most).clamp(0.0, most);
            let low = (v as usize).min(self.side.saturating_sub(2));
            (low, v - low as f64)
        };
        let ((x, fx), (y, fy)) = (place(dx), place(dy));
        let at = |x: usize, y: usize| {
            self.changes.get(y * self.side + x.min(self.side - 1)).map_or(0.0, |c| c.mean)
        };
        let row = |y: usize| at(x, y) * (1.0 - fx) + at(x + 1, y) * fx;
        row(y) * (1.0 - fy) + row((y + 1).min(self.side - 1)) * fy
    }
}
