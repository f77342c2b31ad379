//! The surface of a paper.

use serde::{Deserialize, Serialize};

/// The surface of a paper, which sets the floor of the overprint model and the default Yule-Nielsen n.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Finish {
    /// Coated art paper.
    Coated,
    Calendered,
    /// Uncoated, as most stencil printing uses.
    #[default]
    Uncoated,
    Newsprint,
}

impl Finish {
    /// Every finish, smooth to rough.
    pub const ALL: [Self; 4] = [Self::Coated, Self::Calendered, Self::Uncoated, Self::Newsprint];

    pub fn name(self) -> &'static str {
        match self {
            Self::Coated => "Coated",
            Self::Calendered => "Calendered",
            Self::Uncoated => "Uncoated",
            Self::Newsprint => "Newsprint",
        }
    }

    /// Light that no further ink takes away, as a share of the paper's.
    ///
    /// Coated and uncoated were chosen with the rule of [`crate::overprint`] on the solids of FOGRA39L, 29L and 30L.
    /// The other two lie between and beyond by how dark such papers print (an estimate).
    pub fn floor(self) -> f64 {
        match self {
            Self::Coated => 0.006,
            Self::Calendered => 0.03,
            Self::Uncoated => 0.062,
            Self::Newsprint => 0.13,
        }
    }

    /// Yule-Nielsen n: how far light spreads in the paper against the dots
    /// (common practice, no source: 1.5 for coated, 2 for the rest).
    pub fn yule_nielsen(self) -> f64 {
        match self {
            Self::Coated => 1.5,
            Self::Calendered | Self::Uncoated | Self::Newsprint => 2.0,
        }
    }
}

/// A measured number within its range, or none.
pub(crate) fn within<'de, D: serde::Deserializer<'de>>(
    d: D,
    what: &str,
    range: std::ops::RangeInclusive<f64>,
) -> Result<Option<f64>, D::Error> {
    match Option::<f64>::deserialize(d)? {
        Some(v) if !range.contains(&v) => {
            let (low, high) = (range.start(), range.end());
            Err(serde::de::Error::custom(format!("{what} must be from {low} to {high}, not {v}")))
        }
        v => Ok(v),
    }
}
