//! A colour and how well it is known.

use serde::{Deserialize, Serialize};

use crate::colour::Lab;

/// A colour together with how well it is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Swatch {
    /// Read from a printed swatch; the note says where and how.
    Measured {
        lab: Lab,
        #[serde(default)]
        note: String,
    },
    /// Chosen by eye or taken from a starter shelf.
    Estimated { lab: Lab },
}

impl Swatch {
    pub fn lab(&self) -> Lab {
        match self {
            Self::Measured { lab, note: _ } | Self::Estimated { lab } => *lab,
        }
    }

    /// Whether it was measured.
    pub fn measured(&self) -> bool {
        matches!(self, Self::Measured { .. })
    }

    /// What lists show beside the colour.
    pub fn standing(&self) -> &'static str {
        match self {
            Self::Measured { .. } => "measured",
            Self::Estimated { .. } => "estimate: replace with a swatch from your shop",
        }
    }
}
