//! Watercolour: pools of pigment that dry darker at their edges, run back into themselves, and settle
//! in the tooth of the paper; and the dry brush that skips over it.

use crate::field::Field;
use crate::noise::{fbm, screen, smoothstep, tooth, value};
use crate::shape::{Bounds, V, v};

/// How one pool of wash behaves.
#[derive(Debug, Clone, Copy)]
pub struct Wash {
    /// Pigment gathered along the drying edge, 0 to 1.
    pub edge: f32,
    /// How far that edge reaches inwards, mm.
    pub edge_mm: f32,
    /// How far the outline wanders, mm.
    pub wobble: f32,
    /// How uneven the pool is, 0 to 1.
    pub flow: f32,
    /// Strength of the back-runs, 0 to 1.
    pub bloom: f32,
    /// Which accident this was.
    pub seed: u32,
}

impl Default for Wash {
    fn default() -> Self {
        Self { edge: 0.26, edge_mm: 0.45, wobble: 1.1, flow: 0.75, bloom: 0.8, seed: 1 }
    }
}

/// Lets a pool dry on the paper. `shape` is the signed distance to its outline in mm (negative inside),
/// `tone` how much pigment the brush carried to a spot.
pub fn pool(
    field: &mut Field,
    b: Bounds,
    style: Wash,
    shape: impl Fn(V) -> f32 + Sync,
    tone: impl Fn(V) -> f32 + Sync,
) {
    let s = style.seed.wrapping_mul(977);
    let wide = style.wobble * 1.5 + 0.3;
    let b = Bounds { x0: b.x0 - wide, y0: b.y0 - wide, x1: b.x1 + wide, y1: b.y1 + wide };
    field.paint(b, |p, before| {
        let drift = v(fbm(p.x / 6.0, p.y / 6.0, s, 3) - 0.5, fbm(p.x / 6.0, p.y / 6.0, s ^ 77, 3) - 0.5);
        let tremble = (value(p.x / 0.8, p.y / 0.8, s ^ 5) - 0.5) * 0.22;
        let d = -shape(p + drift * (2.0 * style.wobble)) + tremble * style.wobble.min(1.0);
        if d < -0.08 {
            return before;
        }
        let warped = p + drift * 9.0;
        let body = fbm(warped.x / 13.0, warped.y / 9.0, s ^ 9, 4);
        let mut pigment = tone(p) * (1.0 + style.flow * 2.2 * (body - 0.5));
        let uneven = smoothstep(0.25, 0.7, fbm(p.x / 7.0, p.y / 7.0, s ^ 13, 2));
        pigment += style.edge * (0.25 + uneven) * libm::expf(-(d.max(0.0) / style.edge_mm));
        pigment += style.bloom * pigment * back_run(warped, s ^ 21);
        screen(before, smoothstep(-0.08, 0.08, d) * pigment)
    });
}

/// Where later water pushed pigment aside: lighter within, a dark feathered rim around.
fn back_run(p: V, seed: u32) -> f32 {
    let feather = (fbm(p.x / 1.1, p.y / 1.1, seed ^ 3, 2) - 0.5) * 0.07;
    let k = fbm(p.x / 19.0, p.y / 15.0, seed, 3) + feather - 0.6;
    if k > 0.0 {
        0.55 * libm::expf(-(k / 0.014)) - 0.5 * smoothstep(0.0, 0.05, k)
    } else {
        0.30 * libm::expf(k / 0.02)
    }
}

/// A brush almost out of paint: bristle tracks that break up towards the end of the stroke.
pub fn dry_brush(field: &mut Field, path: &[V], width: f32, tone: f32, seed: u32) {
    let half = width / 2.0;
    field.stroke(
        path,
        half * 1.1,
        |u| half * (0.55 + 0.45 * smoothstep(0.0, 0.12, u)) * (1.0 - 0.5 * smoothstep(0.7, 1.0, u)),
        |h| {
            let across = h.off / half;
            let bristle = value(across * width * 2.6 + 50.0, h.along / 9.0, seed);
            let skip = tooth(h.p.x, h.p.y, seed ^ 2);
            let load = 1.15 - 0.75 * h.share - 0.35 * across * across;
            let edge = smoothstep(0.0, 0.12, h.half - h.off.abs());
            tone * edge * smoothstep(-0.12, 0.15, load - (0.62 * bristle + 0.5 * skip))
        },
    );
}

/// The pigment after it has settled in the tooth of the paper.
pub fn settled(amount: f32, p: V, seed: u32) -> f32 {
    if amount < 0.015 {
        return 0.0;
    }
    let grain = tooth(p.x * 0.82, p.y * 0.82, seed) - 0.5;
    let clump = fbm(p.x / 1.7, p.y / 1.7, seed ^ 31, 2) - 0.5;
    let depth = 0.13 + 0.62 * amount * (1.0 - 0.5 * amount);
    let speck = value(p.x / 0.17, p.y / 0.17, seed ^ 8) - 0.5;
    amount + depth * (0.6 * grain + 0.5 * clump + 0.22 * speck) * smoothstep(0.0, 0.12, amount)
}
