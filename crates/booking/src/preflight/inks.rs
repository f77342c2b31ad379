//! Findings about inks, slips and what is shown.

use super::{Finding, Kind, count};
use slipsheet_core::gray_check::GrayCheck;
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::reading::histogram;
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

/// The caution for a pale ink whose originals were prepared in its own lightness (common practice, no source).
///
/// It looks at every pixel of the layer's scans as they are read; `None` as well where a scan is not loaded.
pub fn drawn_pale(layer: &Layer, images: &Images) -> Option<String> {
    // How dark a plate is, its separation has decided.
    if layer.art.iter().any(|art| art.scan.key.plate.is_some()) {
        return None;
    }
    let mut counts = [0; 256];
    for art in &layer.art {
        let toned = images.read(layer, art)?;
        let table = layer.gray_table();
        for (gray, n) in histogram(toned.full().pixels()).into_iter().enumerate() {
            counts[table.map_or(gray, |t| usize::from(t[gray]))] += n;
        }
    }
    GrayCheck::of_histogram(counts, &layer.ink.curve).drawn_pale(&layer.ink)
}

fn pale(printing: &Printing, images: &Images) -> Vec<Finding> {
    let found = printing.sheet.layers.iter().enumerate().filter_map(|(i, layer)| {
        let caution = drawn_pale(layer, images)?;
        let sentence = format!("“{}”: {}", layer.name, caution);
        Some(Finding::new(Kind::PaleOriginal, sentence).on_layer(printing, i))
    });
    found.collect()
}

pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    let mut all: Vec<Finding> = Face::BOTH.into_iter().filter_map(|f| too_many(printing, f)).collect();
    if !printing.sheet.back_slip.is_none() {
        let sentence =
            "the back still has a slip against the front, which is a what-if and not in the plates";
        all.push(Finding::new(Kind::SlipSet, sentence.to_owned()));
    }
    for (i, layer) in printing.sheet.layers.iter().enumerate() {
        if !layer.slip.is_none() {
            let sentence =
                format!("“{}” still has a slip, which is a what-if and not in the plates", layer.name);
            all.push(Finding::new(Kind::SlipSet, sentence).on_layer(printing, i));
        }
        if !layer.visible {
            let sentence = format!("“{}” is hidden, so a proof leaves it out", layer.name);
            all.push(Finding::new(Kind::HiddenLayer, sentence).on_layer(printing, i));
        }
    }
    all.extend(pale(printing, images));
    all.extend(estimates(printing));
    all
}

fn too_many(printing: &Printing, face: Face) -> Option<Finding> {
    let inks = printing.sheet.on(face).count();
    let name = face.name().to_lowercase();
    (inks > MAX_INKS).then(|| {
        let sentence = format!("the {name} has {inks} layers, and {MAX_INKS} are the most");
        Finding::new(Kind::TooManyInks, sentence)
    })
}

fn estimates(printing: &Printing) -> Option<Finding> {
    let estimated = printing.sheet.layers.iter().filter(|l| !l.ink.is_measured_on(&printing.sheet.stock));
    let mut names: Vec<&str> = estimated.map(|l| l.ink.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let stock = !printing.sheet.stock.colour.measured();
    let sentence = match (names.len(), stock) {
        (0, false) => return None,
        (0, true) => "the stock's colour is an estimate".to_owned(),
        (1, false) => "the colour of 1 ink is an estimate".to_owned(),
        (n, false) => format!("the colours of {} are estimates", count(n, "ink")),
        (n, true) => format!("the colours of {} and of the stock are estimates", count(n, "ink")),
    };
    Some(Finding::new(Kind::Estimates, sentence))
}
