//! The marks of one original as a person works on them: found by the search, set by hand, left out.
//!
//! From what is left follows at any time where the scan lies, and how far each mark is off.

use super::perspective::{Chosen, PerspectiveFit, solve_perspective};
use super::shape::MarkKind;
use super::sheet_finder::{placement_of, within};
use super::solve::{FitKind, SolveError, solve};
use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::{Crop, Flat, Placement};

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

/// Where the sheet lies in a scan.
#[derive(Debug, Clone, PartialEq)]
pub enum SheetMap {
    /// From pixels of the scan to mm on the sheet.
    Plain(Affine),
    /// As a camera saw it.
    Photo(PerspectiveFit),
}

impl SheetMap {
    /// Where a point of the sheet, in mm, lies in the scan.
    pub fn in_scan(&self, on_sheet: Point) -> Option<Point> {
        match self {
            Self::Plain(sheet_from_scan) => Some(sheet_from_scan.inverse()? * on_sheet),
            Self::Photo(fit) => Some(fit.in_photo(on_sheet)),
        }
    }

    /// Which point of the sheet, in mm, a pixel of the scan shows.
    pub fn on_sheet(&self, in_scan: Point) -> Option<Point> {
        match self {
            Self::Plain(sheet_from_scan) => Some(*sheet_from_scan * in_scan),
            Self::Photo(fit) => fit.on_sheet(in_scan),
        }
    }
}

/// What the marks of a table amount to.
#[derive(Debug, Clone, PartialEq)]
pub struct TableFit {
    pub map: SheetMap,
    /// How far each mark lies from where it belongs, in mm, whether it counts or not; `None` for missing ones.
    pub residuals_mm: Vec<Option<f64>>,
    /// Root of the mean square of the residuals of the marks that count.
    pub rms_mm: f64,
    pub used: usize,
    /// Whether so few count that any map of the kind goes through them and the residuals say nothing.
    pub exact: bool,
    /// The placement that lays the picture on the sheet.
    pub placement: Placement,
    /// The smallest upright part of the picture that holds the sheet.
    pub crop: Crop,
    /// The flat picture of a photograph; placement and crop are its own then.
    pub flat: Option<Flat>,
    /// The resolution of the picture.
    pub dpi: Dpi,
    /// From mm on the sheet to pixels of the picture.
    pub picture_from_sheet: Affine,
}

impl MarkTable {
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
        for mark in self.marks.iter_mut().filter(|m| m.seen == Seen::Missing) {
            mark.in_scan = fit.map.in_scan(mark.on_sheet).unwrap_or(mark.in_scan);
        }
    }

    /// The marks that count, in the scan and on the sheet.
    pub(super) fn pairs(&self) -> Vec<(Point, Point)> {
        let counts = |m: &&HeldMark| m.used && m.seen != Seen::Missing;
        self.marks.iter().filter(counts).map(|m| (m.in_scan, m.on_sheet)).collect()
    }

    /// The map of a kind that fits the marks that count, by least squares.
    ///
    /// # Errors
    /// When too few marks count, or they do not fix such a map.
    pub fn fit(&self, kind: Chosen) -> Result<TableFit, SolveError> {
        let pairs = self.pairs();
        let map = match kind {
            Chosen::Similarity => SheetMap::Plain(solve(FitKind::Similarity, &pairs)?.to_from_from),
            Chosen::Affine => SheetMap::Plain(solve(FitKind::Affine, &pairs)?.to_from_from),
            Chosen::Perspective => SheetMap::Photo(solve_perspective(&pairs, self.scan, true)?),
        };
        let residuals = self.residuals(&map);
        let fit = self.by_map(map, residuals).ok_or(SolveError::Degenerate)?;
        Ok(TableFit { exact: pairs.len() <= pairs_needed(kind), ..fit })
    }

    /// How far each mark lies from where a map has it, in mm; none for missing ones.
    pub(super) fn residuals(&self, map: &SheetMap) -> Vec<Option<f64>> {
        let residual = |m: &HeldMark| {
            let at = map.on_sheet(m.in_scan).filter(|_| m.seen != Seen::Missing)?;
            Some(at.distance(m.on_sheet))
        };
        self.marks.iter().map(residual).collect()
    }

    /// What a map amounts to; `None` where it flattens the sheet.
    pub(super) fn by_map(&self, map: SheetMap, residuals_mm: Vec<Option<f64>>) -> Option<TableFit> {
        let used = self.marks.iter().zip(&residuals_mm).filter(|(m, _)| m.used).filter_map(|(_, r)| *r);
        let (used, sum) = used.fold((0_usize, 0.0), |(n, sum), r| (n + 1, sum + r * r));
        let rms_mm = libm::sqrt(sum / used.max(1) as f64);
        let sheet = Rect { x: 0.0, y: 0.0, width: self.sheet.width.get(), height: self.sheet.height.get() };
        let (placement, crop, flat, dpi, picture_from_sheet) = match &map {
            SheetMap::Plain(sheet_from_scan) => {
                let (width, height) = (f64::from(self.scan.0), f64::from(self.scan.1));
                let scan = Rect { x: 0.0, y: 0.0, width, height };
                let scan_from_sheet = sheet_from_scan.inverse()?;
                let crop = Crop::of_pixels(within(scan_from_sheet.bounds(sheet), scan), self.dpi);
                let placement = placement_of(*sheet_from_scan, scan, self.dpi, sheet.centre());
                (placement, crop, None, self.dpi, scan_from_sheet)
            }
            SheetMap::Photo(fit) => {
                let (flat, picture_from_sheet) = flat_of(fit, sheet)?;
                let part = picture_from_sheet.bounds(sheet);
                let crop = Crop::of_pixels(part, flat.dpi);
                (Placement::default(), crop, Some(flat), flat.dpi, picture_from_sheet)
            }
        };
        Some(TableFit {
            map,
            residuals_mm,
            rms_mm,
            used,
            exact: false,
            placement,
            crop,
            flat,
            dpi,
            picture_from_sheet,
        })
    }
}

/// How many marks fix a map of a kind.
fn pairs_needed(kind: Chosen) -> usize {
    match kind {
        Chosen::Similarity => FitKind::Similarity.pairs_needed(),
        Chosen::Affine => FitKind::Affine.pairs_needed(),
        Chosen::Perspective => 4,
    }
}

/// What a flat picture shows around the sheet, in mm, so that a slip has something to show.
const AROUND: f64 = 3.0;
/// The finest flat picture, in dpi, and the steps of its resolution.
const FINEST: f64 = 1200.0;
const STEP: f64 = 25.0;

/// The flat picture of a sheet that a camera saw, as fine as the photograph shows it, and where the sheet lies in it.
fn flat_of(fit: &PerspectiveFit, sheet: Rect) -> Option<(Flat, Affine)> {
    let ppm = fit.photo_from_sheet.near(sheet.centre()).growth();
    let dpi = Dpi::new((libm::ceil(ppm * 25.4 / STEP) * STEP).clamp(STEP, FINEST)).ok()?;
    let part = Rect {
        x: sheet.x - AROUND,
        y: sheet.y - AROUND,
        width: sheet.width + 2.0 * AROUND,
        height: sheet.height + 2.0 * AROUND,
    };
    let flatten = fit.flatten(part, dpi);
    flatten.map()?;
    let flat = Flat {
        corners: Flat::corners_of(flatten.corners),
        lens: libm::round(fit.lens.k * 1e6) as i32,
        width: flatten.width,
        height: flatten.height,
        dpi,
    };
    let (across, down) = (f64::from(flat.width) / part.width, f64::from(flat.height) / part.height);
    Some((flat, Affine::scale(across, down) * Affine::shift(AROUND, AROUND)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::MarkLayout;
    use crate::register::layout::usual_original;
    use crate::register::marks::tests::Drawing;
    use crate::register::{OriginalError, PhotoError};
    use slipsheet_core::raster::GrayRaster;
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

    fn look(raster: &GrayRaster, layout: &MarkLayout, mapping: Affine) -> (MarkTable, Option<OriginalError>) {
        let original = usual_original(SheetFormat::Letter, layout.sheet);
        let (table, _, why) = MarkTable::look(raster, Dpi::new(DPI).unwrap(), layout, original, mapping);
        (table, why)
    }

    fn scan_from_sheet() -> Affine {
        let ppm = DPI / 25.4;
        Affine::shift(60.0, 55.0) * Affine::turn(1.0) * Affine::scale(ppm, ppm)
    }

    #[test]
    fn a_mark_moved_by_hand_changes_its_residual_and_one_left_out_does_not_count() {
        let (layout, map) = (layout(), scan_from_sheet());
        let dpi = Dpi::new(DPI).unwrap();
        let (mut table, why) = look(&drawn(&layout, map, &[]), &layout, Affine::IDENTITY);
        assert!(why.is_none() && table.marks.iter().all(|m| m.used), "{why:?}");
        let good = table.fit(Chosen::Similarity).unwrap();
        assert!(good.rms_mm < 0.05 && !good.exact && good.used == layout.marks.len());
        let at = table.marks[0].in_scan;
        table.set(0, Point::new(at.x + 2.0 * dpi.px_per_mm(), at.y));
        let off = table.fit(Chosen::Similarity).unwrap();
        assert!(off.residuals_mm[0].unwrap() > 1.0 && off.rms_mm > 0.4, "{off:?}");
        table.marks[0].used = false;
        let without = table.fit(Chosen::Similarity).unwrap();
        assert!(without.rms_mm < 0.05 && (without.residuals_mm[0].unwrap() - 2.0).abs() < 0.1, "{without:?}");
    }

    #[test]
    fn a_mark_that_is_missing_is_expected_where_it_was_and_can_be_set() {
        let (layout, map) = (layout(), scan_from_sheet());
        let (mut table, _) = look(&drawn(&layout, map, &[2]), &layout, Affine::IDENTITY);
        let fit = table.fit(Chosen::Similarity).unwrap();
        assert!(table.marks[2].seen == Seen::Missing && fit.residuals_mm[2].is_none());
        assert!(table.marks[2].in_scan.distance(map * layout.marks[2].at) < 0.5);
        table.set(2, map * layout.marks[2].at);
        let fit = table.fit(Chosen::Similarity).unwrap();
        assert!(fit.residuals_mm[2].unwrap() < 0.1 && table.marks[2].used);
        table.set(2, Point::new(f64::NAN, 3.0));
        assert!(table.marks[2].in_scan.x.is_finite());
    }

    #[test]
    fn a_blank_scan_is_lined_up_by_hand_where_the_artwork_lies() {
        let layout = layout();
        let blank = GrayRaster::filled(1120, 1480, 255).unwrap();
        let mapping = scan_from_sheet().inverse().unwrap();
        let (mut table, why) = look(&blank, &layout, mapping);
        assert!(matches!(why, Some(OriginalError::Sheet(PhotoError::NothingFound))));
        assert_eq!(table.fit(Chosen::Similarity), Err(SolveError::TooFew { needed: 2, got: 0 }));
        for (i, mark) in layout.marks.iter().enumerate().take(2) {
            assert!(table.marks[i].in_scan.distance(scan_from_sheet() * mark.at) < 1e-6);
            table.set(i, scan_from_sheet() * mark.at);
        }
        let fit = table.fit(Chosen::Similarity).unwrap();
        assert!(fit.exact && fit.rms_mm < 1e-9 && (fit.placement.rotation.get() + 1.0).abs() < 1e-9);
    }

    #[test]
    fn an_affine_fit_lays_a_stretched_and_slanted_scan_where_it_belongs() {
        let layout = layout();
        let dpi = Dpi::new(DPI).unwrap();
        let slanted = Affine { a: 1.0, b: 0.0, c: 0.015, d: 1.01, e: 0.0, f: 0.0 };
        let map = scan_from_sheet() * slanted;
        let blank = GrayRaster::filled(1120, 1480, 255).unwrap();
        let (mut table, _) = look(&blank, &layout, Affine::IDENTITY);
        (0..layout.marks.len()).for_each(|i| table.set(i, map * layout.marks[i].at));
        assert!(table.fit(Chosen::Similarity).unwrap().rms_mm > 0.3);
        let fit = table.fit(Chosen::Affine).unwrap();
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
