//! Outlines as straight and curved pieces, and how much of each pixel they cover.

use ab_glyph_rasterizer::{Point as Px, Rasterizer, point};
use skrifa::outline::OutlinePen;
use slipsheet_core::geometry::{Affine, Point};

/// One piece of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Curve {
    Line(Point, Point),
    Quad(Point, Point, Point),
    Cubic(Point, Point, Point, Point),
}

impl Curve {
    pub fn start(&self) -> Point {
        match self {
            Self::Line(a, ..) | Self::Quad(a, ..) | Self::Cubic(a, ..) => *a,
        }
    }

    pub fn end(&self) -> Point {
        match self {
            Self::Line(.., b) | Self::Quad(.., b) | Self::Cubic(.., b) => *b,
        }
    }

    fn points(&self) -> Vec<Point> {
        match *self {
            Self::Line(a, b) => vec![a, b],
            Self::Quad(a, b, c) => vec![a, b, c],
            Self::Cubic(a, b, c, d) => vec![a, b, c, d],
        }
    }
}

/// Takes a glyph's outline down, carried over by a map.
pub(super) struct Pen {
    to_from_glyph: Affine,
    begins: Point,
    at: Point,
    pub curves: Vec<Curve>,
}

impl Pen {
    pub fn new(to_from_glyph: Affine) -> Self {
        let origin = Point::new(0.0, 0.0);
        Self { to_from_glyph, begins: origin, at: origin, curves: Vec::new() }
    }

    fn point(&self, x: f32, y: f32) -> Point {
        self.to_from_glyph * Point::new(f64::from(x), f64::from(y))
    }

    fn push(&mut self, curve: Curve) {
        self.at = curve.end();
        self.curves.push(curve);
    }
}

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.begins = self.point(x, y);
        self.at = self.begins;
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.push(Curve::Line(self.at, self.point(x, y)));
    }

    fn quad_to(&mut self, cx0: f32, cy0: f32, x: f32, y: f32) {
        self.push(Curve::Quad(self.at, self.point(cx0, cy0), self.point(x, y)));
    }

    fn curve_to(&mut self, cx0: f32, cy0: f32, cx1: f32, cy1: f32, x: f32, y: f32) {
        self.push(Curve::Cubic(self.at, self.point(cx0, cy0), self.point(cx1, cy1), self.point(x, y)));
    }

    fn close(&mut self) {
        if self.at != self.begins {
            self.push(Curve::Line(self.at, self.begins));
        }
    }
}

/// A rectangle of pixels and the share of each that outlines cover.
pub(crate) struct Cover {
    pub x: i64,
    pub y: i64,
    pub width: usize,
    /// 0..=1, top row first.
    pub shares: Vec<f32>,
}

impl Cover {
    /// The pixels that are not left free, with their shares.
    pub fn pixels(&self) -> impl Iterator<Item = (i64, i64, f64)> {
        let at = |i: usize| (self.x + (i % self.width) as i64, self.y + (i / self.width) as i64);
        let inked = self.shares.iter().enumerate().filter(|(_, share)| **share > 0.0);
        inked.map(move |(i, share)| (at(i).0, at(i).1, f64::from(*share)))
    }
}

/// What closed outlines cover; `None` where there is nothing of them.
pub(crate) fn cover(curves: &[Curve], px_per_unit: f64) -> Option<Cover> {
    let (mut low, mut high) = (Point::new(f64::MAX, f64::MAX), Point::new(f64::MIN, f64::MIN));
    for p in curves.iter().flat_map(Curve::points) {
        low = Point::new(low.x.min(p.x * px_per_unit), low.y.min(p.y * px_per_unit));
        high = Point::new(high.x.max(p.x * px_per_unit), high.y.max(p.y * px_per_unit));
    }
    if !(low.x <= high.x && low.y <= high.y) {
        return None;
    }

    let (x, y) = (low.x.floor() - 1.0, low.y.floor() - 1.0);
    let side = |from: f64, to: f64| (to.ceil() - from + 2.0) as usize;
    let (width, height) = (side(x, high.x), side(y, high.y));
    let mut ink = Rasterizer::new(width, height);
    let px = |p: Point| -> Px { point((p.x * px_per_unit - x) as f32, (p.y * px_per_unit - y) as f32) };
    for curve in curves {
        match *curve {
            Curve::Line(a, b) => ink.draw_line(px(a), px(b)),
            Curve::Quad(a, b, c) => ink.draw_quad(px(a), px(b), px(c)),
            Curve::Cubic(a, b, c, d) => ink.draw_cubic(px(a), px(b), px(c), px(d)),
        }
    }

    let mut shares = vec![0.0; width * height];
    ink.for_each_pixel(|i, share| {
        if let Some(to) = shares.get_mut(i) {
            *to = share.min(1.0);
        }
    });
    Some(Cover { x: x as i64, y: y as i64, width, shares })
}
