//! Small drawings for the ticket: the flat sheet with its lines, and the folded thing.

use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{Face, Fold, LineKind, trim_lines};
use slipsheet_paper::steps::{FoldStep, StepLineKind};
use slipsheet_render::dummy::{self, DummyView, Piece, Prints, Texture};
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

use crate::dashes::dashes;
use crate::lettering::Style;
use crate::log_file::logged;
use crate::typeset::{DARK, Document, RULE, SOFT};

const NOTE: Style = Style::regular(6.5, SOFT);
/// Strokes and gaps against those at true size.
const SMALL: f64 = 0.65;
const NUMBER: Style = Style::semi_bold(9.0, DARK);

/// The print of a face, small; `None` when it cannot be predicted.
pub(super) fn print(printing: &Printing, images: &Images, face: Face, dpi: f64) -> Option<Texture> {
    let dpi = Dpi::new(dpi).ok()?;
    let scene = logged("a print on the ticket", Scene::new(printing, images, Show::meant(face)))?;
    let picture = scene.render(&View::sheet(scene.sheet(), dpi));
    Some(Texture::new(picture, dpi.px_per_mm(), dummy::paper_of(printing)))
}

/// A look at the folded thing from a little above, on white.
pub(crate) fn from_above(width: usize, height: usize) -> DummyView {
    DummyView {
        yaw: -24.0,
        pitch: 17.0,
        zoom: 0.92,
        samples: 2,
        ..DummyView::facing(width, height, [255; 3])
    }
}

/// The folded thing, seen from a little above; `None` when nothing is folded.
pub(super) fn folded(
    printing: &Printing,
    images: &Images,
    dpi: f64,
    (width, height): (usize, usize),
) -> Option<Picture> {
    let piece = Piece::of(&printing.sheet.construction());
    if piece.is_flat() {
        return None;
    }
    let folded = piece.folded(1.0, 0.0);
    let mut picture = Picture::default();
    let mut prints = Prints::new(printing, images, true, Dpi::new(dpi).ok()?);
    prints.draw(printing, images, &folded, &from_above(width, height), &mut picture);
    Some(picture)
}

/// Where each page is: a small box for each side of every sheet, new pages where they run out of room; gives where
/// it ends. `next` begins a page and gives where to go on.
pub(super) fn imposition(
    document: &mut Document,
    printing: &Printing,
    booklet: &Booklet,
    [x, y, room, foot]: [f64; 4],
    mut next: impl FnMut(&mut Document) -> f64,
) -> f64 {
    const WIDE: f64 = 26.0;
    const GAP: f64 = 4.0;
    let sheet = printing.sheet.size();
    let height = WIDE * sheet.height.get() / sheet.width.get();
    let columns = (((room + GAP) / (WIDE + GAP)) as usize / 2 * 2).max(2);
    let (mut at, mut column) = (y, 0);
    for side in 0..2 * booklet.sheets() {
        if column == columns {
            (at, column) = (at + height + 8.0, 0);
        }
        if column == 0 && at + height + 6.0 > foot {
            at = next(document);
        }
        let left = x + (WIDE + GAP) * column as f64;
        let name = if side % 2 == 0 { "front" } else { "back" };
        document.line((left, at), WIDE, &format!("Sheet {}, {name}", side / 2 + 1), NOTE);
        document.frame([left, at + 1.5, WIDE, height], 0.2, DARK);
        document.rule(
            (left + WIDE / 2.0, at + 1.5),
            (left + WIDE / 2.0, at + 1.5 + height),
            0.15,
            SOFT,
            &[1.5, 1.0],
        );
        let slots = booklet.slots(side / 2);
        for (half, slot) in slots.iter().skip(2 * (side % 2)).take(2).enumerate() {
            let page = booklet.page_in(*slot);
            let text = if page > booklet.pages { "blank".to_owned() } else { page.to_string() };
            let middle = left + WIDE * (0.25 + 0.5 * half as f64);
            document.line_centred((middle, at + 2.8 + height / 2.0), &text, NUMBER);
        }
        column += 1;
    }
    at + height + 5.0
}

/// How high the drawings of steps are, as a share of their width.
pub(super) fn step_height<'a>(steps: impl Iterator<Item = &'a FoldStep>) -> f64 {
    let ends = steps.flat_map(|s| &s.lines).flat_map(|l| [l.from.y, l.to.y]);
    ends.fold(0.1, f64::max)
}

/// One folding step: the outline of the stack, the crease dashed, and an arrow for what moves.
pub(super) fn step(document: &mut Document, step: &FoldStep, [x, y, side]: [f64; 3]) {
    let at = |p: Point| (x + p.x * side, y + p.y * side);
    for line in &step.lines {
        let (width, dash): (f64, &[f64]) = match line.kind {
            StepLineKind::Edge => (0.15, &[]),
            StepLineKind::Cut => (0.5, &[]),
            StepLineKind::Crease(Fold::Valley) => (0.2, &[1.2, 0.8]),
            StepLineKind::Crease(Fold::Mountain) => (0.2, &[1.4, 0.6, 0.3, 0.6]),
        };
        document.rule(at(line.from), at(line.to), width, DARK, dash);
    }
    let ((x0, y0), (x1, y1)) = (at(step.arrow.0), at(step.arrow.1));
    let length = libm::hypot(x1 - x0, y1 - y0);
    if length < 1e-6 {
        return;
    }
    document.rule((x0, y0), (x1, y1), 0.25, DARK, &[]);
    let (ux, uy) = ((x1 - x0) / length, (y1 - y0) / length);
    for turn in [-1.0, 1.0] {
        let barb = (x1 - 1.6 * ux - turn * 0.8 * uy, y1 - 1.6 * uy + turn * 0.8 * ux);
        document.rule((x1, y1), barb, 0.25, DARK, &[]);
    }
}

/// The sheet's outline with creases, slits and trim, in a box; gives the height it took.
pub(super) fn flat(document: &mut Document, printing: &Printing, face: Face, [x, y, w, h]: [f64; 4]) -> f64 {
    let sheet = printing.sheet.size();
    let (sw, sh) = (sheet.width.get(), sheet.height.get());
    let scale = (w / sw).min(h / sh);
    document.frame([x, y, sw * scale, sh * scale], 0.2, DARK);
    let mut lines = printing.sheet.fold.as_ref().map(|f| f.sheet_lines(sheet, face)).unwrap_or_default();
    lines.extend(trim_lines(sheet, printing.sheet.trim.get()));
    for line in &lines {
        let at = |p: slipsheet_core::geometry::Point| (x + p.x * scale, y + p.y * scale);
        stroke(document, line.kind, at(line.from), at(line.to));
    }
    sh * scale
}

/// Page numbers as they lie on the flat sheet, each at the foot of its page.
pub(super) fn pages(document: &mut Document, printing: &Printing, face: Face, [x, y, w, h]: [f64; 4]) {
    let sheet = printing.sheet.size();
    let scale = (w / sheet.width.get()).min(h / sheet.height.get());
    let places = printing.sheet.fold.as_ref().map(|f| f.places(sheet, face)).unwrap_or_default();
    for place in places {
        let c = place.rect.centre();
        let text = match place.turn.degrees() as i32 {
            180 => format!("{} (upside down)", place.page),
            0 => place.page.to_string(),
            _ => format!("{} (sideways)", place.page),
        };
        document.line_centred((x + c.x * scale, y + c.y * scale + 0.8), &text, NOTE);
    }
}

/// What the lines of a drawing mean, in one row; kinds that do not occur are left out.
pub(super) fn key(document: &mut Document, printing: &Printing, (x, y): (f64, f64)) {
    let sheet = printing.sheet.size();
    let mut lines =
        printing.sheet.fold.as_ref().map(|f| f.sheet_lines(sheet, Face::Front)).unwrap_or_default();
    lines.extend(trim_lines(sheet, printing.sheet.trim.get()));
    let kinds = [
        (LineKind::Valley, "valley fold"),
        (LineKind::Mountain, "mountain fold"),
        (LineKind::Slit, "slit"),
        (LineKind::Trim, "trim"),
    ];
    let occurs = |kind: &LineKind| lines.iter().any(|l| l.kind == *kind);
    for (i, (kind, name)) in kinds.into_iter().filter(|k| occurs(&k.0)).enumerate() {
        let x = x + 29.0 * i as f64;
        stroke(document, kind, (x, y), (x + 8.0, y));
        document.line((x + 9.5, y + 0.8), 19.0, name, NOTE);
    }
}

/// A line in the small, with the strokes that the proof draws it with.
fn stroke(document: &mut Document, kind: LineKind, from: (f64, f64), to: (f64, f64)) {
    let (width, colour) = match kind {
        LineKind::Valley | LineKind::Mountain => (0.2, DARK),
        LineKind::Slit => (0.6, DARK),
        LineKind::Trim => (0.15, RULE),
    };
    let dashes: Vec<f64> = dashes(kind).iter().map(|d| d * SMALL).collect();
    document.rule(from, to, width, colour, &dashes);
}
