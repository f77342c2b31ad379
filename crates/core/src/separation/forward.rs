//! The print of coverages that are asked for, with its slope: what the inverse climbs along.

use crate::colour::{Lab, Light, Xyz};
use crate::overprint::Overprint;
use crate::tone::ToneCurve;

use super::MOST_INKS;

/// Coverages or their slopes, ink by ink in printing order; those past the last ink are 0.
pub(super) type Covers = [f64; MOST_INKS];

/// Steps of an ink's tabulated curve.
const STEPS: usize = 1024;

/// An ink's curve without its limits, and the limits.
#[derive(Debug, Clone)]
pub(super) struct Tone {
    table: Vec<f64>,
    pub lightest: f64,
    pub fill_in: f64,
}

impl Tone {
    fn of(curve: &ToneCurve) -> Self {
        let table = (0..=STEPS).map(|i| curve.without_limits(i as f64 / STEPS as f64)).collect();
        Self { table, lightest: curve.lightest(), fill_in: curve.fill_in() }
    }

    /// Effective coverage and its slope.
    fn at(&self, asked: f64) -> (f64, f64) {
        let x = asked.clamp(0.0, 1.0) * STEPS as f64;
        let i = (x as usize).min(STEPS - 1);
        let [a, b] = [i, i + 1].map(|i| self.table.get(i).copied().unwrap_or(0.0));
        (a + (b - a) * (x - i as f64), (b - a) * STEPS as f64)
    }

    /// Whether what is asked for prints as nothing or as a solid, though it asks for neither.
    pub(super) fn is_lost(&self, asked: f64) -> bool {
        asked > 0.0 && asked < self.lightest || asked > self.fill_in && asked < 1.0
    }

    /// The nearest that prints as it is asked for, by what it covers.
    pub(super) fn settled(&self, asked: f64) -> f64 {
        let between = |low: f64, high: f64| {
            let [own, a, b] = [asked, low, high].map(|v| self.at(v).0);
            if own - a < b - own { low } else { high }
        };
        if asked <= 0.0 || asked >= 1.0 {
            asked.clamp(0.0, 1.0)
        } else if asked < self.lightest {
            between(0.0, self.lightest)
        } else if asked > self.fill_in {
            between(self.fill_in, 1.0)
        } else {
            asked
        }
    }
}

/// The overprint model of a set of inks on a stock, quick and with slopes.
#[derive(Debug, Clone)]
pub(super) struct Forward {
    pub inks: usize,
    pub n: f64,
    /// Primaries in the `1/n` power space; bit k of the index is ink k.
    roots: Vec<[f64; 3]>,
    pub tones: Vec<Tone>,
}

/// A print and how it changes with each ink.
#[derive(Debug, Clone, Copy)]
pub(super) struct Printed {
    pub light: Light,
    pub slopes: [Light; MOST_INKS],
}

impl Forward {
    pub(super) fn of(model: &Overprint, curves: &[&ToneCurve]) -> Self {
        let root = |light: &Light| light.map(|v| libm::pow(v.max(0.0), 1.0 / model.n()));
        Self {
            inks: model.inks(),
            n: model.n(),
            roots: model.primaries().iter().map(root).collect(),
            tones: curves.iter().map(|c| Tone::of(c)).collect(),
        }
    }

    fn power(&self, v: f64) -> (f64, f64) {
        if self.n == 2.0 {
            return (v * v, 2.0 * v);
        }
        let below = libm::pow(v.max(1e-12), self.n - 1.0);
        (below * v, self.n * below)
    }

    /// The print of effective coverages, in the `1/n` power space, joined over the inks of `mask` alone.
    fn folded(&self, cover: &Covers, out: &mut [[f64; 3]; 1 << MOST_INKS]) {
        for (o, r) in out.iter_mut().zip(&self.roots) {
            *o = *r;
        }
        // The last ink first, so that what is left is always the lower half.
        for k in (0..self.inks).rev() {
            let (half, a) = (1 << k, cover.get(k).copied().unwrap_or(0.0));
            let (low, high) = out.split_at_mut(half);
            for (l, h) in low.iter_mut().zip(high.iter()) {
                for (l, h) in l.iter_mut().zip(h) {
                    *l += (h - *l) * a;
                }
            }
        }
    }

    /// The light that comes back from asked-for coverages, limits of the curves left out.
    pub(super) fn light(&self, asked: &Covers) -> Light {
        let mut cover = [0.0; MOST_INKS];
        for ((c, tone), asked) in cover.iter_mut().zip(&self.tones).zip(asked) {
            *c = tone.at(*asked).0;
        }
        let mut room = [[0.0; 3]; 1 << MOST_INKS];
        self.folded(&cover, &mut room);
        room[0].map(|v| self.power(v).0)
    }

    /// The same with slopes by what is asked for.
    pub(super) fn printed(&self, asked: &Covers) -> Printed {
        let (mut cover, mut gain) = ([0.0; MOST_INKS], [0.0; MOST_INKS]);
        for (((c, g), tone), asked) in cover.iter_mut().zip(&mut gain).zip(&self.tones).zip(asked) {
            (*c, *g) = tone.at(*asked);
        }
        // Value and slopes are folded together: half as many places at each ink, one more slope.
        let mut value = [[0.0; 3]; 1 << MOST_INKS];
        for (v, r) in value.iter_mut().zip(&self.roots) {
            *v = *r;
        }
        let mut slope = [[[0.0; 3]; 1 << (MOST_INKS - 1)]; MOST_INKS];
        for k in (0..self.inks).rev() {
            let (half, a) = (1_usize << k, cover[k]);
            for later in slope.iter_mut().take(self.inks).skip(k + 1) {
                let (low, high) = later.split_at_mut(half);
                for (l, h) in low.iter_mut().zip(high.iter()) {
                    for c in 0..3 {
                        l[c] += (h[c] - l[c]) * a;
                    }
                }
            }
            let (low, high) = value.split_at_mut(half);
            for ((l, h), s) in low.iter_mut().zip(high.iter()).zip(&mut slope[k]) {
                for c in 0..3 {
                    s[c] = h[c] - l[c];
                    l[c] += s[c] * a;
                }
            }
        }
        let mut slopes = [[0.0; 3]; MOST_INKS];
        let mut light = [0.0; 3];
        for c in 0..3 {
            let (power, by) = self.power(value[0][c]);
            light[c] = power;
            for k in 0..self.inks {
                slopes[k][c] = slope[k][0][c] * gain[k] * by;
            }
        }
        Printed { light, slopes }
    }

    /// The colour that is printed, limits of the curves included.
    pub(super) fn lab(&self, asked: &Covers) -> Lab {
        let mut there = *asked;
        for (asked, tone) in there.iter_mut().zip(&self.tones) {
            if *asked < tone.lightest {
                *asked = 0.0;
            } else if *asked > tone.fill_in {
                *asked = 1.0;
            }
        }
        Xyz::from_light(self.light(&there)).lab()
    }
}
