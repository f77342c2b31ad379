//! What the eye makes of a picture at a distance: the blur before colours are compared.
//!
//! The spatial kernels of S-CIELAB (Zhang and Wandell, "A spatial extension of CIELAB for digital color image
//! reproduction", 1996, table 1): three opponent channels, each a sum of kernels `exp(-(x^2 + y^2) / s^2)` with
//! `s` in degrees. The wide negative kernel of the luminance channel (s 4.336, weight -0.108) is left out: it
//! levels lightness over the whole field and blurs nothing. Weights are scaled to a sum of 1.

mod blur;
pub(crate) mod difference;

pub use blur::Work;

use blur::{Coarse, Fine, Part, Reduce};
use slipsheet_base::wide::Width;
use slipsheet_core::colour::{Lab, Xyz};

/// From XYZ (2 degrees) to the opponent channels: luminance, red-green, blue-yellow.
///
/// The figures of the authors' own program ("xyz2opp" of 1996, which also gives 10 degrees). The paper prints
/// -0.077 at the end of the second row; the program, and the cone matrices that both come from, have a plus.
pub(crate) const OPPONENT: [[f64; 3]; 3] = [
    [0.278_733_6, 0.721_803_1, -0.106_552],
    [-0.448_773_6, 0.289_805_6, 0.077_156_9],
    [0.085_951_3, -0.589_985_9, 0.501_108_9],
];

/// Weight and spread in degrees of each channel's kernels.
const KERNELS: [[(f64, f64); 2]; 3] =
    [[(0.921, 0.0283), (0.105, 0.133)], [(0.531, 0.0392), (0.330, 0.494)], [(0.488, 0.0536), (0.371, 0.386)]];

/// Where one usually reads, in mm (common practice, no source).
pub const READING_DISTANCE: f64 = 400.0;

/// Three channels of one size.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Field {
    /// Width in samples.
    pub width: usize,
    /// Height in samples.
    pub height: usize,
    /// Row by row.
    pub channels: [Vec<f32>; 3],
}

impl Field {
    pub(crate) fn zeroed(width: usize, height: usize) -> Self {
        Self { width, height, channels: std::array::from_fn(|_| vec![0.0; width * height]) }
    }
}

/// Samples of the answer are this far apart.
const STRIDE: usize = 2;
/// Side of the cells that wide kernels are worked out on.
const COARSE: usize = 4;
/// Kernels wider than this many samples (standard deviation) are worked out on coarse cells.
const WIDE: f64 = 2.5;

/// The eye at a distance, for fields whose samples are means of 2 x 2 pixels.
#[derive(Debug, Clone)]
pub struct Eye {
    parts: Vec<(usize, Part)>,
    width: Width,
}

impl Eye {
    /// For a viewing distance in mm and samples per mm.
    pub fn new(distance: f64, samples_per_mm: f64) -> Self {
        let per_degree = distance * libm::tan(1.0_f64.to_radians()) * samples_per_mm;
        let mut parts = Vec::new();
        for (channel, kernels) in KERNELS.iter().enumerate() {
            let sum: f64 = kernels.iter().map(|k| k.0).sum();
            for (weight, spread) in kernels {
                let s = spread * per_degree;
                // The mean of 2 x 2 pixels is a blur of variance 1/16 already.
                let variance = (s * s / 2.0 - 1.0 / 16.0).max(0.0);
                let coarse = variance > WIDE * WIDE;
                // So are the means that make a coarse cell (1/4 for two samples, 3/4 of 2 x 2 for 1 3 3 1), and
                // the interpolation back.
                let cells = (COARSE * COARSE) as f64;
                let own = (0.25 + 0.75 * 4.0) / cells + 1.0 / 6.0;
                let variance = if coarse { (variance / cells - own).max(0.0) } else { variance };
                parts.push((channel, Part { weight: (weight / sum) as f32, coarse, taps: taps(variance) }));
            }
        }
        Self { parts, width: Width::widest() }
    }

    #[cfg(test)]
    pub(crate) fn with_instructions(&self, width: Width) -> Self {
        Self { width, ..self.clone() }
    }

    /// The blurred field at every second sample each way.
    pub fn see(&self, field: &Field, work: &mut Work, out: &mut Field) {
        let (w, h) = (field.width.div_ceil(STRIDE), field.height.div_ceil(STRIDE));
        if (out.width, out.height) != (w, h) {
            *out = Field::zeroed(w, h);
        }
        for (channel, (from, to)) in field.channels.iter().zip(&mut out.channels).enumerate() {
            to.fill(0.0);
            let mut first_coarse = true;
            for (_, part) in self.parts.iter().filter(|p| p.0 == channel) {
                if part.coarse {
                    if std::mem::take(&mut first_coarse) {
                        self.width.run(Reduce { from, width: field.width, work });
                    }
                    self.width.run(Coarse { part, work, to, out_width: w });
                } else {
                    self.width.run(Fine { part, from, width: field.width, work, to, out_width: w });
                }
            }
        }
    }
}

/// A normal curve of a variance in samples, by sampling; by three taps of that very variance when narrow.
fn taps(variance: f64) -> Vec<f32> {
    if variance < 1e-3 {
        return vec![1.0];
    }
    if variance < 0.3 {
        return vec![(variance / 2.0) as f32, (1.0 - variance) as f32, (variance / 2.0) as f32];
    }
    let radius = libm::ceil(3.2 * libm::sqrt(variance)) as i32;
    let raw: Vec<f64> = (-radius..=radius).map(|i| libm::exp(-f64::from(i * i) / (2.0 * variance))).collect();
    let sum: f64 = raw.iter().sum();
    raw.into_iter().map(|v| (v / sum) as f32).collect()
}

/// From opponent channels back to a colour.
#[derive(Debug, Clone, Copy)]
pub struct Back([[f64; 3]; 3]);

impl Default for Back {
    fn default() -> Self {
        let m = OPPONENT;
        let minor = |r: usize, c: usize| {
            let (r1, r2, c1, c2) = ((r + 1) % 3, (r + 2) % 3, (c + 1) % 3, (c + 2) % 3);
            m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1]
        };
        let det: f64 = (0..3).map(|c| m[0][c] * minor(0, c)).sum();
        Self(std::array::from_fn(|r| std::array::from_fn(|c| minor(c, r) / det)))
    }
}

impl Back {
    /// From opponent values to XYZ.
    pub(crate) fn xyz_from_opponent(&self) -> [[f32; 3]; 3] {
        self.0.map(|row| row.map(|v| v as f32))
    }

    /// The colour of three opponent values.
    pub fn lab(&self, opponent: [f32; 3]) -> Lab {
        let o = opponent.map(f64::from);
        let [x, y, z] = self.0.map(|row| row[0] * o[0] + row[1] * o[1] + row[2] * o[2]);
        Xyz { x, y, z }.lab()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gratings_fade_as_the_published_kernels_say() {
        // The transform of exp(-r^2 / s^2) is exp(-(pi s f)^2), f in cycles a degree.
        let (distance, samples_per_mm) = (400.0, 50.0 / 25.4);
        let eye = Eye::new(distance, samples_per_mm);
        let per_degree = distance * libm::tan(1.0_f64.to_radians()) * samples_per_mm;
        let (mut work, mut seen) = (Work::default(), Field::default());
        for frequency in [0.25, 0.5, 1.0, 2.0, 4.0] {
            let (w, h) = (512, 64);
            let mut field = Field::zeroed(w, h);
            for c in &mut field.channels {
                for (i, v) in c.iter_mut().enumerate() {
                    // A sample is the mean of the pixels at a quarter of a sample to either side.
                    let at = |x: f64| libm::cos(std::f64::consts::TAU * frequency * x / per_degree);
                    let x = (i % w) as f64 - 256.0;
                    *v = ((at(x - 0.25) + at(x + 0.25)) / 2.0) as f32;
                }
            }
            eye.see(&field, &mut work, &mut seen);
            for (channel, kernels) in KERNELS.iter().enumerate() {
                let sum: f64 = kernels.iter().map(|k| k.0).sum();
                let gain = |s: f64| libm::exp(-(std::f64::consts::PI * s * frequency).powi(2));
                let wanted: f64 = kernels.iter().map(|(w, s)| w / sum * gain(*s)).sum();
                let got = f64::from(seen.channels[channel][seen.width * 16 + 128]);
                assert!((got - wanted).abs() < 0.018, "channel {channel} at {frequency}: {got} for {wanted}");
            }
        }
    }

    #[test]
    fn the_kernels_sum_to_one_in_the_published_proportions() {
        // Weights of the authors' program, scaled to a sum of 1 with the wide kernel that is left out here:
        // 1.00327, 0.114416 and -0.117686; 0.616725 and 0.383275; 0.567885 and 0.432115.
        let published = [[1.00327, 0.114_416], [0.616_725, 0.383_275], [0.567_885, 0.432_115]];
        for (kernels, published) in KERNELS.iter().zip(published) {
            let ratio = (kernels[0].0 / kernels[1].0) / (published[0] / published[1]);
            assert!((ratio - 1.0).abs() < 0.01, "{kernels:?}");
        }
        assert!(((0.921 + 0.105 - 0.108_f64).recip() * 0.921 - 1.00327).abs() < 1e-4);
        for (distance, samples_per_mm) in [(400.0, 1.0), (400.0, 1.97), (250.0, 3.0), (2000.0, 2.0)] {
            let eye = Eye::new(distance, samples_per_mm);
            for channel in 0..3 {
                let parts = eye.parts.iter().filter(|p| p.0 == channel);
                let sum: f32 = parts.map(|(_, p)| p.weight * p.taps.iter().sum::<f32>()).sum();
                assert!((sum - 1.0).abs() < 1e-5, "channel {channel} at {distance} mm: {sum}");
            }
        }
    }

    /// The slow, obvious twin of [`Eye::see`]: every sample of the answer by itself, ends repeated outwards.
    fn see_slowly(eye: &Eye, field: &Field, channel: usize, ox: usize, oy: usize) -> f64 {
        type At<'a> = &'a dyn Fn(i64, i64) -> f64;
        let (w, h) = (field.width as i64, field.height as i64);
        let from = &field.channels[channel];
        let at = |x: i64, y: i64| f64::from(from[(y.clamp(0, h - 1) * w + x.clamp(0, w - 1)) as usize]);
        let blur = |part: &Part, at: At<'_>, x: i64, y: i64| {
            let radius = (part.taps.len() / 2) as i64;
            let tap = |i: i64| f64::from(part.taps[(i + radius) as usize]);
            let row = |j: i64| (-radius..=radius).map(|i| tap(i) * at(x + i, y + j)).sum::<f64>();
            (-radius..=radius).map(|j| tap(j) * row(j)).sum::<f64>()
        };
        // Means of 2 x 2, of what there is at the ends, then 1 3 3 1 each way.
        let (hw, hh) = ((w + 1) / 2, (h + 1) / 2);
        let half = |x: i64, y: i64| {
            let (x, y) = (x.clamp(0, hw - 1), y.clamp(0, hh - 1));
            [(0, 0), (1, 0), (0, 1), (1, 1)].map(|(i, j)| at(2 * x + i, 2 * y + j)).iter().sum::<f64>() / 4.0
        };
        let (cw, ch) = ((hw + 1) / 2, (hh + 1) / 2);
        let cell = |x: i64, y: i64| {
            let (x, y) = (x.clamp(0, cw - 1), y.clamp(0, ch - 1));
            let weights = [1.0, 3.0, 3.0, 1.0].into_iter().enumerate();
            let row =
                |j: i64| weights.clone().map(|(i, v)| v / 8.0 * half(2 * x - 1 + i as i64, j)).sum::<f64>();
            weights.clone().map(|(j, v)| v / 8.0 * row(2 * y - 1 + j as i64)).sum::<f64>()
        };
        let parts = eye.parts.iter().filter(|p| p.0 == channel);
        let each = parts.map(|(_, part)| {
            let value = if part.coarse {
                let place =
                    |o: usize, most: i64| (((2 * o) as f64 + 0.5) / 4.0 - 0.5).clamp(0.0, (most - 1) as f64);
                let (x, y) = (place(ox, cw), place(oy, ch));
                let blurred = |x: i64, y: i64| blur(part, &cell, x.min(cw - 1), y.min(ch - 1));
                let row = |y: i64| {
                    let low = x as i64;
                    blurred(low, y) * (1.0 - x.fract()) + blurred(low + 1, y) * x.fract()
                };
                row(y as i64) * (1.0 - y.fract()) + row(y as i64 + 1) * y.fract()
            } else {
                blur(part, &at, (2 * ox) as i64, (2 * oy) as i64)
            };
            f64::from(part.weight) * value
        });
        each.sum()
    }

    #[test]
    fn the_quick_blur_is_the_slow_one() {
        // Sides of every rest modulo a coarse cell, and kernels narrow and wide.
        for (w, h, samples_per_mm) in
            [(64, 40, 2.0), (61, 43, 2.0), (50, 38, 4.0), (35, 29, 0.7), (5, 3, 2.0)]
        {
            let eye = Eye::new(400.0, samples_per_mm);
            let mut field = Field::zeroed(w, h);
            let mut random = crate::slip::random::SplitMix::new(3);
            for v in field.channels.iter_mut().flatten() {
                *v = (random.bits() % 1000) as f32 / 1000.0;
            }
            let mut seen = Field::default();
            eye.see(&field, &mut Work::default(), &mut seen);
            assert_eq!((seen.width, seen.height), (w.div_ceil(2), h.div_ceil(2)));
            for channel in 0..3 {
                for (i, got) in seen.channels[channel].iter().enumerate() {
                    let wanted = see_slowly(&eye, &field, channel, i % seen.width, i / seen.width);
                    assert!(
                        (f64::from(*got) - wanted).abs() < 2e-5,
                        "{w} x {h}, {channel}, {i}: {got} for {wanted}"
                    );
                }
            }
        }
    }

    #[test]
    fn an_even_field_keeps_its_colour() {
        let eye = Eye::new(400.0, 2.0);
        let mut field = Field::zeroed(70, 50);
        let lab = Lab::new(60.0, 20.0, -30.0).unwrap();
        let Xyz { x, y, z } = lab.xyz();
        for (c, row) in field.channels.iter_mut().zip(OPPONENT) {
            c.fill((row[0] * x + row[1] * y + row[2] * z) as f32);
        }
        let mut seen = Field::default();
        eye.see(&field, &mut Work::default(), &mut seen);
        assert_eq!((seen.width, seen.height), (35, 25));
        for i in [0, 36, 35 * 25 - 1] {
            let back = Back::default().lab(seen.channels.each_ref().map(|c| c[i]));
            assert!(back.ciede2000(lab) < 0.01, "{back}");
        }
    }
}
