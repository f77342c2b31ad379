//! Inks: the colour of a solid on a known paper, how much it hides, how much it glows, and how its
//! tones behave. Whether a colour was measured or only estimated is part of the type.

use serde::{Deserialize, Serialize};

use crate::colour::Lab;
use crate::finish::{Finish, within};
use crate::stock::Stock;
pub use crate::swatch::Swatch;
use crate::tone::ToneCurve;
use slipsheet_base::bounded;

bounded! {
    /// A share, 0 to 1.
    Share, 0.0..=1.0, default 0.0, "a share", "from 0 to 1"
}

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
    /// Floor of the reference paper where it was measured, in place of its finish's.
    #[serde(default, deserialize_with = "floor", skip_serializing_if = "Option::is_none")]
    pub on_floor: Option<f64>,
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

fn floor<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<f64>, D::Error> {
    within(d, "on_floor", 0.0..=0.9)
}

fn full() -> Share {
    Share::new(1.0)
}

impl Ink {
    /// A transparent ink estimated on white uncoated paper.
    pub fn estimated(name: &str, solid: Lab) -> Self {
        Self {
            name: name.to_owned(),
            solid: Swatch::Estimated { lab: solid },
            on: Lab::WHITE,
            on_finish: Finish::Uncoated,
            on_floor: None,
            opacity: Share::new(0.0),
            emission: full(),
            curve: ToneCurve::default(),
        }
    }

    /// Whether the solid was measured on paper like this stock: of its finish, and within 1 CIEDE2000 of its colour.
    pub fn is_measured_on(&self, stock: &Stock) -> bool {
        let same_paper =
            self.on_finish == stock.finish && self.on.ciede2000(stock.colour.lab()) <= SAME_PAPER;
        self.solid.measured() && same_paper
    }

    /// How well its colour is known on a stock, in a few words.
    ///
    /// From one paper to another the model is an estimate: on open data it comes within 2 to 3 CIEDE2000, which between
    /// papers of one finish is no better than the colour unchanged.
    pub fn standing_on(&self, stock: &Stock) -> &'static str {
        match (self.solid.measured(), self.is_measured_on(stock)) {
            (false, _) => "estimate",
            (true, true) => "measured",
            (true, false) => "measured on other paper, an estimate here",
        }
    }
}

/// Two papers closer than this are the same to an ink, CIEDE2000.
const SAME_PAPER: f64 = 1.0;

/// A measured colour of several inks printed over one another, which replaces the predicted one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OverprintSwatch {
    /// Names of the inks, in printing order.
    pub inks: Vec<String>,
    /// Name of the stock it was printed on.
    pub stock: String,
    pub lab: Lab,
}
