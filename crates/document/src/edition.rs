//! Editions: the same artwork in other inks on another stock, as a series has them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::ids::{EditionId, LayerId};
use slipsheet_core::ink::Ink;
use slipsheet_core::stock::Stock;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edition {
    pub id: EditionId,
    /// A name that no other edition of the sheet has.
    pub name: String,
    pub colours: Colours,
    /// Copies of this edition; without a number as many as the job has, each edition by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub copies: Option<u32>,
}

/// The most copies of an edition.
pub const MOST_COPIES: u32 = 1_000_000;

impl Edition {
    pub fn new(id: EditionId, name: String, colours: Colours) -> Self {
        Self { id, name, colours, copies: None }
    }

    /// Copies of it in a job of so many.
    pub fn copies_in(&self, job: u32) -> u32 {
        self.copies.unwrap_or(job)
    }
}

/// The inks of a sheet's layers and the stock that they are printed on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Colours {
    pub stock: Stock,
    /// The ink of each layer; one that is not named keeps its own.
    pub inks: BTreeMap<LayerId, Ink>,
}
