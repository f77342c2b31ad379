//! Colours what is seen: texture, light and shadow of a piece of paper, and the ground. A pixel that one piece
//! covers is coloured once, an edge sample by sample.

use super::Stage;
use super::pieces::Side;
use super::visible::{Found, NOTHING, SEVERAL};
use crate::dummy::plane::{Plane, at, span};
use slipsheet_base::picture::Picture;

/// Places along a row that are worked out together.
const BLOCK: usize = 16;
/// Bayer's pattern of 4 x 4 thresholds.
const PATTERN: [[f32; 4]; 4] = [
    [0.03125, 0.53125, 0.15625, 0.65625],
    [0.78125, 0.28125, 0.90625, 0.40625],
    [0.21875, 0.71875, 0.09375, 0.59375],
    [0.96875, 0.46875, 0.84375, 0.34375],
];

impl Stage<'_> {
    /// Colours one row of pixels.
    pub(super) fn shade(&self, y: usize, out: &mut [[u8; 4]], found: &Found) {
        let s = self.samples as f64;
        let mut x = 0;
        for run in found.whole.chunk_by(|a, b| a == b) {
            let end = (x + run.len()).min(out.len());
            match (run.first(), out.get_mut(x..end)) {
                (Some(&SEVERAL), Some(pixels)) => {
                    pixels.iter_mut().enumerate().for_each(|(i, o)| *o = self.edge(x + i, y, found));
                }
                (Some(&which), Some(pixels)) => {
                    self.run(which, ((x as f64 + 0.5) * s, (y as f64 + 0.5) * s), s, pixels);
                }
                _ => {}
            }
            x = end;
        }
    }

    /// The mean of a pixel's samples.
    fn edge(&self, x: usize, y: usize, found: &Found) -> [u8; 4] {
        let s = self.samples;
        let mut sum = [0_u32; 3];
        let mut last: Option<(u32, [u8; 4])> = None;
        for sub in 0..s {
            for k in x * s..(x + 1) * s {
                let which = found.which.get(sub * found.width + k).copied().unwrap_or(NOTHING);
                // Samples of one pixel that see the same piece see nearly the same of it.
                let pixel = match last.filter(|(w, _)| *w == which) {
                    Some((_, pixel)) => pixel,
                    None => {
                        let mut one = [[0; 4]];
                        self.run(which, (k as f64 + 0.5, (y * s + sub) as f64 + 0.5), 1.0, &mut one);
                        one[0]
                    }
                };
                last = Some((which, pixel));
                for (t, c) in sum.iter_mut().zip(pixel) {
                    *t += u32::from(c);
                }
            }
        }
        let n = (s * s) as u32;
        let [r, g, b] = sum.map(|c| ((c + n / 2) / n) as u8);
        [r, g, b, 255]
    }

    /// Colours pixels of a row that see one piece, or the ground; the first lies at `from`, in samples.
    fn run(&self, which: u32, from: (f64, f64), step: f64, out: &mut [[u8; 4]]) {
        let Some(piece) = self.pieces.get(which as usize) else {
            return self.ground_run(from, step, out);
        };
        let last = from.0 + step * out.len() as f64;
        let front = piece.plane.faces((from.0 + last) / 2.0, from.1);
        let side = if front { &piece.front } else { &piece.back };
        let place = Along::new(&piece.plane, from, step);
        let [r, g, b] = self.paper;
        let paper = u32::from_le_bytes([r, g, b, 255]);
        let mut places = [(0.0_f32, 0.0_f32); BLOCK];
        for (k, block) in out.chunks_mut(BLOCK).enumerate() {
            for (i, p) in places.iter_mut().enumerate() {
                *p = place.at(k * BLOCK + i);
            }
            for (o, &(u, v)) in block.iter_mut().zip(&places) {
                let colour = side.texture.map_or(paper, |t| side.sample(t, u, v));
                let mut light = side.light.0 + side.light.1 * u;
                if let Some([o, a, d]) = &piece.shadow {
                    let (x, y) = (o.0 + a.0 * u + d.0 * v, o.1 + a.1 * u + d.1 * v);
                    light *= 1.0 - 0.4 * piece.takes * self.shadows.on_leaf(x, y);
                }
                *o = lit_by(colour, light);
            }
        }
    }

    fn ground_run(&self, from: (f64, f64), step: f64, out: &mut [[u8; 4]]) {
        let [r, g, b] = self.colour;
        let bare = [r, g, b, 255];
        out.fill(bare);
        let Some((plane, outline)) = &self.ground else { return };
        // Only where the shadow reaches.
        let Some((left, right)) = span(outline, from.1) else { return };
        let first = ((left - from.0) / step).floor().clamp(0.0, out.len() as f64) as usize;
        let end = ((right - from.0) / step + 1.0).ceil().clamp(0.0, out.len() as f64) as usize;
        let Some(out) = out.get_mut(first..end) else { return };
        let place = Along::new(plane, (from.0 + step * first as f64, from.1), step);
        let dark = |i: usize| {
            let (u, v) = place.at(i);
            self.shadows.on_ground(u, v)
        };
        let ground = self.colour.map(f32::from);
        // Where a soft shadow fades out its levels would show as lines; the pattern breaks them up.
        let (column, row) = ((from.0 / step) as usize + first, (from.1 / step) as usize);
        let pattern = PATTERN[row % 4];
        // A shadow is soft: every fourth place is looked up and the rest lie between.
        let mut here = dark(0);
        for (k, four) in out.chunks_mut(4).enumerate() {
            let next = dark(4 * k + 4);
            for (i, o) in four.iter_mut().enumerate() {
                let light = 1.0 - here - (next - here) * (i as f32 * 0.25);
                let threshold = pattern[(column + 4 * k + i) % 4];
                let [r, g, b] = ground.map(|c| (c * light + threshold) as u8);
                *o = [r, g, b, 255];
            }
            here = next;
        }
    }
}

/// Places on a plane along a row of picture points.
struct Along {
    u: (f32, f32),
    v: (f32, f32),
    det: (f32, f32),
}

impl Along {
    fn new(plane: &Plane, from: (f64, f64), step: f64) -> Self {
        let pair = |l: [f64; 3]| (at(l, from.0, from.1), l[0] * step);
        // Scaled so that single precision is enough.
        let (u, v, det) = (pair(plane.along), pair(plane.down), pair(plane.det));
        let k = if det.0.abs() > 1e-300 { 1.0 / det.0 } else { 0.0 };
        let scaled = |p: (f64, f64)| ((p.0 * k) as f32, (p.1 * k) as f32);
        Self { u: scaled(u), v: scaled(v), det: scaled(det) }
    }

    fn at(&self, i: usize) -> (f32, f32) {
        let i = i as f32;
        let per = 1.0 / (self.det.0 + self.det.1 * i);
        ((self.u.0 + self.u.1 * i) * per, (self.v.0 + self.v.1 * i) * per)
    }
}

impl Side<'_> {
    /// Bilinear, as four bytes in one number.
    fn sample(&self, texture: &Picture, u: f32, v: f32) -> u32 {
        let (w, h) = (texture.width, texture.height);
        let x = self.origin.0 + u * self.across.0 + v * self.down.0;
        let y = self.origin.1 + u * self.across.1 + v * self.down.1;
        // Casts saturate, so what lies off the texture takes its border.
        let x = (x * 256.0).clamp(0.0, (w * 256) as f32) as u32;
        let y = (y * 256.0).clamp(0.0, (h * 256) as f32) as u32;
        let (x0, y0) = ((x >> 8) as usize, (y >> 8) as usize);
        let i = y0 * w + x0;
        let above = texture.pixels.get(i..i + 2).and_then(|p| p.first_chunk::<2>());
        let below = texture.pixels.get(i + w..i + w + 2).and_then(|p| p.first_chunk::<2>());
        let (Some([a, b]), Some([c, d]), true) = (above, below, x0 + 1 < w) else {
            let (x0, y0) = (x0.min(w.saturating_sub(1)), y0.min(h.saturating_sub(1)));
            return u32::from_le_bytes(texture.at(x0, y0));
        };
        let [a, b, c, d] = [a, b, c, d].map(|p| u32::from_le_bytes(*p));
        let (fx, fy) = (x & 255, y & 255);
        lerp(lerp(a, b, fx), lerp(c, d, fx), fy)
    }
}

/// Between two pixels, each byte for itself; `t` of 256 parts.
fn lerp(a: u32, b: u32, t: u32) -> u32 {
    const EVEN: u32 = 0x00ff_00ff;
    let even = ((a & EVEN) * (256 - t) + (b & EVEN) * t) >> 8 & EVEN;
    let odd = ((a >> 8 & EVEN) * (256 - t) + (b >> 8 & EVEN) * t) & !EVEN;
    even | odd
}

/// A pixel in a light of 0..=1.
fn lit_by(pixel: u32, light: f32) -> [u8; 4] {
    let light = (light.clamp(0.0, 1.0) * 256.0) as u32;
    let [r, g, b, _] = lerp(0, pixel, light).to_le_bytes();
    [r, g, b, 255]
}
