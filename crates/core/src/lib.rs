//! The model and the computing of Slipsheet.
//!
//! **Invariant:** this crate touches no file, window, clock, environment or global state, and the same
//! input gives the same bytes on every machine: transcendental functions come from `libm`, and nothing
//! is ordered by a hash map.

pub mod accepted;
pub mod calibrate;
pub mod cgats;
pub mod edition;
pub mod gray_check;
pub mod ink;
pub mod layer;
pub mod mark_room;
pub mod moire;
pub mod overprint;
pub mod paper;
pub mod press;
pub mod project;
pub mod reading;
pub mod remedy;
pub mod screen;
pub mod shelf;
pub mod stock;
pub mod terms;
pub mod tone;
pub mod wrap;

pub use slipsheet_base::{colour, geometry, raster, spectrum, units, words};
pub use slipsheet_paper::{booklet, fold, turning};
