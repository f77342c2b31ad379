//! Wax crayon and ink line. Crayon is kept as pressure; only at the end does the tooth of the paper
//! decide which spots take wax.

use crate::field::Field;
use crate::noise::{Rng, screen, smoothstep, tooth, value};
use crate::shape::{Outline, V, chords, closed, shaky, smooth, v};

/// One stroke of the crayon, `width` mm wide, with a pressure from 0 to 1.
pub fn stroke(field: &mut Field, path: &[V], width: f32, pressure: f32, seed: u32) {
    let half = width / 2.0;
    field.stroke(
        path,
        half,
        |u| half * (0.6 + 0.4 * smoothstep(0.0, 0.08, u.min(1.0 - u))),
        |h| {
            let across = h.off / h.half.max(0.01);
            let press = 0.82 + 0.36 * value(h.along / 3.5, 0.5, seed);
            pressure
                * press
                * (1.0 - 0.7 * across * across).max(0.0)
                * smoothstep(0.0, 0.15, h.half - h.off.abs())
        },
    );
}

/// Rubs an outline full: an even ground to the very edge, and hatching over it.
pub fn rub(field: &mut Field, outlines: &[Outline], degrees: f32, pressure: f32, seed: u32) {
    field.fill(outlines, |p, a, c| {
        let uneven = 0.8 + 0.4 * value(p.x / 2.6, p.y / 2.6, seed);
        screen(a, c * pressure * 0.62 * uneven)
    });
    hatch(field, outlines, degrees, 0.95, pressure * 0.72, seed);
}

/// Hatching that follows an angle, kept a little inside the outline.
pub fn hatch(field: &mut Field, outlines: &[Outline], degrees: f32, spacing: f32, pressure: f32, seed: u32) {
    let mut rng = Rng::new(u64::from(seed) + 40);
    for (a, b) in chords(outlines, degrees, spacing, &mut rng) {
        let along = b - a;
        if along.length() < 0.9 {
            continue;
        }
        let inset = along.normal() * (spacing * 0.35);
        let bow = along.side() * rng.jitter(0.035);
        let mid = (a + b) * 0.5 + bow;
        let path = smooth(&[a + inset, mid, b - inset], false, 5);
        stroke(field, &path, spacing * rng.range(0.75, 1.05), pressure * rng.range(0.75, 1.1), seed);
    }
}

/// A line of ink, `width` mm at its fullest, swelling and thinning as a pen does.
pub fn pen(field: &mut Field, path: &[V], width: f32, seed: u32) {
    let soft = 0.55 / field.px_per_mm;
    let half = width / 2.0;
    field.stroke(
        path,
        half * 1.3 + soft,
        |u| half * (0.45 + 0.55 * smoothstep(0.0, 0.06, u.min(1.0 - u))),
        |h| {
            let swell = 0.72 + 0.56 * value(h.along / 4.0, 3.5, seed);
            smoothstep(-soft, soft, h.half * swell - h.off.abs())
        },
    );
}

/// A contour in ink, not quite closed and not quite steady.
pub fn contour(field: &mut Field, outline: &[V], width: f32, seed: u32) {
    let mut rng = Rng::new(u64::from(seed) + 7);
    let mut ring = outline.to_vec();
    if !ring.is_empty() {
        let n = ring.len();
        ring.rotate_left((rng.unit() * n as f32) as usize % n);
    }
    pen(field, &shaky(&closed(&ring), 0.16, seed), width, seed);
}

/// A solid of ink: cut paper or a loaded brush.
pub fn solid(field: &mut Field, outlines: &[Outline]) {
    field.fill(outlines, |_, a, c| screen(a, c));
}

/// A round dot of ink, slightly out of round.
pub fn dot(field: &mut Field, at: V, radius: f32, seed: u32) {
    solid(field, &[crate::shape::blob(at, radius, radius, 0.22, seed)]);
}

/// Dots along a path, as a walk is marked on a map.
pub fn dotted(field: &mut Field, path: &[V], gap: f32, radius: f32, seed: u32) {
    let mut left = 0.0;
    for (i, pair) in path.windows(2).enumerate() {
        let [a, b] = *pair else { continue };
        let length = (b - a).length();
        while left < length {
            let p = a + (b - a) * (left / length.max(1e-6));
            let n = |k: u32| value(p.x * 3.0, p.y * 3.0, seed ^ k) - 0.5;
            dot(field, p + v(n(1), n(2)) * 0.35, radius * (1.0 + 0.5 * n(3)), seed.wrapping_add(i as u32));
            left += gap;
        }
        left -= length;
    }
}

/// The wax that the tooth takes at a pressure.
pub fn waxed(pressure: f32, p: V, seed: u32) -> f32 {
    if pressure < 0.02 {
        return 0.0;
    }
    let height = tooth(p.x, p.y, seed);
    smoothstep(-0.16, 0.24, pressure * 1.14 - 0.04 - height)
        * (0.5 + 0.5 * pressure)
        * (0.86 + 0.22 * value(p.x / 0.2, p.y / 0.2, seed ^ 6))
}

/// The ink that a solid leaves: nearly all of it, with a pinhole here and there.
pub fn inked(amount: f32, p: V, seed: u32) -> f32 {
    if amount <= 0.0 {
        return 0.0;
    }
    let hole = value(p.x / 0.3, p.y / 0.3, seed) + 0.35 * value(p.x / 3.0, p.y / 3.0, seed ^ 4);
    amount * (1.0 - 0.75 * smoothstep(1.17, 1.23, hole))
}
