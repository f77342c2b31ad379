//! How many copies would sell, and how many to print for it.

use super::Copied;
use crate::slip::stats::{self, Interval};
use crate::slip::study::Opening;
use slipsheet_document::acceptance::Acceptance;

/// How many of some simulated copies would sell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sold {
    pub copies: usize,
    pub sold: usize,
}

impl Sold {
    /// Of copies that were painted; their openings are of the accepted share of the edges.
    pub fn of(copies: &[Copied], acceptance: &Acceptance) -> Self {
        Self { copies: copies.len(), sold: copies.iter().filter(|c| c.sells(acceptance)).count() }
    }

    /// Of copies of which only the openings are known: whether colour counts is not asked.
    pub fn of_openings(openings: &[Opening], acceptance: &Acceptance) -> Self {
        Self { copies: openings.len(), sold: openings.iter().filter(|o| o.sells(acceptance)).count() }
    }

    /// The share, 0..=1.
    pub fn share(&self) -> f64 {
        self.sold as f64 / self.copies.max(1) as f64
    }

    /// Copies of a hundred: all only where all sell, and none only where none does.
    pub fn of_hundred(&self) -> usize {
        match self.sold {
            0 => 0,
            all if all >= self.copies => 100,
            some => ((some * 200 + self.copies) / (self.copies * 2)).clamp(1, 99),
        }
    }

    /// Wilson's interval of the share at 95 %.
    pub fn likely(&self) -> Interval {
        stats::wilson(self.sold as u64, self.copies as u64)
    }

    /// Clopper and Pearson's.
    pub fn exact(&self) -> Interval {
        stats::clopper_pearson(self.sold as u64, self.copies as u64)
    }

    /// Copies to print so that so many sell with 95 % confidence, at the share seen and at the least that is likely
    /// (Wilson's lower end); `None` where no sensible number is enough.
    pub fn to_print(&self, wanted: u64) -> (Option<u64>, Option<u64>) {
        let n = |p| stats::copies_to_print(wanted, p, 0.95);
        (n(self.share()), n(self.likely().low))
    }
}

/// A share as copies of a hundred, rounded alike.
pub fn of_hundred(share: f64) -> usize {
    match share {
        none if none <= 0.0 => 0,
        all if all >= 1.0 => 100,
        some => (some * 100.0).round().clamp(1.0, 99.0) as usize,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_never_says_all_or_none_of_what_is_not() {
        let runs = [(0, 200), (1, 1000), (188, 200), (999, 1000), (200, 200), (0, 0)];
        let hundred = |(sold, copies)| Sold { sold, copies }.of_hundred();
        assert_eq!(runs.map(hundred), [0, 1, 94, 99, 100, 0]);
    }

    #[test]
    fn more_that_sell_need_fewer_copies() {
        let mut before = u64::MAX;
        for sold in 1..=50 {
            let (likely, safe) = Sold { sold: sold * 20, copies: 1000 }.to_print(100);
            let likely = likely.unwrap_or(u64::MAX);
            assert!(likely <= before && safe.is_none_or(|safe| safe >= likely), "{sold}");
            before = likely;
        }
        assert_eq!(before, 100);
    }
}
