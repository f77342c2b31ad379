//! The sets of passes that are looked at: the present ones, the same order paired otherwise, tight inks brought into one
//! pass, and the best plans. None has more passes than the present design.

use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

use super::PassChange;
use crate::plan::{self, Figures};

/// Layers of each pass in printing order, by their index in the project.
pub(super) type Passes = Vec<Vec<usize>>;

/// Sets of passes besides the present one that are searched.
const MOST: usize = 10;

/// The present passes of the inks that are planned.
pub(super) fn present(printing: &Printing, face: Face, figures: &Figures) -> Passes {
    let visible = |pass: Vec<usize>| -> Vec<usize> {
        pass.into_iter().filter(|l| figures.layers().contains(l)).collect()
    };
    passes::passes(printing, face).into_iter().map(visible).filter(|p| !p.is_empty()).collect()
}

/// How passes differ from the present ones.
pub(super) fn change(passes: &Passes, present: &Passes) -> PassChange {
    if passes == present {
        PassChange::None
    } else if passes.concat() == present.concat() {
        PassChange::Pairing
    } else {
        PassChange::Order
    }
}

/// The sets of passes to look at, the present one first. `tight` are pairs of layers that do not hold.
pub(super) fn all(
    printing: &Printing,
    present: &Passes,
    figures: &Figures,
    tight: &[(usize, usize)],
) -> Vec<Passes> {
    let mut all = vec![present.clone()];
    // In a booklet a layer may print on both faces, and its passes are those of both.
    let mut ids: Vec<_> = printing.sheet.layers.iter().map(|l| l.id).collect();
    ids.sort_unstable();
    if ids.windows(2).any(|two| matches!(two, [a, b] if a == b)) {
        return all;
    }
    let drums = usize::from(printing.press.drums.max(1));
    let mut others = Vec::new();
    in_order(&present.concat(), drums, &mut Vec::new(), &mut others);
    if drums > 1 {
        others.extend(tight.iter().flat_map(|pair| joined(present, *pair)));
    }
    others.retain(|p| p.len() <= present.len());
    let mut rated: Vec<(f64, PassChange, Passes)> =
        others.into_iter().map(|p| (plan::evaluate(figures, &p).good, change(&p, present), p)).collect();
    rated.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let best = plan::best(figures).into_iter().map(|p| p.passes).filter(|p| p.len() <= present.len());
    for passes in rated.into_iter().map(|r| r.2).take(MOST).chain(best) {
        if !all.contains(&passes) {
            all.push(passes);
        }
    }
    all
}

/// Every way to cut an order into passes of as many inks as there are drums.
fn in_order(left: &[usize], drums: usize, begun: &mut Passes, all: &mut Vec<Passes>) {
    if left.is_empty() {
        all.push(begun.clone());
    }
    for inks in 1..=drums.min(left.len()) {
        let (pass, rest) = left.split_at(inks);
        begun.push(pass.to_vec());
        in_order(rest, drums, begun, all);
        begun.pop();
    }
}

/// The present passes with two inks brought into one pass, at the place of either.
fn joined(present: &Passes, (a, b): (usize, usize)) -> Vec<Passes> {
    if present.iter().any(|p| p.contains(&a) && p.contains(&b)) {
        return Vec::new();
    }
    let at_place_of = |ink: usize| -> Passes {
        let mut passes = Vec::new();
        for pass in present {
            let rest: Vec<usize> = pass.iter().copied().filter(|l| *l != a && *l != b).collect();
            if pass.contains(&ink) {
                passes.push(vec![a, b]);
            }
            if !rest.is_empty() {
                passes.push(rest);
            }
        }
        passes
    };
    vec![at_place_of(a), at_place_of(b)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_order_is_cut_in_every_way_that_the_drums_allow() {
        let mut all = Vec::new();
        in_order(&[0, 1, 2, 3], 2, &mut Vec::new(), &mut all);
        // Fibonacci's numbers count the ways to cut n into ones and twos.
        assert_eq!(all.len(), 5);
        assert!(all.iter().all(|p| p.concat() == [0, 1, 2, 3] && p.iter().all(|pass| pass.len() <= 2)));
    }

    #[test]
    fn two_inks_are_joined_and_no_ink_is_lost() {
        let present = vec![vec![0, 1], vec![2], vec![3]];
        for passes in joined(&present, (1, 3)) {
            let mut inks = passes.concat();
            inks.sort_unstable();
            assert_eq!(inks, [0, 1, 2, 3], "{passes:?}");
            assert!(passes.contains(&vec![1, 3]));
            assert_eq!(change(&passes, &present), PassChange::Order);
        }
        assert!(joined(&present, (0, 1)).is_empty());
    }
}
