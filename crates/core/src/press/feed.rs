//! How sheets are fed: late on one side now and then, and alike from one copy to the next.

use serde::{Deserialize, Serialize};
use slipsheet_base::bounded;

use super::SpreadMm;

bounded! {
    /// How alike the slips of two copies are that follow one another: their correlation, 0 to 0.95.
    Correlation, 0.0..=0.95, default 0.0, "the correlation from copy to copy", "from 0 to 0.95"
}

impl Correlation {
    /// By how much at most the variance of a count of copies (of those that would sell, say) is larger than where
    /// copies do not depend on each other: `(1 + r) / (1 - r)`, 1 or more.
    ///
    /// Bad copies come in bunches, so more overs are needed for the same share. No function of the slips of two copies
    /// is more alike than the slips are, `r^n` for copies n apart (Gebelein's inequality), and these add up to this.
    pub fn bunching(self) -> f64 {
        (1.0 + self.get()) / (1.0 - self.get())
    }

    pub(super) fn is_none(&self) -> bool {
        self.get() <= 0.0
    }
}

/// A side of the sheet as the operator sees it, lead edge up and the side that is printed in view.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum FeedSide {
    #[default]
    Left,
    Right,
}

impl FeedSide {
    pub const ALL: [Self; 2] = [Self::Left, Self::Right];

    pub fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

/// Sheets that arrive late on one side by an amount that is half-normal: the size of a normal number without its
/// sign. The other side is on time.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LateFeed {
    pub side: FeedSide,
    /// Deviation of the normal number behind it, at that edge of the sheet. The mean amount is this times the root of
    /// 2/pi.
    pub deviation: SpreadMm,
}

impl LateFeed {
    pub fn new(side: FeedSide, deviation: f64) -> Self {
        Self { side, deviation: SpreadMm::new(deviation) }
    }

    /// Whether any sheet is late.
    pub fn is_some(&self) -> bool {
        self.deviation.get() > 0.0
    }

    pub(super) fn is_none(&self) -> bool {
        !self.is_some()
    }

    /// What a sheet of this width in mm does that is late by this many mm: how far its print lies along the travel at
    /// the middle of the sheet, in mm with down as more, and its twist in degrees, clockwise.
    ///
    /// To first order. The print comes too near to the lead edge on the late side and lies right on the other, so the
    /// middle moves by half.
    pub fn slip(&self, late: f64, width: f64) -> (f64, f64) {
        if width <= 0.0 {
            return (0.0, 0.0);
        }
        let clockwise = match self.side {
            FeedSide::Left => 1.0,
            FeedSide::Right => -1.0,
        };
        (-late / 2.0, (clockwise * late / width).to_degrees())
    }

    /// The deviation of the print at the middle of the sheet along the travel, in mm: half that of a half-normal
    /// amount, whose variance is 1 - 2/pi of the normal's.
    pub fn deviation_at_middle(&self) -> f64 {
        self.deviation.get() / 2.0 * libm::sqrt(1.0 - std::f64::consts::FRAC_2_PI)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_late_side_moves_and_the_other_stays() {
        for side in FeedSide::ALL {
            let width = 200.0;
            let (dy, twist) = LateFeed::new(side, 0.3).slip(0.8, width);
            // Along the travel, at the left and the right edge: down is more, and clockwise moves the right down.
            let at = |x: f64| dy + twist.to_radians() * x;
            let (late, on_time) = match side {
                FeedSide::Left => (at(-width / 2.0), at(width / 2.0)),
                FeedSide::Right => (at(width / 2.0), at(-width / 2.0)),
            };
            assert!((late + 0.8).abs() < 1e-12 && on_time.abs() < 1e-12, "{side:?}: {late} {on_time}");
        }
        assert_eq!(LateFeed::default().slip(0.5, 0.0), (0.0, 0.0));
    }

    #[test]
    fn a_half_normal_amount_has_the_variance_of_the_tables() {
        // scipy.stats.halfnorm.std() = 0.602810275.
        let half = LateFeed::new(FeedSide::Left, 1.0).deviation_at_middle();
        assert!((2.0 * half - 0.602_810_275).abs() < 1e-9, "{half}");
    }
}
