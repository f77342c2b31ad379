//! Registration: how originals are lined up, how far a print may slip, what the copies will look like, and what helps.
//!
//! **Invariant:** this crate touches no file, window, clock, environment or global state, and the same
//! input gives the same bytes on every machine: transcendental functions come from `libm`, and nothing
//! is ordered by a hash map.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod plan;
pub mod register;
pub mod slip;
pub mod suggest;
