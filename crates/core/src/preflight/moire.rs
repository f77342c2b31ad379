//! Findings about screens that beat with one another, or with something that repeats in an original.

use super::{Finding, Kind};
use crate::fold::Face;
use crate::layer::Layer;
use crate::moire::{self, Pattern};
use crate::project::{Images, Project};
use crate::reading::Mode;

pub(super) fn findings(project: &Project, images: &Images) -> Vec<Finding> {
    [Face::Front, Face::Back].into_iter().flat_map(|face| of_face(project, images, face)).collect()
}

fn of_face(project: &Project, images: &Images, face: Face) -> Vec<Finding> {
    let screens: Vec<(usize, f64, f64)> = project
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
    for (i, layer) in project.on(face) {
        patterns.extend(textures(project, images, i, layer));
    }
    let name = |i: usize| project.layers.get(i).map(|l| l.name.clone()).unwrap_or_default();
    let beats = moire::beats(&patterns);
    let advice =
        if beats.is_empty() || screens.len() < 2 { String::new() } else { suggestion(&screens, name) };
    beats
        .iter()
        .map(|beat| {
            let sentence = format!("{}{advice}", beat.sentence(name));
            Finding::new(Kind::Beat, sentence).on_layer(beat.second.0)
        })
        .collect()
}

/// What repeats in a layer's originals, as it lies on the sheet.
fn textures(project: &Project, images: &Images, i: usize, layer: &Layer) -> Vec<Pattern> {
    let mut found = Vec::new();
    for art in &layer.art {
        let Some(pixels) = images.get(&art.scan.key) else { continue };
        let full = pixels.full();
        let lie =
            art.lie(full.width(), full.height(), project.sheet_size(), project.fold.as_ref(), layer.face);
        let Some(lie) = lie else { continue };
        let of_texture = |t: &moire::Texture| Pattern::texture(i, t, art.scan.dpi, lie.face_from_scan);
        let textures = images.textures(&art.scan.key, art.scan.dpi).unwrap_or_default();
        found.extend(textures.iter().filter_map(of_texture));
    }
    found
}

fn suggestion(screens: &[(usize, f64, f64)], name: impl Fn(usize) -> String) -> String {
    let rulings: Vec<f64> = screens.iter().map(|s| s.1).collect();
    let angles = moire::suggest_angles(&rulings, &[]);
    let pairs: Vec<String> =
        screens.iter().zip(angles).map(|(s, a)| format!("“{}” at {a:.0}°", name(s.0))).collect();
    format!(" Angles that beat least: {}.", pairs.join(", "))
}
