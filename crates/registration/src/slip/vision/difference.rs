//! CIEDE2000 for many samples at once, in plain arithmetic that compilers spread over lanes.
//!
//! The formula of ISO/CIE 11664-6 without a call: the middle hue is the direction of the sum of two unit
//! vectors, the sines and cosines of its multiples are products, and what is left (a cube root, one angle, one
//! bell curve, one sine) are short series. Off the exact one by less than 0.01, which the tests assert.

use slipsheet_base::wide::Step;

/// Samples worked on at once.
pub(crate) const LANES: usize = 64;

/// One value a sample.
pub(crate) type Lane = [f32; LANES];

/// Opponent values that differ by less are the same to the eye.
const SAME: f32 = 2e-4;

/// How far samples differ from those of the perfect print.
pub(crate) struct Differences<'a> {
    /// From opponent values to XYZ.
    pub(crate) xyz_from_opponent: &'a [[f32; 3]; 3],
    /// The perfect print: opponent values, and colours as Lab.
    pub(crate) perfect: [&'a [f32]; 3],
    pub(crate) colours: [&'a [f32]; 3],
    pub(crate) seen: [&'a [f32]; 3],
    /// CIEDE2000; 0 where the eye sees the same. All slices are as long as this.
    pub(crate) out: &'a mut [f32],
}

impl Step for Differences<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { xyz_from_opponent, perfect, colours, seen, out } = self;
        for (i, out) in out.chunks_mut(LANES).enumerate() {
            let mut copies = [[0.0; LANES]; 9];
            let [p0, p1, p2, c0, c1, c2, s0, s1, s2] = &mut copies;
            let perfect = [lane(perfect[0], i, p0), lane(perfect[1], i, p1), lane(perfect[2], i, p2)];
            let seen = [lane(seen[0], i, s0), lane(seen[1], i, s1), lane(seen[2], i, s2)];
            let mut changed = [0; LANES];
            if !moved(perfect, seen, &mut changed) {
                out.fill(0.0);
                continue;
            }
            let colours = [lane(colours[0], i, c0), lane(colours[1], i, c1), lane(colours[2], i, c2)];
            let mut differences = [0.0; LANES];
            differ(xyz_from_opponent, colours, seen, &changed, &mut differences);
            out.copy_from_slice(differences.get(..out.len()).unwrap_or(&[]));
        }
    }
}

/// Opponent values as Lab, under D50 and for a white of Y = 1.
pub(crate) fn lab_of(xyz_from_opponent: &[[f32; 3]; 3], [o0, o1, o2]: [f32; 3]) -> [f32; 3] {
    let [x, y, z] = xyz_from_opponent;
    let [wx, wy, wz] = WHITE;
    let f = |row: &[f32; 3], white: f32| response((row[0] * o0 + row[1] * o1 + row[2] * o2) * (1.0 / white));
    lab([f(x, wx), f(y, wy), f(z, wz)])
}

/// The samples of a chunk, where they lie if there are enough; else copied.
#[inline(always)]
fn lane<'a>(all: &'a [f32], chunk: usize, copy: &'a mut Lane) -> &'a Lane {
    let rest = all.get(chunk * LANES..).unwrap_or(&[]);
    if let Some(whole) = rest.first_chunk() {
        return whole;
    }
    for (to, from) in copy.iter_mut().zip(rest) {
        *to = *from;
    }
    copy
}

/// Marks the samples that the eye sees otherwise with ones; whether there are any.
#[inline(always)]
fn moved(perfect: [&Lane; 3], seen: [&Lane; 3], changed: &mut [u32; LANES]) -> bool {
    let mut any = 0;
    for i in 0..LANES {
        let off = |c: usize| u32::from((perfect[c][i] - seen[c][i]).abs() > SAME);
        changed[i] = off(0) | off(1) | off(2);
        any |= changed[i];
    }
    any != 0
}

#[inline(always)]
fn differ(
    xyz_from_opponent: &[[f32; 3]; 3],
    [l, a, b]: [&Lane; 3],
    seen: [&Lane; 3],
    changed: &[u32; LANES],
    out: &mut Lane,
) {
    let mut f = [[0.0; LANES]; 3];
    for ((f, row), white) in f.iter_mut().zip(xyz_from_opponent).zip(WHITE) {
        responses(row, white, seen, f);
    }
    let [x, y, z] = &f;
    for i in 0..LANES {
        let e = ciede2000([l[i], a[i], b[i]], lab([x[i], y[i], z[i]]));
        out[i] = if changed[i] != 0 { e } else { 0.0 };
    }
}

/// One of X, Y and Z as Lab weighs it. A loop of its own, or compilers pack the three of a sample instead of
/// the samples.
#[inline(always)]
fn responses(row: &[f32; 3], white: f32, [s0, s1, s2]: [&Lane; 3], out: &mut Lane) {
    for i in 0..LANES {
        out[i] = response((row[0] * s0[i] + row[1] * s1[i] + row[2] * s2[i]) * (1.0 / white));
    }
}

/// The cube root, and a line below it for the dark.
#[inline(always)]
fn response(t: f32) -> f32 {
    let root = cube_root(if t > 1e-6 { t } else { 1e-6 });
    if t > 216.0 / 24389.0 { root } else { (24389.0 / 27.0 * t + 16.0) / 116.0 }
}

#[inline(always)]
fn lab([x, y, z]: [f32; 3]) -> [f32; 3] {
    let lightness = 116.0 * y - 16.0;
    [if lightness > 0.0 { lightness } else { 0.0 }, 500.0 * (x - y), 200.0 * (y - z)]
}

/// D50, as colours are kept.
const WHITE: [f32; 3] = [0.964_22, 1.0, 0.825_21];

/// By a guess from the exponent and two of Halley's steps.
#[inline(always)]
fn cube_root(v: f32) -> f32 {
    let step = |y: f32| {
        let cube = y * y * y;
        y * ((cube + 2.0 * v) / (2.0 * cube + v))
    };
    step(step(f32::from_bits(v.to_bits() / 3 + 0x2a51_4067)))
}

/// 25 to the power 7, as near as it goes.
const KNEE: f32 = 6_103_515_600.0;

/// How near a chroma is to the saturated end, 0..=1: the root that the stretch of a and the turn share.
#[inline(always)]
fn saturation(chroma: f32) -> f32 {
    let square = chroma * chroma;
    let seventh = square * square * square * chroma;
    (seventh / (seventh + KNEE)).sqrt()
}

/// The difference of two Lab colours, all weights 1.
#[inline(always)]
pub(crate) fn ciede2000([l1, a1, b1]: [f32; 3], [l2, a2, b2]: [f32; 3]) -> f32 {
    let chroma = |a: f32, b: f32| (a * a + b * b).sqrt();
    let stretch = 1.5 - 0.5 * saturation(0.5 * (chroma(a1, b1) + chroma(a2, b2)));
    let (a1, a2) = (a1 * stretch, a2 * stretch);
    let (c1, c2) = (chroma(a1, b1), chroma(a2, b2));

    // 2 sqrt(c1 c2) sin(dh / 2), each way where it loses nothing to cancellation.
    let (product, dot) = (c1 * c2, a1 * a2 + b1 * b2);
    let cross = a1 * (b2 - b1) - b1 * (a2 - a1);
    let near = cross * (2.0 / (product + if dot > 0.0 { dot } else { 1e-20 })).sqrt();
    let apart = 2.0 * (product - dot);
    let far = (if apart > 0.0 { apart } else { 0.0 }).sqrt();
    let far = if cross < 0.0 { -far } else { far };
    let hue = if dot > 0.0 { near } else { far };

    let (cos, sin) = middle_hue([a1, b1, c1], [a2, b2, c2]);
    let middle_c = 0.5 * (c1 + c2);
    let off = 0.5 * (l1 + l2) - 50.0;
    let scale_l = 1.0 + 0.015 * off * off / (20.0 + off * off).sqrt();
    let lightness = (l2 - l1) / scale_l;
    let chroma = (c2 - c1) / (1.0 + 0.045 * middle_c);
    let hue = hue / (1.0 + 0.015 * middle_c * hue_weight(cos, sin));
    let turn = -2.0 * saturation(middle_c) * rotation(cos, sin);
    let sum = lightness * lightness + chroma * chroma + hue * hue + turn * chroma * hue;
    (if sum > 0.0 { sum } else { 0.0 }).sqrt()
}

/// Cosine and sine of the hue between two: that of the sum of their unit vectors, or of the one that has a hue.
#[inline(always)]
fn middle_hue([a1, b1, c1]: [f32; 3], [a2, b2, c2]: [f32; 3]) -> (f32, f32) {
    let unit = |c: f32| if c > 1e-6 { 1.0 / c } else { 0.0 };
    let (u1, u2) = (unit(c1), unit(c2));
    let (x, y) = (a1 * u1 + a2 * u2, b1 * u1 + b2 * u2);
    let length = (x * x + y * y).sqrt();
    let any = length > 1e-6;
    let inverse = if any { 1.0 / length } else { 0.0 };
    (if any { x * inverse } else { 1.0 }, y * inverse)
}

/// T: 1 - 0.17 cos(h - 30) + 0.24 cos 2h + 0.32 cos(3h + 6) - 0.20 cos(4h - 63), in degrees.
#[inline(always)]
fn hue_weight(c: f32, s: f32) -> f32 {
    let (c2, s2) = (c * c - s * s, 2.0 * c * s);
    let (c3, s3) = (c * c2 - s * s2, s * c2 + c * s2);
    let (c4, s4) = (c2 * c2 - s2 * s2, 2.0 * c2 * s2);
    1.0 - 0.17 * (0.866_025_4 * c + 0.5 * s) + 0.24 * c2 + 0.32 * (0.994_521_9 * c3 - 0.104_528_46 * s3)
        - 0.20 * (0.453_990_5 * c4 + 0.891_006_5 * s4)
}

/// sin(2 * 30 degrees * exp(-((h - 275) / 25)^2)); beyond a quarter turn from 275 degrees it is nothing.
#[inline(always)]
fn rotation(c: f32, s: f32) -> f32 {
    let (cos, sin) = (0.087_155_74 * c - 0.996_194_7 * s, 0.087_155_74 * s + 0.996_194_7 * c);
    let near = cos > 0.0;
    // The tangent of half the angle, 0..=1, and of it the arc by Abramowitz and Stegun 4.4.47.
    let t = sin / (1.0 + if near { cos } else { 0.0 });
    let q = t * t;
    let series = 0.999_866 + q * (-0.330_299_5 + q * (0.180_141 + q * (-0.085_133 + q * 0.020_835_1)));
    // In units of 25 degrees.
    let angle = t * series * (2.0 * 180.0 / std::f32::consts::PI / 25.0);
    // exp(-z) as the sixteenth power of a short series.
    let z = angle * angle * (1.0 / 16.0);
    let e = 1.0 - z * (1.0 - z / 2.0 * (1.0 - z / 3.0 * (1.0 - z / 4.0 * (1.0 - z / 5.0 * (1.0 - z / 6.0)))));
    let fourth = e * e * (e * e);
    let bell = fourth * fourth * (fourth * fourth);
    let x = bell * std::f32::consts::FRAC_PI_3;
    let q = x * x;
    let sine = x * (1.0 - q / 6.0 * (1.0 - q / 20.0 * (1.0 - q / 42.0 * (1.0 - q / 72.0))));
    if near { sine } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slip::vision::{Back, OPPONENT};
    use proptest::prelude::*;
    use slipsheet_base::wide::Width;
    use slipsheet_core::colour::{Lab, Xyz};

    fn exact(a: [f32; 3], b: [f32; 3]) -> f64 {
        let lab = |[l, a, b]: [f32; 3]| Lab::new(l.into(), a.into(), b.into()).unwrap();
        lab(a).ciede2000(lab(b))
    }

    fn opponent(lab: Lab) -> [f32; 3] {
        let Xyz { x, y, z } = lab.xyz();
        OPPONENT.map(|o| (o[0] * x + o[1] * y + o[2] * z) as f32)
    }

    #[test]
    fn colours_of_every_hue_differ_as_the_formula_says() {
        // Around the circle, also where hues lie opposite each other, wrap, have no chroma, or turn (275 degrees).
        let polar = |l: f32, c: f64, h: f64| {
            let (sin, cos) = libm::sincos(h.to_radians());
            [l, (c * cos) as f32, (c * sin) as f32]
        };
        for h in (0..360).map(f64::from) {
            for (c1, c2) in [(0.0, 30.0), (2.0, 2.5), (25.0, 40.0), (90.0, 90.0)] {
                for off in [0.0, 0.5, 5.0, 40.0, 120.0, 177.0, 183.0] {
                    let (a, b) = (polar(60.0, c1, h), polar(57.0, c2, h + off));
                    let (quick, exact) = (f64::from(ciede2000(a, b)), exact(a, b));
                    assert!((quick - exact).abs() < 0.005, "{a:?} {b:?}: {quick} for {exact}");
                }
            }
        }
    }

    proptest! {
        #[test]
        fn any_two_colours_differ_as_the_formula_says(
            (l, a, b) in (0.0_f32..100.0, -110.0_f32..110.0, -110.0_f32..110.0),
            (dl, da, db) in (-1.0_f32..1.0, -1.0_f32..1.0, -1.0_f32..1.0),
            far in prop::sample::select(vec![0.01_f32, 1.0, 20.0, 80.0]),
        ) {
            let other = [(l + far * dl).clamp(0.0, 150.0), a + far * da, b + far * db];
            let (quick, exact) = (f64::from(ciede2000([l, a, b], other)), exact([l, a, b], other));
            // Hues that lie opposite each other have two middles, and rounding may pick the other one.
            let dot = a * other[1] + b * other[2];
            let opposite = dot < -0.999 * (libm::hypotf(a, b) * libm::hypotf(other[1], other[2]));
            prop_assert!(opposite || (quick - exact).abs() < 0.01, "{quick} for {exact}");
        }

        #[test]
        fn what_is_seen_differs_alike_on_every_processor(
            labs in prop::collection::vec((5.0..98.0_f64, -60.0..60.0_f64, -60.0..60.0_f64), 1..150),
            moved in 0.0..3.0_f64,
        ) {
            let m = Back::default().xyz_from_opponent();
            let lab = |(l, a, b): (f64, f64, f64)| Lab::new(l, a, b).unwrap();
            let was: Vec<[f32; 3]> = labs.iter().map(|v| opponent(lab(*v))).collect();
            // Every third stays.
            let off = |i: usize| if i.is_multiple_of(3) { 0.0 } else { moved };
            let now: Vec<[f32; 3]> =
                labs.iter().enumerate().map(|(i, v)| opponent(lab((v.0 + off(i), v.1 - off(i), v.2)))).collect();
            let colours: Vec<[f32; 3]> = was.iter().map(|o| lab_of(&m, *o)).collect();
            let planes = |all: &[[f32; 3]]| -> [Vec<f32>; 3] {
                std::array::from_fn(|c| all.iter().map(|v| v[c]).collect())
            };
            let (perfect, colours, seen) = (planes(&was), planes(&colours), planes(&now));
            let run = |width: Width| {
                let mut out = vec![-1.0; was.len()];
                width.run(Differences {
                    xyz_from_opponent: &m,
                    perfect: perfect.each_ref().map(|c| &c[..]),
                    colours: colours.each_ref().map(|c| &c[..]),
                    seen: seen.each_ref().map(|c| &c[..]),
                    out: &mut out,
                });
                out
            };
            let out = run(Width::Portable);
            for (i, got) in out.iter().enumerate() {
                let back = Back::default();
                let exact = back.lab(now[i]).ciede2000(back.lab(was[i]));
                let same = (0..3).all(|c| (now[i][c] - was[i][c]).abs() <= SAME);
                let near = if same { *got == 0.0 } else { (f64::from(*got) - exact).abs() < 0.01 };
                prop_assert!(near, "{} for {}", got, exact);
            }
            for width in Width::all() {
                prop_assert_eq!(&run(width), &out);
            }
        }
    }
}
