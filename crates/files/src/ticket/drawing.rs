//! Small drawings for the ticket: the flat sheet with its lines, and the folded thing.

use slipsheet_core::dummy::{self, DummyView, Folded, Texture};
use slipsheet_core::fold::{Face, LineKind, trim_lines};
use slipsheet_core::project::{Images, Project};
use slipsheet_core::render::{Picture, Scene, Show, View};
use slipsheet_core::units::Dpi;

use crate::typeset::{DARK, Document, RULE, SOFT, Style};

const NOTE: Style = Style::new(false, 6.5, SOFT);

/// The print of a face, small; `None` when it cannot be predicted.
pub(super) fn print(project: &Project, images: &Images, face: Face, dpi: f64) -> Option<Texture> {
    let dpi = Dpi::new(dpi).ok()?;
    let scene = Scene::new(project, images, Show { face, perfect: true, ..Show::default() }).ok()?;
    let picture = scene.render(&View::sheet(scene.sheet(), dpi));
    Some(Texture::new(picture, dpi.px_per_mm(), dummy::paper_of(project)))
}

/// The folded thing, seen from a little above.
pub(super) fn folded(
    project: &Project,
    faces: [Option<&Texture>; 2],
    (width, height): (usize, usize),
) -> Option<Picture> {
    let thickness = slipsheet_core::paper::caliper(&project.stock);
    let pose = Folded::new(project.fold.as_ref()?, project.sheet_size(), 1.0, 0.0, thickness);
    let paper = project.stock.colour.lab().xyz().shown().rgb;
    let view = DummyView {
        width,
        height,
        yaw: -24.0,
        pitch: 16.0,
        zoom: 0.92,
        ground: [255; 3],
        samples: 2,
        pan: [0.0; 2],
    };
    let mut picture = Picture::default();
    dummy::draw(&pose, faces, paper, &view, &mut picture);
    Some(picture)
}

/// The sheet's outline with creases, slits and trim, in a box; gives the height it took.
pub(super) fn flat(document: &mut Document, project: &Project, face: Face, [x, y, w, h]: [f64; 4]) -> f64 {
    let sheet = project.sheet_size();
    let (sw, sh) = (sheet.width.get(), sheet.height.get());
    let scale = (w / sw).min(h / sh);
    document.frame([x, y, sw * scale, sh * scale], 0.2, DARK);
    let mut lines = project.fold.as_ref().map(|f| f.sheet_lines(sheet, face)).unwrap_or_default();
    lines.extend(trim_lines(sheet, project.trim.get()));
    for line in &lines {
        let at = |p: slipsheet_core::geometry::Point| (x + p.x * scale, y + p.y * scale);
        stroke(document, line.kind, at(line.from), at(line.to));
    }
    sh * scale
}

/// Page numbers as they lie on the flat sheet, each at the foot of its page.
pub(super) fn pages(document: &mut Document, project: &Project, face: Face, [x, y, w, h]: [f64; 4]) {
    let sheet = project.sheet_size();
    let scale = (w / sheet.width.get()).min(h / sheet.height.get());
    let places = project.fold.as_ref().map(|f| f.places(sheet, face)).unwrap_or_default();
    for place in places {
        let c = place.rect.centre();
        let text = match place.turn.degrees() as i32 {
            180 => format!("{} (head down)", place.page),
            0 => place.page.to_string(),
            _ => format!("{} (lying)", place.page),
        };
        let width = document.width(&text, NOTE);
        document.line((x + c.x * scale - width / 2.0, y + c.y * scale + 0.8), width + 1.0, &text, NOTE);
    }
}

/// What the lines of a drawing mean, in one row; kinds that do not occur are left out.
pub(super) fn key(document: &mut Document, project: &Project, (x, y): (f64, f64)) {
    let sheet = project.sheet_size();
    let mut lines = project.fold.as_ref().map(|f| f.sheet_lines(sheet, Face::Front)).unwrap_or_default();
    lines.extend(trim_lines(sheet, project.trim.get()));
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

fn stroke(document: &mut Document, kind: LineKind, from: (f64, f64), to: (f64, f64)) {
    match kind {
        LineKind::Valley => document.rule(from, to, 0.2, DARK, &[2.0, 1.0]),
        LineKind::Mountain => document.rule(from, to, 0.2, DARK, &[2.4, 0.8, 0.5, 0.8]),
        LineKind::Slit => document.rule(from, to, 0.6, DARK, &[]),
        LineKind::Trim => document.rule(from, to, 0.15, RULE, &[0.6, 0.6]),
    }
}
