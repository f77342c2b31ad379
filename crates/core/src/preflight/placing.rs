//! Findings about how originals lie: turned pages, and originals of one sheet that were never lined up.

use super::{Finding, Kind};
use crate::fold::Face;
use crate::layer::{Art, Layer, Placement, Target};
use crate::project::{Images, Project};

/// Sizes of scans further apart than this, in mm, are not of one trimmed sheet.
const APART: f64 = 0.8;

pub(super) fn findings(project: &Project, images: &Images) -> Vec<Finding> {
    let mut all: Vec<Finding> = project.layers.iter().enumerate().flat_map(|(i, l)| turned(i, l)).collect();
    for face in [Face::Front, Face::Back] {
        all.extend(unaligned(project, images, face));
    }
    all
}

fn turned(index: usize, layer: &Layer) -> Vec<Finding> {
    let of_art = |art: &Art| {
        let Target::Page(page) = art.target else { return None };
        let turn = art.placement.rotation.get().rem_euclid(360.0);
        ((45.0..=315.0).contains(&turn)).then(|| {
            let sentence = format!("the artwork of page {page} on “{}” is turned by {turn:.0}°", layer.name);
            Finding::new(Kind::PageTurned, sentence).on_layer(index).on_page(page)
        })
    };
    layer.art.iter().filter_map(of_art).collect()
}

/// Originals of whole sheets that have another size than the first and lie where they were dropped.
fn unaligned(project: &Project, images: &Images, face: Face) -> Vec<Finding> {
    let mut first: Option<(f64, f64, &str)> = None;
    let mut all = Vec::new();
    for (index, layer) in project.on(face) {
        for art in layer.art.iter().filter(|a| a.target == Target::Sheet) {
            let Some(pixels) = images.get(&art.scan.key) else { continue };
            let mm = |n: u32| f64::from(n) / art.scan.dpi.px_per_mm();
            let (w, h) = (mm(pixels.full().width()), mm(pixels.full().height()));
            let Some((fw, fh, name)) = first else {
                first = Some((w, h, layer.name.as_str()));
                continue;
            };
            let differs = (w - fw).abs() > APART || (h - fh).abs() > APART;
            if differs && art.placement == Placement::default() {
                let sentence = format!(
                    "the scan of “{}” measures {w:.1} x {h:.1} mm and that of “{name}” {fw:.1} x {fh:.1}, and it was never lined up",
                    layer.name
                );
                all.push(Finding::new(Kind::NotLinedUp, sentence).on_layer(index));
            }
        }
    }
    all
}
