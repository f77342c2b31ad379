//! The two fonts that are part of the program: what shapes a text and what a glyph looks like.

use std::sync::LazyLock;

use harfrust::{Direction, ShapeOptions, ShapePlan, ShaperData, UnicodeBuffer, script};
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::{GlyphMetrics, Metrics};
use skrifa::outline::{DrawSettings, OutlineGlyphCollection};
use skrifa::{FontRef, GlyphId, MetadataProvider as _};
use slipsheet_core::geometry::Affine;

use super::outline::{Curve, Pen};
use super::{FontError, Glyph};

/// The regular and the semi-bold font.
pub(super) static EMBEDDED_FONTS: LazyLock<Result<[EmbeddedFont; 2], FontError>> = LazyLock::new(|| {
    Ok([
        EmbeddedFont::open(
            include_bytes!("../../../../assets/fonts/PublicSans_400Regular.ttf"),
            "SLIPRG+PublicSans-Regular",
        )?,
        EmbeddedFont::open(
            include_bytes!("../../../../assets/fonts/PublicSans_600SemiBold.ttf"),
            "SLIPSB+PublicSans-SemiBold",
        )?,
    ])
});

pub(super) struct EmbeddedFont {
    pub bytes: &'static [u8],
    /// Its own name for PostScript, behind the six letters that mark a font that is not whole.
    pub name: &'static str,
    pub units_per_em: f64,
    font: FontRef<'static>,
    shaper: ShaperData,
    plan: ShapePlan,
    glyph_metrics: GlyphMetrics<'static>,
    outlines: OutlineGlyphCollection<'static>,
}

impl EmbeddedFont {
    fn open(bytes: &'static [u8], name: &'static str) -> Result<Self, FontError> {
        let font = FontRef::new(bytes).map_err(|_damaged| FontError)?;
        let shaper = ShaperData::new(&font);
        let built = shaper.shaper(&font).build();
        let (units_per_em, direction) = (f64::from(built.units_per_em()), Direction::LeftToRight);
        // The fonts are Latin; no language is asked for, as the machine's own would change the shapes.
        let plan = ShapePlan::new(&built, direction, Some(script::LATIN), None, &[]);
        let glyph_metrics = font.glyph_metrics(Size::unscaled(), LocationRef::default());
        let outlines = font.outline_glyphs();
        Ok(Self { bytes, name, units_per_em, font, shaper, plan, glyph_metrics, outlines })
    }

    /// The glyphs of a text, kerned and with ligatures, and where the pen ends.
    pub fn shape(&self, text: &str) -> (Vec<Glyph>, i32) {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.set_direction(Direction::LeftToRight);
        buffer.set_script(script::LATIN);
        let options = ShapeOptions::new().plan(Some(&self.plan));
        let shaped = self.shaper.shaper(&self.font).build().shape(buffer, options);

        let clusters: Vec<usize> = shaped.glyph_infos().iter().map(|info| info.cluster as usize).collect();
        let (mut pen, mut glyphs) = (0, Vec::with_capacity(clusters.len()));
        let placed = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
        for (i, ((info, position), start)) in placed.zip(&clusters).enumerate() {
            let is_first = i == 0 || clusters.get(i - 1) != Some(start);
            let next = clusters.iter().skip(i + 1).find(|cluster| *cluster != start);
            let end = if is_first { *next.unwrap_or(&text.len()) } else { *start };
            let (x, y) = (pen + position.x_offset, position.y_offset);
            glyphs.push(Glyph { id: info.glyph_id as u16, text: *start..end, x, y });
            pen += position.x_advance;
        }
        (glyphs, pen)
    }

    /// How far a glyph alone moves the pen, in units.
    pub fn advance(&self, id: u16) -> f32 {
        self.glyph_metrics.advance_width(GlyphId::from(id)).unwrap_or_default()
    }

    /// A glyph's outline; glyphs are in units of the font, y up.
    pub fn outline(&self, id: u16, to_from_glyph: Affine) -> Vec<Curve> {
        let mut pen = Pen::new(to_from_glyph);
        let settings = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
        if let Some(glyph) = self.outlines.get(GlyphId::from(id)) {
            let drawn = glyph.draw(settings, &mut pen);
            debug_assert!(drawn.is_ok(), "glyph {id} of {}: {drawn:?}", self.name);
        }
        pen.curves
    }

    /// What is true of all glyphs, in units.
    pub fn metrics(&self) -> Metrics {
        self.font.metrics(Size::unscaled(), LocationRef::default())
    }
}
