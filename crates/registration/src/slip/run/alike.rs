//! Normal numbers that are alike from one copy to the next.
//!
//! The numbers of a stream are those of a stationary first-order autoregression: each normal with the variance 1,
//! and two that are `n` copies apart with the correlation `r^n`. A copy must be found without those before it, so
//! they are not drawn one after another. Copies [`Luck::apart`] from one another do not depend on each other any
//! more; of those between, the middle one is drawn first, from its two neighbours and luck of its own, and so on in
//! halves. The process is Markov's, so the middle of two that are `2d` apart is normal about
//! `(a + b) r^d / (1 + r^2d)` with the variance `(1 - r^2d) / (1 + r^2d)` (the conditional normal distribution):
//! a weighted sum of a dozen keyed numbers in place of the hundred that the autoregression itself would take.

use crate::slip::random::SplitMix;
use slipsheet_core::press::Correlation;

/// A correlation that counts as none.
const NONE: f64 = 1e-9;

/// What a run's slips are drawn from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Luck {
    seed: u64,
    correlation: f64,
    /// Copies that are so far apart, a power of two, do not depend on each other.
    apart: u64,
}

impl Luck {
    pub fn new(seed: u64, correlation: Correlation) -> Self {
        let correlation = correlation.get();
        let mut apart = 1;
        let mut left = correlation;
        while left > NONE {
            left *= left;
            apart *= 2;
        }
        Self { seed, correlation, apart }
    }

    /// The standard normal numbers of a copy in a stream.
    pub fn of<const N: usize>(&self, copy: u64, stream: u64) -> [f64; N] {
        let own = |copy: u64| -> [f64; N] {
            let mut random = SplitMix::keyed(self.seed, copy, stream);
            std::array::from_fn(|_| random.normal())
        };
        let mut before = copy - copy % self.apart;
        if before == copy {
            return own(copy);
        }
        let mut half = self.apart / 2;
        // Past the last copy there is begins the first one again, which is as good as any.
        let (mut a, mut b) = (own(before), own(before.wrapping_add(self.apart)));
        loop {
            let middle = before + half;
            let r = libm::pow(self.correlation, half as f64);
            let (weight, own_weight) = (r / (1.0 + r * r), libm::sqrt((1.0 - r * r) / (1.0 + r * r)));
            let drawn = own(middle);
            let at = |((a, b), own): ((&f64, &f64), f64)| (a + b) * weight + own * own_weight;
            let mut parts = a.iter().zip(&b).zip(drawn);
            let m: [f64; N] = std::array::from_fn(|_| parts.next().map_or(0.0, at));
            if middle == copy {
                return m;
            }
            if copy < middle {
                b = m;
            } else {
                (a, before) = (m, middle);
            }
            half /= 2;
        }
    }
}
