//! Rows of gray out of a pyramid under any affine map: bilinear, on the halving that comes nearest to the
//! picture's own pixels, so that any zoom reads few of the scan's.

use std::sync::Arc;

use slipsheet_base::wide::{Step, Width};
use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::raster::{GrayRaster, Pyramid};

/// Positions are fixed-point numbers with this many bits after the point.
const FRACTION: u32 = 20;
const ONE: i64 = 1 << FRACTION;
/// Samples that are fetched before they are weighted.
const BLOCK: usize = 256;

/// Draws one scan into rows of gray.
#[derive(Debug, Clone)]
pub struct Sampler {
    pixels: Arc<Pyramid>,
    level: usize,
    /// From pixels of the picture to pixels of the level.
    level_from_view: Affine,
    /// From pixels of the picture to mm on the face, before any slip, which is where the clip lies.
    meant_from_view: Affine,
    clip: Rect,
    /// The part of the level that may print.
    part: Option<Rect>,
}

impl Sampler {
    /// A sampler for one scan; `clip` is in mm on the face, before any slip.
    pub fn new(pixels: Arc<Pyramid>, scan_from_view: Affine, meant_from_view: Affine, clip: Rect) -> Self {
        let growth = scan_from_view.growth().max(1e-9);
        let level = libm::floor(libm::log2(growth) + 0.5).max(0.0) as usize;
        let level = level.min(pixels.levels() - 1);
        let shrink = 1.0 / (1_u64 << level) as f64;
        let level_from_view = Affine::scale(shrink, shrink) * scan_from_view;
        Self { pixels, level, level_from_view, meant_from_view, clip, part: None }
    }

    /// The same where only a part of the scan, given in its pixels, may print.
    #[must_use]
    pub(crate) fn cropped(self, part: Option<Rect>) -> Self {
        let shrink = 1.0 / (1_u64 << self.level) as f64;
        let part = part.map(|r| Rect {
            x: r.x * shrink,
            y: r.y * shrink,
            width: r.width * shrink,
            height: r.height * shrink,
        });
        Self { part, ..self }
    }

    /// Darkens a row of gray, whose first pixel is column `x0` of row `y`, where the scan is darker.
    pub(crate) fn darken_row(&self, y: usize, x0: usize, gray: &mut [u8]) {
        let raster = self.pixels.level(self.level);
        let reach = self.part.unwrap_or(Rect {
            x: -0.5,
            y: -0.5,
            width: f64::from(raster.width()) + 1.0,
            height: f64::from(raster.height()) + 1.0,
        });
        let end = x0 + gray.len();
        let Some((c0, c1)) = span(&self.meant_from_view, self.clip, y, end) else { return };
        let Some((r0, r1)) = span(&self.level_from_view, reach, y, end) else { return };
        let (from, to) = (c0.max(r0).max(x0), c1.min(r1));
        if from >= to {
            return;
        }
        // Bilinear weights count from pixel middles, hence the half pixels.
        let start = self.level_from_view * Point::new(from as f64 + 0.5, y as f64 + 0.5);
        let fixed = |v: f64| libm::round(v * ONE as f64) as i64;
        let walk = Walk {
            u: fixed(start.x - 0.5),
            v: fixed(start.y - 0.5),
            du: fixed(self.level_from_view.a),
            dv: fixed(self.level_from_view.b),
        };
        walk.darken(raster, &mut gray[from - x0..to - x0]);
    }
}

/// The columns of row `y` whose middles a map takes into a rectangle, of the first `end`.
pub(super) fn span(map: &Affine, rect: Rect, y: usize, end: usize) -> Option<(usize, usize)> {
    let at = *map * Point::new(0.5, y as f64 + 0.5);
    let (mut low, mut high) = (0.0, end as f64 - 1.0);
    let axes = [(at.x, map.a, rect.x, rect.x + rect.width), (at.y, map.b, rect.y, rect.y + rect.height)];
    for (start, step, min, max) in axes {
        if step.abs() < 1e-12 {
            if start < min || start >= max {
                return None;
            }
            continue;
        }
        let (a, b) = ((min - start) / step, (max - start) / step);
        low = f64::max(low, libm::ceil(a.min(b) - 1e-9));
        high = f64::min(high, libm::floor(a.max(b) - 1e-9));
    }
    (low <= high).then_some((low as usize, high as usize + 1))
}

/// A straight walk through a raster in fixed point; one step a pixel of the row.
#[derive(Clone, Copy)]
struct Walk {
    u: i64,
    v: i64,
    du: i64,
    dv: i64,
}

impl Walk {
    fn darken(self, raster: &GrayRaster, out: &mut [u8]) {
        let (w, h) = (i64::from(raster.width()), i64::from(raster.height()));
        let last = out.len() as i64 - 1;
        // The stretch in which both neighbours of every sample lie inside, computed, then the two edges around it.
        let inside = |start: i64, step: i64, size: i64| -> (i64, i64) {
            let top = (size - 1) * ONE - 1;
            match step.signum() {
                0 if (0..=top).contains(&start) => (0, last),
                0 => (1, 0),
                1 => (
                    (-start).div_euclid(step) + i64::from((-start).rem_euclid(step) != 0),
                    (top - start).div_euclid(step),
                ),
                _ => (
                    (start - top).div_euclid(-step) + i64::from((start - top).rem_euclid(-step) != 0),
                    start.div_euclid(-step),
                ),
            }
        };
        let ((a, b), (c, d)) = (inside(self.u, self.du, w), inside(self.v, self.dv, h));
        let (from, to) = (a.max(c).clamp(0, last + 1), (b.min(d) + 1).clamp(0, last + 1));
        if from >= to {
            self.edge(raster, 0, out);
            return;
        }
        let (from, to) = (from as usize, to as usize);
        self.edge(raster, 0, &mut out[..from]);
        self.edge(raster, to, &mut out[to..]);
        let inner = &mut out[from..to];
        if self.du == ONE && self.dv == 0 {
            self.at(from).run_whole(raster, inner);
            return;
        }
        for (i, block) in inner.chunks_mut(BLOCK).enumerate() {
            self.at(from + i * BLOCK).block(raster, block);
        }
    }

    fn at(self, i: usize) -> Self {
        Self { u: self.u + self.du * i as i64, v: self.v + self.dv * i as i64, ..self }
    }

    /// Samples near the border, where what lies outside counts as white.
    fn edge(self, raster: &GrayRaster, from: usize, out: &mut [u8]) {
        let fetch = |x: i64, y: i64| -> i64 {
            let (Ok(x), Ok(y)) = (usize::try_from(x), u32::try_from(y)) else { return 255 };
            raster.row(y).get(x).copied().map_or(255, i64::from)
        };
        for (i, o) in out.iter_mut().enumerate() {
            let w = self.at(from + i);
            let (x, y) = (w.u >> FRACTION, w.v >> FRACTION);
            let (fx, fy) = ((w.u & (ONE - 1)) >> (FRACTION - 8), (w.v & (ONE - 1)) >> (FRACTION - 8));
            let top = fetch(x, y) * (256 - fx) + fetch(x + 1, y) * fx;
            let bottom = fetch(x, y + 1) * (256 - fx) + fetch(x + 1, y + 1) * fx;
            let g = (top * (256 - fy) + bottom * fy + (1 << 15)) >> 16;
            *o = (*o).min(g as u8);
        }
    }

    /// Up to a block of samples, every one inside: first the neighbours of each are fetched, then weighed,
    /// which vectorises.
    fn block(self, raster: &GrayRaster, out: &mut [u8]) {
        let mut pairs = Pairs { tops: [u16::MAX; BLOCK], bottoms: [u16::MAX; BLOCK] };
        let n = out.len().min(BLOCK);
        // Stretches of at least a few samples lie side by side in the scan if the map hardly turns or scales.
        if self.dv.abs() < ONE / 16 && (self.du - ONE).abs() < ONE / 16 {
            self.fetch_stretches(raster, n, &mut pairs);
        } else {
            self.fetch_each(raster, n, &mut pairs);
        }
        let mut grays = [255; BLOCK];
        Width::widest().run(Weigh { walk: self, pairs: &pairs, grays: &mut grays });
        for (o, g) in out.iter_mut().zip(grays) {
            *o = if g < *o { g } else { *o };
        }
    }

    /// Fetches sample by sample.
    fn fetch_each(self, raster: &GrayRaster, n: usize, pairs: &mut Pairs) {
        let width = raster.width() as usize;
        let below = raster.pixels().get(width..).unwrap_or(&[]);
        // Of one length, so that one check serves both.
        let above = &raster.pixels()[..below.len()];
        let (mut u, mut v) = (self.u, self.v);
        for (top, bottom) in pairs.tops.iter_mut().zip(&mut pairs.bottoms).take(n) {
            let at = (v >> FRACTION) as usize * width + (u >> FRACTION) as usize;
            if at + 1 < below.len() {
                *top = u16::from_le_bytes([above[at], above[at + 1]]);
                *bottom = u16::from_le_bytes([below[at], below[at + 1]]);
            }
            (u, v) = (u + self.du, v + self.dv);
        }
    }

    /// Fetches stretches over which the samples advance by one pixel in one row of the scan.
    fn fetch_stretches(self, raster: &GrayRaster, n: usize, pairs: &mut Pairs) {
        let width = raster.width() as usize;
        let steps = |at: i64, step: i64| {
            let below = at & (ONE - 1);
            match step.signum() {
                0 => i64::MAX,
                1 => (ONE - 1 - below) / step + 1,
                _ => below / -step + 1,
            }
        };
        let mut done = 0;
        while done < n {
            let w = self.at(done);
            let len = steps(w.v, w.dv).min(steps(w.u, w.du - ONE));
            let len = usize::try_from(len).unwrap_or(1).min(n - done);
            let at = (w.v >> FRACTION) as usize * width + (w.u >> FRACTION) as usize;
            let stretch = done..done + len;
            join_neighbours(raster.pixels(), at, &mut pairs.tops[stretch.clone()]);
            join_neighbours(raster.pixels(), at + width, &mut pairs.bottoms[stretch]);
            done += len;
        }
    }

    /// A run at the scan's own scale: the same weights for every pixel, so that it vectorises.
    fn run_whole(self, raster: &GrayRaster, out: &mut [u8]) {
        let Ok(y) = u32::try_from(self.v >> FRACTION) else { return };
        let (top, bottom) = (raster.row(y), raster.row((y + 1).min(raster.height() - 1)));
        let x = (self.u >> FRACTION) as usize;
        let fx = ((self.u & (ONE - 1)) >> (FRACTION - 8)) as i32;
        let fy = ((self.v & (ONE - 1)) >> (FRACTION - 8)) as i32;
        let (Some(top), Some(bottom)) = (top.get(x..), bottom.get(x..)) else { return };
        let pairs = top.iter().zip(top.iter().skip(1)).zip(bottom.iter().zip(bottom.iter().skip(1)));
        for (o, ((a, b), (c, d))) in out.iter_mut().zip(pairs) {
            let (a, b, c, d) = (i32::from(*a), i32::from(*b), i32::from(*c), i32::from(*d));
            let upper = (a << 8) + (b - a) * fx;
            let lower = (c << 8) + (d - c) * fx;
            let g = (((upper << 8) + (lower - upper) * fy + (1 << 15)) >> 16) as u8;
            *o = if g < *o { g } else { *o };
        }
    }
}

/// The four neighbours of each sample of a block; the left one is in the low byte.
struct Pairs {
    tops: [u16; BLOCK],
    bottoms: [u16; BLOCK],
}

fn join_neighbours(pixels: &[u8], at: usize, out: &mut [u16]) {
    let Some(pixels) = pixels.get(at..at + out.len() + 1) else { return };
    for ((o, a), b) in out.iter_mut().zip(pixels).zip(&pixels[1..]) {
        *o = u16::from_le_bytes([*a, *b]);
    }
}

/// The leading eight bits of the fractions of a block of positions.
#[inline(always)]
fn fractions(start: i64, step: i64) -> [u16; BLOCK] {
    // Only the fractions matter here, and those do not mind that 32 bits wrap.
    let (mut at, step) = (start as u32, step as u32);
    let mut out = [0; BLOCK];
    for o in &mut out {
        *o = (at >> (FRACTION - 8) & 0xff) as u16;
        at = at.wrapping_add(step);
    }
    out
}

/// [`weigh`] as a step.
struct Weigh<'a> {
    walk: Walk,
    pairs: &'a Pairs,
    grays: &'a mut [u8; BLOCK],
}

impl Step for Weigh<'_> {
    #[inline(always)]
    fn run(self) {
        weigh(self.walk, &self.pairs.tops, &self.pairs.bottoms, self.grays);
    }
}

/// Bilinear means of a block. Sums have 16 bits throughout, so that a vector holds many: across exactly, down
/// to within a sixteenth of a gray.
#[inline(always)]
fn weigh(walk: Walk, tops: &[u16; BLOCK], bottoms: &[u16; BLOCK], grays: &mut [u8; BLOCK]) {
    let (fx, fy) = (fractions(walk.u, walk.du), fractions(walk.v, walk.dv));
    for ((((gray, top), bottom), fx), fy) in grays.iter_mut().zip(tops).zip(bottoms).zip(&fx).zip(&fy) {
        let across = |pair: u16| (((pair & 0xff) * (256 - fx) + (pair >> 8) * fx) >> 1) as i16;
        let (upper, lower) = (across(*top), across(*bottom));
        let down = (i32::from(lower - upper) * i32::from((fy << 7) as i16)) >> 16;
        *gray = ((upper + 2 * down as i16 + 64) >> 7) as u8;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use slipsheet_core::units::Dpi;

    fn pyramid(w: u32, h: u32) -> Arc<Pyramid> {
        let pixels = (0..w * h).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
        Arc::new(Pyramid::new(GrayRaster::new(w, h, pixels).unwrap(), Dpi::default()))
    }

    /// The obvious twin: floating point, every neighbour fetched with white outside.
    fn slow(raster: &GrayRaster, p: Point) -> f64 {
        let (x, y) = (p.x - 0.5, p.y - 0.5);
        let fetch = |x: f64, y: f64| {
            let inside =
                x >= 0.0 && y >= 0.0 && x < f64::from(raster.width()) && y < f64::from(raster.height());
            if inside { f64::from(raster.row(y as u32)[x as usize]) } else { 255.0 }
        };
        let (fx, fy) = (x - x.floor(), y - y.floor());
        let (x, y) = (x.floor(), y.floor());
        let top = fetch(x, y) * (1.0 - fx) + fetch(x + 1.0, y) * fx;
        let bottom = fetch(x, y + 1.0) * (1.0 - fx) + fetch(x + 1.0, y + 1.0) * fx;
        top * (1.0 - fy) + bottom * fy
    }

    proptest! {
        #[test]
        fn a_sampled_row_is_the_bilinear_one(
            turn in prop_oneof![Just(0.0), Just(90.0), Just(180.0), -180.0..180.0_f64, -1.0..1.0_f64],
            dx in -20.0..60.0_f64, dy in -20.0..40.0_f64,
            scale in prop_oneof![Just(1.0), 0.2..1.4_f64],
            y in 0..40_usize, x0 in 0..20_usize,
        ) {
            let p = pyramid(50, 37);
            let map = Affine::shift(dx, dy) * Affine::turn(turn) * Affine::scale(scale, scale);
            let everywhere = Rect { x: -1e4, y: -1e4, width: 2e4, height: 2e4 };
            let s = Sampler::new(Arc::clone(&p), map, Affine::IDENTITY, everywhere);
            prop_assert_eq!(s.level, 0);
            let mut row = vec![255; 64];
            s.darken_row(y, x0, &mut row);
            for (i, got) in row.iter().enumerate() {
                let want = slow(p.full(), map * Point::new((x0 + i) as f64 + 0.5, y as f64 + 0.5));
                // Weights have 8 bits, so a step of 255 can be off by one and a rounding.
                prop_assert!((f64::from(*got) - want).abs() <= 2.1, "column {}: {} is not {}", i, got, want);
            }
        }

        #[test]
        fn a_span_holds_exactly_the_columns_inside(
            turn in 0.0..360.0_f64, dx in -50.0..50.0_f64, y in 0..30_usize,
        ) {
            let map = Affine::shift(dx, -3.0) * Affine::turn(turn);
            let rect = Rect { x: 0.0, y: 0.0, width: 21.0, height: 17.0 };
            let got = span(&map, rect, y, 60);
            for x in 0..60 {
                let p = map * Point::new(x as f64 + 0.5, y as f64 + 0.5);
                let edge = [p.x, p.x - 21.0, p.y, p.y - 17.0].iter().any(|d| d.abs() < 1e-6);
                let inside = got.is_some_and(|(a, b)| (a..b).contains(&x));
                prop_assert!(edge || inside == rect.contains(p));
            }
        }
    }

    #[test]
    fn every_width_weighs_to_the_same_grays() {
        let noise = |i: usize, by: usize| (i.wrapping_mul(by) >> 3) as u16;
        let pairs = Pairs {
            tops: std::array::from_fn(|i| noise(i, 40_503)),
            bottoms: std::array::from_fn(|i| noise(i, 30_011)),
        };
        let walk = Walk { u: 123_456, v: 765_432, du: ONE - 7919, dv: -5501 };
        let weighed = |width: Width| {
            let mut grays = [0; BLOCK];
            width.run(Weigh { walk, pairs: &pairs, grays: &mut grays });
            grays
        };
        for width in Width::all() {
            assert_eq!(weighed(width), weighed(Width::Portable), "{width:?}");
        }
    }

    #[test]
    fn nothing_outside_a_crop_is_drawn_at_any_zoom() {
        let black = Arc::new(Pyramid::new(GrayRaster::filled(64, 64, 0).unwrap(), Dpi::default()));
        let everywhere = Rect { x: -1e6, y: -1e6, width: 2e6, height: 2e6 };
        let part = Rect { x: 16.0, y: 8.0, width: 32.0, height: 40.0 };
        for zoom in [1.0, 2.0, 4.0] {
            let s = Sampler::new(Arc::clone(&black), Affine::scale(zoom, zoom), Affine::IDENTITY, everywhere);
            let s = s.cropped(Some(part));
            let side = (64.0 / zoom) as usize;
            for y in 0..side {
                let mut row = vec![255; side];
                s.darken_row(y, 0, &mut row);
                for (x, gray) in row.iter().enumerate() {
                    let at = Point::new((x as f64 + 0.5) * zoom, (y as f64 + 0.5) * zoom);
                    assert_eq!(*gray, if part.contains(at) { 0 } else { 255 }, "{at:?} at {zoom}");
                }
            }
        }
    }

    #[test]
    fn a_small_view_reads_a_small_level() {
        let p = pyramid(1024, 512);
        let s = Sampler::new(Arc::clone(&p), Affine::scale(4.0, 4.0), Affine::IDENTITY, Rect::default());
        assert_eq!(s.level, 2);
    }
}
