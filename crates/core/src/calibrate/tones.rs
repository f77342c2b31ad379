//! Coverages, n and curves of single ramps.

use super::fit::Ramp;
use super::result::TintFit;
use crate::colour::{Lab, Light, Xyz};
use crate::tone::ToneCurve;

fn root(light: Light, n: f64) -> Light {
    light.map(|v| libm::pow(v.max(0.0), 1.0 / n))
}

/// Coverage by least squares over the channels in the `1/n` power space, where it is linear.
pub(super) fn coverage(paper: Light, solid: Light, tint: Light, n: f64) -> f64 {
    let (p, s, t) = (root(paper, n), root(solid, n), root(tint, n));
    let (mut up, mut down) = (0.0, 0.0);
    for c in 0..3 {
        up += (p[c] - t[c]) * (p[c] - s[c]);
        down += (p[c] - s[c]) * (p[c] - s[c]);
    }
    up / down.max(1e-12)
}

pub(super) fn halftone(paper: Light, solid: Light, cover: f64, n: f64) -> Lab {
    let (p, s) = (root(paper, n), root(solid, n));
    let light = std::array::from_fn(|c| libm::pow((p[c] + cover * (s[c] - p[c])).max(0.0), n));
    Xyz::from_light(light).lab()
}

/// The n whose coverages predict the ramps' colours best, and the range that does nearly as well.
pub(super) fn fit_n(paper: Light, ramps: &[Ramp], usual: f64) -> (f64, (f64, f64)) {
    let error = |n: f64| {
        let (mut sum, mut count) = (0.0, 0.0);
        for r in ramps {
            for (_, tint) in &r.tints {
                let cover = coverage(paper, r.solid, *tint, n).clamp(0.0, 1.0);
                let off = halftone(paper, r.solid, cover, n).ciede2000(Xyz::from_light(*tint).lab());
                sum += off * off;
                count += 1.0;
            }
        }
        (sum / f64::max(count, 1.0)).sqrt()
    };
    let all: Vec<(f64, f64)> = (0..=150).map(|i| 1.0 + f64::from(i) * 0.02).map(|n| (n, error(n))).collect();
    // Where the ramps say nothing, as those of a neutral ink, n stays at what the paper usually has.
    let pulled = |(n, e): &(f64, f64)| e + 0.002 * (n - usual) * (n - usual);
    let Some(best) = all.iter().min_by(|a, b| pulled(a).total_cmp(&pulled(b))) else {
        return (usual, (1.0, 4.0));
    };
    let near = || all.iter().filter(|(_, e)| *e <= best.1 + 0.05).map(|(n, _)| *n);
    (best.0, (near().fold(4.0, f64::min), near().fold(1.0, f64::max)))
}

/// A monotone curve along measured points: nothing at 0, a solid at 1. What stays within 1 % of nothing or of
/// a solid sets the lightest tone and the fill-in shadow; between them noise is smoothed out.
pub(super) fn curve(points: &[(f64, f64)]) -> Option<ToneCurve> {
    let inner: Vec<(f64, f64)> = points.iter().copied().filter(|(x, _)| *x > 0.0 && *x < 1.0).collect();
    let mut all = vec![(0.0, 0.0)];
    all.extend(rising(&inner));
    all.push((1.0, 1.0));
    let none = all.iter().take_while(|(_, y)| *y < 0.01).count();
    let full = all.iter().position(|(_, y)| *y > 0.99).unwrap_or(all.len() - 1);
    let lightest = none.checked_sub(1).and_then(|i| all.get(i)).map_or(0.0, |p| p.0.min(0.5));
    let fill_in = all.get(full).map_or(1.0, |p| p.0.max(0.5));
    let from = if none > 1 { none } else { 0 };
    let to = if full + 1 < all.len() { full } else { all.len() };
    if let Some(between) = all.get(from..to) {
        // The ends are known where they are bare paper and the solid itself.
        let pinned = (from == 0, to == all.len());
        // What was measured, not what was made to rise: that has lost some of its noise already.
        let raw: Vec<(f64, f64)> = between
            .iter()
            .map(|p| inner.iter().find(|q| (q.0 - p.0).abs() < 1e-9).copied().unwrap_or(*p))
            .collect();
        let smooth = rising(&smoothed(&raw, pinned));
        all.splice(from..to, smooth);
    }
    let all = rising(&all);
    ToneCurve::new(all).ok()?.with_limits(lightest, fill_in).ok()
}

/// The nearest rising sequence (pool adjacent violators; Ayer and others, Annals of Mathematical Statistics 26,
/// 1955).
fn rising(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (_, y) in points {
        pools.push((y.clamp(0.0, 1.0), 1));
        while let [.., a, b] = pools[..] {
            if a.0 <= b.0 {
                break;
            }
            pools.truncate(pools.len() - 2);
            let count = a.1 + b.1;
            pools.push(((a.0 * a.1 as f64 + b.0 * b.1 as f64) / count as f64, count));
        }
    }
    let heights = pools.iter().flat_map(|(y, count)| std::iter::repeat_n(*y, *count));
    points.iter().zip(heights).map(|((x, _), y)| (*x, y)).collect()
}

/// How stiff the smoother may be; the stiffest bends hardly at all over the whole ramp.
const STIFF: [f64; 9] = [1e-8, 1e-7, 3e-7, 1e-6, 3e-6, 1e-5, 3e-5, 1e-4, 1e-3];
/// Fewer points than this say too little about their noise.
const ENOUGH: usize = 8;
/// An end that is known weighs this much more than a measured point.
const PINNED: f64 = 1e6;

/// Least squares with a penalty on bends (Whittaker, Proceedings of the Edinburgh Mathematical Society 41,
/// 1923), as stiff as leaving one point out at a time finds best (Craven and Wahba, Numerische Mathematik 31,
/// 1979).
fn smoothed(points: &[(f64, f64)], (first, last): (bool, bool)) -> Vec<(f64, f64)> {
    let count = points.len();
    if !(ENOUGH..=64).contains(&count) {
        return points.to_vec();
    }
    let weight = |i: usize| if (i == 0 && first) || (i + 1 == count && last) { PINNED } else { 1.0 };
    let mut best: Option<(f64, Vec<f64>)> = None;
    for stiff in STIFF {
        let mut matrix = vec![vec![0.0; count]; count];
        for (i, row) in matrix.iter_mut().enumerate() {
            row[i] = weight(i);
        }
        for (i, w) in points.windows(3).enumerate() {
            let (a, b) = (w[1].0 - w[0].0, w[2].0 - w[1].0);
            // Second derivative, and the length that it stands for.
            let bend = [2.0 / (a * (a + b)), -2.0 / (a * b), 2.0 / (b * (a + b))];
            for (j, u) in bend.iter().enumerate() {
                for (k, v) in bend.iter().enumerate() {
                    matrix[i + j][i + k] += stiff * u * v * (a + b) / 2.0;
                }
            }
        }
        let Some(inverse) = inverse(matrix) else { continue };
        let fitted: Vec<f64> = inverse
            .iter()
            .map(|row| row.iter().zip(points).enumerate().map(|(j, (v, p))| v * weight(j) * p.1).sum())
            .collect();
        let left_out = |i: usize| {
            let leverage = (inverse[i][i] * weight(i)).min(1.0 - 1e-9);
            let off = (points[i].1 - fitted[i]) / (1.0 - leverage);
            if weight(i) > 1.0 { 0.0 } else { off * off }
        };
        let error: f64 = (0..count).map(left_out).sum();
        if best.as_ref().is_none_or(|(least, _)| error < *least) {
            best = Some((error, fitted));
        }
    }
    let Some((_, fitted)) = best else { return points.to_vec() };
    points.iter().zip(fitted).map(|((x, _), y)| (*x, y)).collect()
}

/// The inverse of a positive definite matrix; `None` where it is singular.
fn inverse(mut matrix: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
    let count = matrix.len();
    for (i, row) in matrix.iter_mut().enumerate() {
        row.extend((0..count).map(|j| if i == j { 1.0 } else { 0.0 }));
    }
    for i in 0..count {
        let pivot = matrix[i][i];
        if pivot.abs() < 1e-12 {
            return None;
        }
        matrix[i].iter_mut().for_each(|v| *v /= pivot);
        let above = matrix[i].clone();
        for (_, row) in matrix.iter_mut().enumerate().filter(|(j, _)| *j != i) {
            let share = row[i];
            row.iter_mut().zip(&above).for_each(|(v, a)| *v -= share * a);
        }
    }
    Some(matrix.into_iter().map(|row| row.get(count..).unwrap_or_default().to_vec()).collect())
}

/// How much each channel weighs in [`coverage`], together 1.
pub(super) fn weights(paper: Light, solid: Light, n: f64) -> [f64; 3] {
    let (p, s) = (root(paper, n), root(solid, n));
    let square: Light = std::array::from_fn(|c| (p[c] - s[c]) * (p[c] - s[c]));
    let sum = square.iter().sum::<f64>().max(1e-12);
    square.map(|v| v / sum)
}

/// Root mean square CIEDE2000 of all steps with the usual n and with the fitted one.
pub(super) fn tint_fit(paper: Light, ramps: &[Ramp], usual: f64, fitted: f64) -> TintFit {
    let steps = || ramps.iter().flat_map(|r| r.tints.iter().map(move |t| (r, t)));
    let count = steps().count();
    let rms = |n: f64| {
        let off = |(r, (_, tint)): (&Ramp, &(f64, Light))| {
            let cover = coverage(paper, r.solid, *tint, n).clamp(0.0, 1.0);
            halftone(paper, r.solid, cover, n).ciede2000(Xyz::from_light(*tint).lab())
        };
        (steps().map(off).map(|v| v * v).sum::<f64>() / count.max(1) as f64).sqrt()
    };
    TintFit { before: rms(usual), after: rms(fitted), count }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_noisy_ramp_is_smoothed_towards_the_truth_and_a_clean_one_is_kept() {
        let truth = |x: f64| x + 0.6 * x * (1.0 - x);
        let mut seed = 5_u32;
        let mut noise = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            0.03 * (f64::from(seed >> 8) / f64::from(1_u32 << 23) - 1.0)
        };
        let at = |i: i32| f64::from(i) / 20.0;
        let clean: Vec<(f64, f64)> = (1..20).map(|i| (at(i), truth(at(i)))).collect();
        let noisy: Vec<(f64, f64)> = clean.iter().map(|(x, y)| (*x, y + noise())).collect();
        let off = |y: &dyn Fn(usize, f64) -> f64| {
            let all = clean.iter().enumerate().map(|(i, (x, wanted))| y(i, *x) - wanted);
            (all.map(|d| d * d).sum::<f64>() / clean.len() as f64).sqrt()
        };
        let (kept, fitted) = (curve(&clean).unwrap(), curve(&noisy).unwrap());
        assert!(off(&|_, x| kept.effective(x)) < 0.002);
        let (raw, smooth) = (off(&|i, _| noisy[i].1), off(&|_, x| fitted.effective(x)));
        assert!(smooth < 0.7 * raw, "{smooth} is not well below {raw}");
    }
}
