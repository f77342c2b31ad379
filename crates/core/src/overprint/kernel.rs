//! The pixel kernel: rows of gray in, rows of sRGB out.
//!
//! The mixture of primaries is multilinear in the coverages, so for a block of pixels it is evaluated as a
//! polynomial: with `c_S` the Moebius transform of the primaries in the `1/n` power space,
//! `v = sum_S c_S prod_{k in S} a_k`, folded ink by ink (Horner). Then `v^n`, one matrix to linear sRGB,
//! the transfer curve, and bytes. Inks that are absent from a block are left out of the polynomial.

use crate::colour::{SRGB_FROM_LIGHT, into_gamut};
use crate::overprint::{MAX_INKS, Overprint};

/// Pixels in a block.
pub const BLOCK: usize = 256;

/// One value a pixel of a block.
type Lane = [f32; BLOCK];

/// How the power space is left again.
#[derive(Clone)]
enum Expand {
    /// n = 1.
    Linear,
    /// n = 1.5.
    OneAndHalf,
    /// n = 2.
    Square,
    /// Any other n: `v^n` in 1024 steps of `v` up to the brightest primary, interpolated.
    Table { steps: Box<[f32; 1026]>, per_unit: f32 },
}

/// Everything a row needs, made once per model and set of tone curves.
#[derive(Clone)]
pub struct Kernel {
    inks: usize,
    /// Coverage by gray, per ink.
    tables: Vec<[f32; 256]>,
    /// Per ink, the darkest gray from which on nothing prints; 256 when white prints too.
    blank_from: Vec<u16>,
    /// Moebius coefficients per channel.
    coefficients: [Vec<f32>; 3],
    expand: Expand,
    matrix: [[f32; 3]; 3],
    wide: bool,
}

/// Rows of the power space `v`, one value a pixel and channel: what the kernel makes before `v^n`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Power {
    /// Red, green, blue of Rec.2020 to the power 1/n.
    pub channels: [Vec<f32>; 3],
}

impl Power {
    /// Space for so many pixels.
    pub fn zeroed(pixels: usize) -> Self {
        Self { channels: std::array::from_fn(|_| vec![0.0; pixels]) }
    }
}

/// The lanes of one block: coverages, and scratch for the polynomial.
struct Scratch {
    cover: [Lane; MAX_INKS],
    v: [Lane; 3],
    fold: [Lane; MAX_INKS],
}

impl Kernel {
    /// A kernel for a model; `tables` gives each ink's effective coverage by gray (0 black .. 255 white),
    /// in printing order. A missing table prints nothing.
    pub fn new(model: &Overprint, tables: &[[f32; 256]]) -> Self {
        let inks = model.inks();
        let tables: Vec<[f32; 256]> =
            (0..inks).map(|k| tables.get(k).copied().unwrap_or([0.0; 256])).collect();
        let blank_from = tables
            .iter()
            .map(|t| t.iter().rposition(|a| *a > 0.0).map_or(0, |darkest_blank| darkest_blank as u16 + 1))
            .collect();
        let inverse_n = 1.0 / model.n();
        let coefficients = std::array::from_fn(|c| {
            let mut values: Vec<f64> =
                model.primaries().iter().map(|p| libm::pow(p[c].max(0.0), inverse_n)).collect();
            for k in 0..inks {
                for mask in (0..values.len()).filter(|m| m >> k & 1 == 1) {
                    values[mask] -= values[mask ^ (1 << k)];
                }
            }
            values.into_iter().map(|v| v as f32).collect()
        });
        let matrix = SRGB_FROM_LIGHT.map(|row| row.map(|v| v as f32));
        Self { inks, tables, blank_from, coefficients, expand: Expand::new(model), matrix, wide: has_avx2() }
    }

    /// Number of inks.
    pub fn inks(&self) -> usize {
        self.inks
    }

    /// The same kernel without the instructions of newer processors; the bytes are the same.
    #[must_use]
    pub fn portable(mut self) -> Self {
        self.wide = false;
        self
    }

    /// One row of opaque sRGB pixels `[r, g, b, 255]` from one row of gray per ink, in printing order.
    /// A row of gray shorter than `out` is white beyond its end.
    pub fn row(&self, grays: &[&[u8]], out: &mut [[u8; 4]]) {
        let mut scratch = Scratch::new();
        for (i, block) in out.chunks_mut(BLOCK).enumerate() {
            let active = self.load(grays, i * BLOCK, block.len(), &mut scratch);
            self.colour(active, &mut scratch, block);
        }
    }

    /// One row of the power space, with one ink's coverage held at a value in place of its gray:
    /// the picture is linear in that coverage, so two such rows (0 and 1) give every other.
    pub fn power_row(&self, grays: &[&[u8]], held: Option<(usize, f32)>, out: [&mut [f32]; 3]) {
        let mut scratch = Scratch::new();
        let [red, green, blue] = out;
        let blocks = red.chunks_mut(BLOCK).zip(green.chunks_mut(BLOCK)).zip(blue.chunks_mut(BLOCK));
        for (i, ((r, g), b)) in blocks.enumerate() {
            let mut active = self.load(grays, i * BLOCK, r.len(), &mut scratch);
            if let Some((ink, cover)) = held.filter(|(ink, _)| *ink < self.inks) {
                scratch.cover[ink].fill(cover);
                active = active & !(1 << ink) | (usize::from(cover != 0.0) << ink);
            }
            self.mix(active, &mut scratch);
            for (to, from) in [r, g, b].into_iter().zip(&scratch.v) {
                to.copy_from_slice(&from[..to.len()]);
            }
        }
    }

    /// One row of pixels between two rows of the power space: `absent + cover(gray) * (full - absent)`,
    /// for the ink whose coverages the two rows hold at 0 and 1.
    pub fn between_row(
        &self,
        ink: usize,
        gray: &[u8],
        absent: [&[f32]; 3],
        full: [&[f32]; 3],
        out: &mut [[u8; 4]],
    ) {
        let blank = [0.0; 256];
        let table = self.tables.get(ink).unwrap_or(&blank);
        let mut scratch = Scratch::new();
        for (i, block) in out.chunks_mut(BLOCK).enumerate() {
            let (at, len) = (i * BLOCK, block.len());
            look_up(table, gray.get(at..).unwrap_or(&[]), len, &mut scratch.cover[0]);
            for c in 0..3 {
                let (Some(a), Some(f)) = (absent[c].get(at..at + len), full[c].get(at..at + len)) else {
                    return;
                };
                for (((v, a), f), cover) in scratch.v[c].iter_mut().zip(a).zip(f).zip(&scratch.cover[0]) {
                    *v = a + cover * (f - a);
                }
            }
            self.finish(&mut scratch, block);
        }
    }

    /// Looks up the coverages of a block; the mask of inks that print in it comes back.
    fn load(&self, grays: &[&[u8]], at: usize, len: usize, scratch: &mut Scratch) -> usize {
        let mut active = 0;
        for k in 0..self.inks {
            let gray = grays.get(k).and_then(|g| g.get(at..)).unwrap_or(&[]);
            let gray = &gray[..gray.len().min(len)];
            let darkest = gray.iter().fold(255, |m, g| if *g < m { *g } else { m });
            // A short row counts as white beyond its end, which prints only if white does.
            if u16::from(darkest) < self.blank_from[k] {
                look_up(&self.tables[k], gray, len, &mut scratch.cover[k]);
                active |= 1 << k;
            }
        }
        active
    }

    fn colour(&self, active: usize, scratch: &mut Scratch, out: &mut [[u8; 4]]) {
        #[cfg(target_arch = "x86_64")]
        if self.wide {
            #[expect(unsafe_code, reason = "the processor was asked for AVX2 when the kernel was made")]
            // SAFETY: `wide` is only set when AVX2 was detected.
            unsafe {
                colour_avx2(self, active, scratch, out);
            }
            return;
        }
        self.mix_here(active, scratch);
        self.finish_here(scratch, out);
    }

    fn mix(&self, active: usize, scratch: &mut Scratch) {
        #[cfg(target_arch = "x86_64")]
        if self.wide {
            #[expect(unsafe_code, reason = "the processor was asked for AVX2 when the kernel was made")]
            // SAFETY: `wide` is only set when AVX2 was detected.
            unsafe {
                mix_avx2(self, active, scratch);
            }
            return;
        }
        self.mix_here(active, scratch);
    }

    fn finish(&self, scratch: &mut Scratch, out: &mut [[u8; 4]]) {
        #[cfg(target_arch = "x86_64")]
        if self.wide {
            #[expect(unsafe_code, reason = "the processor was asked for AVX2 when the kernel was made")]
            // SAFETY: `wide` is only set when AVX2 was detected.
            unsafe {
                finish_avx2(self, scratch, out);
            }
            return;
        }
        self.finish_here(scratch, out);
    }

    /// The polynomial of the active inks, per channel.
    #[inline(always)]
    fn mix_here(&self, active: usize, scratch: &mut Scratch) {
        let mut inks = [0_usize; MAX_INKS];
        let mut count = 0;
        for k in (0..self.inks).filter(|k| active >> k & 1 == 1) {
            inks[count] = k;
            count += 1;
        }
        let inks = &inks[..count];
        let mut gathered = [0.0_f32; 1 << MAX_INKS];
        for c in 0..3 {
            let coefficients = if count == self.inks {
                &self.coefficients[c][..]
            } else {
                for (sub, g) in gathered[..1 << count].iter_mut().enumerate() {
                    let mask = inks.iter().enumerate().fold(0, |m, (i, k)| m | ((sub >> i & 1) << k));
                    *g = self.coefficients[c][mask];
                }
                &gathered[..1 << count]
            };
            fold(coefficients, inks, &scratch.cover, &mut scratch.v[c], &mut scratch.fold);
        }
    }

    /// `v^n`, matrix, transfer curve, bytes.
    #[inline(always)]
    fn finish_here(&self, scratch: &mut Scratch, out: &mut [[u8; 4]]) {
        for lane in &mut scratch.v {
            self.expand.apply(lane);
        }
        let [[m00, m01, m02], [m10, m11, m12], [m20, m21, m22]] = self.matrix;
        let [red, green, blue] = &mut scratch.v;
        let mut outside = 0_u32;
        for ((r, g), b) in red.iter_mut().zip(green.iter_mut()).zip(blue.iter_mut()) {
            let (x, y, z) = (*r, *g, *b);
            *r = m00 * x + m01 * y + m02 * z;
            *g = m10 * x + m11 * y + m12 * z;
            *b = m20 * x + m21 * y + m22 * z;
            // The sign bits of c and 1 - c: one is set when a channel leaves 0..=1.
            outside |= r.to_bits() | g.to_bits() | b.to_bits();
            outside |= (1.0 - *r).to_bits() | (1.0 - *g).to_bits() | (1.0 - *b).to_bits();
        }
        if outside >> 31 == 1 {
            bring_in(red, green, blue);
        }
        for (((r, g), b), o) in red.iter().zip(green.iter()).zip(blue.iter()).zip(out.iter_mut()) {
            let word = encode(*r) | encode(*g) << 8 | encode(*b) << 16 | 0xff00_0000;
            *o = word.to_le_bytes();
        }
    }
}

impl Scratch {
    fn new() -> Self {
        Self { cover: [[0.0; BLOCK]; MAX_INKS], v: [[0.0; BLOCK]; 3], fold: [[0.0; BLOCK]; MAX_INKS] }
    }
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn colour_avx2(kernel: &Kernel, active: usize, scratch: &mut Scratch, out: &mut [[u8; 4]]) {
    kernel.mix_here(active, scratch);
    kernel.finish_here(scratch, out);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn mix_avx2(kernel: &Kernel, active: usize, scratch: &mut Scratch) {
    kernel.mix_here(active, scratch);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn finish_avx2(kernel: &Kernel, scratch: &mut Scratch, out: &mut [[u8; 4]]) {
    kernel.finish_here(scratch, out);
}

fn has_avx2() -> bool {
    #[cfg(target_arch = "x86_64")]
    return std::is_x86_feature_detected!("avx2");
    #[cfg(not(target_arch = "x86_64"))]
    return false;
}

/// Coverages of a block from its grays; white beyond the end of a short row.
fn look_up(table: &[f32; 256], gray: &[u8], len: usize, out: &mut Lane) {
    let n = gray.len().min(len).min(BLOCK);
    for (o, g) in out.iter_mut().zip(&gray[..n]) {
        *o = table[usize::from(*g)];
    }
    out[n..].fill(table[255]);
}

/// Horner over the inks: the last ink's half of the coefficients first, three inks at once at the bottom.
#[inline(always)]
fn fold(c: &[f32], inks: &[usize], cover: &[Lane; MAX_INKS], out: &mut Lane, scratch: &mut [Lane; MAX_INKS]) {
    match *inks {
        [] => out.fill(c[0]),
        [i] => {
            let (c0, c1) = (c[0], c[1]);
            for (o, a) in out.iter_mut().zip(&cover[i]) {
                *o = c0 + c1 * a;
            }
        }
        [i, j] => {
            let &[c0, c1, c2, c3] = c else { return };
            for ((o, a), b) in out.iter_mut().zip(&cover[i]).zip(&cover[j]) {
                *o = (c0 + c1 * a) + (c2 + c3 * a) * b;
            }
        }
        _ => fold_deep(c, inks, cover, out, scratch),
    }
}

/// Three and more inks. Inks past the third are folded through scratch lanes, like a binary counter: a lane
/// holds a finished half until its partner is there.
#[inline(always)]
fn fold_deep(
    c: &[f32],
    inks: &[usize],
    cover: &[Lane; MAX_INKS],
    out: &mut Lane,
    scratch: &mut [Lane; MAX_INKS],
) {
    let (bottom, upper) = inks.split_at(3);
    let [a, b, d] = [&cover[bottom[0]], &cover[bottom[1]], &cover[bottom[2]]];
    let groups = c.len() / 8;
    for (group, c) in c.chunks_exact(8).enumerate() {
        let &[c0, c1, c2, c3, c4, c5, c6, c7] = c else { return };
        for (((o, a), b), d) in out.iter_mut().zip(a).zip(b).zip(d) {
            *o = ((c0 + c1 * a) + (c2 + c3 * a) * b) + ((c4 + c5 * a) + (c6 + c7 * a) * b) * d;
        }
        // Join with every half that was waiting for this one.
        let mut level = 0;
        while group >> level & 1 == 1 {
            let (half, a) = (&scratch[level], &cover[upper[level]]);
            for ((o, h), a) in out.iter_mut().zip(half).zip(a) {
                *o = h + *o * a;
            }
            level += 1;
        }
        if group + 1 < groups {
            scratch[level] = *out;
        }
    }
}

impl Expand {
    fn new(model: &Overprint) -> Self {
        let n = model.n();
        let near = |v: f64| (n - v).abs() < 1e-9;
        if near(1.0) {
            return Self::Linear;
        }
        if near(1.5) {
            return Self::OneAndHalf;
        }
        if near(2.0) {
            return Self::Square;
        }
        let brightest = model.primaries().iter().flatten().copied().fold(1.0, f64::max);
        let per_unit = 1024.0 / libm::pow(brightest, 1.0 / n);
        let steps = std::array::from_fn(|i| libm::pow(i as f64 / per_unit, n) as f32);
        Self::Table { steps: Box::new(steps), per_unit: per_unit as f32 }
    }

    #[inline(always)]
    fn apply(&self, lane: &mut Lane) {
        match self {
            Self::Linear => {}
            Self::Square => lane.iter_mut().for_each(|v| *v *= *v),
            // Rounding can leave a value a hair below nothing, which has no root.
            Self::OneAndHalf => lane.iter_mut().for_each(|v| {
                let positive = if *v > 0.0 { *v } else { 0.0 };
                *v = positive * positive.sqrt();
            }),
            Self::Table { steps, per_unit } => lane.iter_mut().for_each(|v| {
                let at = (*v * per_unit).clamp(0.0, 1024.0);
                let i = at as usize;
                *v = steps[i] + (steps[i + 1] - steps[i]) * (at - i as f32);
            }),
        }
    }
}

/// Brings every pixel of a block into sRGB, keeping its hue; see [`into_gamut`].
#[cold]
fn bring_in(red: &mut Lane, green: &mut Lane, blue: &mut Lane) {
    for ((r, g), b) in red.iter_mut().zip(green).zip(blue) {
        let low = r.min(*g).min(*b);
        let high = r.max(*g).max(*b);
        if low < 0.0 || high > 1.0 {
            let (inside, _) = into_gamut([f64::from(*r), f64::from(*g), f64::from(*b)]);
            [*r, *g, *b] = inside.map(|v| v as f32);
        }
    }
}

/// The sRGB transfer curve times 255, rounded, for 0..=1: above the linear part a polynomial of degree 5 in
/// the square root, within 0.09 of a level of `255 (1.055 c^(1/2.4) - 0.055)` (fitted; a test holds it).
#[inline(always)]
fn encode(c: f32) -> u32 {
    const P: [f32; 6] = [
        -0.040_109_61 * 255.0,
        1.517_950_9 * 255.0,
        -1.402_737_5 * 255.0,
        2.031_578_7 * 255.0,
        -1.623_663_9 * 255.0,
        0.517_305_2 * 255.0,
    ];
    let s = c.sqrt();
    let s2 = c;
    let curve = (P[0] + P[1] * s) + s2 * ((P[2] + P[3] * s) + s2 * (P[4] + P[5] * s));
    let line = c * (12.92 * 255.0);
    let v = if c <= 0.003_130_8 { line } else { curve };
    // Adding 2^23 leaves the rounded number in the low bits, in one instruction on every processor.
    (v + 8_388_608.0).to_bits() & 0xff
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{Lab, srgb_from_linear};
    use crate::overprint::{Film, Ground, TRAP};

    fn model(inks: usize, n: f64) -> Overprint {
        let paper = Lab::new(92.0, -2.0, 5.0).unwrap();
        let solids = [
            (70.0, -30.0, -12.0),
            (65.0, 50.0, 40.0),
            (28.0, 10.0, -38.0),
            (88.0, -5.0, 80.0),
            (48.0, 70.0, 0.0),
            (60.0, -50.0, 30.0),
            (40.0, 0.0, 0.0),
            (75.0, 15.0, 20.0),
        ];
        let films: Vec<Film> = solids[..inks]
            .iter()
            .map(|&(l, a, b)| Film {
                solid: Lab::new(l, a, b).unwrap(),
                on: Lab::new(95.0, 0.0, 0.0).unwrap(),
                on_floor: 0.075,
                opacity: 0.1,
                emission: 1.0,
            })
            .collect();
        Overprint::new(&Ground { paper, floor: 0.075, trap: TRAP, n }, &films).unwrap()
    }

    /// A table that leaves white blank but is otherwise irregular.
    fn table(k: usize) -> [f32; 256] {
        std::array::from_fn(|g| ((255 - g) as f32 / 255.0) * (1.0 - 0.05 * k as f32))
    }

    fn grays(inks: usize, len: usize) -> Vec<Vec<u8>> {
        let gray = |k: usize, i: usize| ((i * (37 + 11 * k) + k * 91) ^ (i >> 3)) as u8;
        (0..inks)
            .map(|k| (0..len).map(|i| if (i / 256 + k) % 3 == 0 { 255 } else { gray(k, i) }).collect())
            .collect()
    }

    /// The slow, obvious twin: Demichel and Yule-Nielsen as written, one pixel at a time.
    fn slow(model: &Overprint, tables: &[[f32; 256]], grays: &[Vec<u8>], i: usize) -> [u8; 3] {
        let cover: Vec<f64> =
            grays.iter().zip(tables).map(|(g, t)| f64::from(t[usize::from(g[i])])).collect();
        model.mix(&cover).shown().rgb
    }

    #[test]
    fn the_kernel_agrees_with_the_formula_written_out() {
        for inks in 0..=8 {
            for n in [1.0, 1.5, 2.0, 2.7] {
                let (model, len) = (model(inks, n), 1500);
                let tables: Vec<_> = (0..inks).map(table).collect();
                let grays = grays(inks, len);
                let rows: Vec<&[u8]> = grays.iter().map(Vec::as_slice).collect();
                let kernel = Kernel::new(&model, &tables);
                let mut out = vec![[0; 4]; len];
                kernel.row(&rows, &mut out);
                for i in (0..len).step_by(7) {
                    let want = slow(&model, &tables, &grays, i);
                    let near = out[i].iter().zip(want).all(|(a, b)| a.abs_diff(b) <= 1);
                    assert!(near, "{inks} inks, n {n}, pixel {i}: {:?} is not {want:?}", out[i]);
                }
                let mut portable = vec![[0; 4]; len];
                kernel.portable().row(&rows, &mut portable);
                assert!(out == portable, "every processor gives the same bytes");
            }
        }
    }

    #[test]
    fn two_pictures_give_every_coverage_of_one_ink() {
        let (model, len) = (model(3, 2.0), 700);
        let tables: Vec<_> = (0..3).map(table).collect();
        let grays = grays(3, len);
        let rows: Vec<&[u8]> = grays.iter().map(Vec::as_slice).collect();
        let kernel = Kernel::new(&model, &tables);
        let mut whole = vec![[0; 4]; len];
        kernel.row(&rows, &mut whole);
        let power = |cover| {
            let mut p = Power::zeroed(len);
            let [r, g, b] = &mut p.channels;
            kernel.power_row(&rows, Some((1, cover)), [r, g, b]);
            p
        };
        let (absent, full) = (power(0.0), power(1.0));
        let channels = |p: &'_ Power| -> [Vec<f32>; 3] { p.channels.clone() };
        let (a, f) = (channels(&absent), channels(&full));
        let mut between = vec![[0; 4]; len];
        kernel.between_row(1, rows[1], [&a[0], &a[1], &a[2]], [&f[0], &f[1], &f[2]], &mut between);
        let near = whole.iter().flatten().zip(between.iter().flatten()).all(|(a, b)| a.abs_diff(*b) <= 1);
        assert!(near);
    }

    #[test]
    fn the_encoding_is_the_published_curve() {
        for i in 0..=20_000 {
            let c = i as f32 / 20_000.0;
            let exact = srgb_from_linear(f64::from(c)) * 255.0;
            assert!((f64::from(encode(c)) - exact).abs() < 0.6, "{c}");
        }
        assert_eq!(encode(1.0), 255);
        assert_eq!(encode(0.0), 0);
    }
}
