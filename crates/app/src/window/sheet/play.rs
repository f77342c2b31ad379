//! A slip that is shown for a moment: there, a pause, and back. The project stays as it is.

use slipsheet_core::units::{Degrees, Mm};
use slipsheet_document::layer::Slip;

/// Seconds to slip, to stay, and to return.
const TIMES: [f64; 3] = [0.7, 1.1, 0.5];

/// A slip that is playing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Play {
    /// The layer that slips.
    pub layer: usize,
    /// Where it lies without it.
    pub from: Slip,
    /// How far it slips.
    pub by: Slip,
    /// When it began, in seconds of the window's clock.
    pub began: f64,
}

impl Play {
    /// The layer's slip at a time; `None` when it is over.
    pub fn at(&self, time: f64) -> Option<Slip> {
        let [there, pause, back] = TIMES;
        let t = (time - self.began).max(0.0);
        let share = if t < there {
            t / there
        } else if t < there + pause {
            1.0
        } else if t < there + pause + back {
            1.0 - (t - there - pause) / back
        } else {
            return None;
        };
        // Slow at both ends.
        let s = share * share * (3.0 - 2.0 * share);
        let mm = |a: Mm, b: Mm| Mm::new(a.get() + s * b.get());
        Some(Slip {
            dx: mm(self.from.dx, self.by.dx),
            dy: mm(self.from.dy, self.by.dy),
            skew: Degrees::new(self.from.skew.get() + s * self.by.skew.get()),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_plays_there_and_back_and_ends() {
        let by = Slip { dx: Mm::new(1.0), ..Slip::default() };
        let play = Play { layer: 0, from: Slip::default(), by, began: 10.0 };
        let at = |t: f64| play.at(t).map(|s| s.dx.get());
        assert_eq!((at(10.0), at(11.0), at(12.4)), (Some(0.0), Some(1.0), None));
        assert!(at(10.35).unwrap() > 0.4 && at(10.35).unwrap() < 0.6);
    }
}
