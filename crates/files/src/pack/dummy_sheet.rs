//! The dummy to make by hand: the print of each face at true size with its folds, slits and trim, and the folded
//! thing beside it on a last page.

use std::path::Path;

use slipsheet_core::dummy::{self, DummyView, Folded, Texture};
use slipsheet_core::fold::{Face, LineKind, trim_lines};
use slipsheet_core::project::{Images, Project};
use slipsheet_core::render::{Picture, Scene, Show, View};
use slipsheet_core::units::Dpi;

use super::PackError;
use crate::atomic;
use crate::ticket::TicketError;
use crate::typeset::{DARK, Document, SOFT, Style};

const DPI: f64 = 120.0;
const NAME: Style = Style::new(true, 14.0, DARK);
const NOTE: Style = Style::new(false, 9.0, SOFT);

/// Writes the dummy.
pub(super) fn write(project: &Project, images: &Images, path: &Path) -> Result<(), PackError> {
    let sheet = project.sheet_size();
    let mut d = Document::new(sheet).map_err(|_font| TicketError::Font)?;
    let Ok(dpi) = Dpi::new(DPI) else { return Ok(()) };
    let mut textures = [None, None];
    let faces = if project.two_sided() { &[Face::Front, Face::Back][..] } else { &[Face::Front] };
    for (face, texture) in faces.iter().zip(&mut textures) {
        let show = Show { face: *face, perfect: true, ..Show::default() };
        let scene = Scene::new(project, images, show).map_err(crate::plates::PlateError::from)?;
        let picture = scene.render(&View::sheet(sheet, dpi));
        d.add_page();
        d.picture([0.0, 0.0, sheet.width.get(), sheet.height.get()], &picture);
        let mut lines = project.fold.as_ref().map(|f| f.sheet_lines(sheet, *face)).unwrap_or_default();
        lines.extend(trim_lines(sheet, project.trim.get()));
        for line in lines {
            let (width, dash): (f64, &[f64]) = match line.kind {
                LineKind::Valley => (0.25, &[3.0, 2.0]),
                LineKind::Mountain => (0.25, &[3.0, 1.0, 0.6, 1.0]),
                LineKind::Slit => (0.5, &[]),
                LineKind::Trim => (0.2, &[0.8, 0.8]),
            };
            d.rule((line.from.x, line.from.y), (line.to.x, line.to.y), width, SOFT, dash);
        }
        *texture = Some(Texture::new(picture, dpi.px_per_mm(), dummy::paper_of(project)));
    }
    if let Some(scheme) = &project.fold {
        folded(&mut d, project, scheme, &textures);
    }
    let bytes = d.finish(&format!("{}: dummy", project.title)).map_err(|_font| TicketError::Font)?;
    Ok(atomic::write_bytes(path, &bytes)?)
}

/// The thing as it comes out: half folded, closed, and opened once.
fn folded(
    d: &mut Document,
    project: &Project,
    scheme: &slipsheet_core::fold::Scheme,
    textures: &[Option<Texture>; 2],
) {
    let sheet = project.sheet_size();
    let (w, h) = (sheet.width.get(), sheet.height.get());
    d.add_page();
    let margin = 10.0_f64.min(w / 12.0);
    d.line((margin, margin + 4.0), w - 2.0 * margin, &scheme.name, NAME);
    d.block((margin, margin + 10.5), w - 2.0 * margin, &scheme.summary, NOTE);
    let paper = project.stock.colour.lab().xyz().shown().rgb;
    let faces = [textures[0].as_ref(), textures[1].as_ref()];
    let poses = [("half folded", 0.55, 0.0), ("folded", 1.0, 0.0), ("opened once", 1.0, 1.0)];
    let column = (w - 2.0 * margin) / poses.len() as f64;
    let side = column.min(h - margin - 40.0).max(10.0);
    for (i, (name, fold, open)) in poses.into_iter().enumerate() {
        let pose = Folded::new(scheme, sheet, fold, open, slipsheet_core::paper::caliper(&project.stock));
        let view = DummyView {
            width: 640,
            height: 640,
            yaw: -24.0,
            pitch: 18.0,
            zoom: 0.92,
            ground: [255; 3],
            samples: 2,
            pan: [0.0; 2],
        };
        let mut picture = Picture::default();
        dummy::draw(&pose, faces, paper, &view, &mut picture);
        let x = margin + column * i as f64;
        d.picture([x, margin + 22.0, side, side], &picture);
        d.line((x, margin + 27.0 + side), column, name, NOTE);
    }
}
