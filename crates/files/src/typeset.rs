//! Pages that are set: words in the program's own fonts, lines, swatches, pictures and fields to fill in, as a
//! PDF. Places are in mm from the top left of the page.
//!
//! **Invariant:** only the letters that occur are embedded, and the same pages give the same bytes.

use pdf_writer::types::{AnnotationFlags, FieldType};
use pdf_writer::{Content, Filter, Finish as _, Name, Pdf, Rect, Ref, Str, TextStr};
use sha2::{Digest as _, Sha256};
use slipsheet_core::geometry::Affine;
use slipsheet_core::units::Size;
use slipsheet_render::Picture;

use crate::deflate::zlib;
use crate::lettering::{FontError, Lettering, Line, PdfFonts, Rgb, Style, name_fonts};
use crate::pdf_parts::{self, PT_PER_MM as PT, Refs, content_in_mm};

pub(crate) const DARK: Rgb = [28, 28, 30];
/// Words that say more.
pub(crate) const SOFT: Rgb = [96, 96, 100];
pub(crate) const RULE: Rgb = [188, 188, 192];

struct Field {
    page: usize,
    rect: Rect,
    name: String,
    tip: String,
}

/// A document that is being set.
pub(crate) struct Document {
    page: Size,
    pages: Vec<Content>,
    pub lettering: Lettering,
    fonts: PdfFonts,
    pictures: Vec<(u32, u32, Vec<u8>)>,
    fields: Vec<Field>,
    true_size: bool,
}

impl Document {
    /// An empty document with pages of this size.
    pub fn new(page: Size) -> Result<Self, FontError> {
        Ok(Self {
            page,
            pages: Vec::new(),
            lettering: Lettering::new()?,
            fonts: PdfFonts::default(),
            pictures: Vec::new(),
            fields: Vec::new(),
            true_size: false,
        })
    }

    /// Says that it is to be printed at true size.
    pub fn at_true_size(&mut self) {
        self.true_size = true;
    }

    /// Begins another page; what is drawn goes on the last one.
    pub fn add_page(&mut self) {
        self.pages.push(content_in_mm(self.page));
    }

    /// A line with its baseline at `y`, cut with an ellipsis where it is wider than `room`.
    pub fn line(&mut self, at: (f64, f64), room: f64, text: &str, style: Style) {
        let line = self.lettering.fitted(text, room, style);
        self.show(at, &line);
    }

    /// A line that ends at `x`.
    pub fn line_right(&mut self, (x, y): (f64, f64), room: f64, text: &str, style: Style) {
        let line = self.lettering.fitted(text, room, style);
        self.show((x - line.width(), y), &line);
    }

    /// A line whose middle is at `x`.
    pub fn line_centred(&mut self, (x, y): (f64, f64), text: &str, style: Style) {
        let line = self.lettering.line(text, style);
        self.show((x - line.width() / 2.0, y), &line);
    }

    fn show(&mut self, (x, y): (f64, f64), line: &Line) {
        let Some(content) = self.pages.last_mut() else { return };
        fill(content, line.style.colour);
        self.fonts.show(content, line, Affine::shift(x, y));
    }

    /// Height in mm of words over as many lines as they need.
    pub fn height(&self, text: &str, room: f64, style: Style) -> f64 {
        self.lettering.wrapped(text, room, style).len() as f64 * style.leading()
    }

    /// Words over as many lines as they need; gives the baseline after the last.
    pub fn block(&mut self, (x, y): (f64, f64), room: f64, text: &str, style: Style) -> f64 {
        let mut at = y;
        for line in self.lettering.wrapped(text, room, style) {
            self.line((x, at), room, &line, style);
            at += style.leading();
        }
        at
    }

    /// A straight line; `dash` is stroke and gap in mm, empty for none.
    pub fn rule(&mut self, from: (f64, f64), to: (f64, f64), width: f64, colour: Rgb, dash: &[f64]) {
        let Some(content) = self.pages.last_mut() else { return };
        stroke(content, colour);
        content.set_line_width(width as f32).set_dash_pattern(dash.iter().map(|d| *d as f32), 0.0);
        content.move_to(from.0 as f32, from.1 as f32).line_to(to.0 as f32, to.1 as f32).stroke();
    }

    pub fn patch(&mut self, area: [f64; 4], colour: Rgb) {
        let Some(content) = self.pages.last_mut() else { return };
        fill(content, colour);
        let [x, y, w, h] = area.map(|v| v as f32);
        content.rect(x, y, w, h).fill_nonzero();
    }

    pub fn frame(&mut self, area: [f64; 4], width: f64, colour: Rgb) {
        let Some(content) = self.pages.last_mut() else { return };
        stroke(content, colour);
        let [x, y, w, h] = area.map(|v| v as f32);
        content.set_line_width(width as f32).set_dash_pattern([], 0.0).rect(x, y, w, h).stroke();
    }

    /// A picture stretched over a rectangle; what is transparent in it is white.
    pub fn picture(&mut self, [x, y, w, h]: [f64; 4], picture: &Picture) {
        let index = self.pictures.len();
        let on_white = |[r, g, b, a]: [u8; 4]| {
            [r, g, b].map(|v| ((u32::from(v) * u32::from(a) + 255 * (255 - u32::from(a))) / 255) as u8)
        };
        let rgb: Vec<u8> = picture.pixels.iter().flat_map(|p| on_white(*p)).collect();
        self.pictures.push((picture.width as u32, picture.height as u32, zlib(&rgb)));
        let Some(content) = self.pages.last_mut() else { return };
        content.save_state();
        let at = [w, 0.0, 0.0, -h, x, y + h].map(|v| v as f32);
        content.transform(at).x_object(Name(format!("P{index}").as_bytes())).restore_state();
    }

    pub fn field(&mut self, [x, y, w, h]: [f64; 4], name: &str, tip: &str) {
        let height = self.page.height.get();
        let (x0, y0, x1, y1) = (x * PT, (height - y - h) * PT, (x + w) * PT, (height - y) * PT);
        let rect = Rect::new(x0 as f32, y0 as f32, x1 as f32, y1 as f32);
        let page = self.pages.len().saturating_sub(1);
        self.fields.push(Field { page, rect, name: name.to_owned(), tip: tip.to_owned() });
    }

    pub fn finish(self, title: &str) -> Result<Vec<u8>, FontError> {
        let mut refs = Refs::default();
        let [catalog, tree, info, helvetica] = std::array::from_fn(|_| refs.next());
        let mut pdf = Pdf::new();
        let fonts = self.fonts.write(&mut pdf, &mut refs)?;
        let pictures: Vec<Ref> = self.pictures.iter().map(|_| refs.next()).collect();
        for (id, (width, height, packed)) in pictures.iter().zip(&self.pictures) {
            let mut image = pdf.image_xobject(*id, packed);
            image.filter(Filter::FlateDecode);
            image.width(*width as i32).height(*height as i32).bits_per_component(8);
            image.color_space_name(Name(b"DeviceRGB"));
        }
        let fields: Vec<Ref> = self.fields.iter().map(|_| refs.next()).collect();
        let size = [self.page.width.get() * PT, self.page.height.get() * PT].map(|v| v as f32);
        let mut hash = Sha256::new();
        hash.update(title.as_bytes());
        self.pictures.iter().for_each(|p| hash.update(&p.2));
        let mut kids = Vec::new();
        for (i, content) in self.pages.into_iter().enumerate() {
            let (page, stream) = (refs.next(), refs.next());
            kids.push(page);
            let drawn = content.finish().into_vec();
            hash.update(&drawn);
            let packed = zlib(&drawn);
            pdf.stream(stream, &packed).filter(Filter::FlateDecode);
            let of_page: Vec<usize> =
                (0..self.fields.len()).filter(|f| self.fields.get(*f).is_some_and(|f| f.page == i)).collect();
            let mut one = pdf.page(page);
            one.parent(tree).media_box(Rect::new(0.0, 0.0, size[0], size[1])).contents(stream);
            if !of_page.is_empty() {
                one.annotations(of_page.iter().filter_map(|f| fields.get(*f)).copied());
            }
            let mut resources = one.resources();
            name_fonts(&mut resources, &fonts);
            let mut objects = resources.x_objects();
            for (k, id) in pictures.iter().enumerate() {
                objects.pair(Name(format!("P{k}").as_bytes()), *id);
            }
            objects.finish();
            resources.finish();
            one.finish();
            for f in of_page {
                let (Some(field), Some(id)) = (self.fields.get(f), fields.get(f)) else { continue };
                let mut written = pdf.form_field(*id);
                written.field_type(FieldType::Text).partial_name(TextStr(&field.name));
                written.alternate_name(TextStr(&field.tip));
                written.vartext_default_appearance(Str(b"/Helv 9 Tf 0.1 g"));
                let mut widget = written.into_annotation();
                widget.rect(field.rect).page(page);
                widget.flags(AnnotationFlags::PRINT);
            }
        }
        pdf.pages(tree).count(kids.len() as i32).kids(kids);
        pdf_parts::info(&mut pdf, info, title);
        pdf.type1_font(helvetica).base_font(Name(b"Helvetica")).encoding_predefined(Name(b"WinAnsiEncoding"));
        let mut root = pdf.catalog(catalog);
        root.pages(tree);
        let mut viewer = root.viewer_preferences();
        viewer.display_doc_title(true);
        if self.true_size {
            viewer.pair(Name(b"PrintScaling"), Name(b"None"));
        }
        viewer.finish();
        if !fields.is_empty() {
            let mut form = root.form();
            form.fields(fields.iter().copied());
            form.default_appearance(Str(b"/Helv 9 Tf 0.1 g"));
            form.default_resources().fonts().pair(Name(b"Helv"), helvetica);
        }
        root.finish();
        pdf_parts::file_id(&mut pdf, hash);
        Ok(pdf.finish())
    }
}

fn fill(content: &mut Content, colour: Rgb) {
    let [r, g, b] = colour.map(|v| f32::from(v) / 255.0);
    content.set_fill_rgb(r, g, b);
}

fn stroke(content: &mut Content, colour: Rgb) {
    let [r, g, b] = colour.map(|v| f32::from(v) / 255.0);
    content.set_stroke_rgb(r, g, b);
}
