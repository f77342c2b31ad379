//! Weed: bladderwrack that forks in two, and kelp with ruffled edges.

use crate::crayon::{contour, dot, pen, rub, stroke};
use crate::noise::{Rng, fbm, screen, smoothstep};
use crate::pages::Strip;
use crate::shape::{Outline, V, blob, ellipse, shaky, smooth, v};

/// One length of a bladderwrack, from which the rest forks.
#[derive(Debug, Clone, Copy)]
pub struct Frond {
    /// Where it starts.
    pub at: V,
    /// Where it heads, degrees clockwise from the right.
    pub heading: f32,
    /// Length of this piece, mm.
    pub length: f32,
    /// Width of the strap, mm.
    pub width: f32,
    /// Forks still to come.
    pub forks: u32,
    /// Turn of each branch away from the stem at the next fork, degrees.
    pub spread: f32,
}

/// The parts of a plant, gathered before they are drawn so that they print as one.
#[derive(Debug, Default)]
struct Plant {
    straps: Vec<(Vec<V>, f32)>,
    tips: Vec<Outline>,
    bladders: Vec<(V, f32)>,
}

/// Bladderwrack: flat straps that fork in two, a midrib, air bladders in pairs, swollen tips.
pub fn bladderwrack(s: &mut Strip, f: Frond, rng: &mut Rng) {
    let mut plant = Plant::default();
    grow(&mut plant, f, rng);
    let seed = rng.bits() as u32;
    // One ground under all straps, so that no overlap shows at the forks.
    let mut ground: Vec<Outline> = plant.tips.clone();
    for (path, width) in &plant.straps {
        ground.push(strap(path, *width, seed));
        for end in [path.first(), path.last()].into_iter().flatten() {
            ground.push(ellipse(*end, width * 0.42, width * 0.42, 0.0, 18));
        }
    }
    s.weed.fill(&ground, |p, a, c| screen(a, c * (0.5 + 0.16 * fbm(p.x / 2.0, p.y / 2.0, seed, 2))));
    for (path, width) in &plant.straps {
        for lane in [-0.3, -0.1, 0.12, 0.32] {
            let lane = beside(path, |t| lane * width * broad(t));
            stroke(&mut s.weed, &shaky(&lane, 0.25, seed), width * 0.2, rng.range(0.5, 0.85), seed ^ 1);
        }
    }
    for (path, _) in &plant.straps {
        pen(&mut s.ink, path, 0.46, seed);
    }
    for tip in &plant.tips {
        rub(&mut s.weed, std::slice::from_ref(tip), 50.0, 0.4, seed);
        contour(&mut s.ink, tip, 0.28, seed ^ 3);
        let (a, b) =
            (tip.first().copied().unwrap_or_default(), tip.get(tip.len() / 2).copied().unwrap_or_default());
        for _ in 0..8 {
            let along = a - b;
            let q = (a + b) * 0.5 + along * rng.jitter(0.4) + along.side() * rng.jitter(0.14);
            dot(&mut s.ink, q, rng.range(0.1, 0.18), seed);
        }
    }
    for (at, r) in &plant.bladders {
        bladder(s, *at, *r, seed);
    }
}

fn grow(plant: &mut Plant, f: Frond, rng: &mut Rng) {
    let bend = rng.jitter(15.0);
    let mut p = f.at;
    let mut path = vec![p];
    for i in 0..6 {
        p = p + V::direction(f.heading + bend * (i as f32 / 5.0)) * (f.length / 6.0);
        path.push(p);
    }
    let path = smooth(&path, false, 4);
    let heading = f.heading + bend;
    if let (true, Some([a, b])) = (f.width > 2.9, path.get(path.len() / 2..path.len() / 2 + 2)) {
        let along = (*b - *a).normal();
        for k in [-1.0, 1.0] {
            let r = f.width * rng.range(0.25, 0.31);
            plant.bladders.push((*a + along * rng.jitter(0.6) + along.side() * (k * (r + 0.25)), r));
        }
    }
    plant.straps.push((path, f.width));
    for k in [-1.0_f32, 1.0] {
        if f.forks == 0 {
            let turn = heading + k * rng.range(24.0, 32.0);
            let half = f.width * rng.range(0.9, 1.1);
            plant.tips.push(ellipse(p + V::direction(turn) * (half * 1.02), half, f.width * 0.42, turn, 24));
        } else {
            let next = Frond {
                at: p,
                heading: heading + k * f.spread * rng.range(0.85, 1.15),
                length: f.length * rng.range(0.72, 0.9),
                width: f.width * 0.84,
                forks: f.forks - 1,
                spread: f.spread * 0.84,
            };
            grow(plant, next, rng);
        }
    }
}

/// Narrow where a strap leaves its fork, broad before the next one.
fn broad(t: f32) -> f32 {
    0.72 + 0.34 * smoothstep(0.05, 0.5, t)
}

/// The line beside a path, `offset` mm away to its right at each share of its length.
fn beside(path: &[V], offset: impl Fn(f32) -> f32) -> Vec<V> {
    let n = path.len().max(2) as f32 - 1.0;
    let moved = |(i, w): (usize, &[V])| match *w {
        [a, b] => Some(a + (b - a).normal().side() * offset(i as f32 / n)),
        _ => None,
    };
    path.windows(2).enumerate().filter_map(moved).collect()
}

fn strap(path: &[V], width: f32, seed: u32) -> Outline {
    let wavy = |t: f32, k: f32| k * width * 0.5 * (broad(t) + 0.2 * (fbm(t * 5.0, k * 3.0, seed, 2) - 0.5));
    let (left, right) = (beside(path, |t| wavy(t, -1.0)), beside(path, |t| wavy(t, 1.0)));
    left.into_iter().chain(right.into_iter().rev()).collect()
}

fn bladder(s: &mut Strip, at: V, r: f32, seed: u32) {
    // A thin ring of bare paper keeps the bladder apart from the strap.
    s.weed.knock_out(&[blob(at, r + 0.22, r + 0.18, 0.12, seed)]);
    let o = blob(at, r, r * 0.95, 0.12, seed);
    s.ink.knock_out(std::slice::from_ref(&o));
    s.wash.knock_out(std::slice::from_ref(&o));
    rub(&mut s.weed, std::slice::from_ref(&o), 40.0, 1.0, seed);
    s.weed.knock_out(&[ellipse(at + v(-r * 0.28, -r * 0.34), r * 0.32, r * 0.2, -35.0, 12)]);
    contour(&mut s.ink, &o, 0.4, seed ^ 9);
}

/// A blade of kelp along a path, `width` mm across its ruffles.
pub fn kelp(s: &mut Strip, path: &[V], width: f32, seed: u32) {
    let path = smooth(path, false, 48);
    let length: f32 = path.windows(2).map(|w| if let [a, b] = *w { (b - a).length() } else { 0.0 }).sum();
    let body = |t: f32| smoothstep(-0.05, 0.28, t) * (1.0 - 0.97 * smoothstep(0.6, 1.0, t)) + 0.05;
    let edge = |k: f32| {
        beside(&path, |t| {
            let slow = fbm(t * length / 5.0, k * 4.0, seed, 2) - 0.5;
            let ruffle = libm::sinf(t * length * 2.1 + k * 1.7 + 5.0 * slow);
            k * width * 0.5 * body(t) * (1.0 + 0.17 * ruffle * smoothstep(0.05, 0.2, t) + 0.5 * slow)
        })
    };
    let (left, right) = (edge(-1.0), edge(1.0));
    let outline: Outline = left.iter().chain(right.iter().rev()).copied().collect();
    rub(&mut s.weed, std::slice::from_ref(&outline), 62.0, 0.62, seed);
    stroke(&mut s.weed, &path, width * 0.3, 0.8, seed);
    for rim in [&left, &right] {
        pen(&mut s.ink, &shaky(rim, 0.08, seed), 0.32, seed);
    }
    for k in [-0.55, 0.55, 0.0] {
        let from = path.len() / 12;
        let rib = beside(&path, |t| k * width * 0.3 * body(t));
        pen(
            &mut s.ink,
            rib.get(from..path.len() * 5 / 6).unwrap_or_default(),
            0.3 - 0.16 * k.abs(),
            seed ^ 5,
        );
    }
}
