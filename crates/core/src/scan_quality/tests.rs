//! Scans that are made so that each measure is known.

mod faults;
mod measures;

use std::f64::consts::TAU;

use super::*;
use crate::testing::picture;
use slipsheet_base::random::SplitMix;

fn dpi(dpi: f64) -> Dpi {
    Dpi::new(dpi).unwrap()
}

/// A sheet as coverage 0..=1, so that what happens to it in a scanner is done to real numbers.
#[derive(Clone)]
struct Sheet {
    side: usize,
    cover: Vec<f64>,
}

impl Sheet {
    /// What covers a pixel, over 4 x 4 places in it.
    fn drawn(side: usize, cover: impl Fn(f64, f64) -> f64) -> Self {
        let pixel = |i: usize| {
            let at = |k: usize, n: usize| k as f64 + (n as f64 + 0.5) / 4.0;
            let places = (0..16).map(|n| cover(at(i % side, n % 4), at(i / side, n / 4)));
            places.sum::<f64>() / 16.0
        };
        Self { side, cover: (0..side * side).map(pixel).collect() }
    }

    /// Straight strokes of a width in pixels, `gap` apart, whose normal has this angle.
    fn strokes(side: usize, width: f64, gap: f64, degrees: f64) -> Self {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        Self::drawn(side, |x, y| {
            let along = (x * cos + y * sin).rem_euclid(gap);
            if along < width { 1.0 } else { 0.0 }
        })
    }

    /// Tones that rise and fall over a range of sizes from so many pixels on: a wash, or a photograph.
    fn clouds(side: usize, finest: f64, seed: u64) -> Self {
        let mut random = SplitMix::new(seed);
        let waves: Vec<[f64; 4]> = (0..60)
            .map(|i| {
                let length = finest * libm::pow(side as f64 / finest, f64::from(i) / 60.0);
                let (angle, phase) = (random.uniform() * TAU, random.uniform() * TAU);
                let k = TAU / length;
                [k * libm::cos(angle), k * libm::sin(angle), phase, libm::sqrt(length / side as f64)]
            })
            .collect();
        let tone = |x: f64, y: f64| -> f64 {
            waves.iter().map(|[kx, ky, phase, high]| high * libm::sin(kx * x + ky * y + phase)).sum()
        };
        let cover = (0..side * side).map(|i| tone((i % side) as f64, (i / side) as f64));
        Self { side, cover: cover.map(|t| (0.45 + 0.12 * t).clamp(0.02, 0.95)).collect() }
    }

    /// Blurred by a normal distribution of this deviation in pixels.
    fn blurred(&self, sigma: f64) -> Self {
        let reach = (4.0 * sigma).ceil() as i64;
        let weight = |d: i64| libm::exp(-(d * d) as f64 / (2.0 * sigma * sigma));
        let all: f64 = (-reach..=reach).map(weight).sum();
        let side = self.side as i64;
        let pass = |from: &[f64], (sx, sy): (i64, i64)| -> Vec<f64> {
            let at = |x: i64, y: i64| from[(y.clamp(0, side - 1) * side + x.clamp(0, side - 1)) as usize];
            let sum = |i: i64| {
                (-reach..=reach).map(|d| weight(d) * at(i % side + d * sx, i / side + d * sy)).sum::<f64>()
            };
            (0..side * side).map(|i| sum(i) / all).collect()
        };
        Self { side: self.side, cover: pass(&pass(&self.cover, (1, 0)), (0, 1)) }
    }

    fn beside(&self, other: &Self) -> Self {
        let half = |i: usize| if i % self.side < self.side / 2 { self.cover[i] } else { other.cover[i] };
        Self { side: self.side, cover: (0..self.cover.len()).map(half).collect() }
    }

    /// As a scanner sees it: grays of full ink and of paper, and the deviation of its noise.
    fn scanned(&self, [ink, paper]: [f64; 2], noise: f64) -> GrayRaster {
        let mut random = SplitMix::new(9);
        let gray = |c: &f64| (paper + (ink - paper) * c + noise * random.normal()).round().clamp(0.0, 255.0);
        let pixels = self.cover.iter().map(gray).map(|g| g as u8).collect();
        GrayRaster::new(self.side as u32, self.side as u32, pixels).unwrap()
    }
}

/// A crayon's tone: grains of a few pixels, each full ink or none, as a clipped sum of noise.
fn crayon(side: usize) -> Sheet {
    let mut random = SplitMix::new(5);
    let noise = Sheet { side, cover: (0..side * side).map(|_| random.normal()).collect() };
    let grain = noise.blurred(1.1);
    Sheet { side, cover: grain.cover.iter().map(|g| (0.5 + 2.5 * g).clamp(0.0, 1.0)).collect() }
}
