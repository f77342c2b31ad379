//! Presses: the duplicator as the project knows it, with how far its prints wander.
//!
//! Every figure of the default press is an estimate (common practice, no source) and says so until the
//! spread has been measured from printed mark sheets.

use serde::{Deserialize, Serialize};

use crate::units::Size;
use slipsheet_base::bounded;

bounded! {
    /// A standard deviation in mm.
    SpreadMm, 0.0..=20.0, default 0.0, "a register scatter in mm", "from 0 to 20";
    /// A standard deviation in degrees.
    SpreadDegrees, 0.0..=5.0, default 0.0, "a scatter of the twist in degrees", "from 0 to 5";
    /// A standard deviation in percent of a length.
    SpreadPercent, 0.0..=5.0, default 0.0, "a scatter of the stretch in percent", "from 0 to 5";
    /// A distance from an edge in mm that the press cannot print.
    MarginMm, 0.0..=100.0, default 5.0, "a margin in mm", "from 0 to 100";
    /// Sheets a minute.
    Speed, 1.0..=600.0, default 90.0, "a speed in sheets a minute", "from 1 to 600";
    /// Weight in grams per square metre.
    Gsm, 20.0..=600.0, default 90.0, "gsm", "from 20 to 600";
    /// Drift in mm over a thousand sheets, either way.
    Drift, -50.0..=50.0, default 0.0, "a drift in mm per 1000 sheets", "from -50 to 50"
}

/// How far prints wander about their mean: standard deviations of a normal distribution.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Spread {
    /// Across the sheet's travel.
    pub dx: SpreadMm,
    /// Along the sheet's travel.
    pub dy: SpreadMm,
    /// Turn about the sheet's centre.
    pub skew: SpreadDegrees,
    /// Lengthening along the sheet's travel, about the centre.
    pub stretch: SpreadPercent,
}

impl Spread {
    /// A spread from plain numbers: mm, mm, degrees, percent; each is held in its range.
    pub fn of(dx: f64, dy: f64, skew: f64, stretch: f64) -> Self {
        Self {
            dx: SpreadMm::new(dx),
            dy: SpreadMm::new(dy),
            skew: SpreadDegrees::new(skew),
            stretch: SpreadPercent::new(stretch),
        }
    }
}

bounded! {
    /// A constant distance in mm, either way.
    OffsetMm, -20.0..=20.0, default 0.0, "an offset in mm", "from -20 to 20";
    /// A constant turn in degrees, either way.
    OffsetDegrees, -5.0..=5.0, default 0.0, "an offset's twist in degrees", "from -5 to 5";
    /// A constant lengthening in percent, either way.
    OffsetPercent, -5.0..=5.0, default 0.0, "an offset's stretch in percent", "from -5 to 5"
}

/// How every later pass lies off the first one, the same on every copy.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Offset {
    /// To the right.
    pub dx: OffsetMm,
    /// Downwards.
    pub dy: OffsetMm,
    /// Clockwise about the sheet's centre.
    pub skew: OffsetDegrees,
    /// Lengthening along the sheet's travel, about the centre.
    pub stretch: OffsetPercent,
}

impl Offset {
    /// An offset from plain numbers: mm, mm, degrees, percent; each is held in its range.
    pub fn of(dx: f64, dy: f64, skew: f64, stretch: f64) -> Self {
        Self {
            dx: OffsetMm::new(dx),
            dy: OffsetMm::new(dy),
            skew: OffsetDegrees::new(skew),
            stretch: OffsetPercent::new(stretch),
        }
    }

    /// Whether later passes lie off the first one at all.
    pub fn is_some(&self) -> bool {
        *self != Self::default()
    }

    /// What it is and what the operator does about it, in two sentences; nothing for less than 0.05 mm and
    /// 0.02 degrees, which no one can set.
    pub fn advice(&self) -> Option<String> {
        let (dx, dy, skew) = (self.dx.get(), self.dy.get(), self.skew.get());
        let word = |v: f64, [more, less]: [&'static str; 2]| if v > 0.0 { more } else { less };
        let (mut lies, mut back) = (Vec::new(), Vec::new());
        for (v, words) in [(dx, ["right", "left"]), (dy, ["down", "up"])] {
            if v.abs() >= 0.05 {
                lies.push(format!("{:.2} mm {}", v.abs(), word(v, words)));
                back.push(format!("{:.2} mm {}", v.abs(), word(-v, words)));
            }
        }
        if skew.abs() >= 0.02 {
            let turns = ["clockwise", "counterclockwise"];
            lies.push(format!("{:.2} degrees {}", skew.abs(), word(skew, turns)));
            back.push(format!("{:.2} degrees {}", skew.abs(), word(-skew, turns)));
        }
        (!lies.is_empty()).then(|| {
            format!(
                "Later passes lie {} off the first. Set this out on the machine before the run ({}), then set the offset to 0.",
                lies.join(", "),
                back.join(", ")
            )
        })
    }
}

/// Which of a press's spreads were measured from printed mark sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    pub between_passes: bool,
    pub within_pass: bool,
}

/// Edges that the press cannot print, as seen on the front of the sheet with the lead edge up.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Margins {
    pub lead: MarginMm,
    pub tail: MarginMm,
    pub side: MarginMm,
}

/// A stencil duplicator.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Press {
    /// A plain descriptive name.
    pub name: String,
    /// Drums that print in one pass, 1 or 2.
    #[serde(deserialize_with = "drums")]
    pub drums: u8,
    /// The smallest sheet it takes, standing.
    pub smallest: Size,
    /// The largest sheet it takes, standing.
    pub largest: Size,
    /// The lightest stock it takes.
    pub lightest: Gsm,
    /// The heaviest stock it takes.
    pub heaviest: Gsm,
    /// What it cannot print.
    pub margins: Margins,
    /// Spread between the inks of one pass.
    pub within_pass: Spread,
    pub between_passes: Spread,
    /// How later passes lie off the first.
    #[serde(default)]
    pub offset: Offset,
    /// Drift of one pass against the other along the sheet's travel.
    #[serde(default)]
    pub drift: Drift,
    pub speed: Speed,
    /// Which spreads were measured, rather than estimated.
    #[serde(default)]
    pub measured: Measured,
}

fn drums<'de, D: serde::Deserializer<'de>>(d: D) -> Result<u8, D::Error> {
    match u8::deserialize(d)? {
        v @ (1 | 2) => Ok(v),
        v => Err(serde::de::Error::custom(format!("drums must be 1 or 2, not {v}"))),
    }
}

impl Default for Press {
    /// A two-drum press with estimated figures (common practice, no source).
    fn default() -> Self {
        Self {
            name: "Two-drum duplicator".to_owned(),
            drums: 2,
            smallest: Size::mm(105.0, 148.0),
            largest: Size::mm(300.0, 440.0),
            lightest: Gsm::new(50.0),
            heaviest: Gsm::new(200.0),
            margins: Margins { lead: MarginMm::new(5.0), tail: MarginMm::new(5.0), side: MarginMm::new(5.0) },
            within_pass: Spread::of(0.1, 0.15, 0.03, 0.02),
            between_passes: Spread::of(0.4, 0.6, 0.1, 0.05),
            offset: Offset::default(),
            drift: Drift::default(),
            speed: Speed::new(90.0),
            measured: Measured::default(),
        }
    }
}

impl Press {
    /// A press with one drum, with estimated figures (common practice, no source).
    pub fn single_drum() -> Self {
        Self { name: "One-drum duplicator".to_owned(), drums: 1, ..Self::default() }
    }

    /// Whether every spread that this press has was measured.
    pub fn is_measured(&self) -> bool {
        self.measured.between_passes && (self.measured.within_pass || self.drums == 1)
    }

    /// What the figures rest on, for the person.
    pub fn standing(&self) -> &'static str {
        match (self.measured.between_passes, self.measured.within_pass || self.drums == 1) {
            (true, true) => "measured from printed mark sheets",
            (true, false) => "measured between passes; within a pass they are estimates",
            (false, _) if self.measured.within_pass => {
                "measured within a pass; between passes they are estimates"
            }
            (false, _) => "estimated: measure it from a handful of printed mark sheets",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_press_comes_back_as_it_was_written() {
        let press = Press::default();
        let text = ron::to_string(&press).unwrap();
        assert_eq!(ron::from_str::<Press>(&text).unwrap(), press);
        let three = ron::from_str::<Press>(&text.replace("drums:2", "drums:3")).unwrap_err();
        assert!(three.to_string().contains("drums must be 1 or 2"), "{three}");
        assert!(ron::from_str::<Press>(&text.replace("dx:0.1", "dx:NaN")).is_err());
    }

    #[test]
    fn a_press_without_an_offset_reads_as_before_and_one_with_it_comes_back() {
        let press = Press { offset: Offset::of(1.5, -0.3, 0.2, 0.0), ..Press::default() };
        let text = ron::to_string(&press).unwrap();
        assert_eq!(ron::from_str::<Press>(&text).unwrap(), press);
        let (before, rest) = text.split_once("offset:").unwrap();
        let old = format!("{before}{}", rest.split_once("),").unwrap().1);
        assert_eq!(ron::from_str::<Press>(&old).unwrap(), Press::default());
        for wrong in ["dx:NaN", "dx:21.0", "dx:inf"] {
            assert!(ron::from_str::<Press>(&text.replace("dx:1.5", wrong)).is_err(), "{wrong}");
        }
    }

    #[test]
    fn an_offset_says_how_to_set_it_out() {
        let message = Offset::of(1.5, -0.3, 0.2, 0.0).advice().unwrap();
        assert!(
            message.contains("1.50 mm right, 0.30 mm up, 0.20 degrees clockwise off the first"),
            "{message}"
        );
        assert!(message.contains("(1.50 mm left, 0.30 mm down, 0.20 degrees counterclockwise)"), "{message}");
        assert_eq!(Offset::of(0.01, 0.0, 0.0, 0.0).advice(), None);
        assert_eq!(Offset::default().advice(), None);
    }
}
