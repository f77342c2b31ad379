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
pub fn slip_between_passes(press: &Press, share: f64) -> f64 {
    let (scatter, offset) = (&press.between_passes, &press.offset);
    // Each of the two passes scatters by itself.
    let apart = [scatter.dx.get(), scatter.dy.get()].map(|v| v * std::f64::consts::SQRT_2);
    stats::length_quantile([offset.dx.get(), offset.dy.get()], apart, share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::press::{Offset, Spread};

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
}
