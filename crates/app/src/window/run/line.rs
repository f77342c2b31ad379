//! The line between copies that would sell and those that would not: where it lies, and where it goes as it is
//! dragged, moved by keys, or drawn from copies that a person has judged.

use slipsheet_document::acceptance::GapMm;

/// The widths that copies need, from the best to the worst, in mm.
pub(super) struct Needs(Vec<f64>);

impl Needs {
    pub fn new(sorted: Vec<f64>) -> Self {
        debug_assert!(sorted.is_sorted_by(|a, b| a <= b), "copies come from the best to the worst");
        Self(sorted)
    }

    pub fn all(&self) -> impl Iterator<Item = f64> {
        self.0.iter().copied()
    }

    pub fn most(&self) -> f64 {
        self.0.last().copied().unwrap_or(0.0)
    }

    /// The share of the copies that a gap sells, 0..=1.
    pub fn share(&self, gap: f64) -> f64 {
        self.0.partition_point(|needs| *needs <= gap) as f64 / self.0.len().max(1) as f64
    }

    /// The gap in whole hundredths of a mm that sells about this share of the copies.
    pub fn gap(&self, share: f64) -> GapMm {
        let n = self.0.len();
        let sold = ((share.clamp(0.0, 1.0) * n as f64).round() as usize).min(n);
        let below = sold.checked_sub(1).and_then(|i| self.0.get(i)).copied();
        let above = self.0.get(sold).copied();
        let gap = match (below, above) {
            (Some(below), Some(above)) => f64::midpoint(below, above),
            // Past the last a little room, so that a hair more does not spoil it.
            (Some(last), None) => last + 0.02,
            (None, Some(first)) => first - 0.01,
            (None, None) => GapMm::default().get(),
        };
        hundredths(gap)
    }

    /// The gap after some copies more sell, or fewer.
    pub fn stepped(&self, gap: f64, copies: isize) -> GapMm {
        let n = self.0.len();
        let sold = self.0.partition_point(|needs| *needs <= gap);
        let to = self.gap(sold.saturating_add_signed(copies).min(n) as f64 / n.max(1) as f64);
        // Copies that need the same move together, and the line never stands still under a key.
        let least = if copies > 0 { hundredths(gap + 0.01) } else { hundredths(gap - 0.01) };
        let wider = to.get().max(least.get());
        let narrower = to.get().min(least.get());
        GapMm::new(if copies > 0 { wider } else { narrower })
    }
}

fn hundredths(gap: f64) -> GapMm {
    GapMm::new((gap * 100.0).round() / 100.0)
}

/// The gap that agrees with most of the copies a person has judged (the gap each needs, and whether it would sell);
/// between those where several do. `None` where all are judged alike and `now` agrees with them already.
pub(super) fn between(judged: &[(f64, bool)], now: f64) -> Option<GapMm> {
    let wrong = |gap: f64| judged.iter().filter(|(needs, sells)| (*needs <= gap) != *sells).count();
    if wrong(now) == 0 {
        return None;
    }
    let mut edges: Vec<f64> = judged.iter().map(|j| j.0).collect();
    edges.sort_by(f64::total_cmp);
    let first = edges.first().map(|first| first - 0.02);
    let last = edges.last().map(|last| last + 0.02);
    let middles = edges.windows(2).filter_map(|pair| match pair {
        [a, b] => Some(f64::midpoint(*a, *b)),
        _ => None,
    });
    let places = first.into_iter().chain(middles).chain(last);
    // Of equal ones the nearest to where it is.
    let best =
        places.min_by(|a, b| wrong(*a).cmp(&wrong(*b)).then((a - now).abs().total_cmp(&(b - now).abs())));
    best.map(hundredths)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn needs() -> Needs {
        Needs::new((0..=100).map(|i| f64::from(i) * 0.02).collect())
    }

    #[test]
    fn the_line_sells_what_it_was_dragged_to() {
        let needs = needs();
        for share in [0.0, 0.1, 0.5, 0.73, 1.0] {
            let gap = needs.gap(share).get();
            assert!((needs.share(gap) - share).abs() < 0.011, "{share}: {gap}");
        }
        assert!(Needs::new(Vec::new()).gap(0.4).get() > 0.0);
        assert_eq!(Needs::new(vec![0.0; 10]).share(0.01), 1.0);
    }

    #[test]
    fn a_key_always_moves_the_line_and_a_wider_gap_never_sells_fewer() {
        let flat = Needs::new([vec![0.0; 50], vec![1.0; 50]].concat());
        for needs in [needs(), flat] {
            let mut gap = 0.01;
            let mut before = needs.share(gap);
            for _ in 0..60 {
                let next = needs.stepped(gap, 2).get();
                assert!(next > gap && needs.share(next) >= before, "{gap}");
                (gap, before) = (next, needs.share(next));
            }
            while gap > 0.02 {
                let next = needs.stepped(gap, -2).get();
                assert!(next < gap, "{gap}");
                gap = next;
            }
        }
    }

    #[test]
    fn the_line_follows_the_copies_that_were_judged() {
        let now = 0.5;
        assert_eq!(between(&[], now), None);
        assert_eq!(between(&[(0.3, true), (0.8, false)], now), None);
        // One that would sell lies past the line: it moves past that copy.
        let moved = between(&[(0.3, true), (0.9, true)], now).unwrap().get();
        assert!((0.9..0.95).contains(&moved), "{moved}");
        let moved = between(&[(0.3, true), (0.9, true), (1.3, false)], now).unwrap().get();
        assert!((0.9..1.3).contains(&moved), "{moved}");
        // Copies that contradict one another: the fewest are wrong.
        let moved = between(&[(0.2, false), (0.4, true), (0.6, true), (1.0, true)], now).unwrap().get();
        assert!(moved >= 1.0, "{moved}");
        // None would sell.
        let moved = between(&[(0.2, false), (0.4, false)], now).unwrap().get();
        assert!(moved < 0.2, "{moved}");
    }
}
