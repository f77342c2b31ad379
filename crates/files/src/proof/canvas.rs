//! A picture that marks, guides and swatches are drawn on.

use rayon::prelude::*;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::MAX_PIXELS;
use slipsheet_core::units::Dpi;
use slipsheet_render::Picture;

use super::ProofError;
use crate::lettering::{Cover, Curve, Line, Rgb, cover};

/// Marks and words.
pub(super) const DARK: Rgb = [38, 38, 40];
/// Words that say more.
pub(super) const SOFT: Rgb = [104, 104, 108];
/// The outline of the print and rules.
pub(super) const PALE: Rgb = [196, 196, 198];
/// Guides over the print.
pub(super) const GUIDE: Rgb = [128, 128, 128];

/// A rectangle of whole pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PxRect {
    /// Left edge.
    pub x: usize,
    /// Top edge.
    pub y: usize,
    pub width: usize,
    pub height: usize,
}

pub(crate) struct Canvas {
    pub width: usize,
    pub height: usize,
    pub rgb: Vec<u8>,
    px_per_mm: f64,
}

impl Canvas {
    /// White paper; refused where it would be too large.
    pub fn white(width: usize, height: usize, dpi: Dpi) -> Result<Self, ProofError> {
        let too_large = || ProofError::TooLarge { width: width as u64, height: height as u64 };
        let pixels = width.checked_mul(height).filter(|p| *p as u64 <= MAX_PIXELS).ok_or_else(too_large)?;
        let mut rgb = Vec::new();
        rgb.try_reserve_exact(pixels * 3).map_err(|_full| ProofError::TooMuchMemory)?;
        rgb.resize(pixels * 3, 255);
        Ok(Self { width, height, rgb, px_per_mm: dpi.px_per_mm() })
    }

    /// Pixels in a length in mm, not rounded.
    pub fn px(&self, mm: f64) -> f64 {
        mm * self.px_per_mm
    }

    /// Width of a thin line in pixels, at least one.
    pub fn hair(&self) -> f64 {
        self.px(0.12).max(1.0)
    }

    /// Copies a picture in; what is transparent in it leaves the canvas as it is.
    pub fn paste(&mut self, picture: &Picture, x: usize, y: usize) {
        let row = self.width * 3;
        let rows = self.rgb.par_chunks_mut(row.max(1)).skip(y);
        rows.zip(picture.pixels.par_chunks(picture.width.max(1))).for_each(|(to, from)| {
            let Some(to) = to.get_mut(x * 3..) else { return };
            for (to, [r, g, b, a]) in to.chunks_exact_mut(3).zip(from) {
                if *a != 0 {
                    to.copy_from_slice(&[*r, *g, *b]);
                }
            }
        });
    }

    /// Lays a colour over one pixel; `cover` is 0..=1. Nothing happens off the canvas.
    pub fn blend(&mut self, x: i64, y: i64, colour: Rgb, cover: f64) {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { return };
        if x >= self.width || y >= self.height || cover <= 0.0 {
            return;
        }
        let at = (y * self.width + x) * 3;
        let Some(pixel) = self.rgb.get_mut(at..at + 3) else { return };
        for (p, c) in pixel.iter_mut().zip(colour) {
            let mixed = f64::from(*p) + (f64::from(c) - f64::from(*p)) * cover.min(1.0);
            *p = (mixed + 0.5) as u8;
        }
    }

    /// A line of words whose baseline begins at a point.
    pub fn words(&mut self, line: &Line, (x, y): (f64, f64)) {
        // A baseline on a whole pixel keeps small letters even.
        let px_from_line = Affine::shift(x, y.round()) * Affine::scale(self.px_per_mm, self.px_per_mm);
        self.fill_outlines(&line.outlines(px_from_line), 1.0, line.style.colour);
    }

    /// Fills closed outlines, which need not be in pixels.
    pub fn fill_outlines(&mut self, curves: &[Curve], px_per_unit: f64, colour: Rgb) {
        for (x, y, share) in cover(curves, px_per_unit).iter().flat_map(Cover::pixels) {
            self.blend(x, y, colour, share);
        }
    }

    pub fn fill(&mut self, rect: PxRect, colour: Rgb) {
        let (x1, y1) = ((rect.x + rect.width).min(self.width), (rect.y + rect.height).min(self.height));
        for y in rect.y..y1 {
            let row = y * self.width;
            if let Some(row) = self.rgb.get_mut((row + rect.x.min(x1)) * 3..(row + x1) * 3) {
                row.chunks_exact_mut(3).for_each(|p| p.copy_from_slice(&colour));
            }
        }
    }

    /// A thin line just outside a rectangle, so that a print on white stays told apart.
    pub fn outline(&mut self, rect: PxRect) {
        let t = (self.px(0.1).round() as usize).clamp(1, rect.x.min(rect.y).max(1));
        let (x, y) = (rect.x.saturating_sub(t), rect.y.saturating_sub(t));
        let (w, h) = (rect.width + 2 * t, rect.height + 2 * t);
        for side in [
            PxRect { x, y, width: w, height: t },
            PxRect { x, y: rect.y + rect.height, width: w, height: t },
            PxRect { x, y, width: t, height: h },
            PxRect { x: rect.x + rect.width, y, width: t, height: h },
        ] {
            self.fill(side, PALE);
        }
    }

    /// A straight line with square ends. Vertical and horizontal ones are put on whole pixels, so that they stay crisp.
    pub fn line(&mut self, from: Point, to: Point, width: f64, colour: Rgb) {
        let length = from.distance(to);
        if length <= 0.0 {
            return;
        }
        let (mut from, mut to, mut width) = (from, to, width);
        if (from.x - to.x).abs() < 1e-6 || (from.y - to.y).abs() < 1e-6 {
            width = width.round().max(1.0);
            let snap = |v: f64| (v - width / 2.0).round() + width / 2.0;
            if (from.x - to.x).abs() < 1e-6 {
                (from.x, to.x) = (snap(from.x), snap(from.x));
            } else {
                (from.y, to.y) = (snap(from.y), snap(from.y));
            }
        }
        let along = Point::new((to.x - from.x) / length, (to.y - from.y) / length);
        let reach = width / 2.0 + 1.0;
        let x = (from.x.min(to.x) - reach, from.x.max(to.x) + reach);
        let y = (from.y.min(to.y) - reach, from.y.max(to.y) + reach);
        self.shade(x, y, colour, |p| {
            let (dx, dy) = (p.x - from.x, p.y - from.y);
            let (s, d) = (dx * along.x + dy * along.y, (dx * along.y - dy * along.x).abs());
            let ends = s.min(length - s) + 0.5;
            (width / 2.0 - d + 0.5).clamp(0.0, 1.0) * ends.clamp(0.0, 1.0)
        });
    }

    /// A circle's line.
    pub fn ring(&mut self, centre: Point, radius: f64, width: f64, colour: Rgb) {
        let reach = radius + width;
        let x = (centre.x - reach, centre.x + reach);
        let y = (centre.y - reach, centre.y + reach);
        self.shade(x, y, colour, |p| {
            (width / 2.0 - (p.distance(centre) - radius).abs() + 0.5).clamp(0.0, 1.0)
        });
    }

    /// A triangle that hangs with its point down.
    pub fn wedge(&mut self, tip: Point, half_width: f64, height: f64, colour: Rgb) {
        let x = (tip.x - half_width - 1.0, tip.x + half_width + 1.0);
        self.shade(x, (tip.y - height - 1.0, tip.y + 1.0), colour, |p| {
            let up = tip.y - p.y;
            let side = half_width * up / height - (p.x - tip.x).abs();
            (side + 0.5).clamp(0.0, 1.0) * (height - up + 0.5).clamp(0.0, 1.0)
        });
    }

    /// Lays a colour over a region by how much of each pixel is covered, asked at its middle.
    fn shade(&mut self, x: (f64, f64), y: (f64, f64), colour: Rgb, cover: impl Fn(Point) -> f64) {
        let range = |(low, high): (f64, f64), size: usize| {
            (low.floor().max(0.0) as i64, high.ceil().clamp(0.0, size as f64) as i64)
        };
        let ((x0, x1), (y0, y1)) = (range(x, self.width), range(y, self.height));
        for py in y0..y1 {
            for px in x0..x1 {
                self.blend(px, py, colour, cover(Point::new(px as f64 + 0.5, py as f64 + 0.5)));
            }
        }
    }
}
