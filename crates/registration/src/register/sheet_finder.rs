//! Finding the sheet in a scan of a larger original, by the marks drawn around it: which mark is which, how
//! the scan was turned, and the placement that puts the sheet's centre line where it belongs.

use super::layout::MarkLayout;
use super::marks::{ExpectedMark, LEAST_SCORE, Mark, MarkSearch};
use super::shape::MarkKind;
use super::solve::{Fit, FitKind, SolveError, solve, solve_rejecting};
use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::Dpi;
use slipsheet_document::layer::Placement;

/// How much larger or smaller than its resolution says a scan may be.
const SCALE_ERROR: f64 = 0.03;
/// How far a first guess may miss a mark, in mm.
const NEAR: f64 = 1.5;
/// How far a mark may lie from where the others put it, in mm; farther off it is set aside.
const OUTLIER: f64 = 0.8;
/// How crooked a scan may lie, in degrees from a quarter turn.
const CROOKED: f64 = 6.0;
/// The most marks of the scan that are tried, best first.
const MOST_MARKS: usize = 60;

/// A mark of the layout that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MatchedMark {
    pub index: usize,
    /// What was found for it, as it stands in the scan.
    pub mark: Mark,
}

/// Where the sheet lies in a scan.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundSheet {
    /// The placement that lays the scan on the sheet: its middle against the sheet's middle.
    pub placement: Placement,
    /// From pixels of the scan to mm on the sheet.
    pub sheet_from_scan: Affine,
    /// The smallest upright part of the scan that holds the sheet, in pixels, within the scan.
    pub crop: Rect,
    /// The fit; its residuals are those of `marks`, in order.
    pub fit: Fit,
    /// The marks found, in the layout's order.
    pub marks: Vec<MatchedMark>,
    /// Whether a mark says which edge leads. Without one the sheet is taken to be turned as little as possible.
    pub lead_known: bool,
    /// How sure this is, 0..=1: the share of the layout's marks that were found, weighed by how well they are
    /// seen, less where they contradict one another.
    pub confidence: f64,
}

/// Why the sheet was not found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetFinderError {
    #[error(
        "only {agreeing} of the sheet's {wanted} marks were found for sure, too few to trust: set marks by hand"
    )]
    TooFewMarks { agreeing: usize, wanted: usize },
    #[error(transparent)]
    Solve(#[from] SolveError),
}

/// Finds the sheet by its marks. The scan may lie up to 6 degrees crooked, at any quarter turn, and be up to
/// 3 % larger or smaller than `dpi` says.
///
/// # Errors
/// When fewer than three marks agree with the layout.
pub fn find_sheet(
    raster: &GrayRaster,
    dpi: Dpi,
    layout: &MarkLayout,
) -> Result<FoundSheet, SheetFinderError> {
    let search = MarkSearch::new(raster, dpi);
    let ppm = dpi.px_per_mm();
    let even: Vec<MarkKind> = layout
        .kinds()
        .into_iter()
        .filter(|k| matches!(k, MarkKind::Cross | MarkKind::CrossedCircle))
        .collect();
    let even_marks = search.anywhere(&even);
    let mut best: Option<(f64, Guess)> = None;
    for quarters in 0..4 {
        let turned: Vec<MarkKind> =
            layout.kinds().into_iter().filter(|k| !even.contains(k)).map(|k| k.turned(quarters)).collect();
        let mut found = even_marks.clone();
        // An arrow alone is looked for where the other marks put it; without other marks, everywhere.
        if even.is_empty() {
            found.extend(search.anywhere(&turned));
        }
        found.truncate(MOST_MARKS);
        let Some(guess) = guess(&found, layout, quarters, ppm) else { continue };
        let looked = looked_again(&search, layout, guess, ppm);
        let score: f64 = looked.marks.iter().map(|m| m.mark.score).sum();
        if best.as_ref().is_none_or(|(b, _)| score > *b + 1e-6) {
            best = Some((score, looked));
        }
    }
    let wanted = layout.marks.len();
    let Some((_, guess)) = best.filter(|(_, g)| g.marks.len() >= 3) else {
        let agreeing = even_marks.len().min(2);
        return Err(SheetFinderError::TooFewMarks { agreeing, wanted });
    };
    found_sheet(raster, dpi, layout, guess)
}

/// A way to lay the layout on the scan, and the marks that agree with it.
#[derive(Debug, Clone)]
struct Guess {
    quarters: u8,
    scan_from_sheet: Affine,
    marks: Vec<MatchedMark>,
}

/// Tries every two marks of the scan as every two of the layout, and keeps what the most marks agree with.
fn guess(found: &[Mark], layout: &MarkLayout, quarters: u8, ppm: f64) -> Option<Guess> {
    let turned: Vec<(MarkKind, Point)> =
        layout.marks.iter().map(|m| (m.kind.turned(quarters), m.at)).collect();
    let mut best: Option<(f64, Guess)> = None;
    for (i, a) in found.iter().enumerate() {
        for b in found.iter().skip(i + 1) {
            let apart = a.at.distance(b.at) / ppm;
            for (kind_a, at_a) in turned.iter().filter(|(k, _)| *k == a.kind) {
                for (_, at_b) in turned.iter().filter(|(k, p)| *k == b.kind && p != at_a) {
                    let wanted = at_a.distance(*at_b);
                    if *kind_a != a.kind || (apart - wanted).abs() > SCALE_ERROR * wanted || wanted < 20.0 {
                        continue;
                    }
                    let pairs = [(*at_a, a.at), (*at_b, b.at)];
                    let Ok(fit) = solve(FitKind::Similarity, &pairs) else { continue };
                    if !turned_about(fit.to_from_from, quarters) {
                        continue;
                    }
                    let guess = agreeing(found, &turned, quarters, fit.to_from_from, ppm);
                    let score: f64 = guess.marks.iter().map(|m| m.mark.score).sum();
                    if best.as_ref().is_none_or(|(b, _)| score > *b + 1e-9) {
                        best = Some((score, guess));
                    }
                }
            }
        }
    }
    best.map(|(_, guess)| guess).filter(|g| g.marks.len() >= 3)
}

/// Whether a map turns by about so many quarters.
fn turned_about(map: Affine, quarters: u8) -> bool {
    let degrees = libm::atan2(map.b, map.a).to_degrees() - 90.0 * f64::from(quarters);
    (degrees - 360.0 * libm::round(degrees / 360.0)).abs() <= CROOKED
}

fn agreeing(
    found: &[Mark],
    layout: &[(MarkKind, Point)],
    quarters: u8,
    scan_from_sheet: Affine,
    ppm: f64,
) -> Guess {
    let mut marks = Vec::new();
    for (index, (kind, at)) in layout.iter().enumerate() {
        let there = scan_from_sheet * *at;
        let off = |m: &Mark| m.at.distance(there) / ppm;
        let near = found.iter().filter(|m| m.kind == *kind && off(m) <= NEAR);
        if let Some(mark) = near.min_by(|a, b| off(a).total_cmp(&off(b))) {
            marks.push(MatchedMark { index, mark: *mark });
        }
    }
    Guess { quarters, scan_from_sheet, marks }
}

/// Looks for every mark of the layout again where the guess puts it, so that faint ones and the arrow count.
fn looked_again(search: &MarkSearch<'_>, layout: &MarkLayout, guess: Guess, ppm: f64) -> Guess {
    let pairs: Vec<(Point, Point)> =
        guess.marks.iter().filter_map(|m| Some((layout.marks.get(m.index)?.at, m.mark.at))).collect();
    // Residuals are in pixels here.
    let better = solve_rejecting(FitKind::Similarity, &pairs, OUTLIER * ppm);
    let scan_from_sheet = better.map_or(guess.scan_from_sheet, |fit| fit.to_from_from);
    let mut marks = Vec::new();
    for (index, wanted) in layout.marks.iter().enumerate() {
        let kind = wanted.kind.turned(guess.quarters);
        let place = ExpectedMark { kind, at: scan_from_sheet * wanted.at, within: NEAR * ppm };
        if let Some(mark) = search.near(place) {
            marks.push(MatchedMark { index, mark });
        }
    }
    Guess { scan_from_sheet, marks, ..guess }
}

fn found_sheet(
    raster: &GrayRaster,
    dpi: Dpi,
    layout: &MarkLayout,
    guess: Guess,
) -> Result<FoundSheet, SheetFinderError> {
    let pairs: Vec<(Point, Point)> =
        guess.marks.iter().filter_map(|m| Some((m.mark.at, layout.marks.get(m.index)?.at))).collect();
    let fit = solve_rejecting(FitKind::Similarity, &pairs, OUTLIER)?;
    let sheet_from_scan = fit.to_from_from;
    let (width, height) = (f64::from(raster.width()), f64::from(raster.height()));
    let whole = Rect { x: 0.0, y: 0.0, width, height };
    let sheet = layout.sheet;
    let on_sheet = Rect { x: 0.0, y: 0.0, width: sheet.width.get(), height: sheet.height.get() };
    let scan_from_sheet = sheet_from_scan.inverse().ok_or(SolveError::Degenerate)?;
    let seen: f64 = guess
        .marks
        .iter()
        .zip(&fit.used)
        .filter(|(_, used)| **used)
        .map(|(m, _)| (m.mark.score / 0.8).min(1.0))
        .sum();
    let used = fit.used.iter().filter(|u| **u).count();
    // Half a millimetre of contradiction halves the trust.
    let confidence = seen / layout.marks.len() as f64 / (1.0 + (fit.rms_mm / 0.5) * (fit.rms_mm / 0.5));
    if used < 3 {
        return Err(SheetFinderError::TooFewMarks { agreeing: used, wanted: layout.marks.len() });
    }
    let leads = |m: &MatchedMark| {
        !matches!(m.mark.kind, MarkKind::Cross | MarkKind::CrossedCircle) && m.mark.score >= LEAST_SCORE
    };
    Ok(FoundSheet {
        placement: placement_of(sheet_from_scan, whole, dpi, on_sheet.centre()),
        sheet_from_scan,
        crop: within(scan_from_sheet.bounds(on_sheet), whole),
        lead_known: guess.marks.iter().zip(&fit.used).any(|(m, used)| *used && leads(m)),
        fit,
        marks: guess.marks,
        confidence: confidence.clamp(0.0, 1.0),
    })
}

/// The placement that a map amounts to: where the scan's middle lies against the middle of the sheet.
pub(super) fn placement_of(sheet_from_scan: Affine, scan: Rect, dpi: Dpi, middle: Point) -> Placement {
    let centre = scan.centre();
    let from_middles = Affine::shift(-middle.x, -middle.y)
        * sheet_from_scan
        * Affine::shift(centre.x, centre.y)
        * Affine::scale(dpi.px_per_mm(), dpi.px_per_mm());
    Placement::of_map(from_middles)
}

pub(super) fn within(r: Rect, whole: Rect) -> Rect {
    let (x0, y0) = (r.x.clamp(0.0, whole.width), r.y.clamp(0.0, whole.height));
    let x1 = (r.x + r.width).clamp(x0, whole.width);
    let y1 = (r.y + r.height).clamp(y0, whole.height);
    Rect { x: x0, y: y0, width: x1 - x0, height: y1 - y0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::layout::{ARROW, CROSS, LayoutMark, usual_original};
    use crate::register::marks::tests::Drawing;
    use crate::register::shape::Corner;
    use slipsheet_core::units::{SheetFormat, Size};
    use slipsheet_document::ids::ArtId;
    use slipsheet_document::layer::{Art, ScanKey, ScanRef, Target};
    use slipsheet_paper::fold::{Face, Turn};

    const DPI: f64 = 150.0;

    /// A crooked, grainy scan of an original with the marks of a layout, and the map it was drawn by.
    fn scan(layout: &MarkLayout, original: Size, turn: f64, scale: f64) -> (GrayRaster, Affine) {
        let ppm = DPI / 25.4;
        let sheet = layout.sheet;
        let sideways = (turn / 90.0).round() as i64 % 2 != 0;
        let size = if sideways { original.turned() } else { original };
        let (w, h) = (size.width.get() * ppm * 1.06, size.height.get() * ppm * 1.04);
        let scan_from_sheet = Affine::shift(w / 2.0 + 7.3, h / 2.0 - 4.9)
            * Affine::turn(turn)
            * Affine::scale(ppm * scale, ppm * scale)
            * Affine::shift(-sheet.width.get() / 2.0, -sheet.height.get() / 2.0);
        let mut drawing = Drawing::new(w as u32, h as u32, DPI);
        for mark in &layout.marks {
            drawing.strokes(&mark.kind.strokes(mark.size), scan_from_sheet * mark.at, turn, 0.3, 90);
        }
        drawing.grain(5.0, 3);
        (drawing.raster, scan_from_sheet)
    }

    fn check(layout: &MarkLayout, turn: f64, scale: f64) -> FoundSheet {
        let original = usual_original(SheetFormat::Letter, layout.sheet);
        let (raster, scan_from_sheet) = scan(layout, original, turn, scale);
        let dpi = Dpi::new(DPI).unwrap();
        let found = find_sheet(&raster, dpi, layout).unwrap();
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key: ScanKey::new("0".repeat(64)), dpi };
        let art = Art { placement: found.placement, ..Art::new(ArtId::new(0), scan, Target::Sheet) };
        let mapping = art.mapping(raster.width(), raster.height(), layout.sheet, None, Face::Front).unwrap();
        for p in [(0.0, 0.0), (215.9, 0.0), (0.0, 279.4), (100.0, 140.0)].map(|(x, y)| Point::new(x, y)) {
            let back = mapping.face_from_scan * (scan_from_sheet * p);
            assert!(back.distance(p) < 0.06, "{p:?} comes to lie at {back:?}, turned {turn}");
        }
        found
    }

    /// Ticks outside the four corners and an arrow on the leading edge, as many draw them by hand.
    fn corner_ticks(sheet: Size) -> MarkLayout {
        let (w, h) = (sheet.width.get(), sheet.height.get());
        let at = |corner| match corner {
            Corner::TopLeft => Point::new(0.0, 0.0),
            Corner::TopRight => Point::new(w, 0.0),
            Corner::BottomRight => Point::new(w, h),
            Corner::BottomLeft => Point::new(0.0, h),
        };
        let tick = |c| LayoutMark { kind: MarkKind::CornerTicks(c), at: at(c), size: CROSS };
        let mut marks: Vec<LayoutMark> = Corner::ALL.map(tick).to_vec();
        let tip = Point::new(w / 2.0, 0.0);
        marks.push(LayoutMark { kind: MarkKind::Arrow(Turn::Upright), at: tip, size: ARROW });
        MarkLayout { sheet, marks }
    }

    #[test]
    fn the_sheet_is_found_at_any_quarter_turn_and_crooked() {
        let sheet = SheetFormat::Letter.size();
        let layout = MarkLayout::guide(sheet, usual_original(SheetFormat::Letter, sheet));
        for (turn, scale) in [(0.0, 1.0), (1.7, 1.004), (-88.5, 0.99), (181.0, 1.0)] {
            let found = check(&layout, turn, scale);
            assert_eq!(found.marks.len(), layout.marks.len(), "{turn}");
            assert!(found.lead_known && found.confidence > 0.8, "{turn} {}", found.confidence);
            assert!(found.fit.rms_mm < 0.05);
        }
    }

    #[test]
    fn ticks_and_an_arrow_drawn_by_hand_do_as_well() {
        let found = check(&corner_ticks(SheetFormat::Letter.size()), 2.0, 1.0);
        assert!(found.lead_known && found.confidence > 0.8, "{found:?}");
    }

    #[test]
    fn the_crop_holds_the_sheet_and_no_more() {
        let sheet = SheetFormat::Letter.size();
        let layout = MarkLayout::guide(sheet, usual_original(SheetFormat::Letter, sheet));
        let crop = check(&layout, 0.0, 1.0).crop;
        let ppm = DPI / 25.4;
        assert!(
            (crop.width - 215.9 * ppm).abs() < 1.0 && (crop.height - 279.4 * ppm).abs() < 1.0,
            "{crop:?}"
        );
    }

    #[test]
    fn a_smudged_mark_lowers_confidence_and_a_blank_scan_is_refused() {
        let sheet = SheetFormat::Letter.size();
        let original = usual_original(SheetFormat::Letter, sheet);
        let layout = MarkLayout::guide(sheet, original);
        let mut fewer = layout.clone();
        fewer.marks.drain(0..4);
        let (raster, _) = scan(&fewer, original, 0.5, 1.0);
        let dpi = Dpi::new(DPI).unwrap();
        let found = find_sheet(&raster, dpi, &layout).unwrap();
        assert_eq!(found.marks.len(), layout.marks.len() - 4);
        assert!(found.confidence < 0.65, "{}", found.confidence);
        let blank = GrayRaster::filled(900, 900, 240).unwrap();
        let error = find_sheet(&blank, dpi, &layout).unwrap_err();
        assert!(error.to_string().contains("set marks by hand"));
    }
}
