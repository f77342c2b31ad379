//! Lettering: two open fonts, set in points, shortened with an ellipsis where the line is too long.

use ab_glyph::{Font as _, FontRef, Glyph, PxScale, ScaleFont as _, point};
use slipsheet_core::units::Dpi;

use super::ProofError;
use super::canvas::{Canvas, Rgb};

/// Weight of the letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Strong,
}

/// How a line is set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    pub weight: Weight,
    /// Size in points.
    pub pt: f64,
    pub colour: Rgb,
}

pub(super) struct Labels {
    regular: FontRef<'static>,
    strong: FontRef<'static>,
    px_per_pt: f64,
}

impl Labels {
    pub fn new(dpi: Dpi) -> Result<Self, ProofError> {
        let font = |bytes| FontRef::try_from_slice(bytes).map_err(|_invalid| ProofError::Font);
        Ok(Self {
            regular: font(include_bytes!("../../../../assets/fonts/PublicSans_400Regular.ttf"))?,
            strong: font(include_bytes!("../../../../assets/fonts/PublicSans_600SemiBold.ttf"))?,
            px_per_pt: dpi.get() / 72.0,
        })
    }

    /// Draws a line with its baseline at `y`, no wider than `room` pixels.
    pub fn draw(&self, canvas: &mut Canvas, (x, y): (f64, f64), room: f64, text: &str, style: Style) {
        let glyphs = self.fitted(text, style, room);
        // A baseline on a whole pixel keeps small letters even.
        let y = y.round() as f32;
        for mut glyph in glyphs {
            glyph.position = point(glyph.position.x + x as f32, y);
            let Some(outline) = self.font(style.weight).outline_glyph(glyph) else { continue };
            let corner = outline.px_bounds().min;
            outline.draw(|gx, gy, cover| {
                let (px, py) = (corner.x as i64 + i64::from(gx), corner.y as i64 + i64::from(gy));
                canvas.blend(px, py, style.colour, f64::from(cover));
            });
        }
    }

    /// A text on one line, or broken between words over two where one is not enough. Never empty.
    pub fn wrapped(&self, text: &str, room: f64, style: Style) -> Vec<String> {
        let fits = |line: &str| self.set(line, style).1 <= room;
        let gaps = text.char_indices().filter(|(_, c)| c.is_whitespace()).map(|(i, _)| i);
        let broken = gaps.filter_map(|i| text.split_at_checked(i)).take_while(|(line, _)| fits(line)).last();
        match broken {
            Some((first, rest)) if !fits(text) && !first.trim().is_empty() => {
                vec![first.trim().to_owned(), rest.trim().to_owned()]
            }
            _ => vec![text.to_owned()],
        }
    }

    /// The line, or as much of its beginning as fits before an ellipsis; nothing when not even that fits.
    fn fitted(&self, text: &str, style: Style, room: f64) -> Vec<Glyph> {
        let whole = self.set(text, style);
        if whole.1 <= room {
            return whole.0;
        }
        let letters: Vec<char> = text.chars().collect();
        let shortened = |keep: usize| {
            let start: String = letters.iter().take(keep).collect();
            self.set(&format!("{}…", start.trim_end()), style)
        };
        // Widths grow with every letter, so the longest that fits is found by halving.
        let (mut fits, mut fails) = (0, letters.len());
        while fails - fits > 1 {
            let middle = usize::midpoint(fits, fails);
            if shortened(middle).1 <= room { fits = middle } else { fails = middle }
        }
        if fits == 0 { Vec::new() } else { shortened(fits).0 }
    }

    fn set(&self, text: &str, style: Style) -> (Vec<Glyph>, f64) {
        let font = self.font(style.weight);
        let em = font.units_per_em().unwrap_or(1000.0);
        let scale = PxScale::from((style.pt * self.px_per_pt) as f32 * font.height_unscaled() / em);
        let scaled = font.as_scaled(scale);
        let (mut x, mut last, mut glyphs) = (0.0_f32, None, Vec::new());
        for c in text.chars().map(|c| if c.is_control() || c.is_whitespace() { ' ' } else { c }) {
            let id = scaled.glyph_id(c);
            if let Some(last) = last {
                x += scaled.kern(last, id);
            }
            glyphs.push(id.with_scale_and_position(scale, point(x, 0.0)));
            x += scaled.h_advance(id);
            last = Some(id);
        }
        (glyphs, f64::from(x))
    }

    fn font(&self, weight: Weight) -> &FontRef<'static> {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Strong => &self.strong,
        }
    }
}
