//! The pixel kernel: rows of gray in, rows of sRGB out.
//!
//! The mixture of primaries is multilinear in the coverages, so for a block of pixels it is evaluated as a
//! polynomial: with `c_S` the Moebius transform of the primaries in the `1/n` power space,
//! `v = sum_S c_S prod_{k in S} a_k`, folded ink by ink (Horner). Then `v^n`, one matrix to linear sRGB,
//! the transfer curve, and bytes. Inks that are absent from a block are left out of the polynomial, and a
//! block without any is one colour.
//!
//! **Invariant:** every processor gives the same bytes. The steps are plain loops, compiled once more for
//! each [`Width`]; none fuses a multiplication with an addition or takes an approximate root.

mod encode;
mod finish;
mod fold;
mod permute;

use crate::colour::SRGB_FROM_LIGHT;
use crate::overprint::{MAX_INKS, Overprint};
use encode::encode;
use finish::{BringIn, Direct, Expand, Linear};
use fold::{Between, DIRECT, Fold, LookUp};
use slipsheet_base::wide::Width;

/// Pixels in a block.
pub const BLOCK: usize = 256;

/// One value a pixel of a block.
type Lane = [f32; BLOCK];

/// Everything a row needs, made once per model and set of tone curves.
#[derive(Clone)]
pub struct Kernel {
    inks: usize,
    /// Coverage by gray, per ink.
    tables: Vec<[f32; 256]>,
    /// The same for processors that permute, see [`permute`]; empty for others.
    #[cfg(target_arch = "x86_64")]
    planes: Vec<permute::Planes>,
    /// Per ink, the darkest gray from which on nothing prints; 256 when white prints too.
    blank_from: Vec<u16>,
    /// Moebius coefficients per channel.
    coefficients: [Vec<f32>; 3],
    expand: Expand,
    matrix: [[f32; 3]; 3],
    width: Width,
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
    halves: [Lane; MAX_INKS],
    direct: DirectInks,
}

/// The polynomial of the inks of the last block that had few.
#[derive(Default)]
struct DirectInks {
    active: usize,
    inks: [usize; MAX_INKS],
    polynomial: [[f32; 1 << DIRECT]; 3],
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
        Self {
            inks,
            #[cfg(target_arch = "x86_64")]
            planes: tables.iter().filter_map(permute::Planes::new).collect(),
            tables,
            blank_from,
            coefficients,
            expand: Expand::new(model),
            matrix,
            width: Width::widest(),
        }
    }

    /// The same kernel without the instructions of newer processors; the bytes are the same.
    #[must_use]
    pub fn portable(mut self) -> Self {
        self.width = Width::Portable;
        #[cfg(target_arch = "x86_64")]
        self.planes.clear();
        self
    }

    /// One row of opaque sRGB pixels `[r, g, b, 255]` from one row of gray per ink, in printing order.
    /// A row of gray shorter than `out` is white beyond its end.
    pub fn row(&self, grays: &[&[u8]], out: &mut [[u8; 4]]) {
        let mut scratch = Scratch::new();
        let mut paper = [[0; 4]];
        self.mix(0, &mut scratch);
        self.finish(&mut scratch.v, &mut paper);
        let [paper] = paper;
        for (i, block) in out.chunks_mut(BLOCK).enumerate() {
            let active = self.load(grays, i * BLOCK, block.len(), &mut scratch);
            if active == 0 {
                block.fill(paper);
                continue;
            }
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
        let (mut scratch, mut copy) = (Scratch::new(), [0; BLOCK]);
        for (i, block) in out.chunks_mut(BLOCK).enumerate() {
            let (at, len) = (i * BLOCK, block.len());
            let Scratch { cover: [cover, ..], v, .. } = &mut scratch;
            self.look_up(ink, block_of(gray, at, len, &mut copy), cover);
            let absent = absent.map(|row| row.get(at..at + len).unwrap_or(&[]));
            let full = full.map(|row| row.get(at..at + len).unwrap_or(&[]));
            self.width.run(Between { cover, absent, full, v });
            self.finish(v, block);
        }
    }

    /// Looks up the coverages of a block; the mask of inks that print in it comes back.
    fn load(&self, grays: &[&[u8]], at: usize, len: usize, scratch: &mut Scratch) -> usize {
        let (mut active, mut copy) = (0, [0; BLOCK]);
        for (k, cover) in scratch.cover.iter_mut().enumerate().take(self.inks) {
            let gray = block_of(grays.get(k).copied().unwrap_or(&[]), at, len, &mut copy);
            // In stretches, so that a block that prints is told early.
            let prints = gray.chunks(BLOCK / 4).any(|stretch| {
                let darkest = stretch.iter().fold(255, |m, g| if *g < m { *g } else { m });
                u16::from(darkest) < self.blank_from[k]
            });
            if prints {
                self.look_up(k, gray, cover);
                active |= 1 << k;
            }
        }
        active
    }

    fn look_up(&self, ink: usize, gray: &[u8; BLOCK], cover: &mut Lane) {
        #[cfg(target_arch = "x86_64")]
        if let Some(planes) = self.planes.get(ink) {
            planes.look_up(gray, cover);
            return;
        }
        let Some(table) = self.tables.get(ink) else {
            cover.fill(0.0);
            return;
        };
        self.width.run(LookUp { table, gray, cover });
    }

    /// The polynomial of the active inks.
    fn mix(&self, active: usize, scratch: &mut Scratch) {
        let Scratch { cover, v, halves, .. } = scratch;
        self.width.run(Fold { coefficients: &self.coefficients, active, cover, v, halves });
    }

    /// From coverages to bytes.
    fn colour(&self, active: usize, scratch: &mut Scratch, out: &mut [[u8; 4]]) {
        let count = active.count_ones() as usize;
        if !(1..=DIRECT).contains(&count) || !matches!(self.expand, Expand::Square) {
            self.mix(active, scratch);
            self.finish(&mut scratch.v, out);
            return;
        }
        let Scratch { cover, v, direct, .. } = scratch;
        // The inks of a block are mostly those of the block before.
        if direct.active != active {
            direct.active = active;
            (direct.inks, _) = fold::listed(active);
            for (to, from) in direct.polynomial.iter_mut().zip(&self.coefficients) {
                fold::gather(from, &direct.inks[..count], to);
            }
        }
        let (inks, polynomial) = (&direct.inks, &direct.polynomial);
        let cover = [&cover[inks[0]], &cover[inks[1]], &cover[inks[2]], &cover[inks[3]]];
        let mut outside = false;
        let matrix = &self.matrix;
        self.width.run(Direct { polynomial, cover, inks: count, matrix, v, outside: &mut outside });
        self.encode(v, outside, out);
    }

    /// From the power space to bytes.
    fn finish(&self, v: &mut [Lane; 3], out: &mut [[u8; 4]]) {
        let mut outside = false;
        self.width.run(Linear { expand: &self.expand, matrix: &self.matrix, v, outside: &mut outside });
        self.encode(v, outside, out);
    }

    /// From linear sRGB to bytes.
    fn encode(&self, v: &mut [Lane; 3], outside: bool, out: &mut [[u8; 4]]) {
        if outside {
            self.width.run(BringIn { v });
        }
        encode(self.width, v, out);
    }
}

/// The grays of a block of a row, where they lie if the row has them all; else copied, and white past `len`
/// and past the end of the row.
fn block_of<'a>(row: &'a [u8], at: usize, len: usize, copy: &'a mut [u8; BLOCK]) -> &'a [u8; BLOCK] {
    let gray = row.get(at..).unwrap_or(&[]);
    if let Some(whole) = gray.first_chunk().filter(|_| len == BLOCK) {
        return whole;
    }
    let gray = &gray[..gray.len().min(len)];
    copy.fill(255);
    copy[..gray.len()].copy_from_slice(gray);
    copy
}

impl Scratch {
    fn new() -> Self {
        Self {
            cover: [[0.0; BLOCK]; MAX_INKS],
            v: [[0.0; BLOCK]; 3],
            halves: [[0.0; BLOCK]; MAX_INKS],
            direct: DirectInks::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::Lab;
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
                for width in Width::all() {
                    let mut other = vec![[0; 4]; len];
                    Kernel { width, ..kernel.clone().portable() }.row(&rows, &mut other);
                    assert!(out == other, "{width:?} gives other bytes");
                }
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
}
