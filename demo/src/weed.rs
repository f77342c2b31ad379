//! Weed: bladderwrack that forks in two, and kelp with ruffled edges.

use crate::crayon::{contour, dot, pen, rub, stroke};
use crate::noise::{Rng, fbm, smoothstep};
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

/// Bladderwrack: flat straps that fork in two, a midrib, air bladders in pairs, swollen tips.
pub fn bladderwrack(s: &mut Strip, f: Frond, rng: &mut Rng) {
    let bend = rng.jitter(16.0);
    let mut p = f.at;
    let mut path = vec![p];
    for i in 0..6 {
        p = p + V::direction(f.heading + bend * (i as f32 / 5.0)) * (f.length / 6.0);
        path.push(p);
    }
    let path = smooth(&path, false, 4);
    let heading = f.heading + bend;
    let seed = rng.bits() as u32;
    // The branches lie under the stem that carries them.
    if f.forks == 0 {
        tips(s, p, heading, f.width, seed);
    } else {
        for k in [-1.0, 1.0] {
            let next = Frond {
                at: p,
                heading: heading + k * f.spread * rng.range(0.8, 1.2),
                length: f.length * rng.range(0.70, 0.92),
                width: f.width * 0.84,
                forks: f.forks - 1,
                spread: f.spread * 0.86,
            };
            bladderwrack(s, next, rng);
        }
    }
    strap(s, &path, f.width, seed);
    if f.length > 5.0 {
        if let (Some(a), Some(b)) = (path.get(path.len() / 2), path.get(path.len() / 2 + 1)) {
            let (along, side) = ((*b - *a).normal(), (*b - *a).normal().side());
            for k in [-1.0, 1.0] {
                let r = f.width * rng.range(0.24, 0.31);
                let slide = along * rng.jitter(0.5);
                bladder(s, *a + slide + side * (k * (r * 0.95 + 0.12)), r, seed);
            }
        }
    }
}

fn strap(s: &mut Strip, path: &[V], width: f32, seed: u32) {
    // Narrow where it leaves the fork, broad before the next one, its edges a little wavy.
    let edge = |k: f32| -> Vec<V> {
        let n = path.len().max(2) as f32 - 1.0;
        let offset = |(i, w): (usize, &[V])| match *w {
            [a, b] => {
                let t = i as f32 / n;
                let wide = 0.62 + 0.46 * smoothstep(0.0, 0.45, t) + 0.22 * (fbm(t * 5.0, k, seed, 2) - 0.5);
                Some(a + (b - a).normal().side() * (k * width * 0.5 * wide))
            }
            _ => None,
        };
        path.windows(2).enumerate().filter_map(offset).collect()
    };
    let (left, right) = (edge(1.0), edge(-1.0));
    let outline: Outline = left.iter().chain(right.iter().rev()).copied().collect();
    let along = path.first().zip(path.last()).map_or(v(0.0, 1.0), |(a, b)| *b - *a);
    let degrees = libm::atan2f(along.y, along.x).to_degrees();
    rub(&mut s.weed, &[outline], degrees + 8.0, 0.86, seed);
    for rim in [left, right] {
        stroke(&mut s.weed, &shaky(&rim, 0.15, seed), 0.7, 0.7, seed ^ 1);
    }
    pen(&mut s.ink, path, 0.42, seed);
}

fn tips(s: &mut Strip, p: V, heading: f32, width: f32, seed: u32) {
    let mut rng = Rng::new(u64::from(seed));
    for k in [-1.0_f32, 1.0] {
        let turn = heading + k * rng.range(17.0, 27.0);
        let at = p + V::direction(turn) * (width * 0.95);
        let tip = ellipse(at, width * rng.range(1.0, 1.25), width * 0.46, turn, 22);
        rub(&mut s.weed, std::slice::from_ref(&tip), turn, 0.62, seed);
        contour(&mut s.ink, &tip, 0.26, seed ^ 3);
        for _ in 0..7 {
            let along = V::direction(turn);
            let q = at + along * (width * rng.jitter(0.9)) + along.side() * (width * rng.jitter(0.3));
            dot(&mut s.ink, q, rng.range(0.11, 0.18), seed);
        }
    }
}

fn bladder(s: &mut Strip, at: V, r: f32, seed: u32) {
    let o = blob(at, r, r * 0.92, 0.12, seed);
    s.weed.knock_out(std::slice::from_ref(&o));
    s.ink.knock_out(std::slice::from_ref(&o));
    rub(&mut s.weed, std::slice::from_ref(&o), 40.0, 1.0, seed);
    let shine = ellipse(at + v(-r * 0.28, -r * 0.34), r * 0.32, r * 0.2, -35.0, 12);
    s.weed.knock_out(&[shine]);
    contour(&mut s.ink, &o, 0.36, seed ^ 9);
}

/// A blade of kelp along a path, `width` mm across its ruffles.
pub fn kelp(s: &mut Strip, path: &[V], width: f32, seed: u32) {
    let path = smooth(path, false, 14);
    let n = path.len().max(2) as f32 - 1.0;
    let edge = |k: f32| -> Vec<V> {
        let offset = |(i, w): (usize, &[V])| match *w {
            [a, b] => {
                let t = i as f32 / n;
                let body = smoothstep(0.0, 0.22, t) * (1.0 - smoothstep(0.72, 1.0, t) * 0.94) + 0.1;
                let ruffle = 1.0 + 0.26 * libm::sinf(t * 46.0 + k * 1.9) * smoothstep(0.08, 0.2, t);
                Some(a + (b - a).normal().side() * (k * width * 0.5 * body * ruffle))
            }
            _ => None,
        };
        path.windows(2).enumerate().filter_map(offset).collect()
    };
    let (left, right) = (edge(1.0), edge(-1.0));
    let outline: Outline = left.iter().chain(right.iter().rev()).copied().collect();
    let along = path.first().zip(path.last()).map_or(v(0.0, 1.0), |(a, b)| *b - *a);
    let degrees = libm::atan2f(along.y, along.x).to_degrees();
    rub(&mut s.weed, std::slice::from_ref(&outline), degrees + 62.0, 0.72, seed);
    stroke(&mut s.weed, &path, width * 0.28, 0.9, seed);
    for rim in [&left, &right] {
        pen(&mut s.ink, &shaky(rim, 0.1, seed), 0.3, seed);
    }
    let rib = path.len() * 9 / 10;
    pen(&mut s.ink, path.get(..rib).unwrap_or_default(), 0.36, seed ^ 5);
}
