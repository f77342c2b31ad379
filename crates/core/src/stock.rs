//! Stocks: the papers at hand, with what the overprint model needs of them.

use serde::{Deserialize, Serialize};

pub use crate::finish::Finish;
use crate::finish::within;
use crate::swatch::Swatch;

/// A paper.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stock {
    /// A plain descriptive name.
    pub name: String,
    pub colour: Swatch,
    #[serde(default)]
    pub finish: Finish,
    /// Weight in grams per square metre, 20 to 600.
    #[serde(deserialize_with = "gsm")]
    pub gsm: f64,
    /// Floor fitted to what was measured on this stock, as a share of the paper's light, in place of the finish's.
    #[serde(default, deserialize_with = "floor")]
    pub floor: Option<f64>,
    /// Trapping fitted to overprints on this stock, in place of the usual one.
    #[serde(default, deserialize_with = "trap", skip_serializing_if = "Option::is_none")]
    pub trap: Option<f64>,
    /// Yule-Nielsen n fitted to tints on this stock, in place of the finish's.
    #[serde(default, deserialize_with = "yule_nielsen", skip_serializing_if = "Option::is_none")]
    pub n: Option<f64>,
    /// Measured thickness of a leaf in mm, 0.02 to 2; estimated from weight and finish when absent.
    #[serde(default, skip_serializing_if = "Option::is_none", deserialize_with = "caliper")]
    pub caliper_mm: Option<f64>,
    /// Which way the fibres lie on the sheet as it is printed, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none", deserialize_with = "grain")]
    pub grain: Option<Grain>,
}

/// Which way the fibres lie, against the sheet as it is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Grain {
    /// Not known, or it does not matter.
    #[default]
    Any,
    /// Along the sheet's longer side.
    Long,
    Short,
}

impl Grain {
    /// Every way, in the order that lists show.
    pub const ALL: [Self; 3] = [Self::Any, Self::Long, Self::Short];

    /// The name as lists of what a job asks for show it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Any => "Any",
            Self::Long => "Along the long side",
            Self::Short => "Along the short side",
        }
    }

    /// Whether the fibres run along the width; `None` where the grain is not known or the sheet is square.
    pub fn runs_across(self, width: f64, height: f64) -> Option<bool> {
        match self {
            Self::Any => None,
            _ if width == height => None,
            Self::Long => Some(width > height),
            Self::Short => Some(width < height),
        }
    }
}

/// A grain that is known; [`Grain::Any`] says as little as none.
fn grain<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<Grain>, D::Error> {
    Ok(Option::<Grain>::deserialize(d)?.filter(|g| *g != Grain::Any))
}

fn caliper<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<f64>, D::Error> {
    within(d, "caliper_mm", 0.02..=2.0)
}

fn gsm<'de, D: serde::Deserializer<'de>>(d: D) -> Result<f64, D::Error> {
    let v = f64::deserialize(d)?;
    if (20.0..=600.0).contains(&v) {
        Ok(v)
    } else {
        Err(serde::de::Error::custom(format!("gsm must be from 20 to 600, not {v}")))
    }
}

fn floor<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<f64>, D::Error> {
    within(d, "floor", 0.0..=0.9)
}

fn trap<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<f64>, D::Error> {
    within(d, "trap", 0.1..=1.5)
}

fn yule_nielsen<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<f64>, D::Error> {
    within(d, "n", 1.0..=10.0)
}

impl Stock {
    /// A paper of which nothing but its colour is known: uncoated, of 90 gsm.
    pub fn new(name: impl Into<String>, colour: Swatch) -> Self {
        Self {
            name: name.into(),
            colour,
            finish: Finish::default(),
            gsm: 90.0,
            floor: None,
            trap: None,
            n: None,
            caliper_mm: None,
            grain: None,
        }
    }

    /// The floor in force: measured where known, else the finish's.
    pub fn floor(&self) -> f64 {
        self.floor.unwrap_or_else(|| self.finish.floor())
    }

    /// Yule-Nielsen n in force: fitted where known, else the finish's.
    pub fn yule_nielsen(&self) -> f64 {
        self.n.unwrap_or_else(|| self.finish.yule_nielsen())
    }
}
