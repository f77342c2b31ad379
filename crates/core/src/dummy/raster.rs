//! From pieces of paper to pixels. A first pass finds, for several samples a pixel, which piece is nearest:
//! nearness is linear along a row, so that is one multiply and one comparison a sample. A second pass
//! textures and shades what is seen: a pixel that one piece covers once, an edge sample by sample.

use rayon::prelude::*;

use super::DummyView;
use super::bend::unit;
use super::mesh::{Folded, Strip};
use super::plane::{Camera, Plane, at, span};
use super::prints::Texture;
use super::shadow::{LAMP, Shadows};
use crate::fold::{Face, Shown, Vec3};
use crate::geometry::Point;
use crate::render::Picture;

/// No piece.
const NOTHING: u32 = u32::MAX;
/// A pixel whose samples see several pieces.
const SEVERAL: u32 = u32::MAX - 1;
/// Rows of pixels that one task draws.
const BAND: usize = 8;
/// Places along a row that are worked out together.
const BLOCK: usize = 16;
/// Pieces reach this far over their edges, in samples, so that no line shows between neighbours.
const OVERLAP: f64 = 1e-3;
/// Bayer's pattern of 4 x 4 thresholds.
const PATTERN: [[f32; 4]; 4] = [
    [0.03125, 0.53125, 0.15625, 0.65625],
    [0.78125, 0.28125, 0.90625, 0.40625],
    [0.21875, 0.71875, 0.09375, 0.59375],
    [0.96875, 0.46875, 0.84375, 0.34375],
];
/// Shade of a cut edge: fibres catch less light than the surface.
const EDGE_SHADE: f32 = 0.84;

/// A piece of paper prepared for one picture, in samples.
struct Piece<'a> {
    plane: Plane,
    outline: [(f64, f64); 4],
    rows: (f64, f64),
    front: Side<'a>,
    back: Side<'a>,
    /// Cells of the shadow masks: at the first corner, along, down.
    shadow: Option<[(f32, f32); 3]>,
    /// How much of the leaves' shadow it takes.
    takes: f32,
}

/// One side of a piece.
#[derive(Clone, Copy)]
struct Side<'a> {
    texture: Option<&'a Picture>,
    origin: (f32, f32),
    across: (f32, f32),
    down: (f32, f32),
    /// Light at the left edge, and its change to the right one.
    light: (f32, f32),
}

/// Everything that drawing a pixel needs.
struct Stage<'a> {
    pieces: Vec<Piece<'a>>,
    shadows: Shadows,
    /// The ground, and the part of the picture that the shadow can reach.
    ground: Option<(Plane, [(f64, f64); 4])>,
    colour: [u8; 3],
    paper: [u8; 3],
    samples: usize,
}

/// Draws a moment. `faces` are the prints of front and back, `paper` is the colour of bare stock.
pub fn draw(
    folded: &Folded,
    faces: [Option<&Texture>; 2],
    paper: [u8; 3],
    view: &DummyView,
    out: &mut Picture,
) {
    draw_sheets(folded, |_, face| faces[usize::from(face == Face::Back)], paper, view, out);
}

/// The same for several sheets: `print` gives the print of a sheet's face.
pub fn draw_sheets<'a>(
    folded: &Folded,
    print: impl Fn(usize, Face) -> Option<&'a Texture>,
    paper: [u8; 3],
    view: &DummyView,
    out: &mut Picture,
) {
    let s = view.samples.clamp(1, 3);
    let camera = Camera::new(view, folded.radius, s as f64);
    let shadows = Shadows::of(folded);
    let middle = ((view.width * s) as f64 / 2.0, (view.height * s) as f64 / 2.0);
    let stage = Stage {
        pieces: pieces(folded, print, &camera, &shadows),
        ground: shadows.ground_plane(&camera, middle),
        shadows,
        colour: view.ground,
        paper,
        samples: s,
    };
    (out.width, out.height) = (view.width, view.height);
    out.pixels.resize(view.width * view.height, [0; 4]);
    let w = view.width.max(1);
    out.pixels.par_chunks_mut(w * BAND).enumerate().for_each_init(
        || Found::new(w * s, s),
        |found, (band, rows)| {
            let first = band * BAND;
            let (top, bottom) = ((first * s) as f64, ((first + BAND) * s) as f64);
            found.pieces.clear();
            for (i, piece) in stage.pieces.iter().enumerate() {
                if piece.rows.0 <= bottom && piece.rows.1 >= top {
                    found.pieces.push(i);
                }
            }
            for (dy, row) in rows.chunks_mut(w).enumerate() {
                stage.find(first + dy, found);
                stage.shade(first + dy, row, found);
            }
        },
    );
}

/// What is nearest at each sample of one row of pixels, whose samples lie row by row.
struct Found {
    /// Pieces that reach the present band.
    pieces: Vec<usize>,
    /// One a sample.
    nearest: Vec<f32>,
    which: Vec<u32>,
    /// One a pixel: the piece that all its samples see.
    whole: Vec<u32>,
    width: usize,
}

impl Found {
    fn new(width: usize, samples: usize) -> Self {
        Self {
            pieces: Vec::new(),
            nearest: vec![0.0; width * samples],
            which: vec![NOTHING; width * samples],
            whole: vec![NOTHING; width / samples],
            width,
        }
    }
}

impl Found {
    /// Says of each pixel whether one piece covers all of it.
    fn settle(&mut self, samples: usize) {
        let Some(first) = self.which.get(..self.width) else { return };
        for (whole, samples) in self.whole.iter_mut().zip(first.chunks_exact(samples)) {
            let which = samples.first().copied().unwrap_or(NOTHING);
            *whole = if samples.iter().all(|w| *w == which) { which } else { SEVERAL };
        }
        for row in self.which.chunks_exact(self.width.max(1)).skip(1) {
            for (whole, samples) in self.whole.iter_mut().zip(row.chunks_exact(samples)) {
                *whole = if samples.iter().all(|w| w == whole) { *whole } else { SEVERAL };
            }
        }
    }
}

fn pieces<'a>(
    folded: &Folded,
    print: impl Fn(usize, Face) -> Option<&'a Texture>,
    camera: &Camera,
    shadows: &Shadows,
) -> Vec<Piece<'a>> {
    let strips = folded.strips.iter().filter_map(|strip| {
        let eyes = strip.corners.map(|c| camera.eye(c));
        let outline = outline(camera, eyes)?;
        let normals = strip.normals.map(|n| camera.turned(n));
        let side = |shown: Shown, turned: f64| -> Side<'a> {
            let light = [0, 1].map(|e| lit(normals[e] * turned) * (1.0 - strip.gutter[e]) as f32);
            side(shown, |face| print(strip.sheet, face), &outline, (light[0], light[1] - light[0]))
        };
        let (front, back) = (side(strip.front, 1.0), side(strip.back, -1.0));
        let shadow = shadows.under(strip).map(|[o, a, _, d]| {
            let step = |p: (f64, f64)| ((p.0 - o.0) as f32, (p.1 - o.1) as f32);
            [(o.0 as f32, o.1 as f32), step(a), step(d)]
        });
        Some(Piece::new(camera, eyes, outline, (front, back), (shadow, 1.0 - strip.raised as f32)))
    });
    // A rim is never thinner than what one can just see.
    let least = camera.mm_per_point() * 0.55;
    let rims = folded.rims.iter().filter_map(|rim| {
        let half = rim.half.max(least);
        let [a, b] = rim.ends;
        let [up_a, up_b] = [rim.normals[0] * half, rim.normals[1] * half];
        let corners = [a + up_a, b + up_b, b - up_b, a - up_a];
        let eyes = corners.map(|c| camera.eye(c));
        let outline = outline(camera, eyes)?;
        let normal = camera.turned(unit((b - a).cross(rim.normals[0])));
        let bare = |turned: f64| Side {
            texture: None,
            light: (lit(normal * turned) * EDGE_SHADE, 0.0),
            ..Side::BARE
        };
        Some(Piece::new(camera, eyes, outline, (bare(1.0), bare(-1.0)), (None, 0.0)))
    });
    strips.chain(rims).collect()
}

fn outline(camera: &Camera, eyes: [Vec3; 4]) -> Option<[(f64, f64); 4]> {
    let [a, b, c, d] = eyes.map(|p| camera.picture(p));
    Some([a?, b?, c?, d?])
}

/// Light on a surface, 1 where it faces the viewer; paper scatters, so no side is ever black.
fn lit(normal: Vec3) -> f32 {
    let lamp = unit(LAMP);
    (1.0 + 0.36 * (normal.dot(lamp) - lamp.z)).clamp(0.6, 1.0) as f32
}

fn side<'a>(
    shown: Shown,
    print: impl Fn(Face) -> Option<&'a Texture>,
    outline: &[(f64, f64); 4],
    light: (f32, f32),
) -> Side<'a> {
    let bare = Side { light, ..Side::BARE };
    let Some((face, corners)) = shown else { return bare };
    let Some(texture) = print(face) else { return bare };
    let [o, a, _, d] = corners.map(|p| Point::new(p.x * texture.px_per_mm, p.y * texture.px_per_mm));
    // The level whose pixels are about as large as the picture's.
    let reach = |a: (f64, f64), b: (f64, f64)| libm::hypot(a.0 - b.0, a.1 - b.1).max(1e-6);
    let shown = reach(outline[0], outline[1]) * reach(outline[0], outline[3]);
    let texels = libm::hypot(a.x - o.x, a.y - o.y) * libm::hypot(d.x - o.x, d.y - o.y);
    let level = libm::log2(libm::sqrt(texels / shown).max(1.0)).round() as usize;
    let level = level.min(texture.levels.len().saturating_sub(1));
    let Some(picture) = texture.levels.get(level) else { return bare };
    let k = libm::exp2(-(level as f64));
    Side {
        texture: Some(picture),
        origin: ((o.x * k - 0.5) as f32, (o.y * k - 0.5) as f32),
        across: (((a.x - o.x) * k) as f32, ((a.y - o.y) * k) as f32),
        down: (((d.x - o.x) * k) as f32, ((d.y - o.y) * k) as f32),
        light,
    }
}

impl<'a> Piece<'a> {
    fn new(
        camera: &Camera,
        eyes: [Vec3; 4],
        outline: [(f64, f64); 4],
        (front, back): (Side<'a>, Side<'a>),
        (shadow, takes): (Option<[(f32, f32); 3]>, f32),
    ) -> Self {
        let rows = outline
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (f64::min(l, p.1), f64::max(h, p.1)));
        Self {
            plane: Plane::new(camera, eyes[0], eyes[1], eyes[3]),
            outline,
            rows,
            front,
            back,
            shadow,
            takes,
        }
    }
}

impl Stage<'_> {
    /// Finds what is nearest at every sample of one row of pixels.
    fn find(&self, y: usize, found: &mut Found) {
        let s = self.samples;
        found.nearest.fill(0.0);
        found.which.fill(NOTHING);
        let width = found.width;
        for &i in &found.pieces {
            let Some(piece) = self.pieces.get(i) else { continue };
            for sub in 0..s {
                let row = (y * s + sub) as f64 + 0.5;
                let Some((left, right)) = span(&piece.outline, row) else { continue };
                let x0 = (left - 0.5 - OVERLAP).ceil().clamp(0.0, width as f64) as usize;
                let x1 = ((right - 0.5 + OVERLAP).floor() + 1.0).clamp(0.0, width as f64) as usize;
                if x0 >= x1 {
                    continue;
                }
                let k = piece.plane.per_depth;
                let start = (at(piece.plane.det, x0 as f64 + 0.5, row) * k) as f32;
                let step = (piece.plane.det[0] * k) as f32;
                let range = sub * width + x0..sub * width + x1;
                let (Some(nearest), Some(which)) =
                    (found.nearest.get_mut(range.clone()), found.which.get_mut(range))
                else {
                    continue;
                };
                for (x, (n, w)) in nearest.iter_mut().zip(which).enumerate() {
                    let here = start + step * x as f32;
                    let nearer = here > *n;
                    *n = if nearer { here } else { *n };
                    *w = if nearer { i as u32 } else { *w };
                }
            }
        }
        found.settle(s);
    }

    /// Colours one row of pixels.
    fn shade(&self, y: usize, out: &mut [[u8; 4]], found: &Found) {
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
    /// Paper without print.
    const BARE: Self =
        Self { texture: None, origin: (0.0, 0.0), across: (0.0, 0.0), down: (0.0, 0.0), light: (1.0, 0.0) };

    /// Bilinear, as four bytes in one number.
    fn sample(&self, texture: &Picture, u: f32, v: f32) -> u32 {
        let (w, h) = (texture.width, texture.height);
        let x = self.origin.0 + u * self.across.0 + v * self.down.0;
        let y = self.origin.1 + u * self.across.1 + v * self.down.1;
        // Casts saturate, so what lies off the texture takes its border.
        // What lies off the texture takes its border.
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

/// The panel that is seen at a picture point, with the place on it and whether its first side is seen.
pub(super) fn seen<'a>(
    folded: &'a Folded,
    camera: &Camera,
    (x, y): (f64, f64),
) -> Option<(&'a Strip, f64, f64, bool)> {
    let hit = folded.strips.iter().filter_map(|strip| {
        let [a, b, _, d] = strip.corners.map(|c| camera.eye(c));
        let plane = Plane::new(camera, a, b, d);
        let (u, v, near) = plane.meet(x, y)?;
        ((0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v))
            .then_some((near, (strip, u, v, plane.faces(x, y))))
    });
    hit.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, seen)| seen)
}

/// Whether paper lies under a picture point, in pixels.
pub(super) fn hit(folded: &Folded, view: &DummyView, point: (f64, f64)) -> bool {
    seen(folded, &Camera::new(view, folded.radius, 1.0), point).is_some()
}

/// The faces that are seen, each with its sheet, those that fill most of the picture first: found by a grid of
/// points, so that slivers may be missed.
pub(super) fn seen_faces(folded: &Folded, view: &DummyView) -> Vec<(usize, Face)> {
    const ACROSS: usize = 36;
    const DOWN: usize = 27;
    let camera = Camera::new(view, folded.radius, 1.0);
    let planes: Vec<(Plane, &Strip)> = folded
        .strips
        .iter()
        .map(|strip| {
            let [a, b, _, d] = strip.corners.map(|c| camera.eye(c));
            (Plane::new(&camera, a, b, d), strip)
        })
        .collect();
    let look = |i: usize| {
        let x = ((i % ACROSS) as f64 + 0.5) / ACROSS as f64 * view.width as f64;
        let y = ((i / ACROSS) as f64 + 0.5) / DOWN as f64 * view.height as f64;
        let hits = planes.iter().filter_map(|(plane, strip)| {
            let (u, v, near) = plane.meet(x, y)?;
            ((0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v)).then_some((near, plane, strip))
        });
        let (_, plane, strip) = hits.max_by(|a, b| a.0.total_cmp(&b.0))?;
        let (face, _) = if plane.faces(x, y) { strip.front } else { strip.back }?;
        Some((strip.sheet, face))
    };
    let hits: Vec<(usize, Face)> = (0..ACROSS * DOWN).into_par_iter().filter_map(look).collect();
    let mut counts: std::collections::BTreeMap<(usize, Face), usize> = std::collections::BTreeMap::new();
    hits.into_iter().for_each(|hit| *counts.entry(hit).or_default() += 1);
    let mut faces: Vec<((usize, Face), usize)> = counts.into_iter().collect();
    faces.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    faces.into_iter().map(|(face, _)| face).collect()
}
