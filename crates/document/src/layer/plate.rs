//! A scan that is the plate of a separated picture.

use serde::{Deserialize, Serialize};

/// The plate of a separated picture: of which inks, and which of them.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plate {
    /// Everything that the plates depend on besides the picture.
    pub recipe: RecipeId,
    /// Which ink of the recipe, from 0.
    pub ink: u8,
}

/// What tells recipes apart: a hash of 32 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct RecipeId(String);

impl RecipeId {
    pub(crate) fn new(hash: u128) -> Self {
        Self(format!("{hash:032x}"))
    }
}
