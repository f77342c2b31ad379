//! What a job costs, from the shop's own prices; every default is zero.
//!
//! Masters, impressions, stock with overs and cutting, set-up and drum changes, time on the machine, work by
//! hand, ink and sleeves.

mod cut;
mod editions;
mod sum;

#[cfg(test)]
mod tests;

pub use crate::sequence::SeriesOrder;
pub use cut::{Cut, best_cut};
pub use editions::{CURRENT, EditionCost, Series, series};
pub use sum::{Cost, CostKind, CostLine, break_even, budget, cost, curve};
