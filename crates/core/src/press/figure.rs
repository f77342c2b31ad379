//! The figures of a press that may be estimates, each with what it usually is.

use super::{Offset, Press, Spread};

/// One of the four ways in which a print lies off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    Across,
    Along,
    Twist,
    Stretch,
}

impl Part {
    pub const ALL: [Self; 4] = [Self::Across, Self::Along, Self::Twist, Self::Stretch];

    pub fn name(self) -> &'static str {
        match self {
            Self::Across => "across",
            Self::Along => "along",
            Self::Twist => "twist",
            Self::Stretch => "stretch",
        }
    }

    fn unit(self) -> &'static str {
        match self {
            Self::Across | Self::Along => " mm",
            Self::Twist => "°",
            Self::Stretch => " %",
        }
    }

    fn of_spread(self, spread: &Spread) -> f64 {
        match self {
            Self::Across => spread.dx.get(),
            Self::Along => spread.dy.get(),
            Self::Twist => spread.skew.get(),
            Self::Stretch => spread.stretch.get(),
        }
    }

    fn of_offset(self, offset: &Offset) -> f64 {
        match self {
            Self::Across => offset.dx.get(),
            Self::Along => offset.dy.get(),
            Self::Twist => offset.skew.get(),
            Self::Stretch => offset.stretch.get(),
        }
    }
}

/// What a figure rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Printed mark sheets.
    Measured,
    Estimated,
}

impl Basis {
    pub fn name(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Estimated => "estimated",
        }
    }
}

/// A figure of a press.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    Between(Part),
    Within(Part),
    Offset(Part),
    Drift,
    LateFeed,
    Correlation,
    Speed,
    LeadMargin,
    TailMargin,
    SideMargin,
}

impl Figure {
    /// All of them, in the order in which they are shown.
    pub fn all() -> impl Iterator<Item = Self> {
        let parts = |of: fn(Part) -> Self| Part::ALL.into_iter().map(of);
        let single = [
            Self::Drift,
            Self::LateFeed,
            Self::Correlation,
            Self::Speed,
            Self::LeadMargin,
            Self::TailMargin,
            Self::SideMargin,
        ];
        parts(Self::Between).chain(parts(Self::Within)).chain(parts(Self::Offset)).chain(single)
    }

    pub fn name(self) -> String {
        match self {
            Self::Between(part) => format!("between passes, {}", part.name()),
            Self::Within(part) => format!("within a pass, {}", part.name()),
            Self::Offset(part) => format!("later passes off the first, {}", part.name()),
            Self::Drift => "drift".to_owned(),
            Self::LateFeed => "late on one side".to_owned(),
            Self::Correlation => "alike from copy to copy".to_owned(),
            Self::Speed => "speed".to_owned(),
            Self::LeadMargin => "margin at the lead edge".to_owned(),
            Self::TailMargin => "margin at the tail edge".to_owned(),
            Self::SideMargin => "margin at the sides".to_owned(),
        }
    }

    /// As it follows a number, with the space before it.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Between(part) | Self::Within(part) | Self::Offset(part) => part.unit(),
            Self::Drift => " mm / 1000",
            Self::LateFeed | Self::LeadMargin | Self::TailMargin | Self::SideMargin => " mm",
            Self::Correlation => "",
            Self::Speed => " sheets a minute",
        }
    }

    /// The figure of a press, in the unit of its name.
    pub fn of(self, press: &Press) -> f64 {
        match self {
            Self::Between(part) => part.of_spread(&press.between_passes),
            Self::Within(part) => part.of_spread(&press.within_pass),
            Self::Offset(part) => part.of_offset(&press.offset),
            Self::Drift => press.drift.get(),
            Self::LateFeed => press.late_feed.deviation.get(),
            Self::Correlation => press.correlation.get(),
            Self::Speed => press.speed.get(),
            Self::LeadMargin => press.margins.lead.get(),
            Self::TailMargin => press.margins.tail.get(),
            Self::SideMargin => press.margins.side.get(),
        }
    }

    /// Whether the press has it at all: one drum has no inks within a pass.
    pub fn applies(self, press: &Press) -> bool {
        match self {
            Self::Within(_) => press.drums > 1,
            Self::Between(_) | Self::Offset(_) | Self::Drift | Self::LateFeed | Self::Correlation => true,
            Self::Speed | Self::LeadMargin | Self::TailMargin | Self::SideMargin => true,
        }
    }

    pub fn basis(self, press: &Press) -> Basis {
        let measured = match self {
            Self::Between(_) => press.measured.between_passes,
            Self::Within(_) => press.measured.within_pass,
            Self::Offset(_) => press.measured.offset,
            Self::Drift | Self::LateFeed | Self::Correlation | Self::Speed => false,
            Self::LeadMargin | Self::TailMargin | Self::SideMargin => false,
        };
        if measured { Basis::Measured } else { Basis::Estimated }
    }

    /// What it usually is on such presses, from least to most (common practice, no source).
    pub fn usual(self) -> [f64; 2] {
        match self {
            Self::Between(Part::Across) => [0.3, 0.8],
            Self::Between(Part::Along) => [0.4, 1.2],
            Self::Between(Part::Twist) => [0.05, 0.2],
            Self::Between(Part::Stretch) => [0.02, 0.1],
            Self::Within(Part::Across) => [0.05, 0.2],
            Self::Within(Part::Along) => [0.1, 0.3],
            Self::Within(Part::Twist) => [0.01, 0.05],
            Self::Within(Part::Stretch) => [0.01, 0.04],
            Self::Offset(Part::Across | Part::Along) => [-0.5, 0.5],
            Self::Offset(Part::Twist) => [-0.1, 0.1],
            Self::Offset(Part::Stretch) => [-0.1, 0.1],
            Self::Drift => [-1.0, 1.0],
            Self::LateFeed => [0.0, 0.5],
            Self::Correlation => [0.0, 0.6],
            Self::Speed => [60.0, 130.0],
            Self::LeadMargin | Self::TailMargin => [4.0, 12.0],
            Self::SideMargin => [3.0, 10.0],
        }
    }

    /// The range in words: “usually 0.3 to 0.8 mm (common practice, no source)”.
    pub fn usual_words(self) -> String {
        let [low, high] = self.usual();
        format!("usually {low} to {high}{} (common practice, no source)", self.unit())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_of_the_default_presses_lies_in_its_usual_range() {
        for press in [Press::default(), Press::single_drum()] {
            for figure in Figure::all() {
                let ([low, high], value) = (figure.usual(), figure.of(&press));
                assert!(low < high && (low..=high).contains(&value), "{}: {value}", figure.name());
                assert_eq!(figure.basis(&press), Basis::Estimated);
            }
        }
        assert_eq!(
            Figure::Between(Part::Across).usual_words(),
            "usually 0.3 to 0.8 mm (common practice, no source)"
        );
    }

    #[test]
    fn no_two_figures_share_a_name_or_a_place_in_the_press() {
        let names: std::collections::BTreeSet<String> = Figure::all().map(Figure::name).collect();
        assert_eq!(names.len(), Figure::all().count());
        // Figures of their own, each read back by its own figure alone.
        let press = Press {
            between_passes: Spread::of(0.01, 0.02, 0.03, 0.04),
            within_pass: Spread::of(0.05, 0.06, 0.07, 0.08),
            offset: Offset::of(0.09, 0.10, 0.11, 0.12),
            drift: super::super::Drift::new(0.13),
            late_feed: super::super::LateFeed::new(super::super::FeedSide::Right, 0.14),
            correlation: super::super::Correlation::new(0.15),
            ..Press::default()
        };
        let read: Vec<f64> = Figure::all().take(15).map(|f| (f.of(&press) * 100.0).round()).collect();
        assert_eq!(read, (1..=15).map(f64::from).collect::<Vec<_>>());
    }
}
