//! One original lined up from beginning to end.
//!
//! A scan or a photograph, by its marks or by the paper's edges, with the plainest map that explains what was found. The
//! window and the command line do no more than show it.

use super::layout::MarkLayout;
use super::paper::place_by_edges;
use super::perspective::{Chosen, choose_fit};
use super::photo::{FoundBy, FoundPhoto, PhotoError, find_in_photo};
use super::sheet_finder::{FoundSheet, find_sheet};
use super::solve::SolveError;
use super::table::{HeldMark, MarkTable, Seen, SheetMap, TableFit};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, Size};

/// How far a mark may lie from where the fit has it, in mm, for the fit to be trusted.
pub const TRUSTED_MM: f64 = 1.0;

/// Which maps are allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FitChoice {
    /// The plainest one that explains the marks ([`choose_fit`]).
    #[default]
    Auto,
    Only(Chosen),
}

/// An original lined up.
#[derive(Debug, Clone, PartialEq)]
pub struct OriginalFit {
    /// The marks with what became of each.
    pub table: MarkTable,
    pub kind: Chosen,
    pub by: FoundBy,
    pub fit: TableFit,
    /// 0..=1; by edges at most 0.4.
    pub confidence: f64,
}

/// Why an original could not be lined up.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OriginalError {
    #[error(transparent)]
    Sheet(#[from] PhotoError),
    #[error(transparent)]
    Solve(#[from] SolveError),
}

/// Finds where the sheet or page of a layout lies in an original. `original` is the paper that was drawn on; `dpi` is
/// the scan's, which a photograph need not know.
///
/// # Errors
/// When nothing is found, or the marks contradict one another by more than [`TRUSTED_MM`].
pub fn line_up_original(
    raster: &GrayRaster,
    dpi: Dpi,
    layout: &MarkLayout,
    original: Size,
    choice: FitChoice,
) -> Result<OriginalFit, OriginalError> {
    // As a scan first, where it can be one: its resolution is known, and its marks are looked for in a second.
    let as_scan = if holds(raster, dpi, layout.sheet) { find_sheet(raster, dpi, layout).ok() } else { None };
    let lined_up = |found: &FoundSheet| {
        let (table, confidence) = (of_scan(raster, dpi, layout, found), found.confidence);
        by_marks(table, choice, confidence)
    };
    if let Some(found) = as_scan.as_ref().filter(|f| f.confidence >= SURE) {
        return lined_up(found);
    }
    // A few marks that agree may be chance, and a photograph's: what explains more of them is taken.
    let as_photo = find_in_photo(raster, layout, original);
    let more = |photo: &FoundPhoto| {
        photo.by == FoundBy::Marks && as_scan.as_ref().is_none_or(|scan| photo.confidence > scan.confidence)
    };
    if let Some(found) = as_photo.as_ref().ok().filter(|photo| more(photo)) {
        return of_photo(raster, dpi, layout, found, choice);
    }
    if let Some(found) = as_scan.as_ref().filter(|f| spread(f, layout)) {
        return lined_up(found);
    }
    if let Some(map) = place_by_edges(raster, dpi, original) {
        let table = missing(raster, dpi, layout);
        let sheet_from_scan = sheet_in_paper(layout.sheet, original) * map;
        let fit = table.by_map(SheetMap::Plain(sheet_from_scan), Vec::new());
        let fit = fit.ok_or(SolveError::Degenerate)?;
        return Ok(OriginalFit {
            table,
            kind: Chosen::Similarity,
            by: FoundBy::Edges,
            fit,
            confidence: EDGES,
        });
    }
    of_photo(raster, dpi, layout, &as_photo?, choice)
}

/// How sure a scan's marks must be to need no second look.
const SURE: f64 = 0.6;

/// Whether the marks found lie apart both ways: a few in a row fix a sheet's place along it alone.
fn spread(found: &FoundSheet, layout: &MarkLayout) -> bool {
    let used = found.marks.iter().zip(&found.fit.used).filter(|(_, used)| **used);
    let at: Vec<Point> = used.filter_map(|(m, _)| Some(layout.marks.get(m.index)?.at)).collect();
    let range = |pick: fn(&Point) -> f64| {
        let all = at.iter().map(pick);
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        high - low
    };
    let (across, down) = (range(|p| p.x), range(|p| p.y));
    across > 0.4 * layout.sheet.width.get() && down > 0.4 * layout.sheet.height.get()
}

fn of_photo(
    raster: &GrayRaster,
    dpi: Dpi,
    layout: &MarkLayout,
    found: &FoundPhoto,
    choice: FitChoice,
) -> Result<OriginalFit, OriginalError> {
    let mut table = missing(raster, dpi, layout);
    table.lead_known = found.lead_known;
    for (matched, used) in found.marks.iter().zip(&found.fit.used) {
        if let Some(mark) = table.marks.get_mut(matched.index) {
            (mark.in_scan, mark.used) = (matched.mark.at, *used);
            mark.seen = Seen::Found(matched.mark.score);
        }
    }
    for mark in table.marks.iter_mut().filter(|m| m.seen == Seen::Missing) {
        mark.in_scan = found.fit.in_photo(mark.on_sheet);
    }
    match (found.by, choice) {
        (FoundBy::Marks, FitChoice::Only(Chosen::Similarity | Chosen::Affine)) => {
            by_marks(table, choice, found.confidence)
        }
        (FoundBy::Marks, FitChoice::Auto | FitChoice::Only(Chosen::Perspective)) => {
            by_marks(table, FitChoice::Only(Chosen::Perspective), found.confidence)
        }
        (FoundBy::Edges, _) => {
            let residuals = table.residuals(&SheetMap::Photo(found.fit.clone()));
            let fit =
                table.by_map(SheetMap::Photo(found.fit.clone()), residuals).ok_or(SolveError::Degenerate)?;
            let (kind, by, confidence) = (Chosen::Perspective, FoundBy::Edges, found.confidence);
            Ok(OriginalFit { table, kind, by, fit, confidence })
        }
    }
}

/// The share of a sheet that a scan of it shows at least, along each side.
const SHOWN: f64 = 0.9;

/// Whether a scan is large enough at its resolution to show a sheet, either way round.
fn holds(raster: &GrayRaster, dpi: Dpi, sheet: Size) -> bool {
    let mm = |px: u32| f64::from(px) / dpi.px_per_mm();
    let sorted = |a: f64, b: f64| if a < b { (a, b) } else { (b, a) };
    let (short, long) = sorted(mm(raster.width()), mm(raster.height()));
    let (least, most) = sorted(sheet.width.get(), sheet.height.get());
    short >= SHOWN * least && long >= SHOWN * most
}

/// How sure a scan's place is that the edges of its paper alone give.
const EDGES: f64 = 0.4;

fn by_marks(table: MarkTable, choice: FitChoice, confidence: f64) -> Result<OriginalFit, OriginalError> {
    let kind = match choice {
        FitChoice::Auto => table.choose(),
        FitChoice::Only(kind) => kind,
    };
    let fit = table.fit(kind)?;
    let used = table.marks.iter().zip(&fit.residuals_mm).filter(|(m, _)| m.used);
    let max_mm = used.filter_map(|(_, r)| *r).fold(0.0, f64::max);
    if max_mm > TRUSTED_MM {
        return Err(PhotoError::NotTrusted { max_mm }.into());
    }
    Ok(OriginalFit { table, kind, by: FoundBy::Marks, fit, confidence })
}

impl MarkTable {
    /// The plainest map that explains the marks that count.
    pub fn choose(&self) -> Chosen {
        choose_fit(&self.pairs())
    }

    /// What is known of an original before a person sets marks: found, or expected where the artwork's present mapping
    /// has them. Why it could not be trusted is the second result.
    pub fn look(
        raster: &GrayRaster,
        dpi: Dpi,
        layout: &MarkLayout,
        original: Size,
        sheet_from_scan: Affine,
    ) -> (Self, Chosen, Option<OriginalError>) {
        let why = match line_up_original(raster, dpi, layout, original, FitChoice::Auto) {
            Ok(OriginalFit { table, kind, by: FoundBy::Marks, .. }) => return (table, kind, None),
            Ok(OriginalFit { mut table, kind, by: FoundBy::Edges, fit, .. }) => {
                table.expect(&fit);
                return (table, kind, Some(PhotoError::NothingFound.into()));
            }
            Err(why) => why,
        };
        let mut table = missing(raster, dpi, layout);
        let scan_from_sheet = sheet_from_scan.inverse().unwrap_or(Affine::IDENTITY);
        for mark in &mut table.marks {
            mark.in_scan = scan_from_sheet * mark.on_sheet;
        }
        (table, Chosen::Similarity, Some(why))
    }
}

/// A table of which nothing was found.
fn missing(raster: &GrayRaster, dpi: Dpi, layout: &MarkLayout) -> MarkTable {
    let mark = |wanted: &super::layout::LayoutMark| HeldMark {
        kind: wanted.kind,
        on_sheet: wanted.at,
        in_scan: Point::default(),
        seen: Seen::Missing,
        used: false,
    };
    MarkTable {
        sheet: layout.sheet,
        scan: (raster.width(), raster.height()),
        dpi,
        marks: layout.marks.iter().map(mark).collect(),
        lead_known: false,
    }
}

fn of_scan(raster: &GrayRaster, dpi: Dpi, layout: &MarkLayout, found: &FoundSheet) -> MarkTable {
    let mut table = missing(raster, dpi, layout);
    table.lead_known = found.lead_known;
    let scan_from_sheet = found.sheet_from_scan.inverse().unwrap_or(Affine::IDENTITY);
    for mark in &mut table.marks {
        mark.in_scan = scan_from_sheet * mark.on_sheet;
    }
    for (matched, used) in found.marks.iter().zip(&found.fit.used) {
        if let Some(mark) = table.marks.get_mut(matched.index) {
            (mark.in_scan, mark.used) = (matched.mark.at, *used);
            mark.seen = Seen::Found(matched.mark.score);
        }
    }
    table
}

/// From mm on the paper to mm on the sheet in its middle.
fn sheet_in_paper(sheet: Size, paper: Size) -> Affine {
    let margin = |paper: f64, sheet: f64| (sheet - paper) / 2.0;
    Affine::shift(
        margin(paper.width.get(), sheet.width.get()),
        margin(paper.height.get(), sheet.height.get()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::layout::usual_original;
    use crate::register::marks::tests::Drawing;
    use slipsheet_core::projective::Homography;
    use slipsheet_core::units::SheetFormat;

    /// A photograph in which the three marks of one side happen to lie as a scan of this resolution would have them.
    #[test]
    fn a_few_marks_that_agree_by_chance_do_not_make_a_photograph_a_scan() {
        let sheet = SheetFormat::Letter.size().turned();
        let original = usual_original(SheetFormat::Letter, sheet);
        let layout = MarkLayout::guide(sheet, original);
        let (w, h) = (sheet.width.get(), sheet.height.get());
        let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y));
        let seen = [(273.8, 195.8), (1717.3, 232.5), (1813.5, 1341.8), (201.2, 1305.1)];
        let map = Homography::of_corners(corners, seen.map(|(x, y)| Point::new(x, y))).unwrap();
        let mut drawing = Drawing::new(2000, 1500, 150.0);
        for mark in &layout.marks {
            let at = map * mark.at;
            let near = map.near(mark.at);
            let turn = libm::atan2(near.b, near.a).to_degrees();
            drawing.strokes(&mark.kind.strokes(mark.size), at, turn, 0.35, 50);
        }
        drawing.grain(3.0, 7);
        let dpi = Dpi::new(150.0).unwrap();
        let found = line_up_original(&drawing.raster, dpi, &layout, original, FitChoice::Auto).unwrap();
        assert_eq!((found.kind, found.by), (Chosen::Perspective, FoundBy::Marks));
        for corner in corners {
            let at = found.fit.map.in_scan(corner).unwrap();
            assert!(at.distance(map * corner) < 4.0, "{corner:?} at {at:?}");
        }
    }
}
