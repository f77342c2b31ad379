//! A drawing as a list of lines, rings and words in mm, which becomes a page of a PDF or pixels.

use slipsheet_core::geometry::{Affine, Point};

use crate::lettering::{FontError, Lettering, Line, Rgb, Style};
use crate::proof::guides::{Guide, strokes};

/// One thing drawn, in mm from the top left of the page.
#[derive(Clone)]
pub(crate) enum Item {
    /// A straight line.
    Line { from: Point, to: Point, width: f64 },
    /// A circle's line.
    Ring { centre: Point, radius: f64, width: f64 },
    /// A line of words, and the map from it to the page.
    Words(Line, Affine),
}

/// What is drawn so far, in one colour where nothing else is asked for.
pub(crate) struct Sketch {
    pub items: Vec<(Rgb, Item)>,
    lettering: Lettering,
    colour: Rgb,
}

impl Sketch {
    pub fn new(colour: Rgb) -> Result<Self, FontError> {
        Ok(Self { items: Vec::new(), lettering: Lettering::new()?, colour })
    }

    pub fn line(&mut self, from: Point, to: Point, width: f64) {
        self.items.push((self.colour, Item::Line { from, to, width }));
    }

    pub fn dashed(&mut self, guide: Guide, width: f64) {
        for (from, to) in strokes(guide) {
            self.line(from, to, width);
        }
    }

    /// A line of words whose baseline begins where the map puts the origin.
    pub fn words(&mut self, text: &str, pt: f64, from_line: Affine) {
        let line = self.lettering.line(text, Style::regular(pt, self.colour));
        self.items.push((self.colour, Item::Words(line, from_line)));
    }

    /// A text in lines no wider than so many mm.
    pub fn wrapped(&self, text: &str, pt: f64, room: f64) -> Vec<String> {
        self.lettering.wrapped(text, room, Style::regular(pt, self.colour))
    }

    /// A page's number about its middle, with an arrow of this line width to its head.
    pub fn page_number(&mut self, text: &str, pt: f64, from_middle: Affine, width: f64) {
        let wide = self.lettering.width(text, Style::regular(pt, self.colour));
        self.words(text, pt, from_middle * Affine::shift(-wide / 2.0, 0.15 * pt));
        let (tip, tail, barb) = (-0.38 * pt, -0.19 * pt, 0.06 * pt);
        for (x, y) in [(0.0, tail), (-barb, tip + barb), (barb, tip + barb)] {
            self.line(from_middle * Point::new(0.0, tip), from_middle * Point::new(x, y), width);
        }
    }
}
