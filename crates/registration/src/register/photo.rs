//! Finding the sheet in a photograph of an original.
//!
//! The paper in front of its table gives a rough flat picture. The marks found in that give the exact projective map,
//! and the lens where there are marks enough to measure it. Where no table shows, the marks alone lead to one another; where too few marks are seen, the paper's edges place
//! the sheet.

mod edges;
mod rough;

use super::layout::{LayoutMark, MarkLayout};
use super::marks::{ExpectedMark, Mark, MarkSearch};
use super::paper::{Paper, papers};
use super::perspective::{PerspectiveFit, solve_rejecting};
use super::shape::MarkKind;
use super::sheet_finder::{MatchedMark, find_sheet};
use rayon::prelude::*;
use rough::Rough;
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, Size};

/// So few marks fix a projective map.
const LEAST_MARKS: usize = 4;
/// Without the paper's edges one more is asked for, or nothing would contradict four false ones.
const LEAST_ALONE: usize = 5;
/// So many marks contradict one another where they contradict.
const REDUNDANT: usize = 6;
/// How far a mark may lie from where the others put it, in mm; farther off it is set aside.
const OUTLIER: f64 = 0.8;
/// A mark that counts may be off by so many mm before the whole is not trusted.
const TRUSTED: f64 = 1.0;
/// How far a mark may lie from where a first fit puts it, in mm.
const NEAR: f64 = 1.5;
/// A mark that is not there is looked for this far around, in mm, and must score so much: a sheet that is bent there
/// is not to pass for one whose mark was not drawn.
const FAR: (f64, f64) = (6.0, 0.6);
/// Resolutions that a flat picture is looked at in: enough to find marks, and the most there is to gain.
const FIRST_LOOK: f64 = 150.0;
const MOST_DPI: f64 = 400.0;
/// Turns of a sheet in degrees that the marks are looked for under; each covers some eleven degrees either way.
const ASKEW: [f64; 4] = [0.0, 22.5, -22.5, 45.0];
/// Around a mark, in mm, so that it is not cut off.
const AROUND: f64 = 8.0;
/// The paper as seen and as the marks measure it differ by at most this share.
const SIZE_ERROR: f64 = 0.03;

/// What the place of the sheet was found by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoundBy {
    /// At least four of the sheet's marks.
    Marks,
    /// The edges of the paper, the sheet in its middle; moved a little where two or three marks say so.
    Edges,
}

/// Where the sheet lies in a photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundPhoto {
    /// The map and the lens; its residuals are those of `marks`, in order.
    pub fit: PerspectiveFit,
    /// The marks found, in the layout's order: of the layout's kinds, each where it lies in the photograph, in pixels.
    pub marks: Vec<MatchedMark>,
    /// The greatest residual of the marks used, in mm.
    pub max_mm: f64,
    /// Whether a mark says which edge leads. Without one the sheet is taken to be turned as little as possible.
    pub lead_known: bool,
    pub by: FoundBy,
    /// The corners of the paper as they are seen, in pixels, where it stands out from a table.
    pub paper: Option<[Point; 4]>,
    /// How sure this is, 0..=1: by marks the share of the layout's marks that were found, weighed by how well they
    /// are seen, less where they contradict one another; by edges at most 0.4.
    pub confidence: f64,
}

/// Why the sheet was not found, in a photograph or a scan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PhotoError {
    #[error(
        "neither its marks nor the edges of its paper were found: scan it with the whole paper on the glass, photograph it flat on a table of another shade, or set marks by hand"
    )]
    NothingFound,
    /// The marks do not lie as they would on a flat sheet.
    #[error(
        "its marks are up to {max_mm:.1} mm off, too far to trust: scan it again, photograph it again flat on and nearer with every mark sharp, or set marks by hand"
    )]
    NotTrusted { max_mm: f64 },
}

/// Finds the sheet in a photograph, turned in any way and from up to some 25 degrees off straight above.
/// `original` is the paper that the marks are drawn on.
///
/// # Errors
/// When neither marks nor edges are found, or the marks found contradict one another.
pub fn find_in_photo(
    raster: &GrayRaster,
    layout: &MarkLayout,
    original: Size,
) -> Result<FoundPhoto, PhotoError> {
    let seen = papers(raster);
    let mut refused = None;
    for paper in &seen {
        for rough in Rough::of_paper(paper, original) {
            match by_marks(raster, layout, &rough, LEAST_MARKS) {
                Some(Ok(found)) => return Ok(with_paper(found, paper, original)),
                Some(Err(why)) => refused = refused.or(Some(why)),
                None => {}
            }
        }
    }
    // Where no paper is seen that says how the sheet lies, it may lie askew; what was taken for one may be drawn.
    for turn in ASKEW {
        let rough = rough::of_marks(raster, layout, original, turn);
        match rough.and_then(|rough| by_marks(raster, layout, &rough, LEAST_ALONE)) {
            Some(Ok(found)) => return Ok(found),
            Some(Err(why)) => refused = refused.or(Some(why)),
            None => {}
        }
    }
    match refused {
        Some(why) => Err(why),
        None => edges::by_edges(raster, layout, original, &seen).ok_or(PhotoError::NothingFound),
    }
}

/// By the marks in a rough flat picture; `None` where fewer than so many are found.
fn by_marks(
    raster: &GrayRaster,
    layout: &MarkLayout,
    rough: &Rough,
    least: usize,
) -> Option<Result<FoundPhoto, PhotoError>> {
    let flat = rough.picture(raster)?;
    let found = find_sheet(&flat, rough.dpi, layout).ok()?;
    let photo_from_flat = rough.flatten.map()?;
    let first: Vec<MatchedMark> = found
        .marks
        .iter()
        .map(|m| placed(layout, *m, rough.flatten.lens.distort(photo_from_flat * m.mark.at)))
        .collect();
    let used: Vec<MatchedMark> =
        first.iter().zip(&found.fit.used).filter(|(_, used)| **used).map(|(m, _)| *m).collect();
    if used.len() < least {
        return None;
    }
    let fit = solve_rejecting(&pairs(layout, &used), rough.flatten.lens, OUTLIER).ok()?;
    // What the first look found far off still counts, or a bent sheet would pass by the marks that happen to agree.
    let mut marks = looked_again(raster, layout, &fit, NEAR, &[]);
    let far = looked_again(raster, layout, &fit, FAR.0, &marks);
    for other in first.into_iter().chain(far.into_iter().filter(|m| m.mark.score >= FAR.1)) {
        if !marks.iter().any(|m| m.index == other.index) {
            marks.push(other);
        }
    }
    marks.sort_by_key(|m| m.index);
    let fit = solve_rejecting(&pairs(layout, &marks), fit.lens, OUTLIER).ok()?;
    let max_mm = fit.max_mm();
    if max_mm > TRUSTED {
        return Some(Err(PhotoError::NotTrusted { max_mm }));
    }
    let kept: Vec<&MatchedMark> =
        marks.iter().zip(&fit.used).filter(|(_, used)| **used).map(|(m, _)| m).collect();
    if kept.len() < least {
        return None;
    }
    let well: f64 = kept.iter().map(|m| (m.mark.score / 0.8).min(1.0)).sum();
    // Half a millimetre of contradiction halves the trust.
    let confidence = well / layout.marks.len() as f64 / (1.0 + (fit.rms_mm / 0.5) * (fit.rms_mm / 0.5));
    Some(Ok(FoundPhoto {
        max_mm,
        lead_known: kept.iter().any(|m| leads(m)),
        by: FoundBy::Marks,
        paper: None,
        confidence: confidence.clamp(0.0, 1.0),
        marks,
        fit,
    }))
}

/// Notes the paper; where few marks leave nothing over that could contradict them, its size has to agree.
fn with_paper(mut found: FoundPhoto, paper: &Paper, original: Size) -> FoundPhoto {
    let corners = paper.seen().map(|p| found.fit.on_sheet(p));
    let side = |i: usize, j: usize| Some(corners.get(i).copied()??.distance(corners.get(j).copied()??));
    let agrees = |a: Option<f64>, b: Option<f64>, wanted: f64| {
        let near = |v: Option<f64>| v.is_some_and(|v| (v / wanted - 1.0).abs() <= SIZE_ERROR);
        near(a) && near(b)
    };
    let (w, h) = (original.width.get(), original.height.get());
    let (across, down) = ((side(0, 1), side(2, 3)), (side(1, 2), side(3, 0)));
    let is_size = (agrees(across.0, across.1, w) && agrees(down.0, down.1, h))
        || (agrees(across.0, across.1, h) && agrees(down.0, down.1, w));
    if found.fit.used.iter().filter(|u| **u).count() < REDUNDANT && !is_size {
        found.confidence *= 0.5;
    }
    found.paper = Some(paper.seen());
    found
}

/// Looks for every mark of the layout but some where a fit puts it, `within` mm, each in a flat picture of its own that is as
/// fine as the photograph.
fn looked_again(
    raster: &GrayRaster,
    layout: &MarkLayout,
    fit: &PerspectiveFit,
    within: f64,
    but: &[MatchedMark],
) -> Vec<MatchedMark> {
    let look = |(index, wanted): (usize, &LayoutMark)| {
        if but.iter().any(|m| m.index == index) {
            return None;
        }
        let reach = AROUND + within;
        let (x, y) = (wanted.at.x - reach, wanted.at.y - reach);
        let part = Rect { x, y, width: 2.0 * reach, height: 2.0 * reach };
        let native = fit.photo_from_sheet.near(wanted.at).growth() * 25.4;
        let dpi = Dpi::nearest(native.clamp(FIRST_LOOK / 2.0, MOST_DPI));
        let flatten = fit.flatten(part, dpi);
        let (flat, photo_from_flat) = (flatten.apply(raster)?, flatten.map()?);
        let middle = Point::new(f64::from(flat.width()) / 2.0, f64::from(flat.height()) / 2.0);
        let place = ExpectedMark { kind: wanted.kind, at: middle, within: within * dpi.px_per_mm() };
        let mark = MarkSearch::new(&flat, dpi).near(place)?;
        Some(MatchedMark { index, mark: Mark { at: fit.lens.distort(photo_from_flat * mark.at), ..mark } })
    };
    layout.marks.par_iter().enumerate().filter_map(look).collect()
}

/// The part of the sheet, in mm, that holds every mark of the layout.
fn around(layout: &MarkLayout, within: f64) -> Rect {
    let (mut x0, mut y0, mut x1, mut y1) =
        (0.0_f64, 0.0_f64, layout.sheet.width.get(), layout.sheet.height.get());
    for mark in &layout.marks {
        (x0, y0) = (x0.min(mark.at.x), y0.min(mark.at.y));
        (x1, y1) = (x1.max(mark.at.x), y1.max(mark.at.y));
    }
    let by = AROUND + within;
    Rect { x: x0 - by, y: y0 - by, width: x1 - x0 + 2.0 * by, height: y1 - y0 + 2.0 * by }
}

/// A mark as the layout has it, at a place in the photograph.
fn placed(layout: &MarkLayout, found: MatchedMark, at: Point) -> MatchedMark {
    let kind = layout.marks.get(found.index).map_or(found.mark.kind, |m| m.kind);
    MatchedMark { mark: Mark { kind, at, ..found.mark }, ..found }
}

/// Pairs of pixels of the photograph and mm on the sheet.
fn pairs(layout: &MarkLayout, marks: &[MatchedMark]) -> Vec<(Point, Point)> {
    marks.iter().filter_map(|m| Some((m.mark.at, layout.marks.get(m.index)?.at))).collect()
}

/// Whether a mark looks different at every quarter turn, and is seen well enough to go by.
fn leads(m: &MatchedMark) -> bool {
    let is_even = matches!(m.mark.kind, MarkKind::Cross | MarkKind::CrossedCircle);
    !is_even && m.mark.score >= super::marks::LEAST_SCORE
}

#[cfg(test)]
pub(in crate::register) mod testing;
#[cfg(test)]
mod tests;
