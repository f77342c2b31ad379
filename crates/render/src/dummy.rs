//! The dummy of a project: the folded thing with the project's prints on it.

mod prints;

pub use prints::{Prints, paper_of, prints};
pub use slipsheet_paper::dummy::*;
