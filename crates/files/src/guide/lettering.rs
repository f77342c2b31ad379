//! Words as outlines in mm, so that a PDF needs no font and both forms of a guide look the same.

use ab_glyph::{Font as _, FontRef, OutlineCurve};
use slipsheet_core::geometry::{Affine, Point};

use super::GuideError;

/// One piece of an outline, in mm.
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
}

pub(crate) struct Letters {
    font: FontRef<'static>,
}

impl Letters {
    pub fn new() -> Result<Self, GuideError> {
        let bytes = include_bytes!("../../../../assets/fonts/PublicSans_400Regular.ttf");
        Ok(Self { font: FontRef::try_from_slice(bytes).map_err(|_invalid| GuideError::Font)? })
    }

    /// Width of a line in mm.
    pub fn width(&self, text: &str, pt: f64) -> f64 {
        self.places(text).last().map_or(0.0, |(_, _, end)| f64::from(*end)) * self.mm_per_unit(pt)
    }

    /// A line's outlines; its baseline begins at the origin of `from_line`.
    pub fn outlines(&self, text: &str, pt: f64, from_line: Affine) -> Vec<Curve> {
        let scale = self.mm_per_unit(pt);
        let mut curves = Vec::new();
        for (id, x, _) in self.places(text) {
            let Some(outline) = self.font.outline(id) else { continue };
            let at = |p: ab_glyph::Point| {
                from_line * Point::new(f64::from(p.x + x) * scale, -f64::from(p.y) * scale)
            };
            curves.extend(outline.curves.iter().map(|c| match c {
                OutlineCurve::Line(a, b) => Curve::Line(at(*a), at(*b)),
                OutlineCurve::Quad(a, b, c) => Curve::Quad(at(*a), at(*b), at(*c)),
                OutlineCurve::Cubic(a, b, c, d) => Curve::Cubic(at(*a), at(*b), at(*c), at(*d)),
            }));
        }
        curves
    }

    fn mm_per_unit(&self, pt: f64) -> f64 {
        pt * 25.4 / 72.0 / f64::from(self.font.units_per_em().unwrap_or(1000.0))
    }

    /// Each letter with where it begins and ends, in units of the font.
    fn places(&self, text: &str) -> Vec<(ab_glyph::GlyphId, f32, f32)> {
        let (mut x, mut last, mut out) = (0.0, None, Vec::new());
        for c in text.chars().map(|c| if c.is_control() { ' ' } else { c }) {
            let id = self.font.glyph_id(c);
            x += last.map_or(0.0, |last| self.font.kern_unscaled(last, id));
            let end = x + self.font.h_advance_unscaled(id);
            out.push((id, x, end));
            (x, last) = (end, Some(id));
        }
        out
    }
}
