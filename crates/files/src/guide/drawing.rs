//! What is on a guide, as lines, rings and outlines in mm; the PDF and the picture draw the same list.

use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::units::Size;
use slipsheet_document::layer::Target;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::{Face, Scheme};
use slipsheet_registration::register::{MarkLayout, Stroke};

use super::sketch::{Item, Sketch};
use super::{GuideError, GuideOptions, original_size};
use crate::lettering::Rgb;
use crate::proof::guides::Guide;

const DARK: Rgb = [30, 30, 32];
const SOFT: Rgb = [128, 128, 132];
const PALE: Rgb = [158, 202, 240];

/// Line widths in mm.
const MARK: f64 = 0.2;
const HAIR: f64 = 0.12;
/// Strokes and gaps of the unprintable margin's line, in mm.
const DOTS: &[f64] = &[0.5, 1.5];

/// A whole guide.
pub(crate) struct Drawing {
    pub original: Size,
    /// In a quiet colour but for the marks.
    pub sketch: Sketch,
    /// The sheet or page on it.
    pub sheet: Rect,
}

impl Drawing {
    /// One side of one sheet, from 0.
    pub fn new(printing: &Printing, sheet: usize, options: &GuideOptions) -> Result<Self, GuideError> {
        let (last_page, whole) = (printing.sheet.pages(), printing);
        let one = printing.number(sheet);
        let printing = &*one;
        let original = original_size(printing, Target::Sheet, options)?;
        let size = printing.sheet.size();
        let mut drawing = Self::empty(original, size, options)?;
        if !options.marks_only {
            drawing.frame(options.unprintable.get());
            drawing.folds(printing, options);
            drawing.pages(printing, last_page, options);
        }
        // All sheets of a booklet name the side that the guide is for.
        drawing.ruler(&words(whole, printing, original, options));
        drawing.marks(&MarkLayout::guide(size, original), "lead edge");
        Ok(drawing)
    }

    /// One page by itself, upright, from 1.
    pub fn of_page(printing: &Printing, page: u32, options: &GuideOptions) -> Result<Self, GuideError> {
        let target = Target::Page(page);
        let original = original_size(printing, target, options)?;
        let size = printing.sheet.target_size(target).ok_or(GuideError::NoSuchPage)?;
        let mut drawing = Self::empty(original, size, options)?;
        let (width, height) = (size.width.get(), size.height.get());
        if !options.marks_only {
            drawing.frame(0.0);
            let middle = Affine::shift(drawing.sheet.x + width / 2.0, drawing.sheet.y + height / 2.0);
            let pt = (0.9 * width.min(height)).min(36.0);
            drawing.sketch.page_number(&page.to_string(), pt, middle, 2.0 * HAIR);
        }
        let paper = format!("on paper of {}", in_mm(original));
        drawing.ruler(&[format!("Page {page} of {}, {},", printing.sheet.pages(), in_mm(size)), paper]);
        drawing.marks(&MarkLayout::guide(size, original), "head of the page");
        Ok(drawing)
    }

    /// Paper of a size with a sheet or page of another in its middle.
    fn empty(original: Size, size: Size, options: &GuideOptions) -> Result<Self, GuideError> {
        let (width, height) = (size.width.get(), size.height.get());
        let sheet = Rect {
            x: (original.width.get() - width) / 2.0,
            y: (original.height.get() - height) / 2.0,
            width,
            height,
        };
        let sketch = Sketch::new(if options.pale { PALE } else { SOFT })?;
        Ok(Self { original, sketch, sheet })
    }

    /// Without the marks: what else the guide prints.
    pub fn without_marks(mut self) -> Self {
        self.sketch.items.retain(|(colour, _)| *colour != DARK);
        self
    }

    /// The sheet's outline, left open at the corners where the crosses are, and what cannot be printed.
    fn frame(&mut self, unprintable: f64) {
        for (from, to) in sides(self.sheet) {
            let (fx, fy) = ((to.x - from.x).signum(), (to.y - from.y).signum());
            let open = 5.0;
            let (sx, sy) = if from.x == to.x { (0.0, open * fy) } else { (open * fx, 0.0) };
            self.sketch.line(Point::new(from.x + sx, from.y + sy), Point::new(to.x - sx, to.y - sy), HAIR);
        }
        let s = self.sheet;
        if unprintable > 0.0 && s.width.min(s.height) > 4.0 * unprintable {
            let inner = Rect {
                x: s.x + unprintable,
                y: s.y + unprintable,
                width: s.width - 2.0 * unprintable,
                height: s.height - 2.0 * unprintable,
            };
            for (from, to) in sides(inner) {
                self.sketch.dashed(Guide { from, to, dashes: DOTS }, HAIR);
            }
            let at = Affine::shift(inner.x + 2.0, inner.y - 1.0);
            self.sketch.words(&format!("unprintable margin, {unprintable} mm"), 5.5, at);
        }
    }

    fn folds(&mut self, printing: &Printing, options: &GuideOptions) {
        let on = Affine::shift(self.sheet.x, self.sheet.y);
        if let Some(plan) = printing.own_wrap() {
            let back = options.face == Face::Back;
            let lines = if back { plan.lines_from_behind() } else { plan.lines() };
            for guide in lines.into_iter().map(Guide::of_net) {
                self.sketch.dashed(Guide { from: on * guide.from, to: on * guide.to, ..guide }, 1.5 * HAIR);
            }
        }
        let Some(scheme) = &printing.sheet.fold else { return };
        for guide in scheme.sheet_lines(printing.sheet.size(), options.face).into_iter().map(Guide::of) {
            let width = if guide.dashes.is_empty() { 3.0 * HAIR } else { 1.5 * HAIR };
            self.sketch.dashed(Guide { from: on * guide.from, to: on * guide.to, ..guide }, width);
        }
        if is_cut_apart(scheme) {
            let lines = scheme.column_lines(printing.sheet.size(), options.face);
            for x in lines.iter().skip(1).take(lines.len().saturating_sub(2)) {
                let end = |y: f64| on * Point::new(*x, y);
                self.sketch.line(end(0.0), end(printing.sheet.size().height.get()), 3.0 * HAIR);
            }
        }
    }

    /// Page numbers, each with an arrow to its page's head; pages after the last one are a booklet's blanks.
    fn pages(&mut self, printing: &Printing, last_page: u32, options: &GuideOptions) {
        let Some(scheme) = &printing.sheet.fold else { return };
        let on = Affine::shift(self.sheet.x, self.sheet.y);
        for place in scheme.places(printing.sheet.size(), options.face) {
            let (w, h) = (place.size.width.get(), place.size.height.get());
            let from_page = on * place.face_from_page * Affine::shift(w / 2.0, h / 2.0);
            let blank = place.page > last_page;
            let text = if blank { "blank".to_owned() } else { place.page.to_string() };
            let pt = (0.9 * w.min(h)).min(if blank { 18.0 } else { 36.0 });
            self.sketch.page_number(&text, pt, from_page, 2.0 * HAIR);
        }
    }

    /// A ruler in mm and inches with what to do about it, near the foot of the sheet.
    fn ruler(&mut self, lines: &[String]) {
        let long = self.sheet.width >= 130.0;
        let (mm, inches) = if long { (100, 4) } else { (50, 2) };
        let (x, y) = (self.sheet.x + 9.0, self.sheet.y + self.sheet.height - 11.0);
        self.sketch.line(Point::new(x, y), Point::new(x + f64::from(inches) * 25.4, y), HAIR);
        for i in 0..=mm / 5 {
            let at = x + f64::from(i) * 5.0;
            let tick = if i % 2 == 0 { 2.0 } else { 1.2 };
            self.sketch.line(Point::new(at, y), Point::new(at, y - tick), HAIR);
        }
        for i in 0..=inches * 4 {
            let at = x + f64::from(i) * 25.4 / 4.0;
            let tick = if i % 4 == 0 { 2.0 } else { 1.2 };
            self.sketch.line(Point::new(at, y), Point::new(at, y + tick), HAIR);
        }
        let end = x + f64::from(inches) * 25.4 + 1.5;
        self.sketch.words(&format!("{mm} mm"), 6.5, Affine::shift(end, y - 0.4));
        self.sketch.words(&format!("{inches} in"), 6.5, Affine::shift(end, y + 2.0));
        let first = "Print at 100 % and measure this ruler.".to_owned();
        let all = std::iter::once(&first).chain(lines);
        for (i, text) in all.enumerate() {
            let up = 3.2 + 2.7 * (lines.len() - i) as f64;
            self.sketch.words(text, 6.5, Affine::shift(x, y - up));
        }
    }

    /// The marks, and what the edge is that the arrow points at.
    fn marks(&mut self, layout: &MarkLayout, top: &str) {
        let on = Affine::shift(self.sheet.x, self.sheet.y);
        for mark in &layout.marks {
            let at = on * mark.at;
            let strokes = mark.kind.strokes(mark.size);
            for stroke in &strokes {
                if let Stroke::Line { from, to } = stroke {
                    let (from, to) =
                        (Point::new(at.x + from.x, at.y + from.y), Point::new(at.x + to.x, at.y + to.y));
                    self.sketch.items.push((DARK, Item::Line { from, to, width: MARK }));
                }
            }
            // The four quarters of a circle are drawn as one.
            if let Some(Stroke::Arc { radius, .. }) = strokes.iter().find(|s| matches!(s, Stroke::Arc { .. }))
            {
                self.sketch.items.push((DARK, Item::Ring { centre: at, radius: *radius, width: MARK }));
            }
        }
        let middle = self.sheet.x + self.sheet.width / 2.0;
        self.sketch.words(top, 5.5, Affine::shift(middle + 3.0, self.sheet.y - 1.2));
    }
}

/// Whether a sheet's panels are cut apart and not folded: leaves that are glued.
fn is_cut_apart(scheme: &Scheme) -> bool {
    scheme.creases.is_empty() && scheme.slits.is_empty() && scheme.columns.len() > 1
}

fn words(whole: &Printing, printing: &Printing, original: Size, options: &GuideOptions) -> Vec<String> {
    let sheet = printing.sheet.size();
    let face = if printing.sheet.two_sided() {
        format!(" ({})", options.face.name().to_lowercase())
    } else {
        String::new()
    };
    let mut lines = vec![format!(
        "{} {}{face} on paper of {}.",
        printing.sheet.format.name(),
        in_mm(sheet),
        in_mm(original)
    )];
    lines.extend(crate::words::turning(printing, options.face));
    if let Some(fold) = printing.sheet.fold.as_ref().filter(|_| !options.marks_only) {
        let sheet = if whole.sheet.booklet.is_some() { format!("{}. ", fold.name) } else { String::new() };
        let slit = if fold.slits.is_empty() { "" } else { " Heavy line: slit." };
        let folds = format!("Dashes: valley fold. Dash and dot: mountain fold.{slit}");
        let lines_are = if is_cut_apart(fold) { "Heavy line: cut.".to_owned() } else { folds };
        lines.push(format!("{sheet}{lines_are}"));
    }
    lines
}

fn in_mm(size: Size) -> String {
    format!("{:.1} × {:.1} mm", size.width.get(), size.height.get())
}

/// The sides of a rectangle, clockwise.
fn sides(r: Rect) -> [(Point, Point); 4] {
    let (x1, y1) = (r.x + r.width, r.y + r.height);
    let [a, b, c, d] = [(r.x, r.y), (x1, r.y), (x1, y1), (r.x, y1)].map(|(x, y)| Point::new(x, y));
    [(a, b), (b, c), (c, d), (d, a)]
}
