//! Power spectra of square patches, to measure screens and to find textures that repeat.

use crate::fourier::{Complex, Fft};

/// How the rim of a patch is treated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taper {
    /// As it is: right for patches that tile.
    None,
    /// Faded to the mean by a raised cosine (Hann), so that the rim makes no false peaks.
    Hann,
}

/// The power spectrum of a square patch, its mean taken out.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    side: usize,
    power: Vec<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Cycles per pixel to the right, between bins by a parabola through the logarithms.
    pub fx: f64,
    /// Cycles per pixel downwards.
    pub fy: f64,
    pub power: f64,
}

impl Spectrum {
    /// The spectrum of `side * side` samples, row by row; `None` when the side is no power of two from 8 to
    /// 4096 or the samples do not fill it.
    pub fn of(samples: &[f64], side: usize, taper: Taper) -> Option<Self> {
        if !side.is_power_of_two() || !(8..=4096).contains(&side) || samples.len() != side * side {
            return None;
        }
        let weight: Vec<f64> = (0..side)
            .map(|i| match taper {
                Taper::None => 1.0,
                Taper::Hann => 0.5 - 0.5 * libm::cos(std::f64::consts::TAU * i as f64 / side as f64),
            })
            .collect();
        let mean = samples.iter().sum::<f64>() / samples.len() as f64;
        let plane: Vec<Complex> = samples
            .chunks(side)
            .zip(&weight)
            .flat_map(|(row, wy)| {
                row.iter().zip(&weight).map(move |(s, wx)| Complex::new((s - mean) * wx * wy, 0.0))
            })
            .collect();
        let plane = Fft::new(side).square(&plane, false);
        Some(Self { side, power: plane.iter().map(|c| c.re * c.re + c.im * c.im).collect() })
    }

    /// Pixels along a side, and bins.
    pub fn side(&self) -> usize {
        self.side
    }

    /// Power at a whole number of cycles per side, to the right and downwards; it wraps around.
    pub fn at(&self, kx: i64, ky: i64) -> f64 {
        let wrap = |k: i64| k.rem_euclid(self.side as i64) as usize;
        self.power.get(wrap(ky) * self.side + wrap(kx)).copied().unwrap_or(0.0)
    }

    /// Adds another spectrum of the same size, for the mean over patches (Welch 1967).
    pub fn add(&mut self, other: &Self) {
        for (a, b) in self.power.iter_mut().zip(&other.power) {
            *a += b;
        }
    }

    /// Mean power over rings one bin wide; index is the radius in cycles per side, up to half the side
    /// (Ulichney, "Dithering with blue noise", Proceedings of the IEEE 76(1), 1988: the radially averaged
    /// power spectrum, here not normalised).
    pub fn radial(&self) -> Vec<f64> {
        let half = self.side as i64 / 2;
        let mut rings = vec![(0.0, 0_u32); half as usize + 1];
        for ky in -half..half {
            for kx in -half..half {
                let r = libm::round(libm::sqrt((kx * kx + ky * ky) as f64)) as usize;
                if let Some((sum, count)) = rings.get_mut(r) {
                    *sum += self.at(kx, ky);
                    *count += 1;
                }
            }
        }
        rings.into_iter().map(|(sum, count)| sum / f64::from(count.max(1))).collect()
    }

    /// Local maxima in the half plane (`ky > 0`, or `ky == 0` and `kx > 0`) whose radius in bins lies in the
    /// range, highest first.
    pub fn peaks(&self, radius: std::ops::RangeInclusive<f64>) -> Vec<Peak> {
        let half = self.side as i64 / 2;
        let mut found = Vec::new();
        for ky in 0..half {
            for kx in -half + 1..half {
                let r = libm::sqrt((kx * kx + ky * ky) as f64);
                if (ky == 0 && kx <= 0) || !radius.contains(&r) {
                    continue;
                }
                let here = self.at(kx, ky);
                let around = (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (dx, dy)));
                if here > 0.0
                    && around.into_iter().all(|(dx, dy)| {
                        (dx, dy) == (0, 0) || {
                            let there = self.at(kx + dx, ky + dy);
                            // Of two equal neighbours the first one counts.
                            there < here || (there == here && (dy, dx) > (0, 0))
                        }
                    })
                {
                    let dx = parabola(self.at(kx - 1, ky), here, self.at(kx + 1, ky));
                    let dy = parabola(self.at(kx, ky - 1), here, self.at(kx, ky + 1));
                    let side = self.side as f64;
                    found.push(Peak {
                        fx: (kx as f64 + dx) / side,
                        fy: (ky as f64 + dy) / side,
                        power: here,
                    });
                }
            }
        }
        found.sort_by(|a, b| b.power.total_cmp(&a.power));
        found
    }
}

/// Where the top of a parabola through three logarithms lies, -0.5..=0.5 from the middle one.
fn parabola(left: f64, middle: f64, right: f64) -> f64 {
    let log = |v: f64| libm::log(v.max(middle * 1e-12).max(f64::MIN_POSITIVE));
    let (l, m, r) = (log(left), log(middle), log(right));
    let bend = l - 2.0 * m + r;
    if bend < -1e-12 { (0.5 * (l - r) / bend).clamp(-0.5, 0.5) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// The obvious twin: the sum as it is written in a textbook.
    fn slow(samples: &[f64], side: usize, kx: i64, ky: i64) -> f64 {
        let mean = samples.iter().sum::<f64>() / samples.len() as f64;
        let (mut re, mut im) = (0.0, 0.0);
        for (i, s) in samples.iter().enumerate() {
            let (x, y) = ((i % side) as f64, (i / side) as f64);
            let (sin, cos) = libm::sincos(-TAU * (kx as f64 * x + ky as f64 * y) / side as f64);
            re += (s - mean) * cos;
            im += (s - mean) * sin;
        }
        re * re + im * im
    }

    #[test]
    fn the_fast_transform_is_the_sum() {
        let samples: Vec<f64> = (0..16 * 16).map(|i| f64::from((i * 7919_u32) % 251)).collect();
        let s = Spectrum::of(&samples, 16, Taper::None).unwrap();
        for (kx, ky) in [(0, 0), (1, 0), (0, 1), (3, 5), (-4, 7), (8, 8)] {
            let want = slow(&samples, 16, kx, ky);
            assert!((s.at(kx, ky) - want).abs() < 1e-6 * want.max(1.0), "{kx} {ky}");
        }
    }

    #[test]
    fn a_wave_between_bins_is_found_between_bins() {
        let (fx, fy) = (0.083, -0.057);
        let wave: Vec<f64> = (0..128 * 128)
            .map(|i| libm::cos(TAU * (fx * f64::from(i % 128) + fy * f64::from(i / 128))))
            .collect();
        let peak = Spectrum::of(&wave, 128, Taper::Hann).unwrap().peaks(2.0..=64.0)[0];
        assert!((peak.fx + fx).abs() < 0.001 && (peak.fy + fy).abs() < 0.001, "{peak:?}");
    }

    #[test]
    fn odd_sizes_are_refused() {
        assert!(Spectrum::of(&[0.0; 100], 10, Taper::None).is_none());
        assert!(Spectrum::of(&[0.0; 100], 16, Taper::None).is_none());
    }
}
