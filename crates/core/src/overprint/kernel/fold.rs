//! Coverages and the polynomial in them.

use super::{BLOCK, Lane};
use crate::overprint::MAX_INKS;
use slipsheet_base::wide::Step;

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
        let (inks, count) = listed(self.active);
        let Self { cover, .. } = self;
        let bottom = [&cover[inks[0]], &cover[inks[1]], &cover[inks[2]], &cover[inks[3]]];
        let mut c = [0.0_f32; 1 << MAX_INKS];
        for (coefficients, v) in self.coefficients.iter().zip(self.v) {
            gather(coefficients, &inks[..count], &mut c);
            let Some(first) = c.first_chunk() else { return };
            match count {
                0 => fold::<0>(first, bottom, v),
                1 => fold::<1>(first, bottom, v),
                2 => fold::<2>(first, bottom, v),
                3 => fold::<3>(first, bottom, v),
                4 => fold::<4>(first, bottom, v),
                _ => fold_deep(&c[..1 << count], bottom, &inks[DIRECT..count], cover, v, self.halves),
            }
        }
    }
}

/// The inks of a mask, and how many they are.
pub(super) fn listed(active: usize) -> ([usize; MAX_INKS], usize) {
    let mut inks = [0; MAX_INKS];
    let mut count = 0;
    for k in (0..MAX_INKS).filter(|k| active >> k & 1 == 1) {
        inks[count] = k;
        count += 1;
    }
    (inks, count)
}

/// The coefficients of these inks alone.
pub(super) fn gather(coefficients: &[f32], inks: &[usize], out: &mut [f32]) {
    if coefficients.len() == 1 << inks.len() {
        out[..coefficients.len()].copy_from_slice(coefficients);
        return;
    }
    for (sub, o) in out[..1 << inks.len()].iter_mut().enumerate() {
        let mask = inks.iter().enumerate().fold(0, |m, (i, k)| m | ((sub >> i & 1) << k));
        *o = coefficients[mask];
    }
}

/// Inks whose polynomial is computed in one expression.
pub(super) const DIRECT: usize = 4;

/// Horner over the first `N` inks: the last one's half of the coefficients is multiplied by its coverage.
#[inline(always)]
pub(super) fn polynomial<const N: usize>(c: &[f32; 1 << DIRECT], [a, b, d, e]: [f32; DIRECT]) -> f32 {
    let two = |i: usize| (c[i] + c[i + 1] * a) + (c[i + 2] + c[i + 3] * a) * b;
    match N {
        0 => c[0],
        1 => c[0] + c[1] * a,
        2 => two(0),
        3 => two(0) + two(4) * d,
        _ => (two(0) + two(4) * d) + (two(8) + two(12) * d) * e,
    }
}

/// The first `N` inks of a block.
#[inline(always)]
fn fold<const N: usize>(c: &[f32; 1 << DIRECT], [a, b, d, e]: [&Lane; DIRECT], out: &mut Lane) {
    for (i, o) in out.iter_mut().enumerate() {
        *o = polynomial::<N>(c, [a[i], b[i], d[i], e[i]]);
    }
}

/// More inks than [`DIRECT`]. Those past it are folded through spare lanes, like a binary counter: a lane
/// holds a finished half until its partner is there.
#[inline(always)]
fn fold_deep(
    c: &[f32],
    bottom: [&Lane; DIRECT],
    upper: &[usize],
    cover: &[Lane; MAX_INKS],
    out: &mut Lane,
    halves: &mut [Lane; MAX_INKS],
) {
    let (groups, _) = c.as_chunks();
    for (group, c) in groups.iter().enumerate() {
        fold::<DIRECT>(c, bottom, out);
        // Join with every half that was waiting for this one.
        let mut level = 0;
        while group >> level & 1 == 1 {
            join(&halves[level], &cover[upper[level]], out);
            level += 1;
        }
        if group + 1 < groups.len() {
            halves[level] = *out;
        }
    }
}

#[inline(always)]
fn join(half: &Lane, cover: &Lane, out: &mut Lane) {
    for ((o, h), a) in out.iter_mut().zip(half).zip(cover) {
        *o = h + *o * a;
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
