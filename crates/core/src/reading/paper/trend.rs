//! The trend of a sheet's light: a smooth surface whose steps from cell to cell are the gentle ones of the scan.

use slipsheet_base::linear::solve;

/// The terms of a surface of degree 4 without the constant.
const TERMS: usize = 14;
const DEGREE: usize = 4;
/// Rounds of weighing the steps anew.
const ROUNDS: usize = 14;
/// Steps count up to this a millimetre, in natural logarithms: in the first round, and in the end.
const FIRST: f64 = 0.15;
const LAST: f64 = 0.02;
/// How fast one becomes the other.
const TIGHTER: f64 = 0.8;
/// What keeps terms small that no step speaks for.
const RIDGE: f64 = 1e-4;
/// The lightest tone that at least this share of the cells show is the paper's ..
const SHARE: f64 = 0.01;
/// .. within this much.
const ALIKE: f64 = 0.05;

/// Cells of a scan, row by row.
pub(super) struct Grid {
    pub columns: usize,
    pub cell_mm: f64,
    /// Natural logarithms of gray.
    pub logs: Vec<f64>,
}

/// The step between two neighbouring cells.
struct Step {
    by: f64,
    /// The lightness of the darker one, 0..=1: dark cells say little of the light.
    light: f64,
    terms: [f64; TERMS],
}

/// The natural logarithm of the paper's gray in every cell.
pub(super) fn of(grid: &Grid) -> Vec<f64> {
    let columns = grid.columns;
    let rows = grid.logs.len().div_ceil(columns);
    let terms: Vec<[f64; TERMS]> = {
        let across: Vec<_> = (0..columns).map(|x| legendre(x, columns)).collect();
        let down: Vec<_> = (0..rows).map(|y| legendre(y, rows)).collect();
        down.iter().flat_map(|v| across.iter().map(|u| products(u, v))).collect()
    };

    let factors = fitted(&steps(grid, &terms), grid.cell_mm);
    let surface = terms.iter().map(|t| t.iter().zip(&factors).map(|(t, c)| t * c).sum::<f64>());
    let surface: Vec<f64> = surface.collect();
    let above = grid.logs.iter().zip(&surface).map(|(z, s)| z - s).collect();
    let level = lightest(above);
    surface.iter().map(|s| s + level).collect()
}

/// Legendre's polynomials over the cells of a side, which run from -1 to 1.
fn legendre(at: usize, cells: usize) -> [f64; DEGREE + 1] {
    let u = if cells > 1 { 2.0 * at as f64 / (cells - 1) as f64 - 1.0 } else { 0.0 };
    let mut p = [1.0, u, 0.0, 0.0, 0.0];
    for k in 1..DEGREE {
        let n = k as f64;
        p[k + 1] = ((2.0 * n + 1.0) * u * p[k] - n * p[k - 1]) / (n + 1.0);
    }
    p
}

/// All products whose degrees add up to 1..=[`DEGREE`].
fn products(u: &[f64; DEGREE + 1], v: &[f64; DEGREE + 1]) -> [f64; TERMS] {
    let mut out = [0.0; TERMS];
    for (out, (i, j)) in out.iter_mut().zip(degrees()) {
        *out = u[i] * v[j];
    }
    out
}

fn degrees() -> impl Iterator<Item = (usize, usize)> {
    (0..=DEGREE).flat_map(|i| (0..=DEGREE - i).map(move |j| (i, j))).filter(|(i, j)| i + j > 0)
}

/// The steps to the right and down.
fn steps(grid: &Grid, terms: &[[f64; TERMS]]) -> Vec<Step> {
    let columns = grid.columns;
    let step = |(z, t): (f64, &[f64; TERMS]), j: usize| {
        let (other, to) = (grid.logs.get(j)?, terms.get(j)?);
        let light = libm::exp(z.min(*other)) / 255.0;
        Some(Step { by: other - z, light, terms: std::array::from_fn(|k| to[k] - t[k]) })
    };
    let of_cell = |(i, (z, t)): (usize, (&f64, &[f64; TERMS]))| {
        let right = (i % columns + 1 < columns).then_some(i + 1);
        [right.and_then(|j| step((*z, t), j)), step((*z, t), i + columns)]
    };
    grid.logs.iter().zip(terms).enumerate().flat_map(of_cell).flatten().collect()
}

/// The factors of the terms by least squares, in rounds that weigh a step the less the more it is off (the
/// biweight of A. E. Beaton and J. W. Tukey, Technometrics 16(2), 1974).
fn fitted(steps: &[Step], cell_mm: f64) -> [f64; TERMS] {
    let mut factors = [0.0; TERMS];
    let mut reach = FIRST;
    for _ in 0..ROUNDS {
        let within = reach.max(LAST) * cell_mm;
        let (mut a, mut b) = ([[0.0; TERMS]; TERMS], [0.0; TERMS]);
        for step in steps {
            let fitted: f64 = step.terms.iter().zip(&factors).map(|(t, c)| t * c).sum();
            let off = (step.by - fitted) / within;
            let weight = step.light * (1.0 - off * off).max(0.0) * (1.0 - off * off).max(0.0);
            if weight <= 0.0 {
                continue;
            }
            for (i, t) in step.terms.iter().enumerate() {
                let weighted = weight * t;
                b[i] += weighted * step.by;
                a[i].iter_mut().zip(&step.terms).for_each(|(a, u)| *a += weighted * u);
            }
        }

        let size = (0..TERMS).map(|i| a[i][i]).sum::<f64>() / TERMS as f64;
        for (i, (u, v)) in degrees().enumerate() {
            a[i][i] += ((u + v) * (u + v)) as f64 * RIDGE * size + 1e-12;
        }
        match solve(a, b) {
            Some(better) => factors = better,
            None => break,
        }
        reach *= TIGHTER;
    }
    factors
}

/// The lightest level near which a share of the cells lie, where they lie closest.
fn lightest(mut levels: Vec<f64>) -> f64 {
    levels.sort_by(f64::total_cmp);
    let near = |level: f64| {
        let from = levels.partition_point(|l| *l < level - ALIKE);
        levels.partition_point(|l| *l <= level + ALIKE) - from
    };
    let needed = (levels.len() as f64 * SHARE).max(1.0);
    let top = levels.iter().rev().copied().find(|l| near(*l) as f64 >= needed).unwrap_or(0.0);
    let close = levels.iter().copied().filter(|l| (top - 2.0 * ALIKE..=top).contains(l));
    close.max_by_key(|l| near(*l)).unwrap_or(top)
}

/// Sums over the cells at most `reach` columns and rows away.
pub(super) fn box_sums(cells: &[f64], columns: usize, reach: usize) -> Vec<f64> {
    let rows = cells.len().div_ceil(columns);
    let across: Vec<f64> = cells
        .chunks(columns)
        .flat_map(|row| {
            (0..row.len()).map(move |x| row.iter().take(x + reach + 1).skip(x.saturating_sub(reach)).sum())
        })
        .collect();
    let at = |x: usize, y: usize| across.get(y * columns + x).copied().unwrap_or(0.0);
    let down =
        |x: usize, y: usize| (y.saturating_sub(reach)..(y + reach + 1).min(rows)).map(|y| at(x, y)).sum();
    (0..rows).flat_map(|y| (0..columns).map(move |x| (x, y))).map(|(x, y)| down(x, y)).collect()
}
