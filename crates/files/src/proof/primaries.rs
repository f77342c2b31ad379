//! Which inks meet where: every combination that occurs on a face, with its share of the sheet.

use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::{Scene, View};

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
///
/// Where inks cover a place in part, each combination has the share that dots without relation to each other give
/// it: the product of what its inks cover and what the others leave (Demichel's equations, as in Wyble and Berns
/// 2000, Color Research and Application 25(1)). So the shares of all combinations with an ink add up to its coverage.
pub fn primaries(printing: &Printing, scene: &Scene, face: Face) -> Vec<Occurring> {
    let Ok(dpi) = Dpi::new(60.0) else { return Vec::new() };
    let view = View::sheet(scene.sheet(), dpi);
    let shown: Vec<usize> = printing.sheet.on(face).filter(|(_, l)| l.visible).map(|(i, _)| i).collect();
    let plates: Vec<_> = shown
        .iter()
        .enumerate()
        .filter_map(|(k, i)| Some((k, scene.coverage_of_grays(*i)?, scene.plate(*i, &view)?)))
        .collect();
    let mut sums = vec![0.0_f64; 1 << shown.len()];
    let (mut here, mut parts) = (Vec::new(), Vec::new());
    for at in 0..view.width * view.height {
        here.clear();
        for (k, table, plate) in &plates {
            let gray = plate.pixels().get(at).copied().unwrap_or(u8::MAX);
            let covered = f64::from(table[usize::from(gray)]);
            if covered > 0.0 {
                here.push((*k, covered));
            }
        }
        if here.is_empty() {
            continue;
        }
        // Every subset of the inks that are here, and its share.
        parts.clear();
        parts.push((0_usize, 1.0));
        for (k, covered) in &here {
            for i in 0..parts.len() {
                let (mask, share) = parts[i];
                parts[i].1 = share * (1.0 - covered);
                parts.push((mask | 1 << k, share * covered));
            }
        }
        for (mask, share) in &parts {
            sums[*mask] += share;
        }
    }
    let all = (view.width * view.height).max(1) as f64;
    let mut found: Vec<Occurring> = sums
        .iter()
        .enumerate()
        .skip(1)
        .map(|(mask, sum)| Occurring { mask, share: sum / all })
        .filter(|o| o.share >= SPECK)
        .collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.mask.cmp(&b.mask)));
    found
}
