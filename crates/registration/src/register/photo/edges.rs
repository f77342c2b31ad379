//! The sheet placed by the edges of the paper, where too few marks are seen.

use super::{FoundBy, FoundPhoto, leads, looked_again, pairs};
use crate::register::layout::MarkLayout;
use crate::register::marks::LEAST_SCORE;
use crate::register::paper::Paper;
use crate::register::perspective::PerspectiveFit;
use crate::register::photo::rough::Rough;
use crate::register::sheet_finder::MatchedMark;
use crate::register::solve::{FitKind, solve};
use slipsheet_base::projective::Homography;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::Size;

/// How far the sheet may lie from the paper's middle, in mm: as far as a printer feeds paper amiss.
const FEED: f64 = 6.0;
/// How sure one can be at most: where marks agree on where the sheet lies, and where none do.
const CONFIDENCE: (f64, f64) = (0.4, 0.25);
/// How far two or three marks may be off once the sheet is moved by them, in mm.
const AGREE: f64 = 0.6;

/// The sheet in the middle of the likeliest paper, moved where marks agree on it. Of the ways to turn it that one is
/// taken whose arrow is seen, or the one that turns it least.
pub(super) fn by_edges(
    raster: &GrayRaster,
    layout: &MarkLayout,
    original: Size,
    papers: &[Paper],
) -> Option<FoundPhoto> {
    let (paper, rough) = papers.iter().find_map(|p| Some((p, *Rough::of_paper(p, original).first()?)))?;
    let sideways = (rough.flatten.width > rough.flatten.height) != (original.width > original.height);
    let mut best: Option<(f64, PerspectiveFit, Vec<MatchedMark>)> = None;
    for quarters in if sideways { [1, 3] } else { [0, 2] } {
        let Some(fit) = laid(layout, original, paper, quarters) else { continue };
        let mut marks = looked_again(raster, layout, &fit, FEED, &[]);
        marks.retain(|m| m.mark.score >= LEAST_SCORE);
        let score = marks.iter().filter(|m| leads(m)).map(|m| m.mark.score).sum::<f64>();
        if best.as_ref().is_none_or(|(b, ..)| score > *b) {
            best = Some((score, fit, marks));
        }
    }
    let (_, fit, marks) = best?;
    let fit = moved(layout, fit, &marks);
    let most = if fit.used.contains(&true) { CONFIDENCE.0 } else { CONFIDENCE.1 };
    Some(FoundPhoto {
        max_mm: fit.max_mm(),
        lead_known: marks.iter().any(leads),
        by: FoundBy::Edges,
        paper: Some(paper.seen()),
        confidence: (most * paper.clear).clamp(0.0, most),
        marks,
        fit,
    })
}

/// The sheet in the middle of the paper, turned clockwise by so many quarters.
fn laid(layout: &MarkLayout, original: Size, paper: &Paper, quarters: usize) -> Option<PerspectiveFit> {
    let (w, h) = (original.width.get(), original.height.get());
    let (x, y) = ((layout.sheet.width.get() - w) / 2.0, (layout.sheet.height.get() - h) / 2.0);
    let on_sheet = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)].map(|(x, y)| Point::new(x, y));
    let mut seen = paper.corners;
    seen.rotate_left(quarters);
    let photo_from_sheet = Homography::of_corners(on_sheet, seen)?;
    Some(PerspectiveFit {
        photo_from_sheet,
        lens: paper.lens,
        residuals_mm: Vec::new(),
        rms_mm: 0.0,
        used: Vec::new(),
    })
}

/// The sheet moved and turned by two or three marks where they agree, and what each mark is off.
fn moved(layout: &MarkLayout, fit: PerspectiveFit, marks: &[MatchedMark]) -> PerspectiveFit {
    let seen = pairs(layout, marks);
    let by_edges: Vec<(Point, Point)> =
        seen.iter().filter_map(|(photo, sheet)| Some((fit.on_sheet(*photo)?, *sheet))).collect();
    let agrees = |map: Affine| {
        let turn = libm::atan2(map.b, map.a).to_degrees().abs();
        (map.growth() - 1.0).abs() < 0.02 && turn < 2.0
    };
    let better = solve(FitKind::Similarity, &by_edges)
        .ok()
        .filter(|f| agrees(f.to_from_from) && f.residuals_mm.iter().all(|r| *r <= AGREE))
        .and_then(|f| f.to_from_from.inverse());
    let photo_from_sheet = match better {
        Some(edges_from_sheet) => fit.photo_from_sheet * Homography::from(edges_from_sheet),
        None => fit.photo_from_sheet,
    };
    let fit = PerspectiveFit { photo_from_sheet, used: vec![better.is_some(); seen.len()], ..fit };
    let off =
        |(photo, sheet): &(Point, Point)| fit.on_sheet(*photo).map_or(f64::INFINITY, |p| p.distance(*sheet));
    let residuals_mm: Vec<f64> = seen.iter().map(off).collect();
    let sum: f64 = residuals_mm.iter().map(|r| r * r).sum();
    let rms_mm = if better.is_some() { libm::sqrt(sum / residuals_mm.len() as f64) } else { 0.0 };
    PerspectiveFit { residuals_mm, rms_mm, ..fit }
}
