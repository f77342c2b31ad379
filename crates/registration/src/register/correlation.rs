//! Phase correlation (Kuglin and Hines 1975): of two pictures' spectra only the phases are compared, so a
//! shift between them becomes one sharp peak, whatever their contrasts.

use rayon::prelude::*;

use slipsheet_base::fourier::{Complex, Fft};

/// The highest place of a correlation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Peak {
    /// How far the second picture must move to lie on the first, in cells, between cells.
    pub dx: f64,
    /// The same downwards.
    pub dy: f64,
    /// Its height: 1 where one picture is the other, shifted.
    pub height: f64,
    /// How many times as high as the next peak elsewhere.
    pub above_next: f64,
}

/// Frequencies beyond this many cycles a cell say little: grain lives there. The weight falls as a Gauss
/// curve of this width, and so the peak is one too, which makes its middle easy to find.
const KEPT: f64 = 0.18;

/// Phase correlation of two spectra, `n` by `n`; a shift `d` is at `(d mod n)`. The height is 1 for a perfect
/// match.
pub(super) fn correlate(fft: &Fft, n: usize, a: &[Complex], b: &[Complex]) -> Vec<f64> {
    let weight: Vec<f64> = (0..n)
        .map(|i| {
            let f = signed(i, n) / n as f64 / KEPT;
            libm::exp(-0.5 * f * f)
        })
        .collect();
    let largest = a.iter().zip(b).map(|(a, b)| a.magnitude() * b.magnitude()).fold(0.0, f64::max);
    let least = (1e-9 * largest).max(1e-30);
    let mut cross = vec![Complex::default(); n * n];
    cross.par_chunks_mut(n).enumerate().for_each(|(y, row)| {
        let wy = weight.get(y).copied().unwrap_or(0.0);
        let pairs = a.iter().zip(b).skip(y * n);
        for ((o, (a, b)), wx) in row.iter_mut().zip(pairs).zip(&weight) {
            let c = a.times_conjugate(*b);
            let by = wx * wy / (c.magnitude() + least);
            *o = Complex::new(c.re * by, c.im * by);
        }
    });
    let sum: f64 = weight.iter().sum();
    let scale = 1.0 / (sum * sum);
    fft.square(&cross, true).iter().map(|c| c.re * scale).collect()
}

/// A place on the wheel of `n` as a number from `-n/2` to `n/2`.
fn signed(i: usize, n: usize) -> f64 {
    if i > n / 2 { i as f64 - n as f64 } else { i as f64 }
}

/// The highest place among those that `allowed` (shifts in cells) lets pass.
pub(super) fn peak(map: &[f64], n: usize, allowed: impl Fn(f64, f64) -> bool) -> Option<Peak> {
    let mut best: Option<(usize, f64)> = None;
    for (i, v) in map.iter().enumerate() {
        if best.is_none_or(|(_, b)| *v > b) && allowed(signed(i % n, n), signed(i / n, n)) {
            best = Some((i, *v));
        }
    }
    let (at, height) = best?;
    let (x, y) = (at % n, at / n);
    let near = |i: usize, j: usize| (i.abs_diff(j)).min(n - i.abs_diff(j)) <= APART;
    let next = map
        .iter()
        .enumerate()
        .filter(|(i, _)| !(near(i % n, x) && near(i / n, y)))
        .filter(|(i, _)| allowed(signed(i % n, n), signed(i / n, n)))
        .map(|(_, v)| *v)
        .fold(0.0, f64::max);
    let value = |dx: usize, dy: usize| {
        map.get((y + n + dy - 1) % n * n + (x + n + dx - 1) % n).copied().unwrap_or(0.0)
    };
    let dx = signed(x, n) + between(value(0, 1), height, value(2, 1));
    let dy = signed(y, n) + between(value(1, 0), height, value(1, 2));
    Some(Peak { dx, dy, height, above_next: height / next.max(1e-12) })
}

/// Cells around a peak that belong to it.
const APART: usize = 5;

/// The top of a Gauss curve through three values, from the middle one; a parabola where that fails.
fn between(left: f64, middle: f64, right: f64) -> f64 {
    let top = |l: f64, m: f64, r: f64| {
        let bend = l - 2.0 * m + r;
        if bend < -1e-15 { (0.5 * (l - r) / bend).clamp(-0.5, 0.5) } else { 0.0 }
    };
    if left > 0.0 && middle > 0.0 && right > 0.0 {
        top(libm::log(left), libm::log(middle), libm::log(right))
    } else {
        top(left, middle, right)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shift_between_cells_is_found() {
        let n = 64;
        let blobs = [(20.0, 18.0, 3.0), (40.0, 30.0, 2.0), (28.0, 44.0, 2.5), (50.0, 50.0, 1.5)];
        let draw = |sx: f64, sy: f64| -> Vec<Complex> {
            let value = |i: usize| {
                let (x, y) = ((i % n) as f64, (i / n) as f64);
                blobs
                    .iter()
                    .map(|(bx, by, r)| {
                        let (dx, dy) = (x - bx - sx, y - by - sy);
                        libm::exp(-(dx * dx + dy * dy) / (2.0 * r * r))
                    })
                    .sum()
            };
            (0..n * n).map(|i| Complex::new(value(i), 0.0)).collect()
        };
        let fft = Fft::new(n);
        let (a, b) = (fft.square(&draw(3.3, -2.6), false), fft.square(&draw(0.0, 0.0), false));
        let peak = peak(&correlate(&fft, n, &a, &b), n, |_, _| true).unwrap();
        assert!((peak.dx - 3.3).abs() < 0.05 && (peak.dy + 2.6).abs() < 0.05, "{peak:?}");
        assert!(peak.above_next > 3.0, "{peak:?}");
    }
}
