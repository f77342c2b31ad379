//! From pairs of points to the map that carries one set onto the other, by least squares, with what is left
//! over for each pair.

use slipsheet_core::geometry::{Affine, Point};

/// Which maps are allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FitKind {
    /// A shift, a turn and a scale.
    #[default]
    Similarity,
    /// Any map that keeps straight lines straight and parallels parallel.
    Affine,
}

impl FitKind {
    /// How many pairs fix such a map.
    pub(crate) fn pairs_needed(self) -> usize {
        match self {
            Self::Similarity => 2,
            Self::Affine => 3,
        }
    }
}

/// A map found, and how well it fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The map; the second point of each pair, and so the residuals, are in mm.
    pub to_from_from: Affine,
    /// Distance in mm between where the map puts each pair's first point and its second.
    pub residuals_mm: Vec<f64>,
    /// Root of the mean square of the residuals of the pairs used.
    pub rms_mm: f64,
    /// Which pairs were used; all of them unless outliers were set aside.
    pub used: Vec<bool>,
}

/// Why no map was found.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SolveError {
    #[error("lining up needs {needed} marks, and {got} are set so far")]
    TooFew { needed: usize, got: usize },
    /// The points coincide, or lie on one line where that does not do.
    #[error("the marks lie too close together or on one line: add one that is farther away")]
    Degenerate,
}

/// The least-squares map of a kind from pairs `(from, to)` with `to` in mm.
///
/// A similarity is found in closed
/// form (the plane's case of Umeyama 1991 without reflection), a general map by its normal equations.
///
/// # Errors
/// When there are too few pairs, or their points do not fix such a map.
pub fn solve(kind: FitKind, pairs: &[(Point, Point)]) -> Result<Fit, SolveError> {
    let map = map_of(kind, pairs.iter().copied())?;
    Ok(rated(map, pairs, vec![true; pairs.len()]))
}

/// As [`solve`], but of at least four pairs those that contradict the others by more than `limit_mm` are left out.
///
/// Of the maps through as few pairs as fix one, that with the least sum of squared residuals decides,
/// where no residual counts for more than the limit (Torr and Zisserman 2000).
pub fn solve_rejecting(kind: FitKind, pairs: &[(Point, Point)], limit_mm: f64) -> Result<Fit, SolveError> {
    let all = solve(kind, pairs)?;
    if pairs.len() < 4.max(kind.pairs_needed() + 2) || all.residuals_mm.iter().all(|r| *r <= limit_mm) {
        return Ok(all);
    }
    let mut best: Option<(f64, Affine)> = None;
    for subset in subsets(pairs.len(), kind.pairs_needed()) {
        let chosen = subset.iter().filter_map(|i| pairs.get(*i).copied());
        let Ok(map) = map_of(kind, chosen) else { continue };
        let cost = |(from, to): &(Point, Point)| {
            let r = (map * *from).distance(*to).min(2.0 * limit_mm);
            r * r
        };
        let cost: f64 = pairs.iter().map(cost).sum();
        if best.is_none_or(|(least, _)| cost < least) {
            best = Some((cost, map));
        }
    }
    let Some((_, mut map)) = best else { return Ok(all) };
    let mut used = vec![true; pairs.len()];
    // A map through few pairs is coarse: what it keeps gives a better one, which is asked again.
    for slack in [2.0, 1.0, 1.0] {
        used = pairs.iter().map(|(from, to)| (map * *from).distance(*to) <= slack * limit_mm).collect();
        let kept = pairs.iter().zip(&used).filter(|(_, u)| **u).map(|(p, _)| *p);
        match map_of(kind, kept) {
            Ok(better) => map = better,
            Err(_few) => return Ok(all),
        }
    }
    Ok(rated(map, pairs, used))
}

fn rated(map: Affine, pairs: &[(Point, Point)], used: Vec<bool>) -> Fit {
    let residuals_mm: Vec<f64> = pairs.iter().map(|(from, to)| (map * *from).distance(*to)).collect();
    let kept = residuals_mm.iter().zip(&used).filter(|(_, u)| **u);
    let (count, sum) = kept.fold((0.0, 0.0), |(n, s), (r, _)| (n + 1.0, s + r * r));
    Fit { to_from_from: map, residuals_mm, rms_mm: libm::sqrt(sum / f64::max(count, 1.0)), used }
}

fn map_of(kind: FitKind, pairs: impl Iterator<Item = (Point, Point)> + Clone) -> Result<Affine, SolveError> {
    let (got, needed) = (pairs.clone().count(), kind.pairs_needed());
    if got < needed {
        return Err(SolveError::TooFew { needed, got });
    }
    let n = got as f64;
    let mean = |pick: fn(&(Point, Point)) -> Point| {
        let (x, y) = pairs.clone().fold((0.0, 0.0), |(x, y), p| (x + pick(&p).x, y + pick(&p).y));
        Point::new(x / n, y / n)
    };
    let (from, to) = (mean(|p| p.0), mean(|p| p.1));
    // Sums about the means: of squares of the first points, and of products of the two.
    let [mut xx, mut xy, mut yy, mut xu, mut xv, mut yu, mut yv] = [0.0; 7];
    for (p, q) in pairs {
        let (x, y, u, v) = (p.x - from.x, p.y - from.y, q.x - to.x, q.y - to.y);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xu += x * u;
        xv += x * v;
        yu += y * u;
        yv += y * v;
    }
    let spread = xx + yy;
    let size = 1.0 + from.x * from.x + from.y * from.y;
    let linear = match kind {
        FitKind::Similarity => {
            if spread <= 1e-18 * size {
                return Err(SolveError::Degenerate);
            }
            let (a, b) = ((xu + yv) / spread, (xv - yu) / spread);
            Affine { a, b, c: -b, d: a, e: 0.0, f: 0.0 }
        }
        FitKind::Affine => {
            let det = xx * yy - xy * xy;
            if spread <= 1e-18 * size || det <= 1e-9 * spread * spread {
                return Err(SolveError::Degenerate);
            }
            let row = |x: f64, y: f64| ((x * yy - y * xy) / det, (y * xx - x * xy) / det);
            let ((a, c), (b, d)) = (row(xu, yu), row(xv, yv));
            Affine { a, b, c, d, e: 0.0, f: 0.0 }
        }
    };
    if linear.inverse().is_none() {
        return Err(SolveError::Degenerate);
    }
    Ok(Affine::shift(to.x, to.y) * linear * Affine::shift(-from.x, -from.y))
}

/// Every choice of `size` (1 to 3) among `n`, or an even share of them where there would be many.
fn subsets(n: usize, size: usize) -> Vec<Vec<usize>> {
    let mut all = Vec::new();
    for i in 0..n {
        if size == 1 {
            all.push(vec![i]);
        }
        for j in i + 1..n {
            if size == 2 {
                all.push(vec![i, j]);
            }
            for k in j + 1..if size == 3 { n } else { 0 } {
                all.push(vec![i, j, k]);
            }
        }
    }
    let step = all.len().div_ceil(4000).max(1);
    all.into_iter().step_by(step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn points(n: usize) -> Vec<Point> {
        (0..n).map(|i| Point::new(((i * i * 37) % 211) as f64, ((i * 83) % 271) as f64)).collect()
    }

    proptest! {
        #[test]
        fn a_similarity_comes_back_as_it_was(
            turn in -180.0..180.0_f64, scale in 0.05..4.0_f64, x in -300.0..300.0_f64, y in -300.0..300.0_f64,
            n in 2..12_usize
        ) {
            let map = Affine::shift(x, y) * Affine::turn(turn) * Affine::scale(scale, scale);
            let pairs: Vec<_> = points(n).into_iter().map(|p| (p, map * p)).collect();
            let fit = solve(FitKind::Similarity, &pairs).unwrap();
            let (f, m) = (fit.to_from_from, map);
            for (got, wanted) in [(f.a, m.a), (f.b, m.b), (f.c, m.c), (f.d, m.d), (f.e, m.e), (f.f, m.f)] {
                prop_assert!((got - wanted).abs() < 1e-9, "{f:?} {m:?}");
            }
            prop_assert!(fit.rms_mm < 1e-9 && fit.residuals_mm.iter().all(|r| *r < 1e-9));
        }

        #[test]
        fn wrong_pairs_are_set_aside(
            turn in -5.0..5.0_f64, x in -20.0..20.0_f64, wrong in 0..8_usize, by in 3.0..60.0_f64
        ) {
            let map = Affine::shift(x, 4.0) * Affine::turn(turn);
            let mut pairs: Vec<_> = points(8).into_iter().map(|p| (p, map * p)).collect();
            pairs[wrong].1.x += by;
            for kind in [FitKind::Similarity, FitKind::Affine] {
                let fit = solve_rejecting(kind, &pairs, 0.5).unwrap();
                prop_assert!(fit.used.iter().enumerate().all(|(i, u)| *u != (i == wrong)), "{:?}", fit.used);
                prop_assert!(fit.rms_mm < 1e-8 && (fit.residuals_mm[wrong] - by).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn an_affine_map_comes_back() {
        let map = Affine { a: 1.01, b: 0.02, c: -0.05, d: 0.97, e: 5.0, f: -6.0 };
        let pairs: Vec<_> = points(5).into_iter().map(|p| (p, map * p)).collect();
        let fit = solve(FitKind::Affine, &pairs).unwrap();
        assert!((fit.to_from_from.c - map.c).abs() < 1e-9 && fit.rms_mm < 1e-9);
    }

    #[test]
    fn what_does_not_fix_a_map_is_refused() {
        let p = Point::new(3.0, 4.0);
        assert_eq!(solve(FitKind::Similarity, &[(p, p)]), Err(SolveError::TooFew { needed: 2, got: 1 }));
        assert_eq!(solve(FitKind::Similarity, &[(p, p), (p, p)]), Err(SolveError::Degenerate));
        let line: Vec<_> =
            (0..5).map(|i| Point::new(f64::from(i), 2.0 * f64::from(i))).map(|p| (p, p)).collect();
        assert_eq!(solve(FitKind::Affine, &line), Err(SolveError::Degenerate));
        assert!(solve(FitKind::Similarity, &line).is_ok());
    }
}
