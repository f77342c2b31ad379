//! Findings about the paper of originals: where it is gray and its reading leaves it so, every copy has a veil.

use super::{Finding, Fix, Kind, count};
use slipsheet_core::reading::Mode;
use slipsheet_document::ids::ArtId;
use slipsheet_document::layer::{Art, Layer, ScanKey};
use slipsheet_document::printing::Printing;
use slipsheet_render::images::Images;

/// Effective coverage from which a veil is seen (common practice, no source).
const SEEN: f64 = 0.015;

/// Artwork whose bare paper would print, and the effective coverage that it would print with, 0..=1. What is not loaded
/// is left out, and so are mixed and faint readings, which clean paper by themselves.
pub fn paper_prints(printing: &Printing, images: &Images) -> Vec<(ArtId, f64)> {
    all(printing, images).map(|(_, art, _, veil)| (art.id, veil)).collect()
}

/// The position of a layer, its artwork, the gray of that's paper and the coverage that it prints with.
fn all<'a>(printing: &'a Printing, images: &'a Images) -> impl Iterator<Item = (usize, &'a Art, f64, f64)> {
    let layers = printing.sheet.layers.iter().enumerate();
    // What a plate prints on its paper, its separation has decided.
    let scans = |layer: &'a Layer| layer.art.iter().filter(|art| art.scan.key.plate.is_none());
    let art = layers.flat_map(move |(i, layer)| scans(layer).map(move |art| (i, layer, art)));
    art.filter_map(|(i, layer, art)| veil(layer, art, images).map(|(gray, veil)| (i, art, gray, veil)))
}

/// The gray of a scan's paper, and the effective coverage that a layer prints it with, where that is seen.
fn veil(layer: &Layer, art: &Art, images: &Images) -> Option<(f64, f64)> {
    let cleans = match layer.reading.mode {
        Mode::Mixed { .. } | Mode::Faint => true,
        Mode::Continuous | Mode::Line | Mode::Screened { .. } | Mode::Stochastic { .. } => false,
    };
    if cleans {
        return None;
    }
    let paper = images.paper(&art.scan.key, art.scan.dpi)?;
    let table = layer.reading.table(images.get(&art.scan.key)?.full())?;
    let asked = table.get(libm::round(paper.gray).clamp(0.0, 255.0) as usize)?;
    let printed = layer.ink.curve.effective(1.0 - f64::from(*asked) / 255.0);
    (printed > SEEN).then_some((paper.gray, printed))
}

/// One finding for all scans: they are mended together.
pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    let found: Vec<_> = all(printing, images).collect();
    let Some((position, first, gray, _)) = found.first() else { return Vec::new() };
    let mut scans: Vec<&ScanKey> = found.iter().map(|(_, art, ..)| &art.scan.key).collect();
    scans.sort();
    scans.dedup();
    let most = found.iter().fold(0.0_f64, |most, (.., veil)| most.max(*veil));
    let grays = found.iter().map(|(_, _, gray, _)| libm::round(*gray));
    let (low, high) = grays.fold((255.0_f64, 0.0_f64), |(low, high), g| (low.min(g), high.max(g)));
    let grays = if low < high { format!("{low:.0} to {high:.0}") } else { format!("{low:.0}") };
    let sentence = if scans.len() > 1 {
        format!(
            "the paper of {} (gray {grays} of 255) would print as a veil of up to {:.0} %",
            count(scans.len(), "scan"),
            most * 100.0
        )
    } else {
        format!(
            "the paper of “{}” (gray {gray:.0} of 255) would print as a veil of {:.0} %",
            first.scan.file_name(),
            most * 100.0
        )
    };
    let finding = Finding::new(Kind::PaperPrints, sentence).on_layer(printing, *position);
    let all = found.iter().map(|(_, art, ..)| art.id).collect();
    vec![Finding { fix: Some(Fix::CleanPaper(all)), ..finding }]
}
