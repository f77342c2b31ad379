//! Sheets and hands: how sheets are folded, bound, turned and wrapped, and the dummy that shows it in space.
//!
//! **Invariant:** nothing in here knows of ink or of a project: a [`construction::Construction`] says what is made.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod booklet;
pub mod construction;
pub mod dummy;
pub mod fold;
pub mod steps;
pub mod turning;
pub mod wrap;
