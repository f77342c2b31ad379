//! Findings about screens that beat with one another, or with something that repeats in an original.

use super::{Finding, Kind};
use slipsheet_core::moire::{self, Pattern, Source};
use slipsheet_core::reading::Mode;
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    Face::BOTH.into_iter().flat_map(|face| of_face(printing, images, face)).collect()
}

fn of_face(printing: &Printing, images: &Images, face: Face) -> Vec<Finding> {
    let screens: Vec<(usize, f64, f64)> = printing
        .sheet
        .on(face)
        .filter_map(|(i, layer)| match layer.reading.mode {
            Mode::Screened { ruling, angle } | Mode::Mixed { ruling, angle } => {
                Some((i, ruling.get(), angle.get()))
            }
            Mode::Continuous | Mode::Line | Mode::Stochastic { .. } | Mode::Faint => None,
        })
        .collect();
    // Without a screen nothing beats; looking for textures would only cost time.
    if screens.is_empty() {
        return Vec::new();
    }
    let mut patterns: Vec<Pattern> =
        screens.iter().map(|&(i, lpi, angle)| Pattern::screen(i, lpi, angle)).collect();
    for (i, layer) in printing.sheet.on(face) {
        patterns.extend(textures(printing, images, i, layer));
    }
    let name = |i: usize| printing.sheet.layers.get(i).map(|l| l.name.clone()).unwrap_or_default();
    let beats = moire::beats(&patterns);
    let triples = moire::triple_beats(&patterns, &beats);
    let quiet = beats.is_empty() && triples.is_empty();
    let advice =
        if quiet || screens.len() < 2 { String::new() } else { suggestion(&screens, &patterns, name) };
    let finding = |sentence: String, layer: usize| {
        Finding::new(Kind::Beat, format!("{sentence}{advice}")).on_layer(printing, layer)
    };
    let of_two = beats.iter().map(|beat| finding(beat.sentence(name), beat.second.0));
    let of_three = triples.iter().map(|beat| {
        let [.., last] = beat.layers;
        finding(beat.sentence(name), last)
    });
    of_two.chain(of_three).collect()
}

/// What repeats in a layer's originals, as it lies on the sheet.
fn textures(printing: &Printing, images: &Images, i: usize, layer: &Layer) -> Vec<Pattern> {
    let mut found = Vec::new();
    for art in &layer.art {
        let Some(pixels) = images.get(&art.scan.key) else { continue };
        let full = pixels.full();
        let mapping = art.mapping(
            full.width(),
            full.height(),
            printing.sheet.size(),
            printing.sheet.fold.as_ref(),
            layer.face,
        );
        let Some(mapping) = mapping else { continue };
        let of_texture = |t: &moire::Texture| Pattern::texture(i, t, art.scan.dpi, mapping.face_from_scan);
        let textures = images.textures(&art.scan.key, art.scan.dpi).unwrap_or_default();
        found.extend(textures.iter().filter_map(of_texture));
    }
    found
}

fn suggestion(screens: &[(usize, f64, f64)], patterns: &[Pattern], name: impl Fn(usize) -> String) -> String {
    let rulings: Vec<f64> = screens.iter().map(|s| s.1).collect();
    let fixed: Vec<Pattern> = patterns.iter().filter(|p| p.source == Source::Texture).cloned().collect();
    let angles = moire::suggest_angles(&rulings, &fixed);
    let turned = screens.iter().zip(&angles).map(|(s, a)| Pattern::screen(s.0, s.1, *a));
    let turned: Vec<Pattern> = turned.chain(fixed).collect();
    let each: Vec<String> =
        screens.iter().zip(&angles).map(|(s, a)| format!("“{}” at {a:.0}°", name(s.0))).collect();
    format!(" Angles that beat least: {}{}.", each.join(", "), left(&turned))
}

/// What still beats, in brackets; nothing where nothing does.
fn left(patterns: &[Pattern]) -> String {
    let beats = moire::beats(patterns);
    let triples = moire::triple_beats(patterns, &beats);
    let strong = beats.iter().filter(|b| b.orders == (1, 1)).map(|b| b.period_mm);
    let strong = strong.chain(triples.iter().map(|b| b.period_mm)).reduce(f64::max);
    let faint = beats.iter().map(|b| b.period_mm).reduce(f64::max);
    match (strong, faint) {
        (Some(mm), _) if mm > moire::IN_STEP_MM => " (some dots still fall in step)".to_owned(),
        (Some(mm), _) => format!(" (a beat of {mm:.1} mm is left)"),
        (None, Some(mm)) => format!(" (a faint beat of {mm:.1} mm is left)"),
        (None, None) => String::new(),
    }
}
