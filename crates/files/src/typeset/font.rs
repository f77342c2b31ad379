//! The program's two fonts in a PDF: kerned by their own tables, cut down to the letters that occur.

use std::cell::RefCell;
use std::collections::BTreeMap;

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish as _, Name, Pdf, Rect, Ref, Str};
use subsetter::GlyphRemapper;
use ttf_parser::gpos::{PairAdjustment, PositioningSubtable};
use ttf_parser::{Face, GlyphId, Tag};

use crate::deflate::zlib;

/// The program's own font is damaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the program's own font cannot be read; install the program again")]
pub struct FontError;

struct Cut {
    bytes: &'static [u8],
    face: Face<'static>,
    name: &'static str,
    /// Letters that occur: old glyph to new, and the letter that each new one stands for.
    used: GlyphRemapper,
    letters: BTreeMap<u16, (u16, char)>,
    kerns: RefCell<BTreeMap<(u16, u16), i16>>,
}

pub(super) struct Fonts {
    regular: Cut,
    strong: Cut,
}

impl Fonts {
    pub fn new() -> Result<Self, FontError> {
        let cut = |bytes: &'static [u8], name| {
            let face = Face::parse(bytes, 0).map_err(|_damaged| FontError)?;
            let (used, letters, kerns) = (GlyphRemapper::new(), BTreeMap::new(), RefCell::default());
            Ok(Cut { bytes, face, name, used, letters, kerns })
        };
        Ok(Self {
            regular: cut(
                include_bytes!("../../../../assets/fonts/PublicSans_400Regular.ttf"),
                "SLIPRG+PublicSans-Regular",
            )?,
            strong: cut(
                include_bytes!("../../../../assets/fonts/PublicSans_600SemiBold.ttf"),
                "SLIPSB+PublicSans-SemiBold",
            )?,
        })
    }

    fn cut(&self, strong: bool) -> &Cut {
        if strong { &self.strong } else { &self.regular }
    }

    /// Width of a line in em.
    pub fn width(&self, text: &str, strong: bool) -> f64 {
        let cut = self.cut(strong);
        let mut width = 0.0;
        let mut last = None;
        for c in clean(text) {
            let id = cut.glyph(c);
            width += last.map_or(0.0, |l| f64::from(cut.kern(l, id)));
            width += f64::from(cut.face.glyph_hor_advance(id).unwrap_or(0));
            last = Some(id);
        }
        width / f64::from(cut.face.units_per_em())
    }

    /// A line as runs of letters, each with the thousandths of an em that are taken off after it.
    pub fn runs(&mut self, text: &str, strong: bool) -> Vec<(Vec<u8>, f32)> {
        let cut = if strong { &mut self.strong } else { &mut self.regular };
        let mut runs: Vec<(Vec<u8>, f32)> = Vec::new();
        let mut last = None;
        for c in clean(text) {
            let id = cut.glyph(c);
            let kern = last.map_or(0, |l| cut.kern(l, id));
            let new = cut.take(id, c);
            let thousandths = -f32::from(kern) * 1000.0 / f32::from(cut.face.units_per_em());
            match runs.last_mut() {
                Some(run) if kern == 0 => run.0.extend_from_slice(&new.to_be_bytes()),
                Some(run) => {
                    run.1 = thousandths;
                    runs.push((new.to_be_bytes().to_vec(), 0.0));
                }
                None => runs.push((new.to_be_bytes().to_vec(), 0.0)),
            }
            last = Some(id);
        }
        runs
    }

    /// Writes both fonts.
    pub fn write(&self, pdf: &mut Pdf, fresh: &mut impl FnMut() -> Ref) -> Result<[Ref; 2], FontError> {
        Ok([self.regular.write(pdf, fresh)?, self.strong.write(pdf, fresh)?])
    }
}

fn clean(text: &str) -> impl Iterator<Item = char> {
    text.chars().map(|c| if c.is_control() { ' ' } else { c })
}

impl Cut {
    fn glyph(&self, c: char) -> GlyphId {
        self.face.glyph_index(c).unwrap_or(GlyphId(0))
    }

    fn take(&mut self, id: GlyphId, c: char) -> u16 {
        let new = self.used.remap(id.0);
        self.letters.entry(new).or_insert((id.0, c));
        new
    }

    /// The kerning of two letters by the font's pair table, in units.
    fn kern(&self, a: GlyphId, b: GlyphId) -> i16 {
        if let Some(known) = self.kerns.borrow().get(&(a.0, b.0)) {
            return *known;
        }
        let found = self.pair(a, b).unwrap_or(0);
        self.kerns.borrow_mut().insert((a.0, b.0), found);
        found
    }

    fn pair(&self, a: GlyphId, b: GlyphId) -> Option<i16> {
        let gpos = self.face.tables().gpos?;
        for feature in gpos.features.into_iter().filter(|f| f.tag == Tag::from_bytes(b"kern")) {
            for index in feature.lookup_indices {
                let Some(lookup) = gpos.lookups.get(index) else { continue };
                for table in lookup.subtables.into_iter::<PositioningSubtable<'_>>() {
                    let PositioningSubtable::Pair(pair) = table else { continue };
                    match pair {
                        PairAdjustment::Format1 { coverage, sets } => {
                            let set = coverage.get(a).and_then(|i| sets.get(i));
                            if let Some((first, _)) = set.and_then(|s| s.get(b)) {
                                return Some(first.x_advance);
                            }
                        }
                        PairAdjustment::Format2 { coverage, classes, matrix } => {
                            if coverage.get(a).is_some() {
                                let at = (classes.0.get(a), classes.1.get(b));
                                return matrix.get(at).map(|(first, _)| first.x_advance);
                            }
                        }
                    }
                }
            }
        }
        None
    }

    fn write(&self, pdf: &mut Pdf, fresh: &mut impl FnMut() -> Ref) -> Result<Ref, FontError> {
        let [font, cid, descriptor, file, cmap] = std::array::from_fn(|_| fresh());
        let name = Name(self.name.as_bytes());
        let info = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
        let em = f32::from(self.face.units_per_em());
        let per_mille = |v: f32| v * 1000.0 / em;
        pdf.type0_font(font)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(cmap);
        let mut descendant = pdf.cid_font(cid);
        descendant.subtype(CidFontType::Type2).base_font(name).system_info(info);
        descendant
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = descendant.widths();
        for (new, (old, _)) in &self.letters {
            let advance = self.face.glyph_hor_advance(GlyphId(*old)).unwrap_or(0);
            widths.consecutive(*new, [per_mille(f32::from(advance))]);
        }
        widths.finish();
        descendant.finish();
        let b = self.face.global_bounding_box();
        let side = |v: i16| per_mille(f32::from(v));
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(Rect::new(side(b.x_min), side(b.y_min), side(b.x_max), side(b.y_max)))
            .italic_angle(0.0)
            .ascent(side(self.face.ascender()))
            .descent(side(self.face.descender()))
            .cap_height(side(self.face.capital_height().unwrap_or(700)))
            .stem_v(80.0)
            .font_file2(file);
        let cut = subsetter::subset(self.bytes, 0, &self.used).map_err(|_damaged| FontError)?;
        let packed = zlib(&cut);
        pdf.stream(file, &packed).filter(Filter::FlateDecode).pair(Name(b"Length1"), cut.len() as i32);
        let mut unicode = UnicodeCmap::new(Name(b"Letters"), info);
        for (new, (_, c)) in &self.letters {
            unicode.pair(*new, *c);
        }
        pdf.cmap(cmap, &unicode.finish());
        Ok(font)
    }
}
