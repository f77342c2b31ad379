//! How far one copy opens, told so that any accepted gap can be held against it.

use super::{Study, Tight};
use slipsheet_core::geometry::Point;
use slipsheet_document::acceptance::{Acceptance, EdgeShare};

/// How far a copy opens.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Opening {
    /// The narrowest gap in mm that must be accepted for the copy to sell, for one accepted share of the edges: no pair
    /// has more than that share of its length open wider. 0 when nothing opens.
    pub needs: f64,
    /// The widest gap anywhere, in mm; 0 when none opens.
    pub widest: f64,
}

impl Opening {
    /// Whether a copy that opens so would sell, as far as gaps go; the opening is of the accepted share.
    pub fn sells(&self, acceptance: &Acceptance) -> bool {
        self.needs <= acceptance.gap.get()
    }

    /// The worse of two places or sides of one copy.
    #[must_use]
    pub fn worse(self, other: Self) -> Self {
        Self { needs: self.needs.max(other.needs), widest: self.widest.max(other.widest) }
    }
}

impl Study {
    /// How far a copy opens; `apart` gives, for the layers of an earlier and a later ink, by how much the later one has
    /// moved against the earlier at a place, all in mm.
    pub fn opening<M: Fn(Point) -> Point>(
        &self,
        share: EdgeShare,
        apart: impl Fn(usize, usize) -> M,
    ) -> Opening {
        let mut gaps = Vec::new();
        let pairs = self.counted().map(|pair| {
            let slip = apart(pair.lower, pair.upper);
            of_pair(self.stretches(pair), share.get() * pair.length, slip, &mut gaps)
        });
        pairs.fold(Opening::default(), Opening::worse)
    }
}

impl Study {
    /// Whether a copy would sell, as far as gaps go: what [`Study::opening`] comes to, without the gap that would do.
    pub fn sells<M: Fn(Point) -> Point>(
        &self,
        acceptance: &Acceptance,
        apart: impl Fn(usize, usize) -> M,
    ) -> bool {
        let (gap, share) = (acceptance.gap.get(), acceptance.share.get());
        self.counted().all(|pair| {
            let slip = apart(pair.lower, pair.upper);
            let opens = |t: &&Tight| t.gap(slip(t.at)) > gap;
            let open: f64 = self.stretches(pair).iter().filter(opens).map(|t| t.length).sum();
            open <= share * pair.length * (1.0 + 1e-9)
        })
    }
}

/// How far a pair opens of which so many mm may open wider. `gaps` is memory that is used again.
fn of_pair(
    stretches: &[Tight],
    allowed: f64,
    slip: impl Fn(Point) -> Point,
    gaps: &mut Vec<(f64, f64)>,
) -> Opening {
    gaps.clear();
    gaps.extend(stretches.iter().map(|t| (t.gap(slip(t.at)), t.length)).filter(|(gap, _)| *gap > 0.0));
    let widest = gaps.iter().map(|g| g.0).fold(0.0, f64::max);
    gaps.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)));
    let mut open = 0.0;
    let needs = gaps.iter().find_map(|(gap, length)| {
        open += length;
        // Sums in another order may come out a hair above the whole.
        (open > allowed * (1.0 + 1e-9)).then_some(*gap)
    });
    Opening { needs: needs.unwrap_or(0.0), widest }
}
