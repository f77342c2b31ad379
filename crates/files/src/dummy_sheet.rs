//! The printed dummy: every sheet at true size with page numbers, folds, slits and scores, to be folded by hand,
//! and after it a page that says how. As a PDF.

use std::path::Path;

use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::paper;
use slipsheet_core::units::Size;
use slipsheet_document::grain;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::{Face, Fold, LineKind, Scheme};
use slipsheet_paper::steps;
use slipsheet_paper::steps::{FoldStep, StepLineKind};

use crate::atomic::{self, WriteError};
use crate::guide::pdf;
use crate::guide::sketch::{Item, Sketch};
use crate::lettering::{FontError, Rgb};
use crate::proof::guides::Guide;

#[cfg(test)]
mod tests;

/// Colours: to be read, and so faint that one can draw over it.
const DARK: Rgb = [40, 40, 44];
const FAINT: Rgb = [196, 220, 244];
/// Width of a line in mm.
const LINE: f64 = 0.2;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DummySheetOptions {
    /// Pale blue, to lie under a drawing.
    pub faint: bool,
}

/// Why a dummy could not be made.
#[derive(Debug, thiserror::Error)]
pub enum DummySheetError {
    #[error("the sheet is not folded, so there is no dummy to print; choose a fold or a booklet first")]
    NoFold,
    #[error(transparent)]
    Font(#[from] FontError),
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// Writes the dummy: front and back of every sheet at true size, then the steps.
///
/// # Errors
/// When the project has no fold, or the file cannot be written.
pub fn write(printing: &Printing, options: DummySheetOptions, path: &Path) -> Result<(), DummySheetError> {
    let bytes = document(printing, options)?;
    Ok(atomic::write_bytes(path, &bytes)?)
}

/// The dummy as a PDF.
///
/// # Errors
/// When the project has no fold.
pub fn document(printing: &Printing, options: DummySheetOptions) -> Result<Vec<u8>, DummySheetError> {
    let size = printing.sheet.size();
    let colour = if options.faint { FAINT } else { DARK };
    let mut leaves: Vec<Vec<(Rgb, Item)>> = Vec::new();
    let mut first = None;
    for sheet in 0..printing.sheet.printed_sheets() {
        let scheme = printing.sheet.scheme(sheet).ok_or(DummySheetError::NoFold)?;
        for face in [Face::Front, Face::Back] {
            if face == Face::Front || scheme.two_sided() {
                let mut sketch = Sketch::new(colour)?;
                draw_face(&mut sketch, printing, &scheme, face, sheet);
                leaves.push(sketch.items);
            }
        }
        first.get_or_insert(scheme);
    }
    let mut sketch = Sketch::new(colour)?;
    draw_steps(&mut sketch, printing, &first.ok_or(DummySheetError::NoFold)?, size);
    leaves.push(sketch.items);
    let pages: Vec<(Size, &[(Rgb, Item)])> = leaves.iter().map(|items| (size, items.as_slice())).collect();
    Ok(pdf::pages(&pages, &format!("{}: dummy", printing.title))?)
}

fn draw_face(sketch: &mut Sketch, printing: &Printing, scheme: &Scheme, face: Face, sheet: usize) {
    let size = printing.sheet.size();
    let score = paper::score(&printing.sheet.stock);
    for line in scheme.sheet_lines(size, face) {
        let guide = Guide::of(line);
        let width = if line.kind == LineKind::Slit { 4.0 * LINE } else { LINE };
        sketch.dashed(guide, width);
        let bends = matches!(line.kind, LineKind::Valley | LineKind::Mountain);
        if score.is_some() && bends {
            score_marks(sketch, line.from, line.to);
        }
    }
    for place in scheme.places(size, face) {
        let (w, h) = (place.size.width.get(), place.size.height.get());
        let blank = printing.sheet.booklet.as_ref().is_some_and(|b| place.page > b.pages);
        let text = if blank { "blank".to_owned() } else { place.page.to_string() };
        let pt = if blank { 14.0 } else { (0.9 * w.min(h)).min(48.0) };
        let middle = place.face_from_page * Affine::shift(w / 2.0, h / 2.0);
        sketch.page_number(&text, pt, middle, 2.0 * LINE);
    }
    if let Some(booklet) = printing.sheet.booklet.as_ref().filter(|_| sheet == 0 && face == Face::Front) {
        for at in booklet.stitches(size) {
            sketch.line(Point::new(at.x, at.y - 6.0), Point::new(at.x, at.y + 6.0), 4.0 * LINE);
        }
    }
    let title = format!("{}, {}", scheme.name, face.name().to_lowercase());
    sketch.words(&title, 6.0, Affine::shift(3.0, 4.5));
}

/// Short ticks beside the ends of a crease that wants a score.
fn score_marks(sketch: &mut Sketch, from: Point, to: Point) {
    let vertical = (from.x - to.x).abs() < 1e-9;
    for (end, inward) in [(from, 1.0), (to, -1.0)] {
        for side in [-1.0, 1.0] {
            let at = |along: f64| {
                let (across, along) = (side * 0.6, inward * along);
                if vertical {
                    Point::new(end.x + across, end.y + along)
                } else {
                    Point::new(end.x + along, end.y + across)
                }
            };
            sketch.line(at(0.0), at(4.0), LINE);
        }
    }
}

/// How it is folded: a small drawing and a sentence a step, what the paper wants, and cautions.
fn draw_steps(sketch: &mut Sketch, printing: &Printing, scheme: &Scheme, size: Size) {
    let (width, left) = (size.width.get(), 10.0);
    let name = if printing.sheet.booklet.is_some() { "Booklet" } else { &scheme.name };
    sketch.words(name, 12.0, Affine::shift(left, 12.0));
    let mut y = 18.0;
    let mut sentences = vec![scheme.summary.clone()];
    sentences.push(
        "Dashes: valley fold. Dash and dot: mountain fold. Heavy line: slit. Ticks at a fold: score."
            .to_owned(),
    );
    sentences.extend(grain::advice(&printing.sheet.stock, scheme, size));
    sentences.push("Print at 100 %.".to_owned());
    sentences.extend(
        steps::cautions(scheme, grain::is_stitched(&printing.sheet, scheme)).into_iter().map(str::to_owned),
    );
    let lines: Vec<String> =
        sentences.iter().flat_map(|s| sketch.wrapped(s, 7.5, width - 2.0 * left)).collect();
    for line in lines {
        sketch.words(&line, 7.5, Affine::shift(left, y));
        y += 4.0;
    }
    let steps = steps::steps(scheme, size);
    let (columns, below) = (3, 11.0);
    let cell = (width - 2.0 * left) / columns as f64;
    // The drawings of a landscape sheet are lower than they are wide, so more of them fit below one another.
    let ends = steps.iter().flat_map(|s| &s.lines).flat_map(|l| [l.from.y, l.to.y]);
    let tall = ends.fold(0.1, f64::max);
    let rows = steps.len().div_ceil(columns).max(1) as f64;
    let room = (size.height.get() - y - 8.0) / rows - below;
    let side = (cell - 8.0).min(room / tall).max(5.0);
    for (i, step) in steps.iter().enumerate() {
        let (col, row) = ((i % columns) as f64, (i / columns) as f64);
        let on = Affine::shift(left + col * cell, y + 2.0 + row * (side * tall + below));
        draw_step(sketch, step, on, side);
        let caption = sketch.wrapped(&format!("{}. {}", i + 1, step.words), 6.5, cell - 6.0);
        for (k, line) in caption.iter().enumerate() {
            sketch.words(line, 6.5, on * Affine::shift(0.0, side * tall + 3.5 + 3.0 * k as f64));
        }
    }
}

/// One drawing: outlines in full, the crease dashed, and an arrow for what moves.
fn draw_step(sketch: &mut Sketch, step: &FoldStep, on: Affine, side: f64) {
    let scaled = on * Affine::scale(side, side);
    for l in &step.lines {
        let (width, dashes): (f64, &'static [f64]) = match l.kind {
            StepLineKind::Edge => (LINE, &[]),
            StepLineKind::Cut => (4.0 * LINE, &[]),
            StepLineKind::Crease(Fold::Valley) => (LINE, &[1.5, 1.0]),
            StepLineKind::Crease(Fold::Mountain) => (LINE, &[2.0, 0.8, 0.4, 0.8]),
        };
        sketch.dashed(Guide { from: scaled * l.from, to: scaled * l.to, dashes }, width);
    }
    arrow(sketch, scaled * step.arrow.0, scaled * step.arrow.1);
}

fn arrow(sketch: &mut Sketch, from: Point, to: Point) {
    let length = from.distance(to);
    if length < 1e-6 {
        return;
    }
    sketch.line(from, to, 2.0 * LINE);
    let (ux, uy) = ((to.x - from.x) / length, (to.y - from.y) / length);
    for side in [-1.0, 1.0] {
        let barb = Point::new(to.x - 2.0 * ux - side * uy, to.y - 2.0 * uy + side * ux);
        sketch.line(to, barb, 2.0 * LINE);
    }
}
