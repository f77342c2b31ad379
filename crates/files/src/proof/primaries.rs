//! Which inks meet where: every combination that occurs on a face, with its share of the sheet.

use slipsheet_core::fold::Face;
use slipsheet_core::project::Project;
use slipsheet_core::render::{Scene, View};
use slipsheet_core::units::Dpi;

/// Asked-for coverage from which an ink counts as there.
const THERE: f64 = 0.1;
/// Share of the sheet below which a combination is a speck.
const SPECK: f64 = 2e-4;

/// A combination of inks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Occurring {
    /// Bit k stands for ink k of the face, in printing order among the layers shown.
    pub mask: usize,
    /// Share of the sheet where just these inks are, 0..=1.
    pub share: f64,
}

/// The combinations that occur on a face, the most common first; bare paper is left out.
pub fn primaries(project: &Project, scene: &Scene, face: Face) -> Vec<Occurring> {
    let Ok(dpi) = Dpi::new(60.0) else { return Vec::new() };
    let view = View::sheet(scene.sheet(), dpi);
    let shown = project.on(face).filter(|(_, l)| l.visible);
    let mut masks = vec![0_usize; view.width * view.height];
    let mut inks = 0;
    for (k, (index, _)) in shown.enumerate() {
        let Some(plate) = scene.plate(index, &view) else { continue };
        let limit = 255.0 * (1.0 - THERE);
        for (mask, gray) in masks.iter_mut().zip(plate.pixels()) {
            if f64::from(*gray) <= limit {
                *mask |= 1 << k;
            }
        }
        inks = k + 1;
    }
    let mut counts = vec![0_u64; 1 << inks];
    masks.iter().for_each(|m| {
        if let Some(c) = counts.get_mut(*m) {
            *c += 1;
        }
    });
    let all = masks.len().max(1) as f64;
    let mut found: Vec<Occurring> = counts
        .iter()
        .enumerate()
        .skip(1)
        .map(|(mask, n)| Occurring { mask, share: *n as f64 / all })
        .filter(|o| o.share >= SPECK)
        .collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.mask.cmp(&b.mask)));
    found
}
