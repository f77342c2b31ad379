//! All text that is set: shaped by the program's own two fonts, measured, broken into lines, and drawn as outlines or
//! as the glyphs of a PDF.
//!
//! **Invariant:** no font of the machine is asked, so the same text gives the same glyphs everywhere. A character that
//! the fonts lack is drawn as their empty box; control characters and all kinds of white space are drawn as spaces.

mod embedded_font;
mod outline;
mod pdf_fonts;

#[cfg(test)]
pub(crate) mod tests;

use std::ops::Range;
use std::sync::LazyLock;

use slipsheet_core::geometry::Affine;

use crate::pdf_parts::PT_PER_MM;
use embedded_font::{EMBEDDED_FONTS, EmbeddedFont};
pub(crate) use outline::{Cover, Curve, cover};
pub(crate) use pdf_fonts::{PdfFonts, name_fonts};

/// The program's own font is damaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the program's own font cannot be read; install the program again")]
pub struct FontError;

/// A colour, sRGB.
pub(crate) type Rgb = [u8; 3];

/// Which of the two fonts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    Regular,
    SemiBold,
}

/// How a line is set: weight, size in points, colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Style {
    pub weight: Weight,
    pub pt: f64,
    pub colour: Rgb,
}

impl Style {
    pub const fn regular(pt: f64, colour: Rgb) -> Self {
        Self { weight: Weight::Regular, pt, colour }
    }

    pub const fn semi_bold(pt: f64, colour: Rgb) -> Self {
        Self { weight: Weight::SemiBold, pt, colour }
    }

    /// From one baseline to the next in mm.
    pub fn leading(self) -> f64 {
        self.em() * 1.35
    }

    /// The size in mm.
    fn em(self) -> f64 {
        self.pt / PT_PER_MM
    }
}

/// A glyph of a line; lengths in units of the font, y up.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Glyph {
    id: u16,
    /// The part of the text that it stands for; empty where the glyph before it stands for both.
    text: Range<usize>,
    x: i32,
    y: i32,
}

/// A text on one line, shaped.
#[derive(Clone)]
pub(crate) struct Line {
    pub style: Style,
    font: &'static EmbeddedFont,
    text: String,
    glyphs: Vec<Glyph>,
    /// Where the pen ends, in units of the font.
    end: i32,
}

impl Line {
    /// Width in mm.
    pub fn width(&self) -> f64 {
        f64::from(self.end) * self.mm_per_unit()
    }

    /// The outlines of its glyphs, closed. A line is in mm, y down, and its baseline begins at the origin.
    pub fn outlines(&self, to_from_line: Affine) -> Vec<Curve> {
        let scale = self.mm_per_unit();
        let line_from_font = Affine::scale(scale, -scale);
        let mut curves = Vec::new();
        for glyph in &self.glyphs {
            let font_from_glyph = Affine::shift(f64::from(glyph.x), f64::from(glyph.y));
            let to_from_glyph = to_from_line * line_from_font * font_from_glyph;
            curves.extend(self.font.outline(glyph.id, to_from_glyph));
        }
        curves
    }

    fn mm_per_unit(&self) -> f64 {
        self.style.em() / self.font.units_per_em
    }
}

/// The fonts, opened.
#[derive(Clone, Copy)]
pub(crate) struct Lettering {
    fonts: &'static [EmbeddedFont; 2],
}

impl Lettering {
    pub fn new() -> Result<Self, FontError> {
        LazyLock::force(&EMBEDDED_FONTS).as_ref().map(|fonts| Self { fonts }).map_err(|damaged| *damaged)
    }

    /// A text on one line, however long it gets.
    pub fn line(self, text: &str, style: Style) -> Line {
        let [regular, semi_bold] = self.fonts;
        let font = match style.weight {
            Weight::Regular => regular,
            Weight::SemiBold => semi_bold,
        };
        let spaced = |c: char| if c.is_control() || c.is_whitespace() { ' ' } else { c };
        let text: String = text.chars().map(spaced).collect();
        let (glyphs, end) = font.shape(&text);
        Line { style, font, text, glyphs, end }
    }

    /// Width of a text on one line, in mm.
    pub fn width(self, text: &str, style: Style) -> f64 {
        self.line(text, style).width()
    }

    /// A text on one line of at most `room` mm, ended with an ellipsis where it is wider; empty where not even that
    /// fits.
    pub fn fitted(self, text: &str, room: f64, style: Style) -> Line {
        // Letters are wider than a tenth of an em, so what stands farther on never fits, however long the text is.
        let most = (10.0 * room / style.em()) as usize + 1;
        let reach = text.char_indices().nth(most).map_or(text.len(), |(at, _)| at);
        let line = self.line(text.get(..reach).unwrap_or_default(), style);
        if reach == text.len() && line.width() <= room {
            return line;
        }

        let scale = line.mm_per_unit();
        let begins_inside = line.glyphs.iter().rev().filter(|g| f64::from(g.x) * scale <= room);
        let shortened = |glyph: &Glyph| {
            let start = line.text.get(..glyph.text.start).unwrap_or_default();
            self.line(&format!("{}…", start.trim_end()), style)
        };
        let fits = |short: &Line| short.width() <= room;
        begins_inside.map(shortened).find(fits).unwrap_or_else(|| self.line("", style))
    }

    /// A text broken between words into lines that are no wider than `room` mm, but for a word that alone is.
    pub fn wrapped(self, text: &str, room: f64, style: Style) -> Vec<String> {
        self.wrapped_to(usize::MAX, text, room, style)
    }

    /// The same in `most` lines, the last of which takes whatever is left, however wide that is.
    pub fn wrapped_to(self, most: usize, text: &str, room: f64, style: Style) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split_whitespace() {
            let is_last = lines.len() >= most;
            match lines.last_mut() {
                Some(line) if is_last || self.width(&format!("{line} {word}"), style) <= room => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push(word.to_owned()),
            }
        }
        lines
    }
}
