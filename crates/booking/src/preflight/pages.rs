//! Findings about pages: those that no ink reaches.

use super::scans::PAPER;
use super::{Finding, Kind};
use slipsheet_core::units::Dpi;
use slipsheet_core::words::list;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::{Face, PagePlace};
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

/// Resolution at which a page is looked at: fine enough for a pencil line to leave a trace.
const LOOK_DPI: f64 = 40.0;

pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    Face::BOTH.into_iter().flat_map(|face| of_face(printing, images, face)).collect()
}

fn of_face(printing: &Printing, images: &Images, face: Face) -> Vec<Finding> {
    let Some(scheme) = &printing.sheet.fold else { return Vec::new() };
    // What is not loaded may be anywhere on the face, so nothing can be said of its pages.
    let loaded = |art: &slipsheet_document::layer::Art| images.get(&art.scan.key).is_some();
    if !printing.sheet.on(face).all(|(_, l)| l.art.iter().all(loaded)) {
        return Vec::new();
    }
    let places = scheme.places(printing.sheet.size(), face);
    // A face without any layer is one finding, not one a page.
    if printing.sheet.on(face).next().is_none() && !places.is_empty() {
        let sentence = format!(
            "the {} has {} pages in this fold but no layer",
            face.name().to_lowercase(),
            places.len()
        );
        let first = places.first().map_or(1, |p| p.page);
        return vec![Finding::new(Kind::EmptyPage, sentence).on_page(first)];
    }
    let mut whole = printing.clone();
    // Hidden layers count: their pages are not empty. Slips are what-ifs and do not.
    whole.sheet.layers.iter_mut().for_each(|l| l.visible = true);
    let Ok(scene) = Scene::new(&whole, images, Show::meant(face)) else {
        return Vec::new();
    };
    let empty = places.iter().filter(|place| !inked(&scene, &whole, place)).map(|place| place.page);
    empty_finding(empty.collect()).into_iter().collect()
}

/// One finding for pages that no ink reaches.
pub(super) fn empty_finding(mut pages: Vec<u32>) -> Option<Finding> {
    pages.sort_unstable();
    let (first, more) = pages.split_first()?;
    let sentence = if more.is_empty() {
        format!("page {first} has no artwork in any ink")
    } else {
        let numbers: Vec<String> = pages.iter().map(u32::to_string).collect();
        format!("pages {} have no artwork in any ink", list(&numbers))
    };
    Some(Finding::new(Kind::EmptyPage, sentence).on_page(*first))
}

/// Whether every scan is there: what is not loaded may be anywhere, so nothing can be said of pages.
pub(super) fn loaded(printing: &Printing, images: &Images) -> bool {
    printing.sheet.layers.iter().flat_map(|l| &l.art).all(|art| images.get(&art.scan.key).is_some())
}

/// Every page of a sheet, and whether any ink reaches it, hidden or not.
pub(super) fn inked_pages(printing: &Printing, images: &Images) -> Vec<(u32, bool)> {
    let Some(scheme) = &printing.sheet.fold else { return Vec::new() };
    let mut whole = printing.clone();
    whole.sheet.layers.iter_mut().for_each(|l| l.visible = true);
    let mut all = Vec::new();
    for face in Face::BOTH {
        let drawn = whole.sheet.on(face).any(|(_, l)| !l.art.is_empty());
        let show = Show::meant(face);
        let scene = drawn.then(|| Scene::new(&whole, images, show).ok());
        for place in scheme.places(printing.sheet.size(), face) {
            let reached = match &scene {
                None => false,
                Some(None) => true,
                Some(Some(scene)) => inked(scene, &whole, &place),
            };
            all.push((place.page, reached));
        }
    }
    all
}

/// Whether any layer has ink on a page.
fn inked(scene: &Scene, printing: &Printing, place: &PagePlace) -> bool {
    let Ok(dpi) = Dpi::new(LOOK_DPI) else { return true };
    let view = View::page(place, dpi);
    printing.sheet.on(place.face).any(|(i, _)| {
        scene.plate(i, &view).is_some_and(|plate| plate.pixels().iter().any(|gray| *gray < PAPER))
    })
}
