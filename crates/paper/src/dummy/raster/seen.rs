//! Which paper lies under a point of the picture, and which faces are seen at all.

use rayon::prelude::*;

use crate::dummy::DummyView;
use crate::dummy::mesh::{Folded, Strip};
use crate::dummy::plane::{Camera, Plane};
use crate::fold::Face;

/// The panel that is seen at a picture point, with the place on it and whether its first side is seen.
pub(in crate::dummy) fn seen<'a>(
    folded: &'a Folded,
    camera: &Camera,
    (x, y): (f64, f64),
) -> Option<(&'a Strip, f64, f64, bool)> {
    let hit = folded.strips.iter().filter_map(|strip| {
        let [a, b, _, d] = strip.corners.map(|c| camera.eye(c));
        let plane = Plane::new(camera, a, b, d);
        let (u, v, near) = plane.meet(x, y)?;
        ((0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v))
            .then_some((near, (strip, u, v, plane.faces(x, y))))
    });
    hit.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, seen)| seen)
}

/// Whether paper lies under a picture point, in pixels.
pub(in crate::dummy) fn hit(folded: &Folded, view: &DummyView, point: (f64, f64)) -> bool {
    seen(folded, &Camera::new(view, folded.radius, 1.0), point).is_some()
}

/// The faces that are seen, each with its sheet, those that fill most of the picture first: found by a grid of
/// points, so that slivers may be missed.
pub fn seen_faces(folded: &Folded, view: &DummyView) -> Vec<(usize, Face)> {
    const ACROSS: usize = 36;
    const DOWN: usize = 27;
    let camera = Camera::new(view, folded.radius, 1.0);
    let planes: Vec<(Plane, &Strip)> = folded
        .strips
        .iter()
        .map(|strip| {
            let [a, b, _, d] = strip.corners.map(|c| camera.eye(c));
            (Plane::new(&camera, a, b, d), strip)
        })
        .collect();
    let look = |i: usize| {
        let x = ((i % ACROSS) as f64 + 0.5) / ACROSS as f64 * view.width as f64;
        let y = ((i / ACROSS) as f64 + 0.5) / DOWN as f64 * view.height as f64;
        let hits = planes.iter().filter_map(|(plane, strip)| {
            let (u, v, near) = plane.meet(x, y)?;
            ((0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v)).then_some((near, plane, strip))
        });
        let (_, plane, strip) = hits.max_by(|a, b| a.0.total_cmp(&b.0))?;
        let (face, _) = if plane.faces(x, y) { strip.front } else { strip.back }?;
        Some((strip.sheet, face))
    };
    let hits: Vec<(usize, Face)> = (0..ACROSS * DOWN).into_par_iter().filter_map(look).collect();
    let mut counts: std::collections::BTreeMap<(usize, Face), usize> = std::collections::BTreeMap::new();
    hits.into_iter().for_each(|hit| *counts.entry(hit).or_default() += 1);
    let mut faces: Vec<((usize, Face), usize)> = counts.into_iter().collect();
    faces.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    faces.into_iter().map(|(face, _)| face).collect()
}
