//! Bounded Gauss-Newton steps: for one wanted colour the coverages between bounds whose print is nearest.
//!
//! What is made small is the square of the difference, a little for each ink, and how far the coverages lie from those
//! that the neighbours agree on. Each step takes the difference as straight and goes to the least of the parabola
//! between the bounds, ink by ink (coordinate descent), which is exact for so few; a step that does not lead down is
//! shortened (Levenberg and Marquardt).

use super::MOST_INKS;
use super::forward::{Covers, Forward};
use super::intent::Target;

/// Steps at most.
const STEPS: usize = 40;
/// Coverages that move less than this are there.
const STILL: f64 = 1e-6;
/// What a sum over its limit costs; the rest is brought within it at the end.
const OVER: f64 = 1e5;

/// Where each coverage may lie, and how much they may add up to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bounds {
    pub low: Covers,
    pub high: Covers,
    pub sum: f64,
    /// What ink costs: a whole coverage as much as a difference of so much, CIEDE2000 squared.
    pub ink: f64,
}

/// Coverages that the neighbours agree on, and how much that weighs, CIEDE2000 squared for a whole coverage.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pull {
    pub to: Covers,
    pub weight: f64,
}

impl Bounds {
    /// For the nearest print: of two ways to the same colour the one with less ink.
    pub(super) fn exact(sum: f64) -> Self {
        Self { low: [0.0; MOST_INKS], high: [1.0; MOST_INKS], sum, ink: 0.002 }
    }

    /// For a picture, whose colours should all be printed the same way: that with less ink.
    pub(super) fn even(sum: f64) -> Self {
        Self { ink: 0.5, ..Self::exact(sum) }
    }

    /// The nearest within, each by itself and then their sum.
    pub(super) fn within(&self, asked: &Covers, inks: usize) -> Covers {
        let mut there = *asked;
        for k in 0..inks {
            there[k] = asked[k].clamp(self.low[k], self.high[k].max(self.low[k]));
        }
        let (sum, least): (f64, f64) = (there.iter().take(inks).sum(), self.low.iter().take(inks).sum());
        if sum > self.sum && sum > least {
            let keep = ((self.sum - least) / (sum - least)).max(0.0);
            for (there, low) in there.iter_mut().zip(&self.low).take(inks) {
                *there = low + (*there - low) * keep;
            }
        }
        there
    }
}

/// What is made small.
pub(super) fn objective(
    forward: &Forward,
    target: &Target,
    asked: &Covers,
    (ink, pull): (f64, Option<&Pull>),
) -> f64 {
    let parts = target.difference(forward.light(asked));
    parts.iter().map(|p| p * p).sum::<f64>() + besides(forward.inks, asked, (ink, pull))
}

fn besides(inks: usize, asked: &Covers, (cost, pull): (f64, Option<&Pull>)) -> f64 {
    let ink: f64 = asked.iter().take(inks).sum();
    let apart = pull.map_or(0.0, |pull| {
        let squares = asked.iter().zip(&pull.to).take(inks).map(|(a, b)| (a - b) * (a - b));
        pull.weight * squares.sum::<f64>()
    });
    cost * ink + apart
}

/// The coverages that lie lowest, downhill from `start`.
pub(super) fn nearest(
    forward: &Forward,
    target: &Target,
    bounds: &Bounds,
    start: &Covers,
    pull: Option<&Pull>,
) -> (Covers, f64) {
    let inks = forward.inks;
    let mut now = bounds.within(start, inks);
    let mut worth = objective(forward, target, &now, (bounds.ink, pull));
    let mut damping = 1e-3;
    for _ in 0..STEPS {
        let printed = forward.printed(&now);
        let (parts, by_light) = target.difference_and_slope(printed.light);
        let mut slope = [[0.0; 3]; MOST_INKS];
        for (slope, of_ink) in slope.iter_mut().zip(&printed.slopes).take(inks) {
            *slope = by_light.map(|row| row[0] * of_ink[0] + row[1] * of_ink[1] + row[2] * of_ink[2]);
        }
        let mut fell = false;
        for _ in 0..8 {
            let step = least(inks, (&parts, &slope), (&now, bounds), pull, damping);
            let tried = bounds.within(&std::array::from_fn(|k| now[k] + step[k]), inks);
            let then = objective(forward, target, &tried, (bounds.ink, pull));
            let moved = tried.iter().zip(&now).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            if then < worth {
                (now, worth, fell) = (tried, then, moved > STILL);
                damping = (damping * 0.1).max(1e-6);
                break;
            }
            if moved <= STILL {
                break;
            }
            damping = (damping * 10.0).max(1.0);
        }
        if !fell {
            break;
        }
    }
    (now, worth)
}

/// The step between the bounds to the least of the parabola.
fn least(
    inks: usize,
    (parts, slope): (&[f64; 3], &[[f64; 3]; MOST_INKS]),
    (now, bounds): (&Covers, &Bounds),
    pull: Option<&Pull>,
    damping: f64,
) -> Covers {
    let dot = |a: &[f64; 3], b: &[f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let mut curve = [[0.0; MOST_INKS]; MOST_INKS];
    let mut fall = [0.0; MOST_INKS];
    for i in 0..inks {
        for j in 0..inks {
            curve[i][j] = dot(&slope[i], &slope[j]);
        }
        curve[i][i] += damping;
        fall[i] = dot(parts, &slope[i]) + bounds.ink / 2.0;
        if let Some(pull) = pull {
            curve[i][i] += pull.weight;
            fall[i] += pull.weight * (now[i] - pull.to[i]);
        }
    }
    let mut step = [0.0; MOST_INKS];
    let room = bounds.sum - now.iter().take(inks).sum::<f64>();
    for _ in 0..60 {
        let mut moved = 0.0_f64;
        for k in 0..inks {
            let others: f64 = (0..inks).filter(|j| *j != k).map(|j| curve[k][j] * step[j]).sum();
            let by = |extra: f64, aim: f64| -(fall[k] + others - extra * aim) / (curve[k][k] + extra);
            let rest: f64 = (0..inks).filter(|j| *j != k).map(|j| step[j]).sum();
            let mut to = by(0.0, 0.0);
            if to + rest > room {
                to = by(OVER, room - rest).max(to.min(room - rest));
            }
            let to = to.clamp(bounds.low[k] - now[k], (bounds.high[k] - now[k]).max(bounds.low[k] - now[k]));
            moved = moved.max((to - step[k]).abs());
            step[k] = to;
        }
        if moved < 1e-7 {
            break;
        }
    }
    step
}
