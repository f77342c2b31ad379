//! Findings about how well originals were scanned: pixels for what they carry, sharpness, tones, and what a file
//! format did to them. One scan has each of them once, however often it is laid.

use rayon::prelude::*;

use super::scans::on_page_of;
use super::{Finding, Kind};
use slipsheet_core::reading::Mode;
use slipsheet_core::scan_quality::{BLURRED_MM, STROKE_PX, ScanQuality};
use slipsheet_document::layer::{Art, Layer};
use slipsheet_document::printing::Printing;
use slipsheet_render::images::Images;

/// Effective resolution below which a master shows the pixels (common practice, no source).
const LEAST_DPI: f64 = 150.0;

/// A scan where it is laid.
#[derive(Clone, Copy)]
struct Use<'a> {
    /// Of its layer.
    position: usize,
    layer: &'a Layer,
    art: &'a Art,
}

pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    let uses = by_scan(printing);
    uses.par_iter().flat_map_iter(|uses| of_scan(printing, images, uses)).collect()
}

/// The uses of every scan, in the order in which the scans come first.
fn by_scan(printing: &Printing) -> Vec<Vec<Use<'_>>> {
    let mut all: Vec<Vec<Use<'_>>> = Vec::new();
    for (position, layer) in printing.sheet.layers.iter().enumerate() {
        // Of a separated picture one plate tells what there is to say of all.
        let first = |art: &&Art| art.scan.key.plate.as_ref().is_none_or(|plate| plate.ink == 0);
        for art in layer.art.iter().filter(first) {
            let this = Use { position, layer, art };
            let same = all.iter_mut().find(|uses| uses.iter().any(|u| u.art.scan.key == art.scan.key));
            match same {
                Some(uses) => uses.push(this),
                None => all.push(vec![this]),
            }
        }
    }
    all
}

fn of_scan(printing: &Printing, images: &Images, uses: &[Use<'_>]) -> Vec<Finding> {
    let Some(first) = uses.first() else { return Vec::new() };
    let scan = &first.art.scan;
    let at = |used: &Use<'_>, finding: Finding| {
        on_page_of(printing, used.art, finding).on_layer(printing, used.position)
    };

    let quality = images.quality(&scan.key, scan.dpi);
    let coarse = coarsest(printing, images, uses);
    let mut all: Vec<Finding> = coarse.map(|(used, finding)| at(used, finding)).into_iter().collect();
    let Some(quality) = quality else { return all };
    let is_low = |used: &&Use<'_>| quality.is_low_in_contrast(used.layer.reading.most_gain());
    if let Some(used) = uses.iter().find(is_low) {
        let sentence = format!(
            "a scan has only {:.0} of 255 grays between its paper and its darkest art: {}",
            quality.span(),
            scan.path
        );
        all.push(at(used, Finding::new(Kind::LowContrast, sentence)));
    }
    let faults = [blurred(&quality, first.art), clipped(&quality, first.art), blocks(&quality, first.art)];
    all.extend(faults.into_iter().flatten().map(|finding| at(first, finding)));
    all
}

/// Where a scan is laid that has too few pixels there: of several places the one where it is the coarsest.
fn coarsest<'a, 'b>(
    printing: &Printing,
    images: &Images,
    uses: &'a [Use<'b>],
) -> Option<(&'a Use<'b>, Finding)> {
    let effective = |used: &Use<'_>| used.art.scan.dpi.get() / used.art.placement.scale.get();
    let found = uses.iter().filter_map(|used| {
        // Each place may give the scan a resolution of its own.
        let quality = images.quality(&used.art.scan.key, used.art.scan.dpi);
        Some((used, coarse(printing, used, quality.as_deref())?))
    });
    found.min_by(|a, b| effective(a.0).total_cmp(&effective(b.0)))
}

fn coarse(printing: &Printing, used: &Use<'_>, quality: Option<&ScanQuality>) -> Option<Finding> {
    let (scan, scale) = (&used.art.scan, used.art.placement.scale.get());
    let effective = scan.dpi.get() / scale;
    // One and a half pixels for a line of the screen are the least (common practice, no source).
    let least = match used.layer.reading.mode {
        Mode::Screened { ruling, angle: _ } | Mode::Mixed { ruling, angle: _ } => {
            LEAST_DPI.max(1.5 * ruling.get())
        }
        Mode::Continuous | Mode::Line | Mode::Stochastic { .. } | Mode::Faint => LEAST_DPI,
    };
    // What rounds to the least is the least: files keep pixels per metre as whole numbers.
    let is_coarse = effective < least - 0.5;
    // What the press cannot show needs no pixels.
    let press = printing.press_dpi.get();
    let strokes = quality.filter(|_| effective < press - 0.5).and_then(|q| {
        let wanted = (q.dpi_for_strokes(scan.dpi)? / scale).min(press);
        Some((q.finest_stroke_mm? * scale, libm::ceil(wanted / 10.0) * 10.0))
    });
    let only = format!("a scan has only {effective:.0} dpi at the size it prints");
    let sentence = match (is_coarse, strokes) {
        (false, None) => return None,
        (true, None) => format!("{only}; its reading needs {least:.0} or more"),
        (true, Some((mm, wanted))) => format!(
            "{only}; its reading needs {least:.0} or more, and its finest strokes, {mm:.2} mm wide, {wanted:.0}"
        ),
        (false, Some((mm, wanted))) => format!(
            "the finest strokes of a scan are {mm:.2} mm wide, {:.1} pixels at the {effective:.0} dpi that it has at the size it prints; {STROKE_PX} pixels hold a stroke's shape, from {wanted:.0} dpi on",
            mm / 25.4 * effective
        ),
    };
    Some(Finding::new(Kind::LowResolution, format!("{sentence}: {}", scan.path)))
}

fn blurred(quality: &ScanQuality, art: &Art) -> Option<Finding> {
    let mm = quality.edge_width_mm.filter(|_| quality.is_blurred(art.scan.dpi))?;
    let sentence = format!(
        "a scan is blurred: its sharpest edges are {mm:.2} mm wide, where {BLURRED_MM} mm are the most: {}",
        art.scan.path
    );
    Some(Finding::new(Kind::BlurredScan, sentence))
}

fn clipped(quality: &ScanQuality, art: &Art) -> Option<Finding> {
    // Paper that was cleaned is white because it was cleaned.
    let white = quality.clipped_white && !art.scan.key.clean;
    let what = match (quality.clipped_black, white) {
        (false, false) => return None,
        (true, false) => "the darkest tones of a scan were cut off, so shades near black are one solid",
        (false, true) => "the lightest tones of a scan were cut off, so what is pale may be lost",
        (true, true) => "the darkest and the lightest tones of a scan were cut off, and shades with them",
    };
    Some(Finding::new(Kind::ClippedTones, format!("{what}: {}", art.scan.path)))
}

fn blocks(quality: &ScanQuality, art: &Art) -> Option<Finding> {
    quality.shows_blocks().then(|| {
        let sentence = format!(
            "the tones of a scan step at every eighth pixel, {:.1} times as high as between: blocks of a JPEG file that was compressed hard: {}",
            1.0 + quality.blocks,
            art.scan.path
        );
        Finding::new(Kind::JpegBlocks, sentence)
    })
}
