//! Coverages and the polynomial in them.

use super::wide::Step;
use super::{BLOCK, Lane};
use crate::overprint::MAX_INKS;

/// Looks up the coverages of a block from its grays.
pub(super) struct LookUp<'a> {
    pub(super) table: &'a [f32; 256],
    pub(super) gray: &'a [u8; BLOCK],
    pub(super) cover: &'a mut Lane,
}

impl Step for LookUp<'_> {
    #[inline(always)]
    fn run(self) {
        look_up(self.table, self.gray, self.cover);
    }
}

/// Apart from its step because only arguments are known not to overlap, without which nothing is gathered.
#[inline(always)]
fn look_up(table: &[f32; 256], gray: &[u8; BLOCK], cover: &mut Lane) {
    for (cover, gray) in cover.iter_mut().zip(gray) {
        *cover = table[usize::from(*gray)];
    }
}

/// The polynomial of the active inks, per channel.
pub(super) struct Fold<'a> {
    /// Moebius coefficients of all inks, per channel.
    pub(super) coefficients: &'a [Vec<f32>; 3],
    /// The inks that print in this block, by bit.
    pub(super) active: usize,
    pub(super) cover: &'a [Lane; MAX_INKS],
    pub(super) v: &'a mut [Lane; 3],
    pub(super) halves: &'a mut [Lane; MAX_INKS],
}

impl Step for Fold<'_> {
    #[inline(always)]
    fn run(self) {
        let mut inks = [0_usize; MAX_INKS];
        let mut count = 0;
        for k in (0..MAX_INKS).filter(|k| self.active >> k & 1 == 1) {
            inks[count] = k;
            count += 1;
        }
        let inks = &inks[..count];
        let mut gathered = [0.0_f32; 1 << MAX_INKS];
        for (coefficients, v) in self.coefficients.iter().zip(self.v) {
            let coefficients = if coefficients.len() == 1 << count {
                &coefficients[..]
            } else {
                for (sub, g) in gathered[..1 << count].iter_mut().enumerate() {
                    let mask = inks.iter().enumerate().fold(0, |m, (i, k)| m | ((sub >> i & 1) << k));
                    *g = coefficients[mask];
                }
                &gathered[..1 << count]
            };
            fold(coefficients, inks, self.cover, v, self.halves);
        }
    }
}

/// Horner over the inks: the last ink's half of the coefficients first, three inks at once at the bottom.
#[inline(always)]
fn fold(c: &[f32], inks: &[usize], cover: &[Lane; MAX_INKS], out: &mut Lane, halves: &mut [Lane; MAX_INKS]) {
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
        _ => fold_deep(c, inks, cover, out, halves),
    }
}

/// Three and more inks. Inks past the third are folded through spare lanes, like a binary counter: a lane
/// holds a finished half until its partner is there.
#[inline(always)]
fn fold_deep(
    c: &[f32],
    inks: &[usize],
    cover: &[Lane; MAX_INKS],
    out: &mut Lane,
    halves: &mut [Lane; MAX_INKS],
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
            let (half, a) = (&halves[level], &cover[upper[level]]);
            for ((o, h), a) in out.iter_mut().zip(half).zip(a) {
                *o = h + *o * a;
            }
            level += 1;
        }
        if group + 1 < groups {
            halves[level] = *out;
        }
    }
}

/// The lanes between two rows of the power space: `absent + cover * (full - absent)`.
pub(super) struct Between<'a> {
    pub(super) cover: &'a Lane,
    pub(super) absent: [&'a [f32]; 3],
    pub(super) full: [&'a [f32]; 3],
    pub(super) v: &'a mut [Lane; 3],
}

impl Step for Between<'_> {
    #[inline(always)]
    fn run(self) {
        for ((v, a), f) in self.v.iter_mut().zip(self.absent).zip(self.full) {
            for (((v, a), f), cover) in v.iter_mut().zip(a).zip(f).zip(self.cover) {
                *v = a + cover * (f - a);
            }
        }
    }
}
