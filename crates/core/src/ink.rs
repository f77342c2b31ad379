//! Inks: the colour of a solid on a known paper, how much it hides, how much it glows, and how its
//! tones behave. Whether a colour was measured or only estimated is part of the type.

use serde::{Deserialize, Serialize};

use crate::colour::Lab;
use crate::stock::Finish;
use crate::tone::ToneCurve;

/// A colour together with how well it is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Swatch {
    /// Read from a printed swatch; the note says where and how.
    Measured {
        /// The colour.
        lab: Lab,
        /// Where, when and with what.
        #[serde(default)]
        note: String,
    },
    /// Chosen by eye or taken from a starter shelf.
    Estimated {
        /// The colour.
        lab: Lab,
    },
}

impl Swatch {
    /// The colour.
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

/// A number from 0 to 1, checked when it is read.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Share(f64);

impl Share {
    /// A share; what is not a number becomes 0.
    pub fn new(v: f64) -> Self {
        Self(if v.is_nan() { 0.0 } else { v.clamp(0.0, 1.0) })
    }

    /// The number, 0..=1.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Share {
    type Error = String;
    fn try_from(v: f64) -> Result<Self, String> {
        if (0.0..=1.0).contains(&v) { Ok(Self(v)) } else { Err(format!("must be from 0 to 1, not {v}")) }
    }
}

impl From<Share> for f64 {
    fn from(s: Share) -> Self {
        s.0
    }
}

/// An ink.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ink {
    /// A plain descriptive name.
    pub name: String,
    /// Colour of a solid on the reference paper.
    pub solid: Swatch,
    /// Colour of the reference paper.
    pub on: Lab,
    /// Finish of the reference paper.
    #[serde(default)]
    pub on_finish: Finish,
    /// How much of what lies below is hidden: 0 transparent, 1 opaque.
    #[serde(default)]
    pub opacity: Share,
    /// How much of the light beyond the reference paper's is the ink's own glow (fluorescence).
    #[serde(default = "full")]
    pub emission: Share,
    /// From asked-for to effective coverage.
    #[serde(default)]
    pub curve: ToneCurve,
}

fn full() -> Share {
    Share(1.0)
}

impl Ink {
    /// A transparent ink estimated on white uncoated paper.
    pub fn estimated(name: &str, solid: Lab) -> Self {
        Self {
            name: name.to_owned(),
            solid: Swatch::Estimated { lab: solid },
            on: Lab::WHITE,
            on_finish: Finish::Uncoated,
            opacity: Share(0.0),
            emission: full(),
            curve: ToneCurve::default(),
        }
    }
}

/// A measured colour of several inks printed over one another, which replaces the predicted one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OverprintSwatch {
    /// Names of the inks, in printing order.
    pub inks: Vec<String>,
    /// Name of the stock it was printed on.
    pub stock: String,
    /// The colour.
    pub lab: Lab,
}
