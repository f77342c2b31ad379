//! The pass plan: [`best`] tries every order and pairing of a face's inks and keeps the three that cost least.

mod hold;
mod score;
mod search;
mod words;

pub use score::{Costs, Figures, Weights};
pub use search::{PassPlan, best, evaluate, minutes};
