//! How far prints wander, and how far they lie off on every copy alike.

use serde::{Deserialize, Serialize};
use slipsheet_base::bounded;

bounded! {
    /// A standard deviation in mm.
    SpreadMm, 0.0..=20.0, default 0.0, "a register scatter in mm", "from 0 to 20";
    /// A standard deviation in degrees.
    SpreadDegrees, 0.0..=5.0, default 0.0, "a scatter of the twist in degrees", "from 0 to 5";
    /// A standard deviation in percent of a length.
    SpreadPercent, 0.0..=5.0, default 0.0, "a scatter of the stretch in percent", "from 0 to 5"
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

    /// The same spread times a factor of 0 or more, each figure held in its range.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        let (dx, dy) = (self.dx.get(), self.dy.get());
        Self::of(dx * factor, dy * factor, self.skew.get() * factor, self.stretch.get() * factor)
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

#[cfg(test)]
mod tests {
    use super::*;

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
