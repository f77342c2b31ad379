//! Pieces of paper prepared for one picture: where each lies on it, what its sides show and in which light.

use crate::dummy::bend::unit;
use crate::dummy::mesh::Folded;
use crate::dummy::plane::{Camera, Plane};
use crate::dummy::shadow::{LAMP, Shadows};
use crate::dummy::texture::Texture;
use crate::fold::{Face, Shown, Vec3};
use slipsheet_base::geometry::Point;
use slipsheet_base::picture::Picture;

/// Shade of a cut edge: fibres catch less light than the surface.
const EDGE_SHADE: f32 = 0.84;

/// A piece of paper prepared for one picture, in samples.
pub(super) struct Piece<'a> {
    pub plane: Plane,
    pub outline: [(f64, f64); 4],
    pub rows: (f64, f64),
    pub front: Side<'a>,
    pub back: Side<'a>,
    /// Cells of the shadow masks: at the first corner, along, down.
    pub shadow: Option<[(f32, f32); 3]>,
    /// How much of the leaves' shadow it takes.
    pub takes: f32,
}

#[derive(Clone, Copy)]
pub(super) struct Side<'a> {
    pub texture: Option<&'a Picture>,
    pub origin: (f32, f32),
    pub across: (f32, f32),
    pub down: (f32, f32),
    /// Light at the left edge, and its change to the right one.
    pub light: (f32, f32),
}

impl Side<'_> {
    /// Paper without print.
    const BARE: Self =
        Self { texture: None, origin: (0.0, 0.0), across: (0.0, 0.0), down: (0.0, 0.0), light: (1.0, 0.0) };
}

/// Every strip and rim of a folded thing that lies before the eye.
pub(super) fn pieces<'a>(
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
