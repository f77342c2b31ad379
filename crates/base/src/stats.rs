//! Shares, counts and spreads with how sure one can be of them. Fixtures by scipy hold every function
//! (`tests/fixtures/slip_stats.py`).

/// A range, least and most.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Interval {
    /// Least.
    pub low: f64,
    /// Most.
    pub high: f64,
}

/// The least gray that at least this share of the counts does not exceed; 255 of none.
pub fn gray_quantile(counts: &[u32; 256], share: f64) -> u8 {
    let total: u32 = counts.iter().sum();
    let wanted = libm::ceil(f64::from(total) * share).max(1.0) as u32;
    let mut seen = 0;
    for (g, n) in counts.iter().enumerate() {
        seen += n;
        if seen >= wanted {
            return g as u8;
        }
    }
    255
}

/// The middle one of the values, of two the greater; 0 of none.
pub fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// The probability of at most `k` hits in `n` tries at `p`.
fn binomial_cdf(k: u64, n: u64, p: f64) -> f64 {
    if k >= n || p <= 0.0 {
        return 1.0;
    }
    if p >= 1.0 {
        return 0.0;
    }
    let (lp, lq, of_n) = (libm::log(p), libm::log1p(-p), libm::lgamma(n as f64 + 1.0));
    let term = |i: u64| {
        let (i, rest) = (i as f64, (n - i) as f64);
        libm::exp(of_n - libm::lgamma(i + 1.0) - libm::lgamma(rest + 1.0) + i * lp + rest * lq)
    };
    // The shorter tail is summed.
    if (k as f64) < n as f64 * p {
        (0..=k).map(term).sum::<f64>().min(1.0)
    } else {
        (1.0 - (k + 1..=n).map(term).sum::<f64>()).clamp(0.0, 1.0)
    }
}

/// Wilson's interval (1927) of a share of which `hits` of `n` were seen, at 95 %.
pub fn wilson(hits: u64, n: u64) -> Interval {
    if n == 0 {
        return Interval { low: 0.0, high: 1.0 };
    }
    let z = 1.959_963_984_540_054;
    let (n, p) = (n as f64, hits as f64 / n as f64);
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * libm::sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n));
    Interval { low: (middle - half).max(0.0), high: (middle + half).min(1.0) }
}

/// Clopper and Pearson's exact interval (1934) at 95 %.
pub fn clopper_pearson(hits: u64, n: u64) -> Interval {
    let solve = |above: &dyn Fn(f64) -> bool| bisected(0.0, 1.0, above);
    let low = match hits {
        0 => 0.0,
        _ => solve(&|p| 1.0 - binomial_cdf(hits - 1, n, p) >= 0.025),
    };
    let high = if hits >= n { 1.0 } else { solve(&|p| binomial_cdf(hits, n, p) < 0.025) };
    Interval { low, high }
}

/// The fewest copies to print so that at least `wanted` are good with this confidence, when each is good
/// with probability `p`; `None` when that takes more than a hundred times as many.
pub fn copies_to_print(wanted: u64, p: f64, confidence: f64) -> Option<u64> {
    if wanted == 0 {
        return Some(0);
    }
    let enough = |n: u64| 1.0 - binomial_cdf(wanted - 1, n, p) >= confidence;
    let (mut short, mut plenty) = (wanted - 1, wanted.saturating_mul(100));
    if !(p > 0.0 && enough(plenty)) {
        return None;
    }
    while plenty - short > 1 {
        let middle = short + (plenty - short) / 2;
        if enough(middle) {
            plenty = middle;
        } else {
            short = middle;
        }
    }
    Some(plenty)
}

/// The standard normal distribution function.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x / std::f64::consts::SQRT_2)
}

fn chi_square_cdf(x: f64, freedom: f64) -> f64 {
    if x <= 0.0 { 0.0 } else { lower_gamma(freedom / 2.0, x / 2.0) }
}

/// The chi-square value below which a share of the distribution lies.
fn chi_square_quantile(share: f64, freedom: f64) -> f64 {
    let mut high = freedom.max(1.0);
    while chi_square_cdf(high, freedom) < share && high < 1e9 {
        high *= 2.0;
    }
    bisected(0.0, high, &|x| chi_square_cdf(x, freedom) >= share)
}

/// The interval at 95 % of a standard deviation that was estimated with so many degrees of freedom.
pub fn deviation_interval(deviation: f64, freedom: f64) -> Interval {
    let at = |share| deviation * libm::sqrt(freedom / chi_square_quantile(share, freedom).max(1e-300));
    Interval { low: at(0.975), high: at(0.025) }
}

/// The distribution function of Student's t with a whole number of degrees of freedom, at least 1: the finite
/// sums of Abramowitz and Stegun, "Handbook of Mathematical Functions", 26.7.3 and 26.7.4.
fn student_cdf(t: f64, freedom: u32) -> f64 {
    let n = freedom.max(1);
    let angle = libm::atan(t / libm::sqrt(f64::from(n)));
    let (sin, cos) = libm::sincos(angle);
    let odd = n % 2 == 1;
    // The share between -t and t is a sum over even powers of the cosine, times one more for odd freedom.
    let (mut term, mut sum) = if odd { (cos, 0.0) } else { (1.0, 0.0) };
    let first = if odd { 1 } else { 0 };
    for power in (first..n - 1).step_by(2) {
        sum += term;
        term *= cos * cos * f64::from(power + 1) / f64::from(power + 2);
    }
    let within = if odd { (angle + sin * sum) * 2.0 / std::f64::consts::PI } else { sin * sum };
    (0.5 + within / 2.0).clamp(0.0, 1.0)
}

/// The interval at 95 % of a mean, from what was seen (Student's t); `None` with fewer than two values.
pub fn mean_interval(values: &[f64]) -> Option<(f64, Interval)> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    let freedom = (values.len() - 1).min(100_000) as u32;
    let t = bisected(0.0, 20.0, &|t| student_cdf(t, freedom) >= 0.975);
    let half = t * libm::sqrt(squares / (n - 1.0) / n);
    Some((mean, Interval { low: mean - half, high: mean + half }))
}

/// The length that a share of the vectors do not exceed whose two parts are normal, each with its mean and
/// deviation, and do not depend on each other.
pub fn length_quantile(mean: [f64; 2], deviation: [f64; 2], share: f64) -> f64 {
    let [mx, my] = mean;
    let [sx, sy] = deviation;
    // Without any deviation the vector is its mean.
    let most = libm::hypot(mx, my) + 10.0 * (sx + sy);
    if sx + sy <= 0.0 {
        return most;
    }
    bisected(0.0, most, &|length| length_cdf(length, mean, deviation) >= share)
}

/// The share of such vectors that are no longer than this: the normal density of the wider part, with the
/// other's share at each place, added up by Simpson's rule over the angle whose sine the place is.
fn length_cdf(length: f64, mean: [f64; 2], deviation: [f64; 2]) -> f64 {
    let ([mx, my], [sx, sy]) = (mean, deviation);
    let ((wide_mean, wide), (mean, narrow)) =
        if sx >= sy { ((mx, sx), (my, sy)) } else { ((my, sy), (mx, sx)) };
    let below = |v: f64| {
        if narrow > 0.0 { normal_cdf((v - mean) / narrow) } else { f64::from(v >= mean) }
    };
    if wide <= 0.0 {
        return f64::from(length >= libm::hypot(mx, my));
    }
    const STEPS: u32 = 512;
    let step = std::f64::consts::PI / f64::from(STEPS);
    let sum: f64 = (0..=STEPS)
        .map(|i| {
            let (sin, cos) = libm::sincos(f64::from(i) * step - std::f64::consts::FRAC_PI_2);
            let z = (length * sin - wide_mean) / wide;
            let density = libm::exp(-z * z / 2.0) / (wide * libm::sqrt(std::f64::consts::TAU));
            let weight = if i == 0 || i == STEPS {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            let half = (length * cos).max(0.0);
            weight * density * half * (below(half) - below(-half))
        })
        .sum();
    sum * step / 3.0
}

/// Where a condition begins to hold.
fn bisected(mut low: f64, mut high: f64, holds: &dyn Fn(f64) -> bool) -> f64 {
    for _ in 0..80 {
        let middle = (low + high) / 2.0;
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    (low + high) / 2.0
}

/// The regularised lower incomplete gamma function: a series for small `x`, a continued fraction (Lentz) for
/// large ones (Press et al., Numerical Recipes, 6.2).
fn lower_gamma(a: f64, x: f64) -> f64 {
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for i in 1..10_000 {
            term *= x / (a + f64::from(i));
            sum += term;
            if term < sum * 1e-16 {
                break;
            }
        }
        return (front * sum).min(1.0);
    }
    let mut b = x + 1.0 - a;
    let (mut c, mut d) = (1e300, 1.0 / b);
    let mut h = d;
    for i in 1..10_000 {
        let an = -f64::from(i) * (f64::from(i) - a);
        b += 2.0;
        let guard = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
        d = 1.0 / guard(an * d + b);
        c = guard(b + an / c);
        h *= d * c;
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    (1.0 - front * h).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By scipy; `tests/fixtures/slip_stats.py` wrote them.
    const SCIPY: &str = include_str!("../../../tests/data/slip/stats.csv");

    #[test]
    fn every_figure_is_that_of_scipy() {
        let mut checked = 0;
        for line in SCIPY.lines().filter(|l| !l.starts_with('#')) {
            let mut parts = line.split(',');
            let name = parts.next().unwrap();
            let v: Vec<f64> = parts.map(|p| p.parse().unwrap()).collect();
            let near = |got: f64, wanted: f64| {
                assert!((got - wanted).abs() <= 1e-9 * wanted.abs().max(1e-3), "{line}: {got}");
            };
            match name {
                "binom.cdf" => near(binomial_cdf(v[0] as u64, v[1] as u64, v[2]), v[3]),
                "wilson" => {
                    let i = wilson(v[0] as u64, v[1] as u64);
                    near(i.low, v[2]);
                    near(i.high, v[3]);
                }
                "clopper" => {
                    let i = clopper_pearson(v[0] as u64, v[1] as u64);
                    near(i.low, v[2]);
                    near(i.high, v[3]);
                }
                "copies" => assert_eq!(copies_to_print(v[0] as u64, v[1], v[2]), Some(v[3] as u64), "{line}"),
                "chi2.ppf" => near(chi_square_quantile(v[0], v[1]), v[2]),
                "t.cdf" => near(student_cdf(v[0], v[1] as u32), v[2]),
                "length" => {
                    let got = length_quantile([v[0], v[1]], [v[2], v[3]], v[4]);
                    assert!((got - v[5]).abs() < 1e-4 * v[5], "{line}: {got}");
                }
                "norm.cdf" => near(normal_cdf(v[0]), v[1]),
                other => panic!("{other}"),
            }
            checked += 1;
        }
        assert!(checked > 60, "{checked}");
    }

    #[test]
    fn a_length_without_scatter_or_along_one_line_is_told() {
        assert!((length_quantile([0.3, -0.4], [0.0, 0.0], 0.95) - 0.5).abs() < 1e-12);
        // Along one line alone: 1.959964 deviations hold 95 % (any table of the normal distribution).
        assert!((length_quantile([0.0, 0.0], [0.0, 0.5], 0.95) / (0.5 * 1.959_964) - 1.0).abs() < 1e-3);
    }

    #[test]
    fn a_share_of_nothing_cannot_be_reached() {
        assert_eq!(copies_to_print(100, 0.0, 0.95), None);
        assert_eq!(copies_to_print(0, 0.3, 0.95), Some(0));
        assert_eq!(copies_to_print(50, 1.0, 0.95), Some(50));
    }
}
