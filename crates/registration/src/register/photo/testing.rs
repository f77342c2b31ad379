//! A camera of the tests' own: a pinhole with a lens in front of a drawn sheet on a table.

use crate::register::layout::MarkLayout;
use crate::register::perspective::PerspectiveFit;
use crate::register::shape::Stroke;
use rayon::prelude::*;
use slipsheet_base::projective::{Homography, Lens};
use slipsheet_base::random::SplitMix;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::Size;

/// Where the camera stands.
#[derive(Debug, Clone, Copy)]
pub struct Camera {
    pub photo: (u32, u32),
    /// Degrees off straight above, and towards which side of the photograph.
    pub tilt: f64,
    pub towards: f64,
    /// How far the sheet is turned, clockwise as seen.
    pub turn: f64,
    pub k: f64,
    /// The share of the photograph that the paper takes up, along where it fills most.
    pub fill: f64,
}

/// What the paper lies on.
#[derive(Debug, Clone, Copy)]
pub enum Table {
    Plain(f64),
    /// Boards with a grain, of a mean gray and a contrast.
    Wood(f64, f64),
}

/// What is photographed, and in which light.
#[derive(Debug, Clone, Copy)]
pub struct Scene {
    pub table: Table,
    pub paper: f64,
    pub ink: f64,
    /// How much of the light is gone on the far side, 0..=1.
    pub fall: f64,
    /// What a shadow across the corner leaves of the light, 0..=1.
    pub shadow: f64,
    pub noise: f64,
    /// How far what is drawn half way across lies too high, as on a sheet that is bent, in mm.
    pub bend: f64,
    /// What is left of the table's light in the shadow of the paper itself, 0..=1.
    pub lift: f64,
    /// How far the marks lie from the middle of the paper, in mm.
    pub feed: Point,
}

impl Default for Scene {
    fn default() -> Self {
        Self {
            table: Table::Plain(70.0),
            paper: 225.0,
            ink: 60.0,
            fall: 0.2,
            shadow: 1.0,
            noise: 3.0,
            bend: 0.0,
            lift: 0.7,
            feed: Point::new(0.6, -0.4),
        }
    }
}

impl Default for Camera {
    fn default() -> Self {
        Self { photo: (1600, 1200), tilt: 8.0, towards: 30.0, turn: 90.0, k: 0.0, fill: 0.88 }
    }
}

impl Camera {
    pub fn lens(&self) -> Lens {
        Lens::of_photo(self.photo.0, self.photo.1, self.k)
    }

    /// From mm on the sheet to pixels without the lens: a pinhole whose photograph spans some 58 degrees across.
    pub fn photo_from_sheet(&self, sheet: Size, original: Size) -> Homography {
        let (w, h) = (f64::from(self.photo.0), f64::from(self.photo.1));
        let focal = 0.9 * w.max(h);
        let lain = Affine::turn(self.turn);
        // A turn about an axis in the plane of the table.
        let (sin, cos) = libm::sincos(self.tilt.to_radians());
        let (ay, ax) = libm::sincos(self.towards.to_radians());
        let tilted = |p: Point| {
            let along = p.x * ax + p.y * ay;
            let less = along * (cos - 1.0);
            [p.x + ax * less, p.y + ay * less, along * sin]
        };
        let (x, y) = (tilted(Point::new(lain.a, lain.b)), tilted(Point::new(lain.c, lain.d)));
        let seen = Homography { rows: [[focal, 0.0, w / 2.0], [0.0, focal, h / 2.0], [0.0, 0.0, 1.0]] };
        let (sw, sh) = (sheet.width.get() / 2.0, sheet.height.get() / 2.0);
        let middle = Homography::from(Affine::shift(-sw, -sh));
        let (pw, ph) = (original.width.get() / 2.0, original.height.get() / 2.0);
        let corners = [(-pw, -ph), (pw, -ph), (pw, ph), (-pw, ph)].map(|(x, y)| Point::new(sw + x, sh + y));
        // The camera is moved until the paper fills what it should, in the middle of the photograph.
        let mut at = [0.0, 0.0, 2.0 * focal];
        let mut map = middle;
        for _ in 0..20 {
            let pose = Homography { rows: [[x[0], y[0], at[0]], [x[1], y[1], at[1]], [x[2], y[2], at[2]]] };
            map = seen * pose * middle;
            let places = corners.map(|p| self.lens().distort(map * p));
            let range = |pick: fn(&Point) -> f64| {
                let all = places.iter().map(pick);
                (all.clone().fold(f64::INFINITY, f64::min), all.fold(f64::NEG_INFINITY, f64::max))
            };
            let ((x0, x1), (y0, y1)) = (range(|p| p.x), range(|p| p.y));
            let share = ((x1 - x0) / w).max((y1 - y0) / h);
            at[0] -= ((x0 + x1) / 2.0 - w / 2.0) * at[2] / focal;
            at[1] -= ((y0 + y1) / 2.0 - h / 2.0) * at[2] / focal;
            at[2] *= share / self.fill;
        }
        map
    }

    pub fn photograph(&self, layout: &MarkLayout, original: Size, scene: &Scene) -> GrayRaster {
        self.drawn_by(self.photo_from_sheet(layout.sheet, original), layout, original, scene)
    }

    /// As [`Self::photograph`], from where a map says.
    pub fn drawn_by(
        &self,
        photo_from_sheet: Homography,
        layout: &MarkLayout,
        original: Size,
        scene: &Scene,
    ) -> GrayRaster {
        let back = photo_from_sheet.inverse().unwrap();
        let (lens, drawn) = (self.lens(), Drawn::new(layout, original, scene));
        let (w, h) = (f64::from(self.photo.0), f64::from(self.photo.1));
        let mut photo = GrayRaster::filled(self.photo.0, self.photo.1, 0).unwrap();
        photo.pixels_mut().par_chunks_mut(self.photo.0 as usize).enumerate().for_each(|(y, row)| {
            let mut random = SplitMix::keyed(5, y as u64, 1);
            for (x, pixel) in row.iter_mut().enumerate() {
                let mut sum = 0.0;
                // Within a pixel the lens only shifts, to a few hundredths.
                let middle = lens.undistort(Point::new(x as f64 + 0.5, y as f64 + 0.5));
                for (i, j) in [(-0.3, -0.2), (0.2, -0.3), (0.3, 0.2), (-0.2, 0.3)] {
                    sum += drawn.gray(back * Point::new(middle.x + i, middle.y + j));
                }
                let (u, v) = (x as f64 / w, y as f64 / h);
                let edge = ((u + 0.6 * v - 0.75) / 0.03).clamp(0.0, 1.0);
                let light = (1.0 - scene.fall * u) * (1.0 - (1.0 - scene.shadow) * edge);
                let grain =
                    (random.uniform() + random.uniform() + random.uniform() - 1.5) * 2.0 * scene.noise;
                *pixel = (sum / 4.0 * light + grain).round().clamp(0.0, 255.0) as u8;
            }
        });
        photo
    }

    /// Mean and greatest error in mm of a fit over the whole sheet.
    pub fn errors(&self, fit: &PerspectiveFit, sheet: Size, original: Size) -> (f64, f64) {
        let (truth, lens) = (self.photo_from_sheet(sheet, original), self.lens());
        let at = |i: usize, n: usize, size: f64| size * i as f64 / n as f64;
        let points = (0..=12).flat_map(|j| {
            (0..=10).map(move |i| Point::new(at(i, 10, sheet.width.get()), at(j, 12, sheet.height.get())))
        });
        let errors: Vec<f64> =
            points.map(|p| fit.on_sheet(lens.distort(truth * p)).unwrap().distance(p)).collect();
        (errors.iter().sum::<f64>() / errors.len() as f64, errors.iter().copied().fold(0.0, f64::max))
    }
}

/// The sheet and its table as gray at a point, in mm from the sheet's top left.
struct Drawn<'a> {
    marks: Vec<(Point, f64, Vec<Stroke>)>,
    scene: &'a Scene,
    /// The paper's top left and size.
    paper: (Point, Size),
    sheet: Size,
}

impl<'a> Drawn<'a> {
    fn new(layout: &MarkLayout, original: Size, scene: &'a Scene) -> Self {
        let marks = layout.marks.iter().map(|m| (m.at, 2.0 * m.size, m.kind.strokes(m.size))).collect();
        let corner = Point::new(
            (layout.sheet.width.get() - original.width.get()) / 2.0 - scene.feed.x,
            (layout.sheet.height.get() - original.height.get()) / 2.0 - scene.feed.y,
        );
        Self { marks, scene, paper: (corner, original), sheet: layout.sheet }
    }

    fn gray(&self, p: Point) -> f64 {
        let (x, y) = (p.x - self.paper.0.x, p.y - self.paper.0.y);
        let (w, h) = (self.paper.1.width.get(), self.paper.1.height.get());
        if !(0.0..=w).contains(&x) || !(0.0..=h).contains(&y) {
            // The paper lies a little off the table and throws a shadow to the right and below.
            let in_shadow = (1.0..=w + 1.0).contains(&x) && (1.0..=h + 1.0).contains(&y);
            return self.table(p) * if in_shadow { self.scene.lift } else { 1.0 };
        }
        let wave = self.scene.bend * libm::sin(x / w * std::f64::consts::PI);
        let dark = self.dark(Point::new(p.x, p.y + wave));
        self.scene.paper + (self.scene.ink - self.scene.paper) * dark
    }

    fn table(&self, p: Point) -> f64 {
        match self.scene.table {
            Table::Plain(gray) => gray,
            Table::Wood(gray, contrast) => {
                let warped = p.y + 4.0 * libm::sin(p.x / 60.0) + 1.5 * libm::sin(p.x / 17.0 + p.y / 40.0);
                let rings = libm::sin(warped / 2.1) + 0.6 * libm::sin(warped / 0.8 + 1.0);
                let seam = if (p.y + 500.0).rem_euclid(90.0) < 1.0 { -2.5 } else { 0.0 };
                gray + contrast * (0.5 * rings + seam)
            }
        }
    }

    /// How much ink there is, 0..=1: the marks, and a drawing with a frame, a wash, lines and lettering.
    fn dark(&self, p: Point) -> f64 {
        let near = |(at, reach, strokes): &(Point, f64, Vec<Stroke>)| {
            let q = Point::new(p.x - at.x, p.y - at.y);
            q.x.abs() <= *reach && q.y.abs() <= *reach && strokes.iter().any(|s| s.distance(q) <= 0.15)
        };
        if self.marks.iter().any(near) {
            return 1.0;
        }
        let (w, h) = (self.sheet.width.get(), self.sheet.height.get());
        let (u, v) = (p.x / w, p.y / h);
        let inset = (p.x.min(w - p.x).min(p.y).min(h - p.y) - 14.0).abs();
        let disc = libm::hypot(p.x - 0.35 * w, p.y - 0.3 * h);
        let is_lettering = (0.12..0.88).contains(&u) && (0.6..0.85).contains(&v);
        if inset < 0.4 || (disc < 0.18 * w && (disc / 3.0).rem_euclid(1.0) < 0.6) {
            0.9
        } else if (0.58..0.85).contains(&u) && (0.14..0.5).contains(&v) {
            0.3 + 0.5 * v
        } else if is_lettering
            && p.y.rem_euclid(7.0) < 3.0
            && (libm::sin(p.x * 2.7) + libm::sin(p.x * 1.3 + p.y)) > 0.3
        {
            1.0
        } else {
            0.0
        }
    }
}
