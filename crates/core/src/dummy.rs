//! The folded thing as a picture: panels in space, textured with the print, drawn with a depth buffer and
//! true perspective, shaded, with a soft shadow behind.

use rayon::prelude::*;

use crate::fold::{Face, Pose, Scheme, Vec3};
use crate::geometry::{Affine, Point};
use crate::render::Picture;

/// Where one looks from, and how large the picture is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DummyView {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Turn about the upright axis, degrees.
    pub yaw: f64,
    /// Tilt, degrees; positive looks down on it.
    pub pitch: f64,
    /// Enlargement; 1 fits the piece into the picture.
    pub zoom: f64,
    /// Colour behind.
    pub ground: [u8; 3],
    /// Samples a pixel each way: 1 while things move, 2 for a still picture.
    pub samples: usize,
}

/// The print on one face.
#[derive(Debug, Clone)]
pub struct Texture {
    /// The whole face.
    pub picture: Picture,
    /// From mm on the face to pixels of the picture.
    pub px_per_mm: f64,
}

/// A panel side prepared for one picture.
struct Quad<'a> {
    /// Per picture point (x, y, 1): along and down the panel times `det`, and `det` itself.
    along: [f64; 3],
    down: [f64; 3],
    det: [f64; 3],
    /// Nearness is `det / depth`.
    depth: f64,
    rows: (usize, usize),
    front: Option<Side<'a>>,
    back: Option<Side<'a>>,
    light: (f32, f32),
}

/// A texture and the map from the panel's unit square to its pixels.
#[derive(Clone, Copy)]
struct Side<'a> {
    texture: &'a Picture,
    origin: Point,
    across: Point,
    down: Point,
}

/// Draws a pose. `faces` are the prints of front and back, `paper` is the colour of bare stock.
pub fn draw(pose: &Pose, faces: [Option<&Texture>; 2], paper: [u8; 3], view: &DummyView, out: &mut Picture) {
    let s = view.samples.clamp(1, 3);
    let (w, h) = (view.width * s, view.height * s);
    let mut large = Picture { width: w, height: h, pixels: vec![[0; 4]; w * h] };
    let quads = prepare(pose, faces, view, w, h);
    large.pixels.par_chunks_mut(w.max(1)).enumerate().for_each_init(
        || vec![0.0_f64; w],
        |near, (y, row)| {
            near.fill(0.0);
            for quad in quads.iter().filter(|q| (q.rows.0..q.rows.1).contains(&y)) {
                quad.draw_row(y, row, near, paper);
            }
        },
    );
    let shadow = Shadow::under(&large, s);
    (out.width, out.height) = (view.width, view.height);
    out.pixels.resize(view.width * view.height, [0; 4]);
    out.pixels.par_chunks_mut(view.width.max(1)).enumerate().for_each(|(y, row)| {
        for (x, o) in row.iter_mut().enumerate() {
            *o = resolve(&large, s, x, y, view.ground, &shadow);
        }
    });
}

/// The page under a point of the picture, and whether it faces the viewer; used to turn pages by clicking.
pub fn page_at(
    pose: &Pose,
    scheme: &Scheme,
    sheet: crate::units::Size,
    view: &DummyView,
    x: f64,
    y: f64,
) -> Option<u32> {
    let quads = prepare(pose, [None, None], view, view.width, view.height);
    let point = [x, y, 1.0];
    let hit = quads.iter().zip(&pose.panels).filter_map(|(q, p)| {
        let (u, v, near) = q.hit(point)?;
        Some((near, u, v, q.faces_viewer(point), p))
    });
    let (_, u, v, front, panel) = hit.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let (face, c) = if front { panel.front } else { panel.back }?;
    let at = Point::new(
        c[0].x + u * (c[1].x - c[0].x) + v * (c[3].x - c[0].x),
        c[0].y + u * (c[1].y - c[0].y) + v * (c[3].y - c[0].y),
    );
    scheme.places(sheet, face).into_iter().find(|p| p.rect.contains(at)).map(|p| p.page)
}

fn prepare<'a>(
    pose: &Pose,
    faces: [Option<&'a Texture>; 2],
    view: &DummyView,
    w: usize,
    h: usize,
) -> Vec<Quad<'a>> {
    let radius = pose.radius();
    let distance = radius * 4.2;
    let scale = w.min(h) as f64 * 0.46 / radius * distance * view.zoom.clamp(0.1, 20.0);
    let (pitch_sin, pitch_cos) = libm::sincos(view.pitch.to_radians());
    // Camera at the origin, looking down the negative z axis.
    let camera = |p: Vec3| {
        let p = p.yawed(view.yaw);
        Vec3::new(p.x, p.y * pitch_cos - p.z * pitch_sin, p.y * pitch_sin + p.z * pitch_cos - distance)
    };
    let picture_from_plane = Affine::shift(w as f64 / 2.0, h as f64 / 2.0) * Affine::scale(scale, -scale);
    pose.panels
        .iter()
        .map(|panel| {
            let side = |shown: crate::fold::Shown| -> Option<Side<'a>> {
                let (face, c) = shown?;
                let texture = faces[usize::from(face == Face::Back)]?;
                let px = |p: Point| Point::new(p.x * texture.px_per_mm, p.y * texture.px_per_mm);
                let [o, a, _, d] = c.map(px);
                Some(Side {
                    texture: &texture.picture,
                    origin: o,
                    across: Point::new(a.x - o.x, a.y - o.y),
                    down: Point::new(d.x - o.x, d.y - o.y),
                })
            };
            let corners = panel.corners.map(camera);
            Quad::new(corners, picture_from_plane, h, side(panel.front), side(panel.back))
        })
        .collect()
}

impl<'a> Quad<'a> {
    fn new(
        c: [Vec3; 4],
        picture_from_plane: Affine,
        height: usize,
        front: Option<Side<'a>>,
        back: Option<Side<'a>>,
    ) -> Self {
        let (e1, e2) = (c[1] - c[0], c[3] - c[0]);
        let q = c[0].cross(e1) * -1.0;
        // A ray d = (x, y, -1) meets c0 + u e1 + v e2 where (Moeller and Trumbore, 1997): u = d.a / d.g,
        // v = d.b / d.g and depth = (e2 . q) / (d . g). In picture points d is linear, so each is three numbers.
        let (a, b, g) = (c[0].cross(e2), q, e2.cross(e1));
        let plane_from_picture = picture_from_plane.inverse().unwrap_or(Affine::IDENTITY);
        let m = plane_from_picture;
        let linear = |v: Vec3| [v.x * m.a, v.y * m.d, v.x * m.e + v.y * m.f - v.z];
        let ys = c.map(|p| {
            let depth = -p.z;
            if depth > 1e-6 {
                (picture_from_plane * Point::new(p.x / depth, p.y / depth)).y
            } else {
                f64::NAN
            }
        });
        let rows = if ys.iter().any(|y| y.is_nan()) {
            (0, 0)
        } else {
            let low = ys.iter().copied().fold(f64::INFINITY, f64::min).floor().max(0.0);
            let high = ys.iter().copied().fold(f64::NEG_INFINITY, f64::max).ceil().max(0.0);
            (low as usize, (high as usize + 1).min(height))
        };
        let n = e2.cross(e1);
        let n = n * (1.0 / n.length().max(1e-9));
        // Light from above the viewer's left shoulder; paper scatters, so no side is ever black.
        let lamp = Vec3::new(-0.35, 0.5, 0.79);
        let lit = |n: Vec3| (0.80 + 0.20 * n.dot(lamp).max(-0.6) / 0.98) as f32;
        Self {
            along: linear(a),
            down: linear(b),
            det: linear(g),
            depth: e2.dot(q),
            rows,
            front,
            back,
            light: (lit(n), lit(n * -1.0)),
        }
    }

    /// Place on the panel (0..=1 each way) and nearness at a picture point.
    fn hit(&self, point: [f64; 3]) -> Option<(f64, f64, f64)> {
        let det = dot(self.det, point);
        if det.abs() < 1e-9 {
            return None;
        }
        let (u, v) = (dot(self.along, point) / det, dot(self.down, point) / det);
        let near = det / self.depth;
        ((0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v) && near > 0.0).then_some((u, v, near))
    }

    /// Whether the first side faces the viewer: its normal then points against the ray.
    fn faces_viewer(&self, point: [f64; 3]) -> bool {
        dot(self.det, point) < 0.0
    }

    fn draw_row(&self, y: usize, row: &mut [[u8; 4]], near: &mut [f64], paper: [u8; 3]) {
        let y = y as f64 + 0.5;
        for (x, (o, nearest)) in row.iter_mut().zip(near).enumerate() {
            let point = [x as f64 + 0.5, y, 1.0];
            let Some((u, v, here)) = self.hit(point) else { continue };
            if here <= *nearest {
                continue;
            }
            *nearest = here;
            let front = self.faces_viewer(point);
            let (side, light) = if front { (&self.front, self.light.0) } else { (&self.back, self.light.1) };
            let rgb = side.as_ref().map_or(paper, |s| s.sample(u, v, paper));
            let shade = |c: u8| (f32::from(c) * light).min(255.0) as u8;
            *o = [shade(rgb[0]), shade(rgb[1]), shade(rgb[2]), 255];
        }
    }
}

impl Side<'_> {
    /// Bilinear; where the texture is transparent the paper shows.
    fn sample(&self, u: f64, v: f64, paper: [u8; 3]) -> [u8; 3] {
        let (w, h) = (self.texture.width, self.texture.height);
        if w == 0 || h == 0 {
            return paper;
        }
        let x = (self.origin.x + u * self.across.x + v * self.down.x - 0.5).clamp(0.0, w as f64 - 1.0);
        let y = (self.origin.y + u * self.across.y + v * self.down.y - 0.5).clamp(0.0, h as f64 - 1.0);
        let (x0, y0) = (x as usize, y as usize);
        let (x1, y1) = ((x0 + 1).min(w - 1), (y0 + 1).min(h - 1));
        let (fx, fy) = (((x - x0 as f64) * 256.0) as u32, ((y - y0 as f64) * 256.0) as u32);
        let (a, b) = (self.texture.at(x0, y0), self.texture.at(x1, y0));
        let (c, d) = (self.texture.at(x0, y1), self.texture.at(x1, y1));
        if [a, b, c, d].iter().any(|p| p[3] == 0) {
            return paper;
        }
        std::array::from_fn(|i| {
            let mix = |a: u8, b: u8| u32::from(a) * (256 - fx) + u32::from(b) * fx;
            ((mix(a[i], b[i]) * (256 - fy) + mix(c[i], d[i]) * fy + (1 << 15)) >> 16) as u8
        })
    }
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// A blurred silhouette, one cell per 8 picture pixels.
struct Shadow {
    width: usize,
    height: usize,
    cells: Vec<f32>,
}

const CELL: usize = 8;

impl Shadow {
    fn under(large: &Picture, samples: usize) -> Self {
        let step = CELL * samples;
        let (width, height) = (large.width.div_ceil(step), large.height.div_ceil(step));
        let mut cells = vec![0.0; width * height];
        for (i, cell) in cells.iter_mut().enumerate() {
            let (x, y) = (i % width.max(1) * step + step / 2, i / width.max(1) * step + step / 2);
            *cell = f32::from(large.at(x, y)[3]) / 255.0;
        }
        let mut shadow = Self { width, height, cells };
        for _ in 0..3 {
            shadow.blur();
        }
        shadow
    }

    fn cell(&self, x: i64, y: i64) -> f32 {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { return 0.0 };
        if x < self.width && y < self.height {
            self.cells.get(y * self.width + x).copied().unwrap_or(0.0)
        } else {
            0.0
        }
    }

    /// A box of 5 x 5 cells; three of them come close to a bell.
    fn blur(&mut self) {
        let (w, h) = (self.width, self.height);
        let sum_at = |i: usize| {
            let (x, y) = ((i % w) as i64, (i / w) as i64);
            (-2..=2)
                .flat_map(|dy| (-2..=2).map(move |dx| (dx, dy)))
                .map(|(dx, dy)| self.cell(x + dx, y + dy))
                .sum::<f32>()
                / 25.0
        };
        self.cells = (0..w * h).into_par_iter().map(sum_at).collect();
    }

    /// Darkness at a picture pixel, 0..=1, the lamp's offset included.
    fn at(&self, x: usize, y: usize) -> f32 {
        let (x, y) = (x as f32 / CELL as f32 - 1.0 - 0.5, y as f32 / CELL as f32 - 1.6 - 0.5);
        let (fx, fy) = (x - x.floor(), y - y.floor());
        let (x, y) = (x.floor() as i64, y.floor() as i64);
        let top = self.cell(x, y) * (1.0 - fx) + self.cell(x + 1, y) * fx;
        let bottom = self.cell(x, y + 1) * (1.0 - fx) + self.cell(x + 1, y + 1) * fx;
        top * (1.0 - fy) + bottom * fy
    }
}

/// The mean of a pixel's samples over the shaded ground.
fn resolve(large: &Picture, s: usize, x: usize, y: usize, ground: [u8; 3], shadow: &Shadow) -> [u8; 4] {
    let mut sum = [0_u32; 4];
    for dy in 0..s {
        for dx in 0..s {
            let p = large.at(x * s + dx, y * s + dy);
            for (t, v) in sum.iter_mut().zip(p) {
                *t += u32::from(v);
            }
        }
    }
    let n = (s * s) as f32;
    let cover = sum[3] as f32 / (255.0 * n);
    let dark = if cover < 1.0 { 1.0 - 0.42 * shadow.at(x, y) } else { 1.0 };
    let channel =
        |i: usize| (sum[i] as f32 / n + f32::from(ground[i]) * dark * (1.0 - cover)).min(255.0) as u8;
    [channel(0), channel(1), channel(2), 255]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Size;

    fn view(yaw: f64) -> DummyView {
        DummyView { width: 200, height: 160, yaw, pitch: 0.0, zoom: 1.0, ground: [120; 3], samples: 1 }
    }

    #[test]
    fn the_flat_sheet_shows_its_front_and_turned_round_its_back() {
        let scheme = crate::fold::find("single4").unwrap();
        let size = Size::mm(280.0, 200.0);
        let face = |rgb: [u8; 4]| Texture {
            picture: Picture { width: 28, height: 20, pixels: vec![rgb; 560] },
            px_per_mm: 0.1,
        };
        let (red, blue) = (face([200, 0, 0, 255]), face([0, 0, 200, 255]));
        let mut out = Picture::default();
        let pose = scheme.pose(size, 0.0, 0.0);
        draw(&pose, [Some(&red), Some(&blue)], [255; 3], &view(0.0), &mut out);
        assert!(out.at(100, 80)[0] > 100 && out.at(100, 80)[2] == 0, "{:?}", out.at(100, 80));
        assert_eq!(out.at(0, 0), [120, 120, 120, 255]);
        draw(&pose, [Some(&red), Some(&blue)], [255; 3], &view(180.0), &mut out);
        assert!(out.at(100, 80)[2] > 100 && out.at(100, 80)[0] == 0, "{:?}", out.at(100, 80));
    }

    #[test]
    fn a_click_finds_the_page() {
        let scheme = crate::fold::find("slit8").unwrap();
        let size = Size::mm(280.0, 216.0);
        let flat = scheme.pose(size, 0.0, 0.0);
        assert_eq!(page_at(&flat, &scheme, size, &view(0.0), 55.0, 60.0), Some(5));
        let closed = scheme.pose(size, 1.0, 0.0);
        assert_eq!(page_at(&closed, &scheme, size, &view(0.0), 100.0, 80.0), Some(1));
        assert_eq!(page_at(&closed, &scheme, size, &view(0.0), 1.0, 1.0), None);
    }
}
