//! Calibration: a press's tones, solids, floor and trapping are measured from a printed sheet.
//!
//! A [`WedgeSheet`] is the plan of the sheet; [`read_sheet`] finds it in a scan and gives the colour of every
//! patch; [`fit`] turns those colours, and [`fit_measured`] an instrument's, into tone curves, swatches, a
//! floor and a trapping.
//!
//! **Invariant:** nothing here changes an ink or a stock; a [`CalibrationResult`] is shown before it is accepted.

mod fiducials;
mod fit;
mod homography;
mod read;
mod recognise;
mod result;
mod sheet;
#[cfg(test)]
mod tests;
mod tones;

pub use fit::{fit, fit_measured};
pub use read::{Encoding, KnownPatches, PatchReading, ScanPixels, SheetReading, Source, read_sheet};
pub use recognise::{Recognised, recognise};
pub use result::{CalibrationResult, ChannelFit, Compared, InkFit, StepFit, TintFit, TrapFit};
pub use sheet::{Mark, Patch, PatchKind, STEPS, WedgeSheet};

/// Why a sheet could not be planned, read or fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CalibrateError {
    #[error("a calibration sheet takes 1 to 8 inks, not {0}; name as many as you mean to print")]
    Inks(usize),
    /// The code on the sheet has room for readings 0 to 7.
    #[error("the reading's code must be from 0 to 7, not {0}")]
    Reading(u8),
    /// Patches would be smaller than 5 mm.
    #[error("the sheet is too small for {inks} inks; choose a larger sheet or fewer inks")]
    SheetTooSmall { inks: usize },
    /// The buffer is not `width * height * 3` bytes, or there is nothing in it.
    #[error("the scan has {got} bytes of pixels where {width} x {height} pixels need {wanted}")]
    Pixels { width: usize, height: usize, wanted: usize, got: usize },
    #[error(
        "{found} of the 4 ringed corner marks were found; scan the whole sheet flat, in colour, at 150 dpi or more"
    )]
    Fiducials { found: usize },
    #[error(
        "the corner marks do not form a sheet of this format; check the sheet's size and that nothing covers a corner"
    )]
    Shape,
    #[error(
        "the scan is too blurred to read; lay the sheet flat on clean glass and scan it at 150 dpi or more, without smoothing"
    )]
    Blurred,
    #[error("the row of squares of ink {ink} does not read as it should; check the inks' number and order")]
    Code {
        /// Ink, from 1.
        ink: usize,
    },
    #[error("there is no patch of bare paper; measure the paper too")]
    NoPaper,
    #[error("there is no solid of {ink}; measure a patch of full coverage")]
    NoSolid { ink: String },
    #[error("the solid of {ink} looks like the paper; check that the ink was printed")]
    Pale { ink: String },
    #[error("a patch of {what} has no possible colour; scan or measure it again")]
    Colour { what: String },
}
