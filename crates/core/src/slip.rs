//! Misregistration: how far a design may slip before it shows, and what a run of it will look like.
//!
//! `study` finds the tight edges and the tolerance, `run` simulates copies on the project's press, `map`
//! shows what one layer's slip does to the picture.

pub mod cover;
pub mod edges;
pub mod map;
pub mod painter;
pub mod run;
pub mod spread;
pub mod study;
#[cfg(test)]
mod testing;
pub mod tight_pairs;
pub mod vision;

pub use slipsheet_base::{distance, random, stats};

pub use cover::{Covers, InkCover};
pub use run::{Copied, Good, LayerSlip, RunOptions, RunSummary, SimulatedRun};
pub use study::{PairStudy, Rose, Shows, Study, StudyOptions, Thin, ThinKind, Tight};
pub use tight_pairs::{JobRegister, TightPair};

use crate::overprint::OverprintError;

/// Why a design could not be studied.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SlipError {
    /// The inks cannot be predicted together.
    #[error("{0}")]
    Overprint(OverprintError),
    /// No memory for a plate.
    #[error("the sheet is too large to be studied at this resolution; choose a lower one")]
    TooLarge,
    /// The person stopped it.
    #[error("it was stopped")]
    Cancelled,
}
