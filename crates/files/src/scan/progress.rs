//! How far a reading has come, and the wish to stop it.

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

/// Shared by the thread that reads and the one that watches, behind an `Arc`.
///
/// The two values are independent and carry no other data, so relaxed ordering is enough.
#[derive(Debug, Default)]
pub struct Progress {
    per_mille: AtomicU32,
    cancelled: AtomicBool,
    /// Where the part of the work in hand begins in the whole, and what is left after it, in thousandths.
    begins: AtomicU32,
    after: AtomicU32,
}

impl Progress {
    /// Nothing done, not cancelled.
    pub fn new() -> Self {
        Self::default()
    }

    /// The part done, 0..=1.
    pub fn fraction(&self) -> f32 {
        self.per_mille.load(Ordering::Relaxed) as f32 / 1000.0
    }

    /// Says how much is done; held to 0..=1, and a number that is not one counts as 0.
    pub fn set_fraction(&self, fraction: f32) {
        let begins = self.begins.load(Ordering::Relaxed);
        let span = 1000_u32.saturating_sub(begins + self.after.load(Ordering::Relaxed));
        // The cast is saturating and turns NaN into 0.
        let part = (fraction.clamp(0.0, 1.0) * span as f32).round() as u32;
        self.per_mille.store(begins + part, Ordering::Relaxed);
    }

    /// Says which part of the whole, 0..=1 each, the fractions that follow are of.
    pub fn set_span(&self, from: f32, to: f32) {
        let mille = |v: f32| (v.clamp(0.0, 1.0) * 1000.0).round() as u32;
        self.begins.store(mille(from), Ordering::Relaxed);
        self.after.store(1000 - mille(to.max(from)), Ordering::Relaxed);
        self.set_fraction(0.0);
    }

    /// Asks the work to stop at the next row, strip or stage.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether [`Self::cancel`] was called.
    pub fn is_cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fraction_is_held_to_its_range() {
        let p = Progress::new();
        for (given, kept) in [(0.25, 0.25), (7.0, 1.0), (-1.0, 0.0), (f32::NAN, 0.0)] {
            p.set_fraction(given);
            assert_eq!(p.fraction(), kept);
        }
        p.set_span(0.5, 0.75);
        assert_eq!(p.fraction(), 0.5);
        p.set_fraction(0.4);
        assert_eq!(p.fraction(), 0.6);
        assert!(!p.is_cancelled());
        p.cancel();
        assert!(p.is_cancelled());
    }
}
