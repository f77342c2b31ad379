//! What a person would still sell: how wide a gap may show, over how much of an edge, and whether colour counts.
//!
//! Only the person knows, so it is kept with the project. Tolerance, share sold, findings, overs and proposals all
//! read it, and every one of them is at least as good under a laxer acceptance.

use serde::{Deserialize, Serialize};

use slipsheet_base::bounded;

bounded! {
    /// The widest gap in mm that may show.
    GapMm, 0.01..=10.0, default 0.5, "an accepted gap in mm", "from 0.01 to 10";
    /// The share of the edges of two inks that may open wider.
    EdgeShare, 0.0..=1.0, default 0.05, "an accepted share of the edges", "from 0 to 1";
    /// CIEDE2000 that 95 % of the sheet stay below, seen from where one reads.
    ColourLimit, 0.1..=100.0, default 4.0, "an accepted colour difference", "from 0.1 to 100"
}

/// What a copy may show and still be sold.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Acceptance {
    pub gap: GapMm,
    /// Of any two inks that abut.
    pub share: EdgeShare,
    /// How far the picture may differ from the perfect print; none where colour does not count.
    pub colour: Option<ColourLimit>,
}

/// A place to start from (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// As an offset printer would have it.
    Close,
    Easy,
    Loose,
}

impl Start {
    pub const ALL: [Self; 3] = [Self::Close, Self::Easy, Self::Loose];

    pub fn name(self) -> &'static str {
        match self {
            Self::Close => "close",
            Self::Easy => "easy",
            Self::Loose => "loose",
        }
    }

    pub fn gap(self) -> GapMm {
        GapMm::new(match self {
            Self::Close => 0.15,
            Self::Easy => 0.5,
            Self::Loose => 1.0,
        })
    }
}

impl Acceptance {
    /// From plain numbers, each brought within its range: mm, a share, CIEDE2000.
    pub fn of(gap: f64, share: f64, colour: Option<f64>) -> Self {
        Self { gap: GapMm::new(gap), share: EdgeShare::new(share), colour: colour.map(ColourLimit::new) }
    }

    /// The start that has this gap, if one has.
    pub fn start(&self) -> Option<Start> {
        Start::ALL.into_iter().find(|s| s.gap() == self.gap)
    }

    /// Whether whatever this sells the other sells as well.
    pub fn is_at_most(&self, other: &Self) -> bool {
        let colour = match (self.colour, other.colour) {
            (_, None) => true,
            (None, Some(_)) => false,
            (Some(a), Some(b)) => a <= b,
        };
        self.gap <= other.gap && self.share <= other.share && colour
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_acceptance_comes_back_as_it_was_saved_and_what_is_no_number_is_refused() {
        let some = Acceptance::of(0.7, 0.1, Some(3.0));
        let text = ron::to_string(&some).unwrap();
        assert_eq!(ron::from_str::<Acceptance>(&text).unwrap(), some);
        assert_eq!(ron::from_str::<Acceptance>("()").unwrap(), Acceptance::of(0.5, 0.05, None));
        for wrong in ["(gap: NaN)", "(gap: 0.0)", "(share: 1.5)", "(colour: Some(0.0))", "(width: 1.0)"] {
            assert!(ron::from_str::<Acceptance>(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_start_is_known_by_its_gap() {
        assert_eq!(Acceptance::default().start(), Some(Start::Easy));
        assert_eq!(Acceptance::of(0.15, 0.5, None).start(), Some(Start::Close));
        assert_eq!(Acceptance::of(0.6, 0.05, None).start(), None);
        assert!(Acceptance::of(0.5, 0.05, Some(2.0)).is_at_most(&Acceptance::default()));
        assert!(!Acceptance::default().is_at_most(&Acceptance::of(1.0, 0.05, Some(2.0))));
    }
}
