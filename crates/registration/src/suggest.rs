//! The smallest remedy that reaches a wanted tolerance.

use crate::slip::{Covers, SlipError, Study, StudyOptions};
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_document::remedy::{Growth, Remedy};
use slipsheet_render::images::Images;

/// A remedy that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suggestion {
    /// Index of the layer that it is for.
    pub layer: usize,
    pub remedy: Remedy,
    /// Tolerance in mm before it; `None` where nothing shows.
    pub before: Option<f64>,
    /// Tolerance in mm with it.
    pub after: Option<f64>,
}

/// The widest spread that is tried, in mm.
const WIDEST: f64 = 1.5;
/// How finely the spread is told, in mm.
const FINE: f64 = 0.02;
/// Resolution of the studies: their edges are found to a fraction of a pixel.
const STUDY_DPI: f64 = 200.0;

/// The smallest spread that brings the tightest pair's tolerance to `wanted` mm.
///
/// Of the pair the lighter ink is spread (common practice, no source). `None` when the design has that tolerance
/// already or no spread reaches it.
///
/// # Errors
/// See [`SlipError`]; [`SlipError::Cancelled`] when `stop` says so.
pub fn suggest(
    printing: &Printing,
    images: &Images,
    options: &StudyOptions,
    wanted: f64,
    stop: &dyn Fn() -> bool,
) -> Result<Option<Suggestion>, SlipError> {
    let dpi = Dpi::nearest(STUDY_DPI);
    let options = StudyOptions { dpi, ..*options };
    let mut tried = printing.clone();
    tried.press_dpi = dpi;
    let mut covers = Covers::of(&tried, images, options.face, options.dpi)?;
    let first = Study::of_covers(&covers, &options);
    let tolerance = first.tolerance(&printing.acceptance);
    let counted = first.pairs.iter().zip(&tolerance.pairs).filter(|(p, _)| options.counts(p));
    let tightest = counted.min_by(|a, b| {
        let least = |rose: &crate::slip::Rose| rose.least().map_or(f64::INFINITY, |l| l.0);
        least(a.1).total_cmp(&least(b.1))
    });
    let Some((pair, rose)) = tightest else { return Ok(None) };
    let (lower, upper) = (pair.lower, pair.upper);
    let before = rose.least().map(|l| l.0);
    if before.is_none_or(|b| b >= wanted) {
        return Ok(None);
    }
    let light = |i: usize| printing.sheet.layers.get(i).map_or(0.0, |l| l.ink.solid.lab().l());
    let layer = if light(lower) > light(upper) { lower } else { upper };
    // No remedy sees another layer's remedies, so that a spread changes the plate of its own layer alone.
    let mut with = |by: f64| -> Result<Option<f64>, SlipError> {
        if stop() {
            return Err(SlipError::Cancelled);
        }
        let mut tried = tried.clone();
        if let Some(l) = tried.sheet.layers.get_mut(layer) {
            l.remedies.push(Remedy::Spread(Growth::new(by)));
        }
        covers.renew(&tried, images, layer, options.dpi)?;
        let pair = Study::of_pair(&covers, &options, lower, upper);
        Ok(pair.and_then(|p| p.tolerance(&printing.acceptance).least()).map(|l| l.0))
    };
    let enough = |tolerance: Option<f64>| tolerance.is_none_or(|t| t >= wanted - 1e-6);
    let (mut short, mut plenty) = (0.0, (wanted - before.unwrap_or(0.0) + 0.1).min(WIDEST));
    let mut after = with(plenty)?;
    if !enough(after) {
        plenty = WIDEST;
        after = with(plenty)?;
        if !enough(after) {
            return Ok(None);
        }
    }
    while plenty - short > FINE {
        let middle = (short + plenty) / 2.0;
        let tolerance = with(middle)?;
        if enough(tolerance) {
            (plenty, after) = (middle, tolerance);
        } else {
            short = middle;
        }
    }
    // Told in whole hundredths of a millimetre, and no less than was found.
    let by = libm::ceil(plenty * 100.0 - 1e-9) / 100.0;
    Ok(Some(Suggestion { layer, remedy: Remedy::Spread(Growth::new(by)), before, after }))
}

#[cfg(test)]
mod tests;
