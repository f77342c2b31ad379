//! Small linear systems.

/// A pivot below this share of the largest coefficient tells a singular system.
const SINGULAR: f64 = 1e-13;

/// Solves `a x = b` by elimination with row exchange; `None` where the system is singular or holds what is no number.
pub fn solve<const N: usize>(a: [[f64; N]; N], b: [f64; N]) -> Option<[f64; N]> {
    let rows = a.iter().zip(b).map(|(row, right)| row.iter().copied().chain([right]).collect());
    let x = solve_rows(rows.collect())?;
    <[f64; N]>::try_from(x).ok()
}

/// The same for as many equations as there are rows, each its coefficients and then its right side.
pub fn solve_rows(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = rows.len();
    if rows.iter().any(|row| row.len() != n + 1) {
        return None;
    }
    let largest = rows.iter().flat_map(|row| &row[..n]).fold(0.0_f64, |most, v| most.max(v.abs()));
    for col in 0..n {
        let best = (col..n).max_by(|i, j| rows[*i][col].abs().total_cmp(&rows[*j][col].abs()))?;
        // So written that what is not a number ends it too.
        let is_sound = rows[best][col].abs() > SINGULAR * largest;
        if !is_sound {
            return None;
        }
        rows.swap(col, best);
        let (done, below) = rows.split_at_mut(col + 1);
        let pivot = done.last()?;
        for row in below {
            let share = row[col] / pivot[col];
            row.iter_mut().zip(pivot).skip(col).for_each(|(v, p)| *v -= share * p);
        }
    }
    let mut x = vec![0.0; n];
    for (i, row) in rows.iter().enumerate().rev() {
        let known: f64 = (i + 1..n).map(|c| row[c] * x[c]).sum();
        x[i] = (row[n] - known) / row[i];
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_small_system_is_solved_and_a_singular_one_is_not() {
        let x = solve([[2.0, 1.0], [1.0, 3.0]], [5.0, 10.0]).unwrap();
        assert!((x[0] - 1.0).abs() < 1e-12 && (x[1] - 3.0).abs() < 1e-12);
        // The first pivot is zero, so rows must change places.
        assert_eq!(solve([[0.0, 1.0], [1.0, 0.0]], [3.0, 7.0]), Some([7.0, 3.0]));
        assert_eq!(solve([[1e9, 2e9], [0.5e9, 1e9]], [1.0, 1.0]), None);
        assert_eq!(solve([[0.0; 2]; 2], [0.0; 2]), None);
        assert_eq!(solve([[f64::NAN, 0.0], [0.0, 1.0]], [1.0; 2]), None);
        assert_eq!(solve_rows(vec![vec![1.0, 2.0], vec![1.0, 2.0]]), None, "too short a row");
        assert_eq!(solve_rows(Vec::new()), Some(Vec::new()));
    }

    proptest! {
        #[test]
        fn what_a_solution_gives_is_the_right_side(
            a in prop::array::uniform4(prop::array::uniform4(-9.0..9.0_f64)),
            b in prop::array::uniform4(-9.0..9.0_f64),
            scale in prop::sample::select(vec![1e-9, 1.0, 1e9]),
        ) {
            let a = a.map(|row| row.map(|v| v * scale));
            if let Some(x) = solve(a, b) {
                let most = x.iter().fold(1.0_f64, |most, v| most.max((v * scale).abs()));
                for (row, right) in a.iter().zip(b) {
                    let got: f64 = row.iter().zip(x).map(|(a, x)| a * x).sum();
                    prop_assert!((got - right).abs() < 1e-9 * most, "{got} {right}");
                }
            }
        }
    }
}
