//! The marks of one original as a person works on them: found by the search, set by hand, left out.
//!
//! From what is left follows at any time where the scan lies, and how far each mark is off.

use super::layout::MarkLayout;
use super::shape::MarkKind;
use super::sheet_finder::{SheetFinderError, find_sheet, placement_of, within};
use super::solve::{FitKind, SolveError, solve};
use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::{Crop, Placement};

/// How a mark came to its place in the scan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seen {
    /// The search found it, with this score, 0..=1.
    Found(f64),
    ByHand,
    /// It was not found: its place is only where the other marks lead one to look.
    Missing,
}

/// One mark of a layout in a scan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldMark {
    /// What it looks like on an upright sheet.
    pub kind: MarkKind,
    /// Where it belongs, in mm on the sheet.
    pub on_sheet: Point,
    /// Where it lies, in pixels of the scan, corners at whole numbers.
    pub in_scan: Point,
    pub seen: Seen,
    /// Whether it counts.
    pub used: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct MarkTable {
    /// The sheet, as it lies.
    pub sheet: Size,
    /// Width and height of the scan in pixels.
    pub scan: (u32, u32),
    pub dpi: Dpi,
    /// The marks, in the layout's order.
    pub marks: Vec<HeldMark>,
    /// Whether a mark says which edge leads. Without one the sheet is taken to be turned as little as possible.
    pub lead_known: bool,
}

/// What the marks of a table amount to.
#[derive(Debug, Clone, PartialEq)]
pub struct TableFit {
    /// From pixels of the scan to mm on the sheet.
    pub sheet_from_scan: Affine,
    /// How far each mark lies from where it belongs, in mm, whether it counts or not; `None` for missing ones.
    pub residuals_mm: Vec<Option<f64>>,
    /// Root of the mean square of the residuals of the marks that count.
    pub rms_mm: f64,
    pub used: usize,
    /// Whether so few count that any map of the kind goes through them and the residuals say nothing.
    pub exact: bool,
    /// The placement that lays the scan on the sheet.
    pub placement: Placement,
    /// The smallest upright part of the scan that holds the sheet.
    pub crop: Crop,
}

impl MarkTable {
    /// Looks for the marks of a layout. Where too few are found, all are missing, each expected where the
    /// present mapping of the artwork would have it; why is the second result.
    pub fn look(
        raster: &GrayRaster,
        dpi: Dpi,
        layout: &MarkLayout,
        sheet_from_scan: Affine,
    ) -> (Self, Option<SheetFinderError>) {
        let (found, why) = match find_sheet(raster, dpi, layout) {
            Ok(found) => (Some(found), None),
            Err(why) => (None, Some(why)),
        };
        let map = found.as_ref().map_or(sheet_from_scan, |f| f.sheet_from_scan);
        let scan_from_sheet = map.inverse().unwrap_or(Affine::IDENTITY);
        let mark = |(i, wanted): (usize, &super::layout::LayoutMark)| {
            let hit = found.as_ref().and_then(|f| {
                let k = f.marks.iter().position(|m| m.index == i)?;
                Some((f.marks.get(k)?.mark, f.fit.used.get(k).copied().unwrap_or(false)))
            });
            let (in_scan, seen, used) = match hit {
                Some((mark, used)) => (mark.at, Seen::Found(mark.score), used),
                None => (scan_from_sheet * wanted.at, Seen::Missing, false),
            };
            HeldMark { kind: wanted.kind, on_sheet: wanted.at, in_scan, seen, used }
        };
        let table = Self {
            sheet: layout.sheet,
            scan: (raster.width(), raster.height()),
            dpi,
            marks: layout.marks.iter().enumerate().map(mark).collect(),
            lead_known: found.is_some_and(|f| f.lead_known),
        };
        (table, why)
    }

    /// Sets a mark by hand, within the scan; from then on it counts.
    pub fn set(&mut self, index: usize, in_scan: Point) {
        let (w, h) = (f64::from(self.scan.0), f64::from(self.scan.1));
        if let Some(mark) =
            self.marks.get_mut(index).filter(|_| in_scan.x.is_finite() && in_scan.y.is_finite())
        {
            mark.in_scan = Point::new(in_scan.x.clamp(0.0, w), in_scan.y.clamp(0.0, h));
            (mark.seen, mark.used) = (Seen::ByHand, true);
        }
    }

    /// Moves the marks that are missing to where a fit expects them.
    pub fn expect(&mut self, fit: &TableFit) {
        let Some(scan_from_sheet) = fit.sheet_from_scan.inverse() else { return };
        for mark in self.marks.iter_mut().filter(|m| m.seen == Seen::Missing) {
            mark.in_scan = scan_from_sheet * mark.on_sheet;
        }
    }

    /// The map of a kind that fits the marks that count, by least squares.
    ///
    /// # Errors
    /// When too few marks count, or they do not fix such a map.
    pub fn fit(&self, kind: FitKind) -> Result<TableFit, SolveError> {
        let counts = |m: &&HeldMark| m.used && m.seen != Seen::Missing;
        let pairs: Vec<(Point, Point)> =
            self.marks.iter().filter(counts).map(|m| (m.in_scan, m.on_sheet)).collect();
        let fit = solve(kind, &pairs)?;
        let map = fit.to_from_from;
        let scan = Rect { x: 0.0, y: 0.0, width: f64::from(self.scan.0), height: f64::from(self.scan.1) };
        let sheet = Rect { x: 0.0, y: 0.0, width: self.sheet.width.get(), height: self.sheet.height.get() };
        let scan_from_sheet = map.inverse().ok_or(SolveError::Degenerate)?;
        let residual =
            |m: &HeldMark| (m.seen != Seen::Missing).then(|| (map * m.in_scan).distance(m.on_sheet));
        Ok(TableFit {
            sheet_from_scan: map,
            residuals_mm: self.marks.iter().map(residual).collect(),
            rms_mm: fit.rms_mm,
            used: pairs.len(),
            exact: pairs.len() <= kind.pairs_needed(),
            placement: placement_of(map, scan, self.dpi, sheet.centre()),
            crop: Crop::of_pixels(within(scan_from_sheet.bounds(sheet), scan), self.dpi),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::layout::usual_original;
    use crate::register::marks::tests::Drawing;
    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::ids::ArtId;
    use slipsheet_document::layer::{Art, ScanKey, ScanRef, Target};
    use slipsheet_paper::fold::Face;

    const DPI: f64 = 120.0;

    fn layout() -> MarkLayout {
        let sheet = SheetFormat::Letter.size();
        MarkLayout::guide(sheet, usual_original(SheetFormat::Letter, sheet))
    }

    /// A scan of the layout's marks under a map, without those named.
    fn drawn(layout: &MarkLayout, scan_from_sheet: Affine, without: &[usize]) -> GrayRaster {
        let mut drawing = Drawing::new(1120, 1480, DPI);
        for (_, mark) in layout.marks.iter().enumerate().filter(|(i, _)| !without.contains(i)) {
            drawing.strokes(&mark.kind.strokes(mark.size), scan_from_sheet * mark.at, 1.0, 0.3, 60);
        }
        drawing.grain(4.0, 9);
        drawing.raster
    }

    fn scan_from_sheet() -> Affine {
        let ppm = DPI / 25.4;
        Affine::shift(60.0, 55.0) * Affine::turn(1.0) * Affine::scale(ppm, ppm)
    }

    #[test]
    fn a_mark_moved_by_hand_changes_its_residual_and_one_left_out_does_not_count() {
        let (layout, map) = (layout(), scan_from_sheet());
        let dpi = Dpi::new(DPI).unwrap();
        let (mut table, why) = MarkTable::look(&drawn(&layout, map, &[]), dpi, &layout, Affine::IDENTITY);
        assert!(why.is_none() && table.marks.iter().all(|m| m.used), "{why:?}");
        let good = table.fit(FitKind::Similarity).unwrap();
        assert!(good.rms_mm < 0.05 && !good.exact && good.used == layout.marks.len());
        let at = table.marks[0].in_scan;
        table.set(0, Point::new(at.x + 2.0 * dpi.px_per_mm(), at.y));
        let off = table.fit(FitKind::Similarity).unwrap();
        assert!(off.residuals_mm[0].unwrap() > 1.0 && off.rms_mm > 0.4, "{off:?}");
        table.marks[0].used = false;
        let without = table.fit(FitKind::Similarity).unwrap();
        assert!(without.rms_mm < 0.05 && (without.residuals_mm[0].unwrap() - 2.0).abs() < 0.1, "{without:?}");
    }

    #[test]
    fn a_mark_that_is_missing_is_expected_where_it_was_and_can_be_set() {
        let (layout, map) = (layout(), scan_from_sheet());
        let dpi = Dpi::new(DPI).unwrap();
        let (mut table, _) = MarkTable::look(&drawn(&layout, map, &[2]), dpi, &layout, Affine::IDENTITY);
        let fit = table.fit(FitKind::Similarity).unwrap();
        assert!(table.marks[2].seen == Seen::Missing && fit.residuals_mm[2].is_none());
        assert!(table.marks[2].in_scan.distance(map * layout.marks[2].at) < 0.5);
        table.set(2, map * layout.marks[2].at);
        let fit = table.fit(FitKind::Similarity).unwrap();
        assert!(fit.residuals_mm[2].unwrap() < 0.1 && table.marks[2].used);
        table.set(2, Point::new(f64::NAN, 3.0));
        assert!(table.marks[2].in_scan.x.is_finite());
    }

    #[test]
    fn a_blank_scan_is_lined_up_by_hand_where_the_artwork_lies() {
        let layout = layout();
        let dpi = Dpi::new(DPI).unwrap();
        let blank = GrayRaster::filled(1120, 1480, 255).unwrap();
        let mapping = scan_from_sheet().inverse().unwrap();
        let (mut table, why) = MarkTable::look(&blank, dpi, &layout, mapping);
        assert!(matches!(why, Some(SheetFinderError::TooFewMarks { .. })));
        assert_eq!(table.fit(FitKind::Similarity), Err(SolveError::TooFew { needed: 2, got: 0 }));
        for (i, mark) in layout.marks.iter().enumerate().take(2) {
            assert!(table.marks[i].in_scan.distance(scan_from_sheet() * mark.at) < 1e-6);
            table.set(i, scan_from_sheet() * mark.at);
        }
        let fit = table.fit(FitKind::Similarity).unwrap();
        assert!(fit.exact && fit.rms_mm < 1e-9 && (fit.placement.rotation.get() + 1.0).abs() < 1e-9);
    }

    #[test]
    fn an_affine_fit_lays_a_stretched_and_slanted_scan_where_it_belongs() {
        let layout = layout();
        let dpi = Dpi::new(DPI).unwrap();
        let slanted = Affine { a: 1.0, b: 0.0, c: 0.015, d: 1.01, e: 0.0, f: 0.0 };
        let map = scan_from_sheet() * slanted;
        let blank = GrayRaster::filled(1120, 1480, 255).unwrap();
        let (mut table, _) = MarkTable::look(&blank, dpi, &layout, Affine::IDENTITY);
        (0..layout.marks.len()).for_each(|i| table.set(i, map * layout.marks[i].at));
        assert!(table.fit(FitKind::Similarity).unwrap().rms_mm > 0.3);
        let fit = table.fit(FitKind::Affine).unwrap();
        assert!(fit.rms_mm < 1e-6);
        let key = ScanKey::new("0".repeat(64));
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi };
        let art = Art {
            placement: fit.placement,
            crop: Some(fit.crop),
            ..Art::new(ArtId::new(0), scan, Target::Sheet)
        };
        let mapping = art.mapping(1120, 1480, layout.sheet, None, Face::Front).unwrap();
        for mark in &layout.marks {
            assert!((mapping.face_from_scan * (map * mark.at)).distance(mark.at) < 1e-6, "{mark:?}");
        }
        // The crop holds every corner of the sheet.
        for (x, y) in [(1.0, 1.0), (214.0, 1.0), (1.0, 278.0), (214.0, 278.0)] {
            assert!(mapping.part.contains(map * Point::new(x, y)), "{:?}", mapping.part);
        }
    }
}
