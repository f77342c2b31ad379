//! Ink on stock: inks and papers, what one over the other looks like, how a press reads an original and screens it.
//!
//! **Invariant:** nothing in here knows of a document.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod calibrate;
pub mod cgats;
pub mod dust;
pub mod finish;
pub mod gray_check;
pub mod ink;
pub mod moire;
pub mod overprint;
pub mod paper;
pub mod press;
pub mod reading;
pub mod retouch;
pub mod scan_quality;
pub mod screen;
pub mod separation;
pub mod stock;
pub mod swatch;
#[cfg(test)]
mod testing;
pub mod tone;

pub use slipsheet_base::{colour, geometry, projective, raster, spectrum, units, words};
