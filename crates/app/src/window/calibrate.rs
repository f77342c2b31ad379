//! Calibration in the window: what is asked before a sheet or a table is read, and what it says, shown before it is
//! used.

mod ask;
mod plot;
mod result;

pub(super) use ask::Form;
pub(super) use result::Shown;
