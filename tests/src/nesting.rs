//! When equal panels may lie in a given order without paper going through paper.

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
mod tests {
    use super::layers_nest;

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
}
