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
}

/// The inks of a sheet's layers and the stock that they are printed on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Colours {
    pub stock: Stock,
    /// The ink of each layer; one that is not named keeps its own.
    pub inks: BTreeMap<LayerId, Ink>,
}
