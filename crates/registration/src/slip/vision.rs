//! What the eye makes of a picture at a distance: the blur before colours are compared.
//!
//! The spatial kernels of S-CIELAB (Zhang and Wandell, "A spatial extension of CIELAB for digital color image
//! reproduction", 1996, table 1): three opponent channels, each a sum of kernels `exp(-(x^2 + y^2) / s^2)` with
//! `s` in degrees. The wide negative kernel of the luminance channel (s 4.336, weight -0.108) is left out: it
//! levels lightness over the whole field and blurs nothing. Weights are scaled to a sum of 1.

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
}

#[derive(Debug, Clone)]
struct Part {
    weight: f32,
    coarse: bool,
    taps: Vec<f32>,
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
        Self { parts }
    }

    /// The blurred field at every second sample each way.
    pub fn see(&self, field: &Field, work: &mut Work, out: &mut Field) {
        let (w, h) = (field.width.div_ceil(STRIDE), field.height.div_ceil(STRIDE));
        if (out.width, out.height) != (w, h) {
            *out = Field::zeroed(w, h);
        }
        for (channel, (from, to)) in field.channels.iter().zip(&mut out.channels).enumerate() {
            to.fill(0.0);
            let mut reduced = false;
            for (_, part) in self.parts.iter().filter(|p| p.0 == channel) {
                if part.coarse {
                    if !reduced {
                        work.reduce(from, field.width, field.height);
                        reduced = true;
                    }
                    work.add_coarse(part, to, w);
                } else {
                    work.add_fine(part, from, field.width, to, w);
                }
            }
        }
    }
}

/// Memory that blurs use again.
#[derive(Debug, Clone, Default)]
pub struct Work {
    row: Vec<f32>,
    half: Vec<f32>,
    coarse: Vec<f32>,
    blurred: Vec<f32>,
    size: (usize, usize),
}

impl Work {
    fn add_fine(&mut self, part: &Part, from: &[f32], width: usize, to: &mut [f32], out_width: usize) {
        let (radius, height) = (part.taps.len() / 2, from.len() / width.max(1));
        self.row.resize(width + 2 * radius, 0.0);
        for (oy, to) in to.chunks_mut(out_width.max(1)).enumerate() {
            down(part, from, width, height, oy * STRIDE, &mut self.row);
            for (ox, to) in to.iter_mut().enumerate() {
                let span = self.row.get(ox * STRIDE..ox * STRIDE + part.taps.len()).unwrap_or(&[]);
                *to += part.weight * span.iter().zip(&part.taps).map(|(a, t)| a * t).sum::<f32>();
            }
        }
    }

    /// Coarse cells, in two steps of two: means of 2 x 2, then 1 3 3 1 each way. A plain mean of 4 x 4 would
    /// let fine gratings through as coarse ones.
    fn reduce(&mut self, from: &[f32], width: usize, height: usize) {
        let (hw, hh) = (width.div_ceil(2), height.div_ceil(2));
        self.half.clear();
        for y in 0..hh {
            let row = |y: usize| from.get(y * width..(y + 1) * width).unwrap_or(&[]);
            let (upper, lower) = (row(2 * y), row((2 * y + 1).min(height.saturating_sub(1))));
            let pairs = upper.chunks(2).zip(lower.chunks(2));
            self.half.extend(pairs.map(|(a, b)| {
                (a.iter().sum::<f32>() + b.iter().sum::<f32>()) / (a.len() + b.len()).max(1) as f32
            }));
        }
        let (cw, ch) = (hw.div_ceil(2), hh.div_ceil(2));
        self.size = (cw, ch);
        self.coarse.clear();
        self.row.resize(hw, 0.0);
        // Half cells 2c - 1 to 2c + 2, the ends repeated outwards.
        let around = |c: usize, most: usize| {
            let last = most.saturating_sub(1);
            [(2 * c).saturating_sub(1), 2 * c, 2 * c + 1, 2 * c + 2].map(|i| i.min(last))
        };
        let weights = [0.125, 0.375, 0.375, 0.125];
        for cy in 0..ch {
            self.row.fill(0.0);
            for (y, weight) in around(cy, hh).into_iter().zip(weights) {
                let source = self.half.get(y * hw..(y + 1) * hw).unwrap_or(&[]);
                for (to, v) in self.row.iter_mut().zip(source) {
                    *to += weight * v;
                }
            }
            let row = &self.row;
            let at = |x: usize| row.get(x).copied().unwrap_or(0.0);
            self.coarse.extend((0..cw).map(|cx| {
                around(cx, hw).into_iter().zip(weights).map(|(x, weight)| weight * at(x)).sum::<f32>()
            }));
        }
    }

    fn add_coarse(&mut self, part: &Part, to: &mut [f32], out_width: usize) {
        let (cw, ch) = self.size;
        let radius = part.taps.len() / 2;
        self.row.resize(cw + 2 * radius, 0.0);
        self.blurred.clear();
        for y in 0..ch {
            down(part, &self.coarse, cw, ch, y, &mut self.row);
            let row = &self.row;
            self.blurred.extend((0..cw).map(|x| {
                let span = row.get(x..x + part.taps.len()).unwrap_or(&[]);
                span.iter().zip(&part.taps).map(|(a, t)| a * t).sum::<f32>()
            }));
        }
        // The middle of a coarse cell lies between samples.
        let place = |i: usize, most: usize| {
            let v = (((i * STRIDE) as f32 + 0.5) / COARSE as f32 - 0.5).clamp(0.0, (most - 1) as f32);
            let low = (v as usize).min(most.saturating_sub(2));
            (low, v - low as f32)
        };
        let columns: Vec<(usize, f32)> = (0..out_width).map(|x| place(x, cw)).collect();
        for (oy, to) in to.chunks_mut(out_width.max(1)).enumerate() {
            let (y, fy) = place(oy, ch);
            let top = self.blurred.get(y * cw..(y + 1) * cw).unwrap_or(&[]);
            let bottom = self.blurred.get((y + 1) * cw..(y + 2) * cw).unwrap_or(top);
            for (to, (x, fx)) in to.iter_mut().zip(&columns) {
                let at = |row: &[f32]| {
                    let a = row.get(*x).copied().unwrap_or(0.0);
                    a + fx * (row.get(x + 1).copied().unwrap_or(a) - a)
                };
                let (a, b) = (at(top), at(bottom));
                *to += part.weight * (a + fy * (b - a));
            }
        }
    }
}

/// One row blurred downwards, its ends repeated outwards.
fn down(part: &Part, from: &[f32], width: usize, height: usize, y: usize, row: &mut [f32]) {
    let radius = part.taps.len() / 2;
    let Some(middle) = row.get_mut(radius..radius + width) else { return };
    middle.fill(0.0);
    for (i, tap) in part.taps.iter().enumerate() {
        let sy = (y + i).saturating_sub(radius).min(height.saturating_sub(1));
        let source = from.get(sy * width..(sy + 1) * width).unwrap_or(&[]);
        for (to, v) in middle.iter_mut().zip(source) {
            *to += v * tap;
        }
    }
    let (first, last) = (middle.first().copied().unwrap_or(0.0), middle.last().copied().unwrap_or(0.0));
    if let Some(start) = row.get_mut(..radius) {
        start.fill(first);
    }
    if let Some(end) = row.get_mut(radius + width..) {
        end.fill(last);
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
