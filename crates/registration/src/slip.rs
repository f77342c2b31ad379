//! Misregistration: how far a design may slip before it shows, and what a run of it will look like.
//!
//! `study` finds the tight edges and the tolerance, `run` simulates copies on the project's press, `map`
//! shows what one layer's slip does to the picture.

pub mod cover;
pub mod edges;
pub mod job;
pub mod map;
pub mod painter;
#[cfg(test)]
mod remedied;
pub mod run;
pub mod spread;
pub mod study;
#[cfg(test)]
mod testing;
pub mod tight_pairs;
pub mod vision;

pub use slipsheet_base::{distance, random, stats};

pub use cover::{Covers, InkCover, study_dpi};
pub use job::{JobCopies, JobSold, JobStudy};
pub use run::{Copied, LayerSlip, RunOptions, RunSummary, SimulatedRun, Sold};
pub use study::{Opening, PairStudy, Rose, Shows, Study, StudyOptions, Thin, ThinKind, Tight, Tolerance};
pub use tight_pairs::{JobRegister, TightPair};

use slipsheet_core::overprint::OverprintError;
use slipsheet_core::press::Press;

/// Why a design could not be studied.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SlipError {
    #[error(transparent)]
    Overprint(#[from] OverprintError),
    #[error("the sheet is too large to be studied at this resolution; choose a lower one")]
    TooLarge,
    #[error("it was stopped")]
    Cancelled,
}

/// The slip in mm, as a length, of the first pass and a later one against each other at the middle of the sheet
/// that this share of copies does not exceed, 0..=1.
///
/// Sheets that are late on one side count as a normal scatter of their variance; were they all that scatters, 95 % of
/// copies would slip 3 % farther. How alike copies are does not count: each of them slips as far.
pub fn slip_between_passes(press: &Press, share: f64) -> f64 {
    let offset = &press.offset;
    // Each of the two passes scatters by itself.
    let apart = press.scatter_at_middle().map(|v| v * std::f64::consts::SQRT_2);
    stats::length_quantile([offset.dx.get(), offset.dy.get()], apart, share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::press::{FeedSide, LateFeed, Offset, Spread};

    #[test]
    fn the_slip_between_passes_is_a_length_in_two_dimensions() {
        // With the same scatter s either way the length is Rayleigh's: 95 % lie below s times the root of
        // -2 ln 0.05, and two passes scatter by the root of 2 more.
        let press = Press { between_passes: Spread::of(0.5, 0.5, 0.0, 0.0), ..Press::default() };
        let wanted = 0.5 * libm::sqrt(2.0) * libm::sqrt(-2.0 * libm::log(0.05));
        assert!((slip_between_passes(&press, 0.95) / wanted - 1.0).abs() < 1e-4);
        // Without scatter an offset is slipped by every copy.
        let off =
            Press { between_passes: Spread::default(), offset: Offset::of(0.9, 1.2, 0.0, 0.0), ..press };
        assert!((slip_between_passes(&off, 0.95) - 1.5).abs() < 1e-9);
    }

    #[test]
    fn sheets_late_on_one_side_add_to_the_slip_between_passes() {
        // Nothing else scatters, in the worst case for a normal stand-in. Half the difference of two half-normal
        // amounts is the root of a half times the smaller of two normal sizes, which 95 % hold below where
        // erfc(m / root of 2) is the root of 0.05: m = 1.216993.
        let late_feed = LateFeed::new(FeedSide::Left, 0.8);
        let press = Press { between_passes: Spread::default(), late_feed, ..Press::default() };
        let wanted = 0.8 * 1.216_993 / std::f64::consts::SQRT_2;
        let got = slip_between_passes(&press, 0.95);
        assert!((got / wanted - 0.9708).abs() < 0.001, "{got} for {wanted}");
        let without = Press { late_feed: LateFeed::default(), ..Press::default() };
        let with = Press { late_feed, ..Press::default() };
        assert!(slip_between_passes(&with, 0.95) > slip_between_passes(&without, 0.95) + 0.02);
        let alike = Press { correlation: slipsheet_core::press::Correlation::new(0.9), ..with.clone() };
        assert_eq!(slip_between_passes(&alike, 0.95).to_bits(), slip_between_passes(&with, 0.95).to_bits());
    }
}
