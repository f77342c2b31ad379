//! What lies on the strandline: a crab, pebbles, shells. Each draws itself on the three sheets.

use crate::crayon::{contour, dot, hatch, pen, rub, solid, stroke};
use crate::noise::Rng;
use crate::pages::Strip;
use crate::shape::{Bounds, Outline, V, blob, distance, placed, shaky, smooth, v};
use crate::wash::{Wash, pool};

/// A shore crab seen from above, `size` mm across its shell, facing up, turned by `degrees`.
pub fn crab(s: &mut Strip, at: V, size: f32, degrees: f32) {
    let place = |points: &[V]| placed(points, at, v(size, size), degrees);
    let mirror = |points: &[V]| points.iter().map(|p| v(-p.x, p.y)).collect::<Vec<_>>();
    let legs = [
        [v(0.36, 0.02), v(0.74, -0.16), v(0.98, 0.10), v(1.06, 0.30)],
        [v(0.38, 0.12), v(0.80, 0.06), v(1.00, 0.34), v(1.04, 0.54)],
        [v(0.34, 0.20), v(0.70, 0.26), v(0.84, 0.54), v(0.84, 0.72)],
        [v(0.26, 0.28), v(0.52, 0.42), v(0.58, 0.66), v(0.52, 0.82)],
    ];
    for (i, leg) in legs.iter().enumerate() {
        for side in [leg.to_vec(), mirror(leg)] {
            let path = smooth(&place(&side), false, 6);
            stroke(&mut s.weed, &path, size * 0.13, 0.95, 70 + i as u32);
            pen(&mut s.ink, &shaky(&path, 0.2, 5), 0.38, 71 + i as u32);
        }
    }
    let arm = [v(0.34, -0.14), v(0.60, -0.30), v(0.62, -0.52), v(0.50, -0.62)];
    let claw = [
        v(0.52, -0.52),
        v(0.66, -0.60),
        v(0.70, -0.78),
        v(0.58, -0.98),
        v(0.34, -1.06),
        v(0.50, -0.90),
        v(0.50, -0.82),
        v(0.40, -0.84),
        v(0.26, -0.92),
        v(0.30, -0.72),
        v(0.40, -0.56),
    ];
    for side in [false, true] {
        let turn = |p: &[V]| if side { mirror(p) } else { p.to_vec() };
        let arm = ribbon(&smooth(&place(&turn(&arm)), false, 6), size * 0.17);
        s.wash.knock_out(std::slice::from_ref(&arm));
        rub(&mut s.weed, std::slice::from_ref(&arm), degrees + 80.0, 1.0, 80);
        contour(&mut s.ink, &arm, 0.42, 80);
        let pincer = smooth(&place(&turn(&claw)), true, 5);
        s.wash.knock_out(std::slice::from_ref(&pincer));
        rub(&mut s.weed, std::slice::from_ref(&pincer), degrees + 30.0, 1.0, 81);
        contour(&mut s.ink, &pincer, 0.42, 82);
    }
    let shell = [
        v(0.0, -0.34),
        v(0.10, -0.36),
        v(0.16, -0.32),
        v(0.26, -0.33),
        v(0.34, -0.26),
        v(0.44, -0.22),
        v(0.46, -0.12),
        v(0.50, -0.04),
        v(0.46, 0.10),
        v(0.36, 0.26),
        v(0.20, 0.36),
        v(0.0, 0.39),
    ];
    let left = mirror(shell.get(1..11).unwrap_or_default());
    let ring: Vec<V> = shell.iter().chain(left.iter().rev()).copied().collect();
    let shell = smooth(&place(&ring), true, 5);
    // The shell is left white in the wash, so its orange stays clean; the legs print over the water.
    s.wash.knock_out(std::slice::from_ref(&shell));
    s.weed.knock_out(std::slice::from_ref(&shell));
    rub(&mut s.weed, std::slice::from_ref(&shell), degrees + 12.0, 1.0, 83);
    contour(&mut s.ink, &shell, 0.55, 84);
    for k in [-1.0_f32, 1.0] {
        let fold = [v(0.07 * k, -0.12), v(0.2 * k, -0.02), v(0.12 * k, 0.10), v(0.2 * k, 0.2)];
        pen(&mut s.ink, &smooth(&place(&fold), false, 6), 0.42, 85);
        let eye = place(&[v(0.13 * k, -0.36), v(0.15 * k, -0.45)]);
        pen(&mut s.ink, &eye, 0.5, 86);
        if let Some(tip) = eye.last() {
            dot(&mut s.ink, *tip, size * 0.042, 87);
        }
    }
    let mut rng = Rng::new(88);
    for _ in 0..34 {
        let p = v(rng.jitter(0.4), rng.jitter(0.3));
        if let [q] = *place(&[p])
            && distance(&shell, q) < -0.7
        {
            dot(&mut s.ink, q, rng.range(0.1, 0.24), 89);
        }
    }
}

/// The ways a pebble can be marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stone {
    /// Wash with a ring of quartz left white.
    Ringed,
    /// Crayon with ink speckles.
    Speckled,
    /// Ink bands around a wash.
    Banded,
    /// Crayon over wash: the third colour.
    Both,
    /// Dark, with veins left white.
    Veined,
    /// Crayon hatching one way and the other.
    Crossed,
}

/// A pebble `rx` by `ry` mm.
pub fn pebble(s: &mut Strip, at: V, rx: f32, ry: f32, kind: Stone, seed: u32) {
    let o = blob(at, rx, ry, 0.17, seed);
    let one = std::slice::from_ref(&o);
    let style = Wash { wobble: 0.25, edge: 0.34, edge_mm: 0.7, seed, ..Wash::default() };
    let b = Bounds::around(&o, 1.0);
    let wet = |s: &mut Strip, tone: f32| {
        // Darker on the side away from the light, as a round thing is.
        pool(
            &mut s.wash,
            b,
            style,
            |p| distance(&o, p),
            |p| tone * (0.75 + 0.5 * ((p.x - at.x) / rx * 0.4 + (p.y - at.y) / ry * 0.6)),
        );
    };
    match kind {
        Stone::Ringed => {
            wet(s, 0.62);
            let arc: Vec<V> = (-7..=7)
                .map(|i| {
                    at + v(i as f32 / 6.0 * rx, -ry * 0.25 + rx * 0.02 * (i * i) as f32 / 3.0).turned(-18.0)
                })
                .collect();
            let ring = ribbon(&shaky(&smooth(&arc, false, 4), 0.25, seed), 0.75);
            s.wash.knock_out(&[ring]);
        }
        Stone::Speckled => {
            rub(&mut s.weed, one, 25.0, 0.7, seed);
            let mut rng = Rng::new(u64::from(seed));
            for _ in 0..70 {
                let p = at + v(rng.range(-rx, rx), rng.range(-ry, ry));
                if distance(&o, p) < -0.5 {
                    dot(&mut s.ink, p, rng.range(0.1, 0.3), seed);
                }
            }
        }
        Stone::Banded => {
            wet(s, 0.3);
            for i in -3..=3_i32 {
                let y = i as f32 * ry * 0.27;
                let half = rx * (1.0 - (y / ry) * (y / ry)).max(0.0).sqrt() * 0.92;
                let line = [at + v(-half, y), at + v(0.0, y + ry * 0.12), at + v(half, y)];
                pen(
                    &mut s.ink,
                    &shaky(&smooth(&line, false, 8), 0.3, seed),
                    if i % 2 == 0 { 0.9 } else { 0.35 },
                    seed,
                );
            }
        }
        Stone::Both => {
            wet(s, 0.5);
            rub(&mut s.weed, one, -35.0, 0.72, seed);
        }
        Stone::Veined => {
            solid(&mut s.ink, one);
            for (a, b, w) in [(-1.0, 0.5, 0.7), (0.9, 0.6, 0.4), (-0.2, 1.0, 0.3)] {
                let line = [at + v(-rx, ry * a), at + v(rx * 0.1, ry * 0.1), at + v(rx * b, ry * 1.1)];
                s.ink.knock_out(&[ribbon(&shaky(&smooth(&line, false, 10), 0.5, seed), w)]);
            }
            return;
        }
        Stone::Crossed => {
            hatch(&mut s.weed, one, 35.0, 1.1, 0.75, seed);
            hatch(&mut s.weed, one, -50.0, 1.3, 0.6, seed ^ 1);
        }
    }
    contour(&mut s.ink, &o, 0.38, seed ^ 2);
}

/// A band of even width around a path.
pub fn ribbon(path: &[V], width: f32) -> Outline {
    let edge = |k: f32| -> Vec<V> {
        path.windows(2)
            .filter_map(|w| {
                if let [a, b] = *w { Some(a + (b - a).normal().side() * (k * width / 2.0)) } else { None }
            })
            .collect()
    };
    edge(1.0).into_iter().chain(edge(-1.0).into_iter().rev()).collect()
}

/// A fan shell `r` mm high, its hinge at `at`, opening towards `degrees`.
pub fn scallop(s: &mut Strip, at: V, r: f32, degrees: f32, seed: u32) {
    let rim = |k: f32, i: i32| {
        let a = i as f32 / 12.0 * 62.0;
        let wave = 1.0 + 0.03 * if i.rem_euclid(2) == 0 { 1.0 } else { -1.0 };
        at + V::direction(degrees + a) * (r * k * wave * (1.0 - 0.0012 * (a * a) / 10.0))
    };
    let mut fan = vec![at + V::direction(degrees + 100.0) * (r * 0.1)];
    fan.push(at + V::direction(degrees - 100.0) * (r * 0.1));
    fan.extend((-12..=12).map(|i| rim(1.0, i)));
    rub(&mut s.weed, std::slice::from_ref(&fan), degrees, 0.55, seed);
    for i in (-10..=10).step_by(4) {
        stroke(&mut s.weed, &[rim(0.2, i), rim(0.97, i)], r * 0.09, 0.9, seed);
    }
    contour(&mut s.ink, &fan, 0.4, seed);
    for i in (-8..=8).step_by(4) {
        pen(&mut s.ink, &shaky(&[rim(0.15, i), rim(0.55, i), rim(0.93, i)], 0.15, seed), 0.28, seed);
    }
}

/// A whelk: a spiral in ink over wax, `r` mm at its mouth.
pub fn spiral(s: &mut Strip, at: V, r: f32, degrees: f32, seed: u32) {
    let turns = |t: f32| at + V::direction(degrees + t * 360.0) * (r * libm::expf(-0.72 * t));
    let path: Vec<V> = (0..90).map(|i| turns(i as f32 / 90.0 * 3.1)).collect();
    let body: Outline = (0..40).map(|i| turns(i as f32 / 40.0)).collect();
    rub(&mut s.weed, &[body], degrees, 0.6, seed);
    pen(&mut s.ink, &shaky(&path, 0.12, seed), 0.5, seed);
}
