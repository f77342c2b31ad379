//! The slip rose: tolerance by direction.

use rayon::prelude::*;

use super::Tight;
use slipsheet_document::acceptance::Acceptance;

/// Directions of a rose: every five degrees, clockwise from the right.
pub const DIRECTIONS: usize = 72;

/// Tolerance by direction in mm; `None` where no slip opens enough.
#[derive(Debug, Clone, PartialEq)]
pub struct Rose {
    /// By direction, [`DIRECTIONS`] of them.
    pub tolerance: Vec<Option<f64>>,
}

/// How far the inks of a face may slip before a copy would not sell.
#[derive(Debug, Clone, PartialEq)]
pub struct Tolerance {
    /// By direction, whichever ink slips.
    pub rose: Rose,
    /// By direction of the later ink's slip against the earlier one, for each pair of the study in its order.
    pub pairs: Vec<Rose>,
}

impl Tolerance {
    /// The least slip in mm that shows, and its direction in degrees clockwise from the right; `None` when no slip that
    /// was looked for shows.
    pub fn least(&self) -> Option<(f64, f64)> {
        self.rose.least()
    }
}

impl Rose {
    /// The rose of a pair's stretches: the slip at which more than the accepted share of their length opens wider than
    /// the accepted gap.
    pub(super) fn of(tight: &[Tight], acceptance: &Acceptance) -> Self {
        let (gap, share) = (acceptance.gap.get(), acceptance.share.get());
        let total: f64 = tight.iter().map(|t| t.length).sum();
        let direction = |i: usize| {
            let (sin, cos) = libm::sincos(Self::degrees(i).to_radians());
            let mut opens: Vec<(f64, f64)> = tight
                .iter()
                .filter_map(|t| {
                    let against = -(cos * t.normal.x + sin * t.normal.y);
                    (against > 1e-3).then(|| (((t.trap + gap) / against).max(0.0), t.length))
                })
                .collect();
            opens.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut open = 0.0;
            opens.iter().find_map(|(slip, length)| {
                open += length;
                // Sums in another order may come out a hair above the whole.
                (open > share * total * (1.0 + 1e-9)).then_some(*slip)
            })
        };
        Self { tolerance: (0..DIRECTIONS).into_par_iter().map(direction).collect() }
    }

    /// The least of several roses, for a slip of either ink of each pair.
    pub(super) fn whole<'a>(roses: impl Iterator<Item = &'a Self>) -> Self {
        let mut tolerance = vec![None; DIRECTIONS];
        for rose in roses {
            for (i, least) in tolerance.iter_mut().enumerate() {
                // The earlier ink slipping one way is the later one slipping the other way.
                for from in [i, (i + DIRECTIONS / 2) % DIRECTIONS] {
                    let Some(slip) = rose.tolerance.get(from).copied().flatten() else { continue };
                    *least = Some(least.map_or(slip, |l: f64| l.min(slip)));
                }
            }
        }
        Self { tolerance }
    }

    /// The direction of an entry in degrees, clockwise from the right.
    pub fn degrees(i: usize) -> f64 {
        i as f64 * 360.0 / DIRECTIONS as f64
    }

    /// The least tolerance in mm and its direction in degrees.
    pub fn least(&self) -> Option<(f64, f64)> {
        let known = self.tolerance.iter().enumerate().filter_map(|(i, t)| Some(((*t)?, Self::degrees(i))));
        known.min_by(|a, b| a.0.total_cmp(&b.0))
    }
}
