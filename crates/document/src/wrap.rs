//! Wraps in a project: the order for one, how it lies on its sheet, and that sheet with layers of its own.

mod plan;
mod sheet;

#[cfg(test)]
mod tests;

pub use plan::{WrapOrder, WrapPlan};
pub use sheet::{OtherSheet, WrapSheet};
pub use slipsheet_paper::wrap::*;
