//! Flat folding in general: when a single vertex folds flat, and when panels may lie in a given order without
//! paper going through paper.
//!
//! Maekawa: at a vertex that folds flat, mountains and valleys differ by two. Kawasaki: every second angle adds
//! up to 180 degrees. (Both as in T. Hull, "On the mathematics of flat origamis", Congressus Numerantium 100,
//! 1994.) Together they are needed but not enough; [`Vertex::folds_flat`] decides.

use super::scheme::Fold;

/// Angles closer than this are equal, in degrees.
const SAME: f64 = 1e-7;

/// Creases that meet in one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Vertex {
    /// Angles between neighbouring creases going round, in degrees.
    pub sectors: Vec<f64>,
    /// The crease between each sector and the next one.
    pub folds: Vec<Fold>,
}

/// Why creases that meet in a point do not fold flat.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum VertexError {
    /// Not a vertex at all.
    #[error(
        "a vertex needs one crease for each sector, sectors wider than 0°, and 360° in all; this has {sectors} sectors, {creases} creases and {sum:.3}°"
    )]
    Shape {
        /// Number of sectors.
        sectors: usize,
        /// Number of creases.
        creases: usize,
        /// Sum of the angles.
        sum: f64,
    },
    /// Maekawa's theorem fails.
    #[error(
        "mountains and valleys must differ by two where creases meet (Maekawa); there are {mountains} and {valleys}"
    )]
    Maekawa {
        /// Mountain creases.
        mountains: usize,
        /// Valley creases.
        valleys: usize,
    },
    /// Kawasaki's theorem fails.
    #[error("every second angle must add up to 180° where creases meet (Kawasaki), not to {sum:.3}°")]
    Kawasaki {
        /// What every second angle adds up to.
        sum: f64,
    },
    /// The layers would cross.
    #[error(
        "the creases agree in angle and number, but paper would go through paper; change which are mountains"
    )]
    Crossing,
}

impl Vertex {
    /// Whether the creases fold flat, decided by crimping: the narrowest sector's two creases must differ, and
    /// folding them away leaves a vertex with two creases less (M. Bern and B. Hayes, "The complexity of flat
    /// origami", 1996, for vertices).
    ///
    /// # Errors
    /// The theorem that fails, or that layers would cross.
    pub fn folds_flat(&self) -> Result<(), VertexError> {
        let (n, sum): (usize, f64) = (self.sectors.len(), self.sectors.iter().sum());
        let wide = self.sectors.iter().all(|a| a.is_finite() && *a > 0.0);
        if n < 2 || n != self.folds.len() || !wide || (sum - 360.0).abs() > SAME {
            return Err(VertexError::Shape { sectors: n, creases: self.folds.len(), sum });
        }
        let valleys = self.folds.iter().filter(|f| **f == Fold::Valley).count();
        let mountains = n - valleys;
        if mountains.abs_diff(valleys) != 2 {
            return Err(VertexError::Maekawa { mountains, valleys });
        }
        let every_second: f64 = self.sectors.iter().step_by(2).sum();
        if (every_second - 180.0).abs() > SAME {
            return Err(VertexError::Kawasaki { sum: every_second });
        }
        if crimps(&self.sectors, &self.folds) { Ok(()) } else { Err(VertexError::Crossing) }
    }

    /// The same decided the slow way: every order of the layers is tried.
    #[cfg(test)]
    fn folds_in_some_order(&self) -> bool {
        let n = self.sectors.len();
        // Where each crease lies once folded: the sectors go to and fro along a line.
        let mut at = vec![0.0];
        for (i, a) in self.sectors.iter().enumerate() {
            at.push(at[i] + if i % 2 == 0 { *a } else { -*a });
        }
        if at[n].abs() > 1e-6 {
            return false;
        }
        let span = |s: usize| (at[s].min(at[s + 1]), at[s].max(at[s + 1]));
        let mut found = false;
        permutations(n, &mut |order: &[usize]| {
            let mut level = vec![0; n];
            for (l, s) in order.iter().enumerate() {
                level[*s] = l;
            }
            // Sector 0 shows its front up and every second one its back; a valley brings fronts together.
            let bends = (0..n).all(|s| {
                let next = (s + 1) % n;
                let next_is_above = level[next] > level[s];
                (self.folds[s] == Fold::Valley) == (next_is_above == (s % 2 == 0))
            });
            let clear = |s: usize| {
                let (low, high) = (level[s].min(level[(s + 1) % n]), level[s].max(level[(s + 1) % n]));
                let x = at[s + 1];
                // No other sector runs through the hinge between its two layers, and no other hinge at the
                // same place interleaves with it.
                (0..n).all(|o| {
                    let (a, b) = span(o);
                    let through = a < x - 1e-6 && x + 1e-6 < b;
                    let inside = low < level[o] && level[o] < high;
                    if through && inside {
                        return false;
                    }
                    let other = (o + 1) % n;
                    let same_place = (at[o + 1] - x).abs() < 1e-6 && o != s;
                    let right = |s: usize| s.is_multiple_of(2);
                    let crossing = (low < level[o] && level[o] < high)
                        != (low < level[other] && level[other] < high)
                        && level[o] != low
                        && level[o] != high
                        && level[other] != low
                        && level[other] != high;
                    !(same_place && right(o) == right(s) && crossing)
                })
            };
            found |= bends && (0..n).all(clear);
        });
        found
    }
}

/// Folds away the narrowest sector until two creases are left.
fn crimps(sectors: &[f64], folds: &[Fold]) -> bool {
    let n = sectors.len();
    if n == 2 {
        return folds.first() == folds.last();
    }
    let at = |i: usize| i % n;
    let narrow =
        |i: usize| sectors[i] <= sectors[at(i + n - 1)] + SAME && sectors[i] <= sectors[at(i + 1)] + SAME;
    let differ = |i: usize| folds[at(i + n - 1)] != folds[i];
    // Of sectors no wider than their neighbours any may be crimped whose creases differ, so long as a strictly
    // narrowest one among them does.
    let Some(i) = (0..n).find(|i| narrow(*i) && differ(*i)) else { return false };
    let (before, after) = (at(i + n - 1), at(i + 1));
    let joined = sectors[before] - sectors[i] + sectors[after];
    let mut left_sectors = Vec::with_capacity(n - 2);
    let mut left_folds = Vec::with_capacity(n - 2);
    // Going round from the sector after the next: its crease list lines up with the sector list.
    for k in 2..n - 1 {
        left_sectors.push(sectors[at(i + k)]);
        left_folds.push(folds[at(i + k)]);
    }
    left_sectors.push(joined);
    left_folds.push(folds[after]);
    crimps(&left_sectors, &left_folds)
}

/// Whether the cells of a grid of equal panels may lie on one another in this order without crossing.
///
/// The order is the lowest first, as indices row by row. On each of the four sides of the stack the
/// creases that end there must nest. (The condition of J. Koehler, "Folding a strip of stamps", Journal of
/// Combinatorial Theory 5, 1968, on every side.)
pub fn layers_nest(columns: usize, rows: usize, order: &[usize]) -> bool {
    let hinges = |horizontal: bool, odd: bool| {
        move |cell: usize| -> Option<usize> {
            let (c, r) = (cell % columns, cell / columns);
            // On one side of the stack cell 2k meets 2k+1, on the other 2k+1 meets 2k+2.
            let (i, length) = if horizontal { (c, columns) } else { (r, rows) };
            let partner = if i.is_multiple_of(2) != odd { i + 1 } else { i.checked_sub(1)? };
            if partner >= length {
                return None;
            }
            Some(if horizontal { r * columns + partner } else { partner * columns + c })
        }
    };
    [(true, false), (true, true), (false, false), (false, true)]
        .into_iter()
        .all(|(h, odd)| nests(order, hinges(h, odd)))
}

/// Whether pairs close in the reverse order of opening.
fn nests(order: &[usize], partner: impl Fn(usize) -> Option<usize>) -> bool {
    let mut open: Vec<usize> = Vec::new();
    for cell in order {
        let Some(other) = partner(*cell) else { continue };
        if open.last() == Some(&other) {
            open.pop();
        } else if open.contains(&other) {
            return false;
        } else {
            open.push(*cell);
        }
    }
    open.is_empty()
}

#[cfg(test)]
fn permutations(n: usize, visit: &mut impl FnMut(&[usize])) {
    fn go(order: &mut Vec<usize>, k: usize, visit: &mut impl FnMut(&[usize])) {
        if k == order.len() {
            return visit(order);
        }
        for i in k..order.len() {
            order.swap(k, i);
            go(order, k + 1, visit);
            order.swap(k, i);
        }
    }
    go(&mut (0..n).collect(), 0, visit);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every order tried.
    fn by_trial(columns: usize, rows: usize) -> usize {
        let mut count = 0;
        permutations(columns * rows, &mut |order: &[usize]| {
            count += usize::from(layers_nest(columns, rows, order))
        });
        count
    }

    /// Cells slipped in one after the other, wherever no hinge made so far is crossed: a second algorithm that
    /// shares nothing with [`layers_nest`].
    fn by_growing(columns: usize, rows: usize) -> usize {
        fn crossed(stack: &[usize], columns: usize) -> bool {
            let mut arcs: Vec<(usize, usize, usize)> = Vec::new();
            let level = |cell: usize| stack.iter().position(|c| *c == cell);
            for cell in stack {
                for (next, side) in
                    [(*cell + 1, (cell % columns) % 2), (*cell + columns, 2 + (cell / columns) % 2)]
                {
                    if side < 2 && next % columns == 0 {
                        continue;
                    }
                    if let (Some(a), Some(b)) = (level(*cell), level(next)) {
                        arcs.push((side, a.min(b), a.max(b)));
                    }
                }
            }
            arcs.iter().any(|p| arcs.iter().any(|q| p.0 == q.0 && p.1 < q.1 && q.1 < p.2 && p.2 < q.2))
        }
        fn grow(stack: &mut Vec<usize>, columns: usize, total: usize) -> usize {
            let next = stack.len();
            if next == total {
                return 1;
            }
            let mut count = 0;
            for at in 0..=next {
                stack.insert(at, next);
                if !crossed(stack, columns) {
                    count += grow(stack, columns, total);
                }
                stack.remove(at);
            }
            count
        }
        grow(&mut Vec::new(), columns, columns * rows)
    }

    /// OEIS A000136, foldings of a strip of labelled stamps.
    #[test]
    fn strips_of_stamps_fold_in_as_many_ways_as_is_known() {
        for (i, known) in [1, 2, 6, 16, 50, 144, 462].into_iter().enumerate() {
            assert_eq!((by_trial(i + 1, 1), by_growing(i + 1, 1)), (known, known), "{} stamps", i + 1);
        }
    }

    /// OEIS A001415, foldings of a strip of two rows, as far as trial goes; growing goes further.
    #[test]
    fn maps_of_two_rows_fold_in_as_many_ways_as_is_known() {
        for (i, known) in [2, 8, 60, 320].into_iter().enumerate() {
            assert_eq!((by_trial(i + 1, 2), by_growing(i + 1, 2)), (known, known), "2 x {}", i + 1);
        }
        assert_eq!(by_growing(5, 2), 1980);
    }

    /// Any stamp may be brought to the top of a folded strip, so the count is a multiple of the stamps
    /// (W. Lunnon, "A map-folding problem", Mathematics of Computation 22, 1968).
    #[test]
    fn as_many_foldings_have_each_stamp_on_top() {
        let mut tops = [0; 6];
        permutations(6, &mut |order: &[usize]| tops[order[5]] += usize::from(layers_nest(6, 1, order)));
        assert_eq!(tops, [24; 6]);
    }

    /// Equal angles leave a choice of what to crimp; every choice of mountains is tried.
    #[test]
    fn vertices_with_equal_angles_are_decided_rightly() {
        for n in [2, 4, 6] {
            for bits in 0..1_usize << n {
                let fold = |i: usize| if bits >> i & 1 == 1 { Fold::Valley } else { Fold::Mountain };
                let v = Vertex { sectors: vec![360.0 / n as f64; n], folds: (0..n).map(fold).collect() };
                assert_eq!(v.folds_flat().is_ok(), v.folds_in_some_order(), "{v:?}");
            }
        }
    }

    fn vertex(pleats: &[(usize, f64, f64, bool)]) -> Vertex {
        let (mut sectors, mut folds) = (vec![180.0, 180.0], vec![Fold::Mountain, Fold::Mountain]);
        // Each pleat takes a sector apart and puts in two creases that differ: what crimping takes away.
        for (at, split, narrow, first) in pleats {
            let i = at % sectors.len();
            let whole = sectors[i];
            let thin = whole * narrow;
            let left = thin + (whole - thin) * split;
            let right = whole + thin - left;
            let pair = if *first { [Fold::Mountain, Fold::Valley] } else { [Fold::Valley, Fold::Mountain] };
            sectors.splice(i..=i, [left, thin, right]);
            folds.splice(i..i, pair);
        }
        let sum: f64 = sectors.iter().sum();
        Vertex { sectors: sectors.into_iter().map(|a| a / sum * 360.0).collect(), folds }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn pleated_vertices_fold_flat(
            pleats in prop::collection::vec((0_usize..8, 0.2..0.8_f64, 0.2..0.8_f64, any::<bool>()), 0..=2)
        ) {
            let v = vertex(&pleats);
            prop_assert_eq!(v.folds_flat(), Ok(()));
            prop_assert!(v.folds_in_some_order(), "{:?}", v);
        }

        #[test]
        fn deciding_by_crimps_agrees_with_trying_every_order(
            pleats in prop::collection::vec((0_usize..8, 0.2..0.8_f64, 0.2..0.8_f64, any::<bool>()), 1..=2),
            bends in prop::collection::vec(any::<bool>(), 6)
        ) {
            let mut v = vertex(&pleats);
            for (fold, bend) in v.folds.iter_mut().zip(bends) {
                *fold = if bend { Fold::Valley } else { Fold::Mountain };
            }
            prop_assert_eq!(v.folds_flat().is_ok(), v.folds_in_some_order(), "{:?}", v);
        }

        #[test]
        fn a_vertex_against_maekawa_or_kawasaki_is_refused(
            pleats in prop::collection::vec((0_usize..8, 0.2..0.8_f64, 0.2..0.8_f64, any::<bool>()), 1..=3),
            which in 0_usize..8,
            bent in 0.01..0.3_f64
        ) {
            let good = vertex(&pleats);
            let i = which % good.sectors.len();
            let mut v = good.clone();
            v.folds[i] = if v.folds[i] == Fold::Valley { Fold::Mountain } else { Fold::Valley };
            // One crease turned round: the difference becomes 0 or 4.
            prop_assert!(matches!(v.folds_flat(), Err(VertexError::Maekawa { .. })), "{:?}", v);
            let mut v = good;
            let (next, by) = ((i + 1) % v.sectors.len(), v.sectors[i] * bent);
            v.sectors[i] -= by;
            v.sectors[next] += by;
            prop_assert!(matches!(v.folds_flat(), Err(VertexError::Kawasaki { .. })), "{:?}", v);
            prop_assert!(!v.folds_in_some_order());
        }
    }
}
