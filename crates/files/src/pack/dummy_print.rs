//! The dummy to make by hand: the print of each face at true size with its folds, slits and trim, and the folded
//! thing beside it on a last page.

use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::{Face, LineKind, trim_lines};
use slipsheet_render::dummy::{DummyView, Piece, Prints};
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

use super::PackError;
use crate::dashes::dashes;
use crate::lettering::Style;
use crate::ticket::from_above;
use crate::typeset::{DARK, Document, SOFT};

const DPI: f64 = 120.0;
const NAME: Style = Style::semi_bold(14.0, DARK);
const NOTE: Style = Style::regular(9.0, SOFT);

pub(super) fn document(printing: &Printing, images: &Images) -> Result<Vec<u8>, PackError> {
    let sheet = printing.sheet.size();
    let mut d = Document::new(sheet)?;
    d.at_true_size();
    let dpi = Dpi::nearest(DPI);
    let faces = if printing.sheet.two_sided() { &[Face::Front, Face::Back][..] } else { &[Face::Front] };
    for on in 0..printing.sheet.printed_sheets() {
        let scheme = printing.sheet.scheme(on);
        for face in faces {
            let show = Show { sheet: on, ..Show::meant(*face) };
            let scene = Scene::new(printing, images, show).map_err(crate::plates::PlateError::from)?;
            let picture = scene.render(&View::sheet(sheet, dpi));
            d.add_page();
            d.picture([0.0, 0.0, sheet.width.get(), sheet.height.get()], &picture);
            let mut lines = scheme.as_ref().map(|f| f.sheet_lines(sheet, *face)).unwrap_or_default();
            lines.extend(trim_lines(sheet, printing.sheet.trim.get()));
            for line in lines {
                let width = if line.kind == LineKind::Slit { 0.5 } else { 0.25 };
                d.rule((line.from.x, line.from.y), (line.to.x, line.to.y), width, SOFT, dashes(line.kind));
            }
            if printing.sheet.printed_sheets() > 1 {
                // In the margin that no press prints.
                let name = format!("Sheet {}, {}", on + 1, face.name().to_lowercase());
                d.line((3.0, 4.0), 60.0, &name, NOTE);
            }
        }
    }
    let piece = Piece::of(&printing.sheet.construction());
    if !piece.is_flat() {
        folded(&mut d, printing, images, &piece, dpi);
    }
    Ok(d.finish(&format!("{}: dummy", printing.title))?)
}

/// The thing as it comes out: half made, closed, and opened once.
fn folded(d: &mut Document, printing: &Printing, images: &Images, piece: &Piece, dpi: Dpi) {
    let sheet = printing.sheet.size();
    let (w, h) = (sheet.width.get(), sheet.height.get());
    d.add_page();
    let margin = 10.0_f64.min(w / 12.0);
    let name = printing
        .sheet
        .fold
        .as_ref()
        .filter(|_| printing.sheet.booklet.is_none())
        .map_or("Booklet", |f| &f.name);
    d.line((margin, margin + 4.0), w - 2.0 * margin, name, NAME);
    d.block((margin, margin + 10.5), w - 2.0 * margin, &piece.summary(), NOTE);
    let mut prints = Prints::new(printing, images, true, dpi);
    let poses = [("half folded", 0.55, 0.0), ("folded", 1.0, 0.0), ("opened once", 1.0, 1.0)];
    let column = (w - 2.0 * margin) / poses.len() as f64;
    let side = column.min(h - margin - 40.0).max(10.0);
    for (i, (name, fold, open)) in poses.into_iter().enumerate() {
        let pose = piece.folded(fold, open);
        let mut picture = Picture::default();
        // From a little farther off, so that the shadow of what is half made stays in the picture.
        let view = DummyView { zoom: 0.72, ..from_above(640, 640) };
        prints.draw(printing, images, &pose, &view, &mut picture);
        let middle = margin + column * (i as f64 + 0.5);
        d.picture([middle - side / 2.0, margin + 18.0, side, side], &picture);
        d.line_centred((middle, margin + 22.0 + side), name, NOTE);
    }
}
