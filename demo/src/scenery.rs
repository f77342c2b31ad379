//! What the finds lie in: sea and sand, sun, gulls, driftwood, footprints, and the writing that high water leaves.

use crate::crayon::{contour, dot, hatch, pen, rub, solid, stroke};
use crate::field::Field;
use crate::finds::ribbon;
use crate::noise::{Rng, fbm};
use crate::pages::Strip;
use crate::shape::{Bounds, V, blob, distance, ellipse, placed, shaky, smooth, v};
use crate::wash::{Wash, dry_brush, pool};

/// The sun: a disc of wax that fits a hole in the wash exactly, so that any slip shows as a crescent.
pub fn sun(s: &mut Strip, at: V, r: f32, below: Option<f32>) {
    let mut disc = ellipse(at, r, r, 0.0, 90);
    if let Some(y) = below {
        disc.iter_mut().for_each(|p| p.y = p.y.min(y));
    }
    let one = std::slice::from_ref(&disc);
    s.wash.knock_out(one);
    rub(&mut s.weed, one, -28.0, 0.95, 17);
}

/// A gull far off: two strokes of the pen.
pub fn far_gull(field: &mut Field, at: V, span: f32, tilt: f32) {
    let wing = [
        v(-0.5, -0.05),
        v(-0.32, -0.2),
        v(-0.12, -0.12),
        v(0.0, 0.06),
        v(0.14, -0.14),
        v(0.34, -0.24),
        v(0.52, -0.1),
    ];
    pen(field, &smooth(&placed(&wing, at, v(span, span), tilt), false, 6), 0.62, 31);
}

/// A gull that stands and reads, `size` mm long; faces left when `left`.
pub fn gull(s: &mut Strip, at: V, size: f32, left: bool) {
    let k = v(if left { -size } else { size }, size);
    let place = |p: &[V]| placed(p, at, k, 0.0);
    let body = [
        v(0.66, -0.40),
        v(0.60, -0.50),
        v(0.48, -0.52),
        v(0.39, -0.43),
        v(0.30, -0.32),
        v(0.10, -0.26),
        v(-0.15, -0.16),
        v(-0.40, -0.02),
        v(-0.62, 0.06),
        v(-0.42, 0.10),
        v(-0.15, 0.17),
        v(0.12, 0.19),
        v(0.34, 0.10),
        v(0.47, -0.08),
        v(0.56, -0.26),
    ];
    let wing = [
        v(0.30, -0.14),
        v(0.16, -0.20),
        v(-0.08, -0.13),
        v(-0.36, -0.01),
        v(-0.72, 0.10),
        v(-0.40, 0.085),
        v(-0.10, 0.09),
        v(0.16, 0.04),
    ];
    let (body, wing) = (smooth(&place(&body), true, 6), smooth(&place(&wing), true, 6));
    s.wash.knock_out(std::slice::from_ref(&body));
    s.weed.knock_out(std::slice::from_ref(&body));
    s.ink.knock_out(std::slice::from_ref(&body));
    let b = Bounds::around(&wing, 1.0);
    pool(&mut s.wash, b, Wash { wobble: 0.2, seed: 41, ..Wash::default() }, |p| distance(&wing, p), |_| 0.55);
    contour(&mut s.ink, &body, 0.5, 42);
    pen(&mut s.ink, &shaky(&crate::shape::closed(&wing), 0.1, 3), 0.4, 43);
    let tip = smooth(
        &place(&[v(-0.34, 0.0), v(-0.56, 0.04), v(-0.86, 0.13), v(-0.60, 0.12), v(-0.36, 0.09)]),
        true,
        5,
    );
    solid(&mut s.ink, &[tip]);
    for y in [0.0_f32, 0.035] {
        pen(
            &mut s.ink,
            &smooth(&place(&[v(0.14, -0.07 + y), v(-0.1, -0.03 + y), v(-0.34, 0.03 + y)]), false, 6),
            0.28,
            44,
        );
    }
    let beak = place(&[v(0.645, -0.43), v(0.80, -0.355), v(0.84, -0.30), v(0.78, -0.315), v(0.635, -0.345)]);
    s.wash.knock_out(std::slice::from_ref(&beak));
    rub(&mut s.weed, std::slice::from_ref(&beak), 0.0, 1.0, 45);
    contour(&mut s.ink, &beak, 0.3, 46);
    for eye in place(&[v(0.565, -0.425)]) {
        dot(&mut s.ink, eye, size * 0.022, 47);
    }
    for x in [0.06, 0.2] {
        let leg = place(&[v(x, 0.17), v(x + 0.02, 0.32), v(x, 0.47)]);
        stroke(&mut s.weed, &leg, size * 0.045, 1.0, 48);
        pen(&mut s.ink, &leg, 0.3, 48);
        for toe in [v(0.13, 0.05), v(0.09, 0.085), v(-0.04, 0.04)] {
            let toe = place(&[v(x, 0.46), v(x + toe.x, 0.46 + toe.y)]);
            stroke(&mut s.weed, &toe, size * 0.04, 1.0, 49);
            pen(&mut s.ink, &toe, 0.28, 49);
        }
    }
}

/// The small three-toed tracks of a gull along a path.
pub fn tracks(field: &mut Field, path: &[V], size: f32) {
    for (i, pair) in path.windows(2).enumerate() {
        let [a, b] = *pair else { continue };
        let ahead = (b - a).normal();
        let at = a + ahead.side() * if i % 2 == 0 { size * 0.45 } else { -size * 0.45 };
        for turn in [-38.0, 0.0, 38.0] {
            pen(field, &[at, at + ahead.turned(turn) * size], 0.34, 51 + i as u32);
        }
    }
}

/// Boot prints along a path in wet sand, each filled with a little sea; they fade towards the end.
pub fn footprints(s: &mut Strip, path: &[V], size: f32, fade: f32) {
    let n = path.len() as f32;
    for (i, pair) in path.windows(2).enumerate() {
        let [a, b] = *pair else { continue };
        let ahead = (b - a).normal();
        let side = if i % 2 == 0 { 1.0 } else { -1.0 };
        let at = a + ahead.side() * (side * size * 0.34);
        let angle = libm::atan2f(ahead.y, ahead.x).to_degrees() + side * 8.0;
        let strength = 1.0 - fade * i as f32 / n;
        let d = V::direction(angle);
        for (along, rx, ry) in [(0.26, 0.34, 0.2), (-0.36, 0.2, 0.17)] {
            let o = ellipse(at + d * (along * size), rx * size, ry * size, angle, 26);
            let style = Wash {
                wobble: 0.3,
                edge: 0.4 * strength,
                edge_mm: 0.5,
                seed: 60 + i as u32,
                ..Wash::default()
            };
            pool(&mut s.wash, Bounds::around(&o, 1.0), style, |p| distance(&o, p), |_| 0.5 * strength);
            if strength > 0.45 {
                hatch(&mut s.ink, std::slice::from_ref(&o), angle + 90.0, 0.75, 0.62 * strength, 61);
            }
        }
    }
}

/// A stranded plank from `a` to `b`, `width` mm wide, with three nail holes that the grain flows around.
pub fn driftwood(s: &mut Strip, a: V, b: V, width: f32, seed: u32) {
    let (along, length) = ((b - a).normal(), (b - a).length());
    let side = along.side();
    let at = |t: f32, k: f32| {
        let belly = 1.0 + 0.16 * (fbm(t * 3.0, 1.5, seed, 2) - 0.5);
        a + along * (t * length) + side * (k * width * 0.5 * belly + 1.6 * (t - 0.5) * (t - 0.5) * 4.0)
    };
    let mut rng = Rng::new(u64::from(seed));
    let mut plank: Vec<V> = (0..=30).map(|i| at(i as f32 / 30.0, -1.0)).collect();
    // Broken ends: splinters of uneven length.
    let ends = |t: f32, sign: f32, rng: &mut Rng| -> Vec<V> {
        (1..8)
            .map(|i| {
                at(
                    t + sign * (rng.jitter(0.03) + if i % 3 == 0 { 0.02 } else { -0.005 }),
                    (i as f32 / 4.0 - 1.0) * 0.95,
                )
            })
            .collect()
    };
    plank.extend(ends(1.0, 1.0, &mut rng));
    plank.extend((0..=30).rev().map(|i| at(i as f32 / 30.0, 1.0)));
    plank.extend(ends(0.0, -1.0, &mut rng).into_iter().rev());
    let bounds = Bounds::around(&plank, 1.0);
    s.wash.knock_out(std::slice::from_ref(&plank));
    pool(
        &mut s.wash,
        bounds,
        Wash { wobble: 0.25, edge: 0.3, seed, ..Wash::default() },
        |p| distance(&plank, p),
        |_| 0.16,
    );
    hatch(
        &mut s.weed,
        std::slice::from_ref(&plank),
        libm::atan2f(along.y, along.x).to_degrees(),
        1.25,
        0.62,
        seed,
    );
    contour(&mut s.ink, &plank, 0.5, seed);
    let holes = [(0.16, -0.25), (0.52, 0.2), (0.86, -0.2)];
    for line in 0..7 {
        let k = (line as f32 + 0.7) / 3.7 - 1.0;
        let (from, to) = (rng.range(0.01, 0.16), rng.range(0.8, 0.99));
        let grain: Vec<V> = (0..=60)
            .map(|i| {
                let t = from + (to - from) * i as f32 / 60.0;
                let push: f32 = holes
                    .iter()
                    .map(|(ht, hk)| {
                        let (dt, dk) = ((t - ht) * length / width * 1.5, k - hk);
                        0.34 * dk.signum() * libm::expf(-(dt * dt) * 2.0 - dk * dk * 4.0)
                    })
                    .sum();
                at(t, (k + push + 0.12 * (fbm(t * 6.0, k * 2.0, seed, 2) - 0.5)).clamp(-0.92, 0.92))
            })
            .collect();
        pen(&mut s.ink, &grain, 0.3, seed ^ line);
    }
    for (t, k) in holes {
        dot(&mut s.ink, at(t, k), width * 0.085, seed);
    }
}

/// The line that high water writes: a running hand, in weed. `base` gives the line's height at x.
pub fn writing(s: &mut Strip, from: f32, to: f32, base: impl Fn(f32) -> f32, rng: &mut Rng) {
    let mut x = from;
    while x < to - 4.0 {
        let letters = 2 + (rng.unit() * 5.0) as usize;
        let mut points = vec![v(x - 1.0, base(x) + 0.4)];
        for _ in 0..letters {
            if x > to - 3.0 {
                break;
            }
            let kind = rng.unit();
            let small = rng.range(1.9, 2.7);
            let (up, down) = if kind < 0.22 {
                (small + rng.range(2.4, 3.6), 0.2)
            } else if kind < 0.36 {
                (small, 3.2)
            } else {
                (small, 0.2)
            };
            let w = rng.range(1.7, 3.0);
            let y = base(x);
            if rng.unit() < 0.3 {
                // A letter of humps rather than loops.
                points.extend(
                    [
                        (0.1, 0.0),
                        (0.25, -1.9),
                        (0.45, -1.7),
                        (0.5, 0.1),
                        (0.65, -1.8),
                        (0.85, -1.6),
                        (0.95, 0.1),
                    ]
                    .map(|(a, b)| v(x + a * (w + 1.0), y + b)),
                );
                x += w + 1.0;
                continue;
            }
            points.extend([
                v(x + w * 0.75, y - up * 0.55),
                v(x + w * 0.55, y - up),
                v(x + w * 0.15, y - up * 0.6),
                v(x + w * 0.3, y + down * 0.7),
                v(x + w * 0.55, y + down),
            ]);
            if down > 1.0 {
                points.extend([v(x + w * 0.15, y + down * 0.8), v(x + w * 0.7, y - 0.2)]);
            }
            x += w;
        }
        points.push(v(x + 1.2, base(x) - 0.4));
        let path = smooth(&points, false, 7);
        let seed = rng.bits() as u32;
        stroke(&mut s.weed, &path, 1.45, 0.98, seed);
        let shadow: Vec<V> = path.iter().map(|p| *p + v(0.28, 0.26)).collect();
        pen(&mut s.ink, &shaky(&shadow, 0.12, seed), 0.22, seed);
        x += rng.range(3.2, 5.0);
    }
}

/// Small stones and shell grit strewn along a line, where nothing else lies.
pub fn grit(s: &mut Strip, b: Bounds, count: usize, rng: &mut Rng) {
    for i in 0..count {
        let p = v(rng.range(b.x0, b.x1), (b.y0 + b.y1) / 2.0 + rng.jitter((b.y1 - b.y0) / 2.0));
        let (r, seed) = (rng.range(0.12, 0.5), rng.bits() as u32);
        let around = ellipse(p, 1.5, 1.4, 0.0, 12);
        if around.iter().any(|q| s.ink.near(*q) > 0.1 || s.weed.near(*q) > 0.1) {
            continue;
        }
        match i % 6 {
            0 | 3 => {
                let stone = blob(p, r * 1.5 + 0.3, r * 1.1 + 0.25, 0.3, seed);
                rub(&mut s.weed, std::slice::from_ref(&stone), 20.0, 0.9, seed);
                if i % 6 == 3 {
                    contour(&mut s.ink, &stone, 0.26, seed);
                }
            }
            1 => contour(&mut s.ink, &blob(p, r * 1.6 + 0.3, r * 1.2 + 0.25, 0.3, seed), 0.28, seed),
            _ => dot(&mut s.ink, p, r * 0.55, seed),
        }
    }
}

/// How a sea is brushed in.
#[derive(Debug, Clone, Copy)]
pub struct Swell {
    /// Pigment of the strokes.
    pub tone: f32,
    /// Share of the waves that also get a line of the pen.
    pub pen: f32,
}

/// Waves: strokes of the dry brush that grow and part towards the shore, above the line `until`.
pub fn waves(s: &mut Strip, b: Bounds, until: impl Fn(f32) -> f32, swell: Swell, rng: &mut Rng) {
    let rows = ((b.y1 - b.y0) / 2.6) as i32;
    for row in 0..=rows {
        let near = row as f32 / rows.max(1) as f32;
        let y = b.y0 + (b.y1 - b.y0) * near * (0.55 + 0.45 * near);
        let mut x = b.x0 + rng.range(0.0, 14.0);
        while x < b.x1 - 6.0 {
            let length = rng.range(9.0, 24.0) * (0.6 + 0.7 * near);
            let end = (x + length).min(b.x1);
            let lift = rng.range(0.2, 0.7) * (0.4 + near);
            let bend = |share: f32, rise: f32| v(x + (end - x) * share, y - rise * lift);
            let crest = smooth(&[bend(0.0, 0.0), bend(0.3, 1.0), bend(0.65, -0.6), bend(1.0, 0.3)], false, 8);
            let (tone, seed, lined) =
                (swell.tone * rng.range(0.6, 1.1), rng.bits() as u32, rng.unit() < swell.pen);
            if y + 0.8 < until(x).min(until(end)) {
                dry_brush(&mut s.wash, &crest, 0.7 + 1.5 * near, tone, seed);
                if lined {
                    let line: Vec<V> = crest.iter().take(20).map(|p| *p + v(1.0, 0.9)).collect();
                    pen(&mut s.ink, &line, 0.34, seed);
                }
            }
            x = end + rng.range(2.0, 11.0);
        }
    }
}

/// A headland cut from dark paper, its foot on the horizon, running out to the left of `at`.
pub fn headland(field: &mut Field, at: V, length: f32, height: f32, seed: u32) {
    let mut rng = Rng::new(u64::from(seed));
    let profile: [(f32, f32); 9] = [
        (0.02, 0.36),
        (0.10, 0.94),
        (0.24, 1.0),
        (0.36, 0.74),
        (0.50, 0.70),
        (0.62, 0.42),
        (0.80, 0.30),
        (0.93, 0.12),
        (1.0, 0.0),
    ];
    let mut cut: Vec<V> =
        profile.iter().map(|(x, y)| at + v(-x * length, -y * height + rng.jitter(0.5))).collect();
    cut.push(at + v(-length, 0.25));
    cut.push(at + v(0.0, 0.3));
    solid(field, &[cut]);
    // Strata, scratched out of the dark.
    for (x, y, w) in [(0.05, 0.3, 0.36), (0.14, 0.55, 0.2), (0.46, 0.25, 0.22), (0.10, 0.78, 0.1)] {
        let scratch = [at + v(-x * length, -y * height), at + v(-(x + w) * length, -(y - 0.06) * height)];
        field.knock_out(&[ribbon(&shaky(&smooth(&scratch, false, 12), 0.3, seed), 0.42)]);
    }
}

/// Foam: a lacy band of bare paper along the edge of the sea.
pub fn foam(s: &mut Strip, x0: f32, x1: f32, edge: impl Fn(f32) -> f32, width: f32, seed: u32) {
    let path: Vec<V> = (0..=80).map(|i| x0 + (x1 - x0) * i as f32 / 80.0).map(|x| v(x, edge(x))).collect();
    s.wash.knock_out(&[ribbon(&shaky(&path, 0.7, seed), width)]);
    let mut rng = Rng::new(u64::from(seed));
    for _ in 0..((x1 - x0) * 0.9) as usize {
        let x = rng.range(x0, x1);
        let p = v(x, edge(x) - rng.unit() * rng.unit() * 4.0);
        let r = rng.range(0.15, 0.62);
        s.wash.knock_out(&[blob(p, r * 1.5, r, 0.3, seed)]);
    }
}
