//! What is painted: a mask with its strokes, each of which can be taken back.

use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::retouch;

/// How many strokes can be taken back.
const STROKES: usize = 50;
/// How many bytes they may take.
const BYTES: usize = 256 << 20;

/// A part of the mask as it was before a stroke.
struct Before {
    x: u32,
    y: u32,
    part: GrayRaster,
}

pub(super) struct Painting {
    mask: GrayRaster,
    /// The whole mask as it was when the present stroke began.
    began: Option<GrayRaster>,
    /// What the stroke has touched: first and last column and row.
    touched: Option<[u32; 4]>,
    undo: Vec<Before>,
    /// Grows with every change, so that its picture is made anew.
    revision: u64,
    /// Whether anything was painted at a revision.
    painted: Option<(u64, bool)>,
}

impl Painting {
    pub fn new(mask: GrayRaster) -> Self {
        Self { mask, began: None, touched: None, undo: Vec::new(), revision: 0, painted: None }
    }

    pub fn mask(&self) -> &GrayRaster {
        &self.mask
    }

    pub fn revision(&self) -> u64 {
        self.revision
    }

    pub fn is_painted(&mut self) -> bool {
        // A mask is as large as its scan: it is looked through once a change.
        if let Some((_, painted)) = self.painted.filter(|(at, _)| *at == self.revision) {
            return painted;
        }
        let painted = self.mask.pixels().iter().any(|code| *code != retouch::AS_IT_IS);
        self.painted = Some((self.revision, painted));
        painted
    }

    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Opens a stroke, which is taken back as one.
    pub fn begin(&mut self) {
        self.began = Some(self.mask.clone());
        self.touched = None;
    }

    /// Paints from one point to another, in pixels of the scan, with a round brush of this radius in pixels.
    pub fn paint(&mut self, from: Point, to: Point, radius: f64, code: u8) {
        let (w, h) = (f64::from(self.mask.width()), f64::from(self.mask.height()));
        let low = |a: f64, b: f64, most: f64| (a.min(b) - radius).clamp(0.0, most) as u32;
        let high = |a: f64, b: f64, most: f64| (a.max(b) + radius).ceil().clamp(0.0, most) as u32;
        let (x0, y0) = (low(from.x, to.x, w), low(from.y, to.y, h));
        let (x1, y1) = (high(from.x, to.x, w), high(from.y, to.y, h));
        if x0 >= x1 || y0 >= y1 {
            return;
        }
        let (vx, vy) = (to.x - from.x, to.y - from.y);
        let length2 = (vx * vx + vy * vy).max(1e-12);
        let width = self.mask.width() as usize;
        for y in y0..y1 {
            let row = self.mask.pixels_mut().chunks_exact_mut(width).nth(y as usize);
            for (x, pixel) in row.into_iter().flatten().enumerate().take(x1 as usize).skip(x0 as usize) {
                let (px, py) = (x as f64 + 0.5 - from.x, f64::from(y) + 0.5 - from.y);
                let t = ((px * vx + py * vy) / length2).clamp(0.0, 1.0);
                let (dx, dy) = (px - t * vx, py - t * vy);
                if dx * dx + dy * dy <= radius * radius {
                    *pixel = code;
                }
            }
        }
        let [a, b, c, d] = self.touched.unwrap_or([x0, y0, x1, y1]);
        self.touched = Some([a.min(x0), b.min(y0), c.max(x1), d.max(y1)]);
        self.revision += 1;
    }

    /// Closes the stroke.
    pub fn end(&mut self) {
        let (Some(began), Some([x, y, x1, y1])) = (self.began.take(), self.touched.take()) else { return };
        if let Some(part) = began.part(x, y, x1 - x, y1 - y) {
            self.keep(Before { x, y, part });
        }
    }

    pub fn clear(&mut self) {
        let part = self.mask.clone();
        self.mask.pixels_mut().fill(retouch::AS_IT_IS);
        self.keep(Before { x: 0, y: 0, part });
        self.revision += 1;
    }

    /// Takes the last stroke back.
    pub fn undo(&mut self) {
        let Some(Before { x, y, part }) = self.undo.pop() else { return };
        let width = self.mask.width() as usize;
        for row in 0..part.height() {
            let start = (y + row) as usize * width + x as usize;
            let end = start + part.width() as usize;
            if let Some(pixels) = self.mask.pixels_mut().get_mut(start..end) {
                pixels.copy_from_slice(part.row(row));
            }
        }
        self.revision += 1;
    }

    fn keep(&mut self, before: Before) {
        self.undo.push(before);
        let bytes = |all: &[Before]| all.iter().map(|b| b.part.pixels().len()).sum::<usize>();
        while self.undo.len() > STROKES || self.undo.len() > 1 && bytes(&self.undo) > BYTES {
            self.undo.remove(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stroke_is_painted_round_and_taken_back_whole() {
        let mut painting = Painting::new(GrayRaster::filled(100, 80, 0).unwrap());
        painting.begin();
        painting.paint(Point::new(20.0, 20.0), Point::new(60.0, 20.0), 5.0, retouch::WHITE);
        painting.paint(Point::new(60.0, 20.0), Point::new(60.0, 90.0), 5.0, retouch::WHITE);
        painting.end();
        let at = |p: &Painting, x: u32, y: u32| p.mask().row(y)[x as usize];
        assert_eq!(at(&painting, 40, 20), retouch::WHITE);
        assert_eq!((at(&painting, 40, 26), at(&painting, 14, 20)), (0, 0));
        assert_eq!(at(&painting, 60, 79), retouch::WHITE);
        let painted = painting.mask().clone();
        painting.clear();
        assert!(!painting.is_painted());
        painting.undo();
        assert_eq!(*painting.mask(), painted);
        painting.undo();
        assert!(!painting.is_painted() && !painting.can_undo());
    }
}
