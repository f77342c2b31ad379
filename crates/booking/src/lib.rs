//! Before the slot: what a job costs and how long it takes, how much ink it lays down, and what should be looked at first.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod cost;
pub mod ink_use;
pub mod preflight;
mod press_pass;
pub mod schedule;
mod sequence;
pub mod verdict;
