//! The search: passes are added one by one, and a beginning that already costs more than the third best plan
//! is left, and so is one after three cheaper beginnings with the same inks in the same pairs, for whatever
//! follows costs the same after each of them (not with a drift, for then it counts how far back a pass lies;
//! with an offset only if they have the first pass in common, and with an ink that comes twice the last one).
//! A beginning never costs more than any plan that starts with it, so nothing is missed:
//! making ready, drums, drying and order only add up, and the printing is at least that of the copies that
//! the inks so far need, in the fewest passes that are left.

use std::collections::BTreeMap;

use super::score::{Costs, Figures};
use super::words;
use slipsheet_core::press::Press;

/// Plans that are kept.
const KEPT: usize = 3;

/// An order of passes, with what it costs and why.
#[derive(Debug, Clone, PartialEq)]
pub struct PassPlan {
    /// Layers of each pass, in printing order, by their index in the project.
    pub passes: Vec<Vec<usize>>,
    pub costs: Costs,
    /// The expected share of good copies, 0..=1.
    pub good: f64,
    pub copies: u64,
    /// Why it is good or bad, in sentences.
    pub reasons: Vec<String>,
}

struct Search<'a> {
    figures: &'a Figures,
    best: Vec<(f64, Vec<Vec<usize>>)>,
    /// The costs of the cheapest beginnings, by which inks are paired in them, by the lowest ink of the first pass
    /// where it counts which that is, and by the last pass where its drums count.
    begun: BTreeMap<(u64, Option<usize>, Vec<usize>), Vec<f64>>,
    #[cfg(test)]
    looked_at: usize,
}

/// The three plans that cost least, best first.
pub fn best(figures: &Figures) -> Vec<PassPlan> {
    let mut search = Search {
        figures,
        best: Vec::new(),
        begun: BTreeMap::new(),
        #[cfg(test)]
        looked_at: 0,
    };
    search.go(&mut Vec::new(), 0);
    let found: Vec<Vec<Vec<usize>>> = search.best.into_iter().map(|(_, p)| p).collect();
    let mut plans: Vec<PassPlan> = found.iter().map(|p| of_places(figures, p)).collect();
    words::give_reasons(figures, &mut plans);
    plans
}

/// Booked minutes to make ready, fit drums, wait and print so many copies in passes; layers by their index in the
/// project.
pub fn minutes(figures: &Figures, passes: &[Vec<usize>], copies: u64) -> f64 {
    let costs = evaluate(figures, passes).costs;
    costs.ready + costs.drums + costs.drying + figures.printing(copies, passes.len())
}

/// What passes of the person's own choice cost; layers by their index in the project.
pub fn evaluate(figures: &Figures, passes: &[Vec<usize>]) -> PassPlan {
    let place = |layer: &usize| figures.layers.iter().position(|l| l == layer);
    let places: Vec<Vec<usize>> = passes.iter().map(|p| p.iter().filter_map(place).collect()).collect();
    let mut plans = [of_places(figures, &places)];
    words::give_reasons(figures, &mut plans);
    let [plan] = plans;
    plan
}

fn of_places(figures: &Figures, passes: &[Vec<usize>]) -> PassPlan {
    let hold = figures.hold(passes);
    let (good, copies) = (Figures::share(hold), figures.copies(hold));
    let mut costs = growing(figures, passes);
    costs.printing = figures.printing(copies, passes.len());
    let layer = |place: &usize| figures.layers.get(*place).copied().unwrap_or(0);
    let passes = passes.iter().map(|p| p.iter().map(layer).collect()).collect();
    PassPlan { passes, costs, good, copies, reasons: Vec::new() }
}

/// Everything but the printing.
fn growing(figures: &Figures, passes: &[Vec<usize>]) -> Costs {
    let mut costs = Costs::default();
    let mut before: Vec<usize> = Vec::new();
    let mut last: &[usize] = &[];
    for (at, pass) in passes.iter().enumerate() {
        let (drums, ready) = figures.ready(pass, last);
        costs.ready += ready;
        costs.drums += drums;
        if at + 1 < passes.len() {
            let (drying, set_off) = figures.printed_over(pass);
            costs.drying += drying;
            costs.set_off += set_off;
        }
        last = pass;
        for later in pass {
            for earlier in &before {
                let (colour, dark) = figures
                    .swapped
                    .get(*later)
                    .and_then(|row| row.get(*earlier))
                    .copied()
                    .unwrap_or_default();
                costs.colour += colour;
                costs.dark_first += dark;
            }
            before.push(*later);
        }
    }
    costs
}

impl PassPlan {
    /// Minutes from the first set-up to the end of printing for so many sheets, which the schedule counts alike.
    pub fn minutes_for(&self, sheets: u32, press: &Press) -> f64 {
        self.costs.before_printing() + f64::from(sheets) * self.passes.len() as f64 / press.speed.get()
    }
}

impl Search<'_> {
    fn go(&mut self, passes: &mut Vec<Vec<usize>>, used: u32) {
        #[cfg(test)]
        {
            self.looked_at += 1;
        }
        let n = self.figures.layers.len();
        let left: Vec<usize> = (0..n).filter(|a| used >> a & 1 == 0).collect();
        if left.is_empty() {
            let mut costs = growing(self.figures, passes);
            let copies = self.figures.copies(self.figures.hold(passes));
            costs.printing = self.figures.printing(copies, passes.len());
            self.keep(costs.total(), passes);
            return;
        }
        if self.best.len() == KEPT && self.least(passes, &left) >= self.best.last().map_or(0.0, |b| b.0) {
            return;
        }
        if !self.figures.holds.drifts() && self.is_dominated(passes) {
            return;
        }
        for a in left.iter().copied() {
            passes.push(vec![a]);
            self.go(passes, used | 1 << a);
            passes.pop();
            if self.figures.press.drums < 2 {
                continue;
            }
            for b in left.iter().copied().filter(|b| *b != a) {
                passes.push(vec![a, b]);
                self.go(passes, used | 1 << a | 1 << b);
                passes.pop();
            }
        }
    }

    /// Whether three beginnings with these inks in these pairs cost no more; this one is remembered if not.
    fn is_dominated(&mut self, passes: &[Vec<usize>]) -> bool {
        // Four bits an ink: its partner, itself when alone, 15 when it is not printed yet.
        let mut key = u64::MAX;
        for pass in passes {
            let partners = pass.iter().zip(pass.iter().rev());
            partners
                .for_each(|(ink, partner)| key = key & !(15 << (4 * ink)) | (*partner as u64) << (4 * ink));
        }
        let cost = growing(self.figures, passes).total() + self.until_next(passes);
        let first = passes.first().filter(|_| self.figures.holds.first_counts());
        let lead = first.and_then(|pass| pass.iter().min().copied());
        // Which inks stand in the drums counts only where one of them may come again.
        let mut drums = passes.last().filter(|_| self.figures.shares_inks()).cloned().unwrap_or_default();
        drums.sort_unstable();
        let known = self.begun.entry((key, lead, drums)).or_default();
        let at = known.partition_point(|c| *c <= cost);
        if at >= KEPT {
            return true;
        }
        known.insert(at, cost);
        known.truncate(KEPT);
        false
    }

    /// What any plan with this beginning costs at least.
    fn least(&self, passes: &[Vec<usize>], left: &[usize]) -> f64 {
        let more = left.len().div_ceil(usize::from(self.figures.press.drums.max(1)));
        let begun = growing(self.figures, passes).total();
        let last = passes.last().map_or(&[][..], Vec::as_slice);
        let ready = self.figures.ready_at_least(left, more, last);
        let copies = self.figures.copies(self.figures.hold(passes));
        let printing = self.figures.printing(copies, passes.len() + more);
        begun + self.until_next(passes) + ready + printing
    }

    /// What the last pass so far costs because another one follows.
    fn until_next(&self, passes: &[Vec<usize>]) -> f64 {
        let (drying, set_off) = passes.last().map_or((0.0, 0.0), |p| self.figures.printed_over(p));
        drying + set_off
    }

    fn keep(&mut self, cost: f64, passes: &[Vec<usize>]) {
        let at = self.best.partition_point(|(known, _)| *known <= cost);
        if at < KEPT {
            self.best.insert(at, (cost, passes.to_vec()));
            self.best.truncate(KEPT);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::hold::Holds;
    use slipsheet_core::press::Offset;

    /// Every plan's cost, one after another.
    fn all(figures: &Figures, passes: &mut Vec<Vec<usize>>, left: &[usize], costs: &mut Vec<f64>) {
        if left.is_empty() {
            costs.push(of_places(figures, passes).costs.total());
        }
        for (i, a) in left.iter().enumerate() {
            let mut rest = left.to_vec();
            rest.remove(i);
            passes.push(vec![*a]);
            all(figures, passes, &rest, costs);
            passes.pop();
            if figures.press.drums == 2 {
                for (j, b) in rest.iter().enumerate() {
                    let mut rest = rest.clone();
                    rest.remove(j);
                    passes.push(vec![*a, *b]);
                    all(figures, passes, &rest, costs);
                    passes.pop();
                }
            }
        }
    }

    #[test]
    fn nothing_better_is_missed() {
        for (inks, drums) in [(1, 2), (2, 1), (3, 2), (4, 1), (4, 2), (5, 2)] {
            for (seed, drift) in [(0, 0.0), (1, 0.0), (2, 1.0), (3, -2.0)] {
                let mut figures = Figures::invented(inks, drums, seed, drift);
                if seed % 2 == 1 {
                    let press = Press { offset: Offset::of(0.4, 0.0, 0.0, 0.0), ..figures.press.clone() };
                    figures.holds = Holds::invented(inks, &press, seed);
                }
                let mut costs = Vec::new();
                all(&figures, &mut Vec::new(), &(0..inks).collect::<Vec<_>>(), &mut costs);
                costs.sort_by(f64::total_cmp);
                let found: Vec<f64> = best(&figures).iter().map(|p| p.costs.total()).collect();
                costs.truncate(KEPT);
                assert_eq!(found, costs, "{inks} inks on {drums} drums, seed {seed}");
            }
        }
    }

    #[test]
    fn eight_inks_are_searched_without_trying_every_order() {
        // Orders of eight inks in passes of one or two: 8! times the 34 ways to cut them.
        let figures = Figures::invented(8, 2, 3, 0.0);
        let mut search = Search { figures: &figures, best: Vec::new(), begun: BTreeMap::new(), looked_at: 0 };
        search.go(&mut Vec::new(), 0);
        assert!(search.looked_at < 1_370_880 / 3, "{}", search.looked_at);
        assert_eq!(search.best.len(), KEPT);
    }

    #[test]
    fn a_plan_says_why() {
        let figures = Figures::invented(4, 2, 1, 0.5);
        for plan in best(&figures) {
            assert!(!plan.reasons.is_empty() && plan.reasons.iter().all(|r| r.ends_with('.')), "{plan:?}");
            assert_eq!(evaluate(&figures, &plan.passes).costs, plan.costs);
        }
    }
}
