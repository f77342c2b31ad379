//! The pieces of a layer: its artwork as it is, or one plate on the sheet with the layer's remedies.

use std::sync::Arc;

use super::drawn::Original;
use super::{Piece, View, plate_of, samplers_of};
use crate::images::Images;
use crate::images::RemediedKey;
use slipsheet_core::geometry::Rect;
use slipsheet_core::raster::Pyramid;
use slipsheet_core::units::Dpi;
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::{Art, Layer, Slip};
use slipsheet_document::printing::Printing;
use slipsheet_document::remedy::Remedy;

/// The finest plate that remedies are worked out on; finer masters are drawn from it.
const FINEST: f64 = 600.0;
/// Bytes that a remedy takes for a pixel: the plates it looks at, and what it measures on them.
const BYTES_A_PIXEL: f64 = 8.0;
/// The same where it looks for the shapes of two plates that meet.
const BYTES_WHERE_TWO_MEET: f64 = 36.0;

pub(super) fn pieces(printing: &Printing, images: &Images, index: usize, layer: &Layer) -> Vec<Piece> {
    if layer.remedies.is_empty() {
        return artwork(printing, images, layer);
    }
    let dpi = Dpi::nearest(printing.press_dpi.get().min(FINEST));
    let sheet = printing.sheet.size();
    let two_meet = layer.remedies.iter().any(|r| match r {
        Remedy::Trap { .. } | Remedy::Gap { .. } => true,
        Remedy::Spread(_) | Remedy::Choke(_) | Remedy::Knockout { .. } | Remedy::Fill { .. } => false,
    });
    let dpi = sheet.dpi_within(dpi, if two_meet { BYTES_WHERE_TWO_MEET } else { BYTES_A_PIXEL });
    // What prints on the same face; a layer that is not there has no part in the plate.
    let other = |id: LayerId| {
        let on_face = printing.sheet.on(layer.face).find(|(at, l)| l.id == id && *at != index);
        on_face.map(|(_, l)| l)
    };
    let others = layer.remedies.iter().filter_map(Remedy::other).filter_map(other);
    let layers: Vec<Layer> =
        std::iter::once(counted(layer, true)).chain(others.map(|l| counted(l, false))).collect();
    let arts = layers.iter().flat_map(|l| &l.art);
    let loaded = arts.map(|art| images.get(&art.scan.key).is_some()).collect();
    let key = RemediedKey { layers, loaded, sheet, fold: printing.sheet.fold.clone(), dpi };
    let view = View::sheet(sheet, dpi);
    let made = images.remedied(key, || {
        let plate =
            |l: &Layer| plate_of(&samplers_of(&artwork(printing, images, l), view.face_from_view), &view);
        let other = |id| other(id).and_then(plate);
        let plate = crate::remedies::remedied(plate(layer)?, &layer.remedies, dpi.px_per_mm(), other);
        Some(Pyramid::new(plate, dpi))
    });
    let Some(pixels) = made else { return artwork(printing, images, layer) };
    let clip = Rect { x: 0.0, y: 0.0, width: sheet.width.get(), height: sheet.height.get() };
    view.face_from_view
        .inverse()
        .map(|scan_from_face| Piece { pixels, scan_from_face, clip, part: None })
        .into_iter()
        .collect()
}

/// A layer with what its plate depends on alone.
fn counted(layer: &Layer, own: bool) -> Layer {
    let mut layer =
        Layer { name: String::new(), slip: Slip::default(), visible: true, with: None, ..layer.clone() };
    layer.ink = slipsheet_core::ink::Ink::estimated("", slipsheet_core::colour::Lab::WHITE);
    if !own {
        layer.remedies.clear();
    }
    layer
}

fn artwork(printing: &Printing, images: &Images, layer: &Layer) -> Vec<Piece> {
    layer.art.iter().filter_map(|art| piece(printing, images, layer, art)).collect()
}

/// One piece of a layer's artwork as its reading has it.
pub(super) fn piece(printing: &Printing, images: &Images, layer: &Layer, art: &Art) -> Option<Piece> {
    let pixels = images.read(layer, art)?;
    placed(printing, layer, art, pixels)
}

/// The originals of a layer as they were scanned.
pub(super) fn originals(printing: &Printing, images: &Images, layer: &Layer) -> Vec<Original> {
    let original = |art: &Art| {
        let piece = placed(printing, layer, art, Arc::clone(images.get(&art.scan.key)?))?;
        Some(Original { piece, scan: images.scanned(&art.scan.key, art.scan.dpi)? })
    };
    layer.art.iter().filter_map(original).collect()
}

/// Pixels of a piece of artwork where it lies.
fn placed(printing: &Printing, layer: &Layer, art: &Art, pixels: Arc<Pyramid>) -> Option<Piece> {
    let (w, h) = (pixels.full().width(), pixels.full().height());
    let mapping = art.mapping(w, h, printing.sheet.size(), printing.sheet.fold.as_ref(), layer.face)?;
    let part = art.crop.map(|_| mapping.part);
    Some(Piece { pixels, scan_from_face: mapping.face_from_scan.inverse()?, clip: mapping.clip, part })
}
