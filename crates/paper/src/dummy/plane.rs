//! The camera, and flat rectangles as it sees them: for a point of the picture, where on the rectangle it
//! lies and how near, all from expressions that are linear in the point.

use super::DummyView;
use crate::fold::Vec3;

/// Where the eye is: at the origin, looking down the negative z axis after the turn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Camera {
    yaw: f64,
    pitch: (f64, f64),
    distance: f64,
    /// Picture points per unit of the plane at depth 1.
    scale: f64,
    middle: (f64, f64),
}

impl Camera {
    /// For a piece of this radius (mm) in a picture with `samples` points a pixel.
    pub fn new(view: &DummyView, radius: f64, samples: f64) -> Self {
        let (w, h) = (view.width as f64 * samples, view.height as f64 * samples);
        let distance = radius * 4.2;
        let shorter = w.min(h);
        Self {
            yaw: view.yaw,
            pitch: libm::sincos(view.pitch.to_radians()),
            distance,
            scale: shorter * 0.46 / radius * distance * view.zoom.clamp(0.1, 20.0),
            middle: (w / 2.0 + view.pan[0] * shorter, h / 2.0 + view.pan[1] * shorter),
        }
    }

    /// A direction as the eye sees it.
    pub fn turned(&self, v: Vec3) -> Vec3 {
        let v = v.yawed(self.yaw);
        let (sin, cos) = self.pitch;
        Vec3::new(v.x, v.y * cos - v.z * sin, v.y * sin + v.z * cos)
    }

    /// A point as the eye sees it.
    pub(crate) fn eye(&self, p: Vec3) -> Vec3 {
        self.turned(p) - Vec3::new(0.0, 0.0, self.distance)
    }

    /// The picture point of a point seen; `None` behind the eye.
    pub fn picture(&self, eye: Vec3) -> Option<(f64, f64)> {
        let depth = -eye.z;
        (depth > 1e-6).then(|| {
            let k = self.scale / depth;
            (self.middle.0 + eye.x * k, self.middle.1 - eye.y * k)
        })
    }

    /// mm at the piece's middle that one picture point covers.
    pub(crate) fn mm_per_point(&self) -> f64 {
        self.distance / self.scale
    }

    /// A vector whose scalar product with the ray through a picture point is wanted, as numbers for
    /// `(x, y, 1)`.
    fn linear(&self, v: Vec3) -> [f64; 3] {
        let k = 1.0 / self.scale;
        [v.x * k, -v.y * k, -v.x * k * self.middle.0 + v.y * k * self.middle.1 - v.z]
    }
}

/// A rectangle in space as one camera sees it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plane {
    /// Along and down the rectangle (0..=1) times `det`, and `det`, for `(x, y, 1)`.
    pub along: [f64; 3],
    pub down: [f64; 3],
    pub det: [f64; 3],
    /// Nearness is `det * per_depth`.
    pub per_depth: f64,
}

impl Plane {
    /// From the corners top left, top right and bottom left, as the eye sees them.
    pub fn new(camera: &Camera, corner: Vec3, right: Vec3, below: Vec3) -> Self {
        let (e1, e2) = (right - corner, below - corner);
        let q = corner.cross(e1) * -1.0;
        // A ray d = (x, y, -1) meets c + u e1 + v e2 where (Moeller and Trumbore, 1997): u = d.a / d.g,
        // v = d.b / d.g and depth = (e2 . q) / (d . g).
        let (a, b, g) = (corner.cross(e2), q, e2.cross(e1));
        let depth = e2.dot(q);
        Self {
            along: camera.linear(a),
            down: camera.linear(b),
            det: camera.linear(g),
            per_depth: if depth.abs() > 1e-12 { 1.0 / depth } else { 0.0 },
        }
    }

    /// Whether the first side faces the eye at a point.
    pub fn faces(&self, x: f64, y: f64) -> bool {
        at(self.det, x, y) < 0.0
    }

    /// Place on the rectangle and nearness at a picture point; outside of 0..=1 it is off the rectangle.
    pub(crate) fn meet(&self, x: f64, y: f64) -> Option<(f64, f64, f64)> {
        let det = at(self.det, x, y);
        let near = det * self.per_depth;
        (det.abs() > 1e-12 && near > 0.0)
            .then(|| (at(self.along, x, y) / det, at(self.down, x, y) / det, near))
    }
}

/// A linear expression at a picture point.
pub(super) fn at(v: [f64; 3], x: f64, y: f64) -> f64 {
    v[0] * x + v[1] * y + v[2]
}

/// The part of a line of points that a convex outline covers: from the left edge to the right one.
pub(super) fn span(outline: &[(f64, f64); 4], y: f64) -> Option<(f64, f64)> {
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    for (i, a) in outline.iter().enumerate() {
        let b = &outline[(i + 1) % 4];
        // Ends in a fixed order, so that two pieces that share an edge agree on it to the last bit.
        let (low, high) = if (a.1, a.0) <= (b.1, b.0) { (a, b) } else { (b, a) };
        if y < low.1 || y > high.1 || high.1 <= low.1 {
            continue;
        }
        let x = low.0 + (high.0 - low.0) * ((y - low.1) / (high.1 - low.1));
        (left, right) = (left.min(x), right.max(x));
    }
    (left <= right).then_some((left, right))
}
