//! Presses: the duplicator as the project knows it, with how far its prints wander.
//!
//! Every figure of the default press is an estimate (common practice, no source) and says so until the
//! spread has been measured from printed mark sheets; what it usually is stands in [`figure`].

mod feed;
pub mod figure;
pub mod panel;
mod scatter;

pub use feed::{Correlation, FeedSide, LateFeed};
pub use figure::{Basis, Figure};
pub use panel::DensityStep;
pub use scatter::{Offset, OffsetDegrees, OffsetMm, OffsetPercent, Spread};
pub use scatter::{SpreadDegrees, SpreadMm, SpreadPercent};

use serde::{Deserialize, Serialize};

use crate::units::Size;
use slipsheet_base::bounded;

bounded! {
    /// A distance from an edge in mm that the press cannot print.
    MarginMm, 0.0..=100.0, default 5.0, "a margin in mm", "from 0 to 100";
    /// Sheets a minute.
    Speed, 1.0..=600.0, default 90.0, "a speed in sheets a minute", "from 1 to 600";
    /// Weight in grams per square metre.
    Gsm, 20.0..=600.0, default 90.0, "gsm", "from 20 to 600";
    /// Drift in mm over a thousand sheets, either way.
    Drift, -50.0..=50.0, default 0.0, "a drift in mm per 1000 sheets", "from -50 to 50"
}

/// Which of a press's figures were measured from printed mark sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    pub between_passes: bool,
    pub within_pass: bool,
    /// Also where none was found: it is none then, and no estimate.
    #[serde(default, skip_serializing_if = "is_not")]
    pub offset: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks so")]
fn is_not(value: &bool) -> bool {
    !value
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
    /// Sheets that arrive late on one side.
    #[serde(default, skip_serializing_if = "LateFeed::is_none")]
    pub late_feed: LateFeed,
    /// How alike the slips of copies are that follow one another; how far they slip does not depend on it.
    #[serde(default, skip_serializing_if = "Correlation::is_none")]
    pub correlation: Correlation,
    /// The density steps of its panel, in any order; none where they are not known.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "panel::steps")]
    pub density_steps: Vec<DensityStep>,
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
            late_feed: LateFeed::default(),
            correlation: Correlation::default(),
            density_steps: Vec::new(),
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

    /// The same press with every scatter that is an estimate times a factor of 0 or more; what was measured stays.
    ///
    /// Half and one and a half times are the two ends of a band about a figure that rests on estimates.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let guessed = |spread: Spread, measured: bool| if measured { spread } else { spread.times(factor) };
        Self {
            within_pass: guessed(self.within_pass, self.measured.within_pass),
            between_passes: guessed(self.between_passes, self.measured.between_passes),
            late_feed: LateFeed::new(self.late_feed.side, self.late_feed.deviation.get() * factor),
            ..self.clone()
        }
    }

    /// The same press with copies that do not depend on each other: the share of copies that is to be expected is the
    /// same and is told best by them, but see [`Correlation::bunching`] for how a count of copies swings about it.
    #[must_use]
    pub fn independent(&self) -> Self {
        Self { correlation: Correlation::default(), ..self.clone() }
    }

    /// How far one pass scatters at the middle of the sheet, across and along its travel: deviations in mm, with what
    /// sheets that are late on one side add.
    pub fn scatter_at_middle(&self) -> [f64; 2] {
        let along = libm::hypot(self.between_passes.dy.get(), self.late_feed.deviation_at_middle());
        [self.between_passes.dx.get(), along]
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
    use proptest::prelude::*;

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
    fn what_a_press_has_besides_comes_back_and_a_press_without_it_is_written_as_before() {
        let press = Press {
            late_feed: LateFeed::new(FeedSide::Right, 0.4),
            correlation: Correlation::new(0.6),
            density_steps: vec![DensityStep::new("light", -0.5), DensityStep::new("normal", 0.0)],
            measured: Measured { offset: true, ..Measured::default() },
            ..Press::default()
        };
        let text = ron::to_string(&press).unwrap();
        assert_eq!(ron::from_str::<Press>(&text).unwrap(), press);
        for (right, wrong, why) in [
            ("correlation:0.6", "correlation:0.96", "from 0 to 0.95"),
            ("correlation:0.6", "correlation:NaN", "from 0 to 0.95"),
            ("deviation:0.4", "deviation:-0.1", "from 0 to 20"),
            ("density:-0.5", "density:-1.5", "from -1 to 1"),
            ("\"light\"", "\"normal\"", "are called “normal”"),
        ] {
            assert!(text.contains(right), "{text}");
            let error = ron::from_str::<Press>(&text.replace(right, wrong)).unwrap_err().to_string();
            assert!(error.contains(why), "{error}");
        }
        let plain = ron::to_string(&Press::default()).unwrap();
        for name in ["late_feed", "correlation", "density_steps"] {
            assert!(!plain.contains(name), "{plain}");
        }
    }

    proptest! {
        #[test]
        fn estimates_grow_with_the_factor_and_what_was_measured_stays(
            between_passes: bool, within_pass: bool, less in 0.0..=3.0_f64, more in 0.0..=3.0_f64,
        ) {
            let press = Press {
                measured: Measured { between_passes, within_pass, offset: false },
                offset: Offset::of(0.4, 0.1, 0.0, 0.0),
                late_feed: LateFeed::new(FeedSide::Left, 0.3),
                ..Press::default()
            };
            prop_assert_eq!(&press.scaled(1.0), &press);
            let (small, large) = (press.scaled(less), press.scaled(less + more));
            prop_assert_eq!(small.offset, press.offset);
            for figure in Figure::all() {
                let (was, small, large) = (figure.of(&press), figure.of(&small), figure.of(&large));
                match figure {
                    Figure::Between(_) | Figure::Within(_) | Figure::LateFeed
                        if figure.basis(&press) == Basis::Estimated =>
                    {
                        prop_assert!((small - was * less).abs() < 1e-12 && large >= small);
                    }
                    _ => prop_assert!(small == was && large == was, "{}", figure.name()),
                }
            }
        }
    }
}
