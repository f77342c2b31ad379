//! Out of the power space: `v^n`, and one matrix to linear sRGB, brought into its gamut.

use super::Lane;
use super::fold::{DIRECT, polynomial};
use crate::overprint::Overprint;
use slipsheet_base::wide::Step;

/// How the power space is left.
#[derive(Clone)]
pub(super) enum Expand {
    /// n = 1.
    Linear,
    /// n = 1.5.
    OneAndHalf,
    /// n = 2.
    Square,
    /// Any other n: `v^n` in 1024 steps of `v` up to the brightest primary, interpolated.
    Table { steps: Box<[f32; 1026]>, per_unit: f32 },
}

impl Expand {
    pub(super) fn new(model: &Overprint) -> Self {
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
}

/// `v^n` and the matrix, in place.
pub(super) struct Linear<'a> {
    pub(super) expand: &'a Expand,
    pub(super) matrix: &'a [[f32; 3]; 3],
    pub(super) v: &'a mut [Lane; 3],
    /// Set when a channel of a pixel lies outside 0..=1 by more than the encoding forgives.
    pub(super) outside: &'a mut bool,
}

impl Step for Linear<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { expand, matrix, v, outside } = self;
        *outside = match expand {
            Expand::Linear => matrix_of(|v| v, matrix, v),
            Expand::Square => matrix_of(|v| v * v, matrix, v),
            // Rounding can leave a value a hair below nothing, which has no root.
            Expand::OneAndHalf => matrix_of(
                |v| {
                    let positive = if v > 0.0 { v } else { 0.0 };
                    positive * positive.sqrt()
                },
                matrix,
                v,
            ),
            Expand::Table { steps, per_unit } => matrix_of(
                |v| {
                    let at = (v * per_unit).clamp(0.0, 1024.0);
                    let i = at as usize;
                    steps[i] + (steps[i + 1] - steps[i]) * (at - i as f32)
                },
                matrix,
                v,
            ),
        };
    }
}

/// Polynomial, square and matrix in one pass, for up to four inks and n = 2: by far the most blocks of a
/// zine, and at that size the lanes in between cost more than they are worth.
pub(super) struct Direct<'a> {
    pub(super) polynomial: &'a [[f32; 1 << DIRECT]; 3],
    /// The inks that print; as many as `inks` says count.
    pub(super) cover: [&'a Lane; DIRECT],
    pub(super) inks: usize,
    pub(super) matrix: &'a [[f32; 3]; 3],
    pub(super) v: &'a mut [Lane; 3],
    pub(super) outside: &'a mut bool,
}

impl Step for Direct<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { polynomial, cover, inks, matrix, v, outside } = self;
        let square = |v: f32| v * v;
        *outside = match inks {
            1 => to_linear(Polynomial::<1>(polynomial, cover), square, matrix, v),
            2 => to_linear(Polynomial::<2>(polynomial, cover), square, matrix, v),
            3 => to_linear(Polynomial::<3>(polynomial, cover), square, matrix, v),
            _ => to_linear(Polynomial::<DIRECT>(polynomial, cover), square, matrix, v),
        };
    }
}

/// Where [`to_linear`] gets its values from; a trait rather than a closure, because closures of this size are
/// not inlined, and then nothing is vectorised.
trait Source {
    /// The values of pixel `i`, which at present holds `v`.
    fn at(&self, i: usize, v: [f32; 3]) -> [f32; 3];
}

/// The lanes as they are.
struct Present;

impl Source for Present {
    #[inline(always)]
    fn at(&self, _: usize, v: [f32; 3]) -> [f32; 3] {
        v
    }
}

/// The polynomial of the first `N` of the coverages.
struct Polynomial<'a, const N: usize>(&'a [[f32; 1 << DIRECT]; 3], [&'a Lane; DIRECT]);

impl<const N: usize> Source for Polynomial<'_, N> {
    #[inline(always)]
    fn at(&self, i: usize, _: [f32; 3]) -> [f32; 3] {
        let Self([red, green, blue], [a, b, d, e]) = self;
        let a = [a[i], b[i], d[i], e[i]];
        [polynomial::<N>(red, a), polynomial::<N>(green, a), polynomial::<N>(blue, a)]
    }
}

/// A little over 1: white paper must not count as outside because a sum was rounded up. The encoding shows
/// what lies between as 255.
const BRIGHTEST: u32 = 1.000_5_f32.to_bits();

#[inline(always)]
fn matrix_of(power: impl Fn(f32) -> f32, matrix: &[[f32; 3]; 3], v: &mut [Lane; 3]) -> bool {
    to_linear(Present, power, matrix, v)
}

/// The matrix over what `source` gives for each pixel of the block; see [`Source`].
#[inline(always)]
fn to_linear(
    source: impl Source,
    power: impl Fn(f32) -> f32,
    matrix: &[[f32; 3]; 3],
    v: &mut [Lane; 3],
) -> bool {
    let [[m00, m01, m02], [m10, m11, m12], [m20, m21, m22]] = *matrix;
    let [red, green, blue] = v;
    let mut outside = 0_u32;
    for (i, ((r, g), b)) in red.iter_mut().zip(green).zip(blue).enumerate() {
        let [x, y, z] = source.at(i, [*r, *g, *b]);
        let (x, y, z) = (power(x), power(y), power(z));
        *r = m00 * x + m01 * y + m02 * z;
        *g = m10 * x + m11 * y + m12 * z;
        *b = m20 * x + m21 * y + m22 * z;
        // The bits of positive floats are in the order of their values, so the sign bit of one of these is
        // set when a channel is negative or too bright; every processor has the instructions.
        for bits in [r.to_bits(), g.to_bits(), b.to_bits()] {
            outside |= bits | BRIGHTEST.wrapping_sub(bits);
        }
    }
    outside >> 31 == 1
}

/// Brings every pixel of a block into sRGB, keeping its hue: what
/// [`into_gamut`](crate::colour::into_gamut) does, as a loop over lanes.
pub(super) struct BringIn<'a> {
    pub(super) v: &'a mut [Lane; 3],
}

impl Step for BringIn<'_> {
    #[inline(always)]
    fn run(self) {
        let least = |a: f32, b: f32| if a < b { a } else { b };
        let most = |a: f32, b: f32| if a > b { a } else { b };
        let [wr, wg, wb] = LUMINANCE;
        let [red, green, blue] = self.v;
        for ((r, g), b) in red.iter_mut().zip(green).zip(blue) {
            let gray = most(least(wr * *r + wg * *g + wb * *b, 1.0), 0.0);
            let low = least(least(least(*r, *g), *b), 0.0);
            let high = most(most(most(*r, *g), *b), 1.0);
            // Both quotients are 1 where nothing is outside.
            let from_below = gray / most(gray - low, 1e-12);
            let from_above = (1.0 - gray) / most(high - gray, 1e-12);
            let keep = least(from_below, from_above);
            let move_in = |c: f32| {
                let moved = most(least(gray + (c - gray) * keep, 1.0), 0.0);
                // A pixel that is inside keeps its value to the last bit, so that its block does not matter.
                if low < 0.0 || high > 1.0 { moved } else { c }
            };
            (*r, *g, *b) = (move_in(*r), move_in(*g), move_in(*b));
        }
    }
}

/// Luminance of linear sRGB.
const LUMINANCE: [f32; 3] = {
    let [r, g, b] = crate::colour::SRGB_LUMINANCE;
    [r as f32, g as f32, b as f32]
};

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::into_gamut;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_lanes_are_brought_in_like_single_colours(r in -0.5..1.5_f32, g in -0.5..1.5_f32, b in -0.5..1.5_f32) {
            let mut v = [[0.5; super::super::BLOCK]; 3];
            (v[0][7], v[1][7], v[2][7]) = (r, g, b);
            BringIn { v: &mut v }.run();
            let (want, _) = into_gamut([f64::from(r), f64::from(g), f64::from(b)]);
            for (lane, want) in v.iter().zip(want) {
                prop_assert!((f64::from(lane[7]) - want).abs() < 1e-5, "{} is not {}", lane[7], want);
                prop_assert_eq!(lane[8], 0.5);
            }
        }
    }
}
