//! Points, paths and outlines in mm, before anything is inked.

use crate::noise::{Rng, fbm};

/// A point or a vector, in mm unless said otherwise; y runs down.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct V {
    /// To the right.
    pub x: f32,
    /// Down.
    pub y: f32,
}

/// A point.
pub const fn v(x: f32, y: f32) -> V {
    V { x, y }
}

impl V {
    /// A direction, degrees clockwise from pointing right.
    pub fn direction(degrees: f32) -> Self {
        let (sin, cos) = libm::sincosf(degrees * (std::f32::consts::PI / 180.0));
        v(cos, sin)
    }

    /// Length.
    pub fn length(self) -> f32 {
        (self.x * self.x + self.y * self.y).sqrt()
    }

    /// A quarter turn clockwise.
    pub fn side(self) -> Self {
        v(-self.y, self.x)
    }

    /// Same direction, length 1; no length stays none.
    pub fn normal(self) -> Self {
        let l = self.length();
        if l > 1e-9 { self * (1.0 / l) } else { self }
    }

    /// Turned about the origin, degrees clockwise.
    pub fn turned(self, degrees: f32) -> Self {
        let d = Self::direction(degrees);
        v(self.x * d.x - self.y * d.y, self.x * d.y + self.y * d.x)
    }
}

impl std::ops::Add for V {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        v(self.x + o.x, self.y + o.y)
    }
}

impl std::ops::Sub for V {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        v(self.x - o.x, self.y - o.y)
    }
}

impl std::ops::Mul<f32> for V {
    type Output = Self;
    fn mul(self, k: f32) -> Self {
        v(self.x * k, self.y * k)
    }
}

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Left.
    pub x0: f32,
    /// Top.
    pub y0: f32,
    /// Right.
    pub x1: f32,
    /// Bottom.
    pub y1: f32,
}

impl Bounds {
    /// The smallest rectangle around points, grown by `reach`.
    pub fn around<'a>(points: impl IntoIterator<Item = &'a V>, reach: f32) -> Self {
        let empty = Self { x0: f32::MAX, y0: f32::MAX, x1: f32::MIN, y1: f32::MIN };
        let b = points.into_iter().fold(empty, |b, p| Self {
            x0: b.x0.min(p.x),
            y0: b.y0.min(p.y),
            x1: b.x1.max(p.x),
            y1: b.y1.max(p.y),
        });
        Self { x0: b.x0 - reach, y0: b.y0 - reach, x1: b.x1 + reach, y1: b.y1 + reach }
    }

    /// Signed distance to the edge of the rectangle with rounded corners; negative inside.
    pub fn distance(&self, p: V, round: f32) -> f32 {
        let c = v((self.x0 + self.x1) / 2.0, (self.y0 + self.y1) / 2.0);
        let q = v(
            (p.x - c.x).abs() - (self.x1 - self.x0) / 2.0 + round,
            (p.y - c.y).abs() - (self.y1 - self.y0) / 2.0 + round,
        );
        v(q.x.max(0.0), q.y.max(0.0)).length() + q.x.max(q.y).min(0.0) - round
    }
}

/// One closed outline.
pub type Outline = Vec<V>;

/// A smooth curve through points (Catmull-Rom), closed or open.
pub fn smooth(points: &[V], closed: bool, steps: usize) -> Vec<V> {
    let n = points.len() as isize;
    let at = |i: isize| {
        let i = if closed { i.rem_euclid(n.max(1)) } else { i.clamp(0, (n - 1).max(0)) };
        points.get(i as usize).copied().unwrap_or_default()
    };
    let spans = if closed { n } else { n - 1 };
    let mut out = Vec::new();
    for i in 0..spans.max(0) {
        let (a, b, c, d) = (at(i - 1), at(i), at(i + 1), at(i + 2));
        for s in 0..steps {
            let t = s as f32 / steps as f32;
            let k0 = b;
            let k1 = (c - a) * 0.5;
            let k2 = a - b * 2.5 + c * 2.0 - d * 0.5;
            let k3 = (d - a) * 0.5 + (b - c) * 1.5;
            out.push(k0 + k1 * t + k2 * (t * t) + k3 * (t * t * t));
        }
    }
    if !closed {
        out.push(at(n - 1));
    }
    out
}

/// An ellipse with `n` corners, turned by `degrees`.
pub fn ellipse(centre: V, rx: f32, ry: f32, degrees: f32, n: usize) -> Outline {
    let corner = |i: usize| {
        let d = V::direction(i as f32 * 360.0 / n as f32);
        centre + v(d.x * rx, d.y * ry).turned(degrees)
    };
    (0..n).map(corner).collect()
}

/// A stone-like outline: an ellipse pushed in and out by slow noise.
pub fn blob(centre: V, rx: f32, ry: f32, rough: f32, seed: u32) -> Outline {
    let corner = |i: usize| {
        let d = V::direction(i as f32 * 360.0 / 72.0);
        let k = 1.0 + rough * 2.0 * (fbm(d.x * 1.3 + 9.0, d.y * 1.3 + 4.0, seed, 3) - 0.5);
        centre + v(d.x * rx * k, d.y * ry * k)
    };
    (0..72).map(corner).collect()
}

/// Moves unit-sized points to a place: mirrored when `scale` is negative in x.
pub fn placed(points: &[V], at: V, scale: V, degrees: f32) -> Vec<V> {
    points.iter().map(|p| at + v(p.x * scale.x, p.y * scale.y).turned(degrees)).collect()
}

/// A path drawn by an unsteady hand.
pub fn shaky(path: &[V], by: f32, seed: u32) -> Vec<V> {
    let wobble = |p: V| {
        let n = |s: u32| fbm(p.x / 2.7, p.y / 2.7, seed ^ s, 2) - 0.5;
        p + v(n(11), n(23)) * (2.0 * by)
    };
    path.iter().map(|p| wobble(*p)).collect()
}

/// The outline with its first point again at its end.
pub fn closed(outline: &[V]) -> Vec<V> {
    outline.iter().chain(outline.first()).copied().collect()
}

/// Signed distance to a closed outline, negative inside (even-odd).
pub fn distance(outline: &[V], p: V) -> f32 {
    let mut best = f32::MAX;
    let mut inside = false;
    let mut a = outline.last().copied().unwrap_or_default();
    for &b in outline {
        let (ab, ap) = (b - a, p - a);
        let t = ((ap.x * ab.x + ap.y * ab.y) / (ab.x * ab.x + ab.y * ab.y).max(1e-12)).clamp(0.0, 1.0);
        let gap = ap - ab * t;
        best = best.min(gap.x * gap.x + gap.y * gap.y);
        if (a.y > p.y) != (b.y > p.y) && p.x < ab.x * (p.y - a.y) / ab.y + a.x {
            inside = !inside;
        }
        a = b;
    }
    if inside { -best.sqrt() } else { best.sqrt() }
}

/// Parallel chords of an outline at an angle, each a little unsteady: the lines of a hatching.
pub fn chords(outlines: &[Outline], degrees: f32, spacing: f32, rng: &mut Rng) -> Vec<(V, V)> {
    let turned: Vec<Outline> =
        outlines.iter().map(|o| o.iter().map(|p| p.turned(-degrees)).collect()).collect();
    let b = Bounds::around(turned.iter().flatten(), 0.0);
    let mut lines = Vec::new();
    let mut y = b.y0 + spacing * 0.6;
    while y < b.y1 {
        let mut xs: Vec<f32> = Vec::new();
        for o in &turned {
            let mut a = o.last().copied().unwrap_or_default();
            for &c in o {
                if (a.y > y) != (c.y > y) {
                    xs.push(a.x + (c.x - a.x) * (y - a.y) / (c.y - a.y));
                }
                a = c;
            }
        }
        xs.sort_by(f32::total_cmp);
        for pair in xs.chunks_exact(2) {
            if let [x0, x1] = *pair {
                let tilt = rng.jitter(spacing * 0.25);
                lines.push((v(x0, y - tilt).turned(degrees), v(x1, y + tilt).turned(degrees)));
            }
        }
        y += spacing * rng.range(0.75, 1.25);
    }
    lines
}

/// Keeps the corners that matter (Douglas-Peucker on a closed outline), as scissors would.
pub fn faceted(outline: &[V], tolerance: f32) -> Outline {
    let n = outline.len();
    let (Some(first), true) = (outline.first(), n > 4) else { return outline.to_vec() };
    let far = (0..n).max_by(|&i, &j| {
        let d = |k: usize| outline.get(k).map_or(0.0, |p| (*p - *first).length());
        d(i).total_cmp(&d(j))
    });
    let far = far.unwrap_or(n / 2);
    let ring = closed(outline);
    let mut out = Vec::new();
    split(ring.get(..=far).unwrap_or_default(), tolerance, &mut out);
    split(ring.get(far..).unwrap_or_default(), tolerance, &mut out);
    out
}

fn split(run: &[V], tolerance: f32, out: &mut Vec<V>) {
    let (Some(&a), Some(&b)) = (run.first(), run.last()) else { return };
    let along = (b - a).normal();
    let off = |p: &V| {
        let d = *p - a;
        (d.x * along.y - d.y * along.x).abs()
    };
    let worst = run.iter().enumerate().max_by(|p, q| off(p.1).total_cmp(&off(q.1)));
    match worst {
        Some((i, p)) if off(p) > tolerance && i > 0 && i + 1 < run.len() => {
            split(run.get(..=i).unwrap_or_default(), tolerance, out);
            split(run.get(i..).unwrap_or_default(), tolerance, out);
        }
        _ => out.push(a),
    }
}
