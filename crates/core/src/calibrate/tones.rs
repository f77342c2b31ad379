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

/// A monotone curve through measured points: nothing at 0, a solid at 1, between them the nearest rising
/// sequence (pool adjacent violators; Ayer and others, Annals of Mathematical Statistics 26, 1955). What stays
/// within 1 % of nothing or of a solid sets the lightest tone and the fill-in shadow.
pub(super) fn curve(points: &[(f64, f64)]) -> Option<ToneCurve> {
    let inner: Vec<(f64, f64)> = points.iter().copied().filter(|(x, _)| *x > 0.0 && *x < 1.0).collect();
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (_, y) in &inner {
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
    let rising = pools.iter().flat_map(|(y, count)| std::iter::repeat_n(*y, *count));
    let mut all = vec![(0.0, 0.0)];
    all.extend(inner.iter().zip(rising).map(|((x, _), y)| (*x, y)));
    all.push((1.0, 1.0));
    let lightest = all.iter().take_while(|(_, y)| *y < 0.01).last().map_or(0.0, |p| p.0.min(0.5));
    let fill_in = all.iter().find(|(_, y)| *y > 0.99).map_or(1.0, |p| p.0.max(0.5));
    ToneCurve::new(all).ok()?.with_limits(lightest, fill_in).ok()
}

/// How much each channel weighs in [`coverage`], together 1.
pub(super) fn weights(paper: Light, solid: Light, n: f64) -> [f64; 3] {
    let (p, s) = (root(paper, n), root(solid, n));
    let square: Light = std::array::from_fn(|c| (p[c] - s[c]) * (p[c] - s[c]));
    let sum = square.iter().sum::<f64>().max(1e-12);
    square.map(|v| v / sum)
}

/// Mean CIEDE2000 of all steps with the usual n and with the fitted one.
pub(super) fn tint_fit(paper: Light, ramps: &[Ramp], usual: f64, fitted: f64) -> TintFit {
    let steps = || ramps.iter().flat_map(|r| r.tints.iter().map(move |t| (r, t)));
    let count = steps().count();
    let mean = |n: f64| {
        let off = |(r, (_, tint)): (&Ramp, &(f64, Light))| {
            let cover = coverage(paper, r.solid, *tint, n).clamp(0.0, 1.0);
            halftone(paper, r.solid, cover, n).ciede2000(Xyz::from_light(*tint).lab())
        };
        steps().map(off).sum::<f64>() / count.max(1) as f64
    };
    TintFit { before: mean(usual), after: mean(fitted), count }
}
