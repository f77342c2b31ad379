//! Line-up without marks, held to scikit-image on scanned pages: `tests/fixtures/make_lineup.py` moved them by
//! known amounts, and wrote down what that library's phase correlation finds beside the truth.

#![expect(clippy::unwrap_used, reason = "a test may stop")]

use slipsheet_core::geometry::Point;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::Dpi;
use slipsheet_registration::register::{LineUp, LineUpLimits, line_up};
use slipsheet_tests::data;

/// The pages say nothing of their resolution; at this one a millimetre is 4 pixels.
const DPI: f64 = 101.6;

fn picture(name: &str) -> Pyramid {
    let image = image::open(data(&format!("lineup_{name}.png"))).unwrap().into_luma8();
    let raster = GrayRaster::new(image.width(), image.height(), image.into_raw()).unwrap();
    Pyramid::new(raster, Dpi::new(DPI).unwrap())
}

struct Case {
    name: String,
    source: String,
    /// Shift in pixels, degrees, scale.
    truth: [f64; 4],
    reference: [f64; 4],
}

fn cases() -> Vec<Case> {
    let text = std::fs::read_to_string(data("lineup.csv")).unwrap();
    let case = |line: &str| {
        let (words, numbers): (Vec<&str>, Vec<&str>) =
            (line.split(',').take(2).collect(), line.split(',').skip(2).collect());
        let n: Vec<f64> = numbers.iter().map(|v| v.trim().parse().unwrap()).collect();
        Case {
            name: words[0].to_owned(),
            source: words[1].to_owned(),
            truth: [n[0], n[1], n[2], n[3]],
            reference: [n[4], n[5], n[6], n[7]],
        }
    };
    text.lines().skip(1).map(case).collect()
}

/// Shift in pixels, degrees, scale.
fn measured(found: &LineUp) -> [f64; 4] {
    let px = DPI / 25.4;
    [found.shift_mm.x * px, found.shift_mm.y * px, found.rotation_deg, found.scale]
}

#[track_caller]
fn near(case: &str, got: [f64; 4], wanted: [f64; 4], tolerance: [f64; 4]) {
    for ((g, w), t) in got.iter().zip(wanted).zip(tolerance) {
        assert!((g - w).abs() <= t, "{case}: {got:?} is not {wanted:?} within {tolerance:?}");
    }
}

#[test]
fn scanned_pages_line_up_where_the_reference_lays_them() {
    let cases = cases();
    assert_eq!(cases.len(), 5);
    for case in cases {
        let found = line_up(&picture(&case.name), &picture(&case.source), LineUpLimits::default());
        let got = measured(&found);
        // A quarter of a pixel, which is 0.02 mm at 300 dpi, and 0.15 degrees.
        near(&case.name, got, case.truth, [0.25, 0.25, 0.15, 0.004]);
        // The reference's shifts are that exact; its turns come from one look at log-polar spectra.
        let turned = case.truth[2] != 0.0;
        let tolerance = if turned { [0.5, 0.5, 1.0, 0.02] } else { [0.25, 0.25, 0.15, 0.004] };
        near(&case.name, got, case.reference, tolerance);
        assert!(found.confidence > 0.5, "{}: {found:?}", case.name);
    }
}

#[test]
fn two_different_pages_are_not_trusted() {
    let found = line_up(&picture("page"), &picture("text"), LineUpLimits::default());
    assert!(found.confidence < 0.3, "{found:?}");
}

#[test]
fn a_page_lies_on_itself() {
    let found = line_up(&picture("page"), &picture("page"), LineUpLimits::default());
    assert!(found.shift_mm.distance(Point::default()) < 1e-3 && found.confidence > 0.9, "{found:?}");
}

/// Crayon, cut type, discs and rings may look like a mark here and there; no sheet may be read out of them.
#[test]
fn drawings_without_marks_are_not_placed() {
    use slipsheet_core::units::SheetFormat;
    use slipsheet_registration::register::layout::usual_original;
    use slipsheet_registration::register::{MarkLayout, SheetFinderError, find_sheet};
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo/tidewrack");
    let sheet = SheetFormat::Letter.size().turned();
    let layout = MarkLayout::guide(sheet, usual_original(SheetFormat::Letter, sheet));
    for name in ["tidewrack-sea.png", "tidewrack-weed.png", "tidewrack-ink.png"] {
        let gray = image::open(demo.join(name)).unwrap().to_luma8();
        let dpi = Dpi::new(f64::from(gray.width()) / 11.0).unwrap();
        let raster = GrayRaster::new(gray.width(), gray.height(), gray.into_raw()).unwrap();
        let found = find_sheet(&raster, dpi, &layout);
        assert!(matches!(found, Err(SheetFinderError::TooFewMarks { .. })), "{name}: {found:?}");
    }
}
