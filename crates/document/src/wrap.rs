//! Wraps: the order for one, and how it lies on its sheet.

mod plan;

#[cfg(test)]
mod tests;

pub use plan::{WrapJob, WrapOrder, WrapPlan};
pub use slipsheet_paper::wrap::*;
