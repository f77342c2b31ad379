//! The worst places of a study: where the least slip opens the most visible gap.

use super::{Study, Tight};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::{Degrees, Mm};
use slipsheet_document::layer::Slip;

/// A place where the design is tight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worst {
    pub tight: Tight,
    /// Length in mm of such stretches around it.
    pub length: f64,
}

/// Stretches this near to each other, in mm, are one place.
const APART: f64 = 12.0;

/// Places are at least this long, in mm.
const SHORT: f64 = 1.0;

impl Study {
    /// The worst places, worst first: tightest trap, then strongest difference over the longest edge.
    pub fn worst(&self, most: usize) -> Vec<Worst> {
        let mut order: Vec<&Tight> = self.tight.iter().collect();
        // Traps within a tenth of a millimetre are alike; what shows more then comes first.
        let rank = |t: &Tight| (libm::floor(t.trap * 10.0), -t.difference * t.length);
        order.sort_by(|a, b| {
            let (a, b) = (rank(a), rank(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        let mut places: Vec<Worst> = Vec::new();
        for tight in order {
            let same = |w: &Worst| {
                (w.tight.lower, w.tight.upper) == (tight.lower, tight.upper)
                    && w.tight.at.distance(tight.at) < APART
            };
            if let Some(place) = places.iter_mut().find(|w| same(w)) {
                place.length += tight.length;
            } else {
                places.push(Worst { tight: *tight, length: tight.length });
            }
        }
        // What is shorter is the end of a place that was told already.
        places.retain(|w| w.length >= SHORT);
        places.truncate(most);
        places
    }
}

impl Worst {
    /// The slip of the later ink that just opens a gap this much wider than none, in mm.
    pub fn breaking_slip(&self, gap: f64) -> Slip {
        let by = self.tight.trap + gap;
        let Point { x, y } = self.tight.normal;
        Slip { dx: Mm::new(-x * by), dy: Mm::new(-y * by), skew: Degrees::default() }
    }
}
