//! Registration: how originals are lined up, how far a print may slip, what the copies will look like, and what helps.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod plan;
pub mod propose;
pub mod register;
pub mod slip;
