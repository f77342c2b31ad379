//! Lines as text of a PDF (ISO 32000-1, 9.7): the fonts are cut down to the glyphs that occur.
//!
//! A glyph has a code of its own for each text that it stands for, so that a ligature, a letter made of parts and even
//! the empty box of what the fonts lack are found and copied as what was asked for (9.10.3).

use std::collections::BTreeMap;

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::writers::Resources;
use pdf_writer::{Content, Filter, Finish as _, Name, Pdf, Rect, Ref, Str};
use slipsheet_core::geometry::Affine;
use subsetter::GlyphRemapper;

use super::embedded_font::EmbeddedFont;
use super::{FontError, Line};
use crate::deflate::zlib;
use crate::pdf_parts::{PT_PER_MM, Refs};

/// The fonts that occur in one PDF, by their names.
#[derive(Default)]
pub(crate) struct PdfFonts {
    subsets: BTreeMap<&'static str, Subset>,
}

impl PdfFonts {
    /// Shows a line in the colour that is set, on a page that is in mm, y down.
    pub fn show(&mut self, content: &mut Content, line: &Line, page_from_line: Affine) {
        let font = line.font;
        let subset = self.subsets.entry(font.name).or_insert_with(|| Subset { font, codes: BTreeMap::new() });
        let m = page_from_line * Affine::scale(1.0 / PT_PER_MM, -1.0 / PT_PER_MM);
        content.begin_text().set_font(Name(font.name.as_bytes()), line.style.pt as f32);
        content.set_text_matrix([m.a, m.b, m.c, m.d, m.e, m.f].map(|v| v as f32));

        let units_per_em = font.units_per_em as f32;
        let (mut pen, mut height) = (0.0, 0);
        for level in line.glyphs.chunk_by(|a, b| a.y == b.y) {
            let y = level.first().map_or(0, |glyph| glyph.y);
            if y != height {
                content.set_rise(y as f32 / units_per_em * line.style.pt as f32);
                height = y;
            }
            let mut shown = content.show_positioned();
            let (mut items, mut codes) = (shown.items(), Vec::new());
            for glyph in level {
                let back = pen - glyph.x as f32;
                if back != 0.0 {
                    items.show(Str(&codes)).adjust(back * 1000.0 / units_per_em);
                    codes.clear();
                }
                let text = line.text.get(glyph.text.clone()).unwrap_or_default();
                codes.extend_from_slice(&subset.code(glyph.id, text).to_be_bytes());
                pen = glyph.x as f32 + font.advance(glyph.id);
            }
            items.show(Str(&codes));
        }
        if height != 0 {
            content.set_rise(0.0);
        }
        content.end_text();
    }

    /// Writes the fonts; gives the name of each and where it is.
    pub fn write(&self, pdf: &mut Pdf, refs: &mut Refs) -> Result<Vec<(&'static str, Ref)>, FontError> {
        self.subsets.iter().map(|(name, subset)| Ok((*name, subset.write(pdf, refs)?))).collect()
    }
}

/// Makes fonts that were written known to a page.
pub(crate) fn name_fonts(resources: &mut Resources<'_>, fonts: &[(&'static str, Ref)]) {
    resources.fonts().pairs(fonts.iter().map(|(name, font)| (Name(name.as_bytes()), *font)));
}

struct Subset {
    font: &'static EmbeddedFont,
    /// Code of each glyph and the text that it stands for.
    codes: BTreeMap<(u16, String), u16>,
}

impl Subset {
    /// Codes begin at 1; what comes when all are taken is shown as the empty box, which is 0 in every font.
    fn code(&mut self, id: u16, text: &str) -> u16 {
        let next = u16::try_from(self.codes.len() + 1).unwrap_or_default();
        *self.codes.entry((id, text.to_owned())).or_insert(next)
    }

    fn write(&self, pdf: &mut Pdf, refs: &mut Refs) -> Result<Ref, FontError> {
        let mut coded: Vec<_> = self.codes.iter().map(|((id, text), code)| (*code, *id, text)).collect();
        coded.sort_unstable();
        let mut kept = GlyphRemapper::new();
        let glyph_of_code: Vec<u8> =
            [0].into_iter().chain(coded.iter().map(|c| kept.remap(c.1))).flat_map(u16::to_be_bytes).collect();

        let [font, cid, descriptor, file, cmap, glyphs] = std::array::from_fn(|_| refs.next());
        let name = Name(self.font.name.as_bytes());
        let info = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
        let per_mille = |units: f32| units * 1000.0 / self.font.units_per_em as f32;
        pdf.type0_font(font)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(cmap);
        let mut descendant = pdf.cid_font(cid);
        descendant.subtype(CidFontType::Type2).base_font(name).system_info(info);
        descendant.font_descriptor(descriptor).default_width(0.0).cid_to_gid_map_stream(glyphs);
        descendant.widths().consecutive(1, coded.iter().map(|c| per_mille(self.font.advance(c.1))));
        descendant.finish();

        let metrics = self.font.metrics();
        let b = metrics.bounds.ok_or(FontError)?;
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(Rect::new(per_mille(b.x_min), per_mille(b.y_min), per_mille(b.x_max), per_mille(b.y_max)))
            .italic_angle(metrics.italic_angle)
            .ascent(per_mille(metrics.ascent))
            .descent(per_mille(metrics.descent))
            .cap_height(per_mille(metrics.cap_height.ok_or(FontError)?))
            .stem_v(80.0)
            .font_file2(file);
        pdf.stream(glyphs, &glyph_of_code);
        let bytes = subsetter::subset(self.font.bytes, 0, &kept).map_err(|_damaged| FontError)?;
        let packed = zlib(&bytes);
        pdf.stream(file, &packed).filter(Filter::FlateDecode).pair(Name(b"Length1"), bytes.len() as i32);

        let mut unicode = UnicodeCmap::new(Name(b"Letters"), info);
        for (code, _, text) in coded.iter().filter(|c| !c.2.is_empty()) {
            unicode.pair_with_multiple(*code, text.chars());
        }
        pdf.cmap(cmap, &unicode.finish());
        Ok(font)
    }
}
