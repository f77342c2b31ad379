//! Lining originals up: by registration marks drawn on them, or by what is drawn where there are none.
//!
//! [`marks`] finds marks in a scan to a fraction of a pixel, [`mod@solve`] turns pairs of points into a map with a
//! residual for each, [`sheet_finder`] puts the two together to find the sheet in a larger original, and
//! [`phase`] lines one layer up on another without marks. [`photo`] finds the sheet in a photograph, by the edges of
//! its [`paper`] and by its marks, and [`perspective`] is the map for that; [`original`] lines any original up from
//! beginning to end. [`layout`] says where the marks of our own guide
//! sheet lie, so that whoever prints the guide and whoever finds its marks agree.

mod correlation;
pub mod layout;
mod log_polar;
pub mod marks;
pub mod original;
pub mod paper;
pub mod perspective;
pub mod phase;
pub mod photo;
mod plane;
mod refine;
pub mod shape;
pub mod sheet_finder;
pub mod solve;
pub mod table;
mod take_out;
mod template;
mod tiles;

pub use layout::{LayoutMark, MarkLayout};
pub use marks::{ExpectedMark, Mark, MarkSearch};
pub use original::{FitChoice, OriginalError, OriginalFit, line_up_original};
pub use paper::{find_paper, place_by_edges};
pub use perspective::{Chosen, PerspectiveFit, choose_fit, solve_perspective};
pub use phase::{LineUp, LineUpLimits, line_up};
pub use photo::{FoundBy, FoundPhoto, PhotoError, find_in_photo};
pub use shape::{Corner, MarkKind, Stroke};
pub use sheet_finder::{FoundSheet, MatchedMark, SheetFinderError, find_sheet};
pub use solve::{Fit, FitKind, SolveError, solve, solve_rejecting};
pub use table::{HeldMark, MarkTable, Seen, SheetMap, TableFit};
pub use take_out::take_out;
