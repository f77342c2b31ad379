//! The printed dummy, read by other programs: its page boxes are the sheet, and nothing in it is at fault.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use std::path::Path;

use slipsheet_core::units::SheetFormat;
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::dummy_sheet::{self, DummySheetOptions};
use slipsheet_paper::fold;
use slipsheet_tests::programs::outside;

/// Width and height in mm of every page's media box, as pdfinfo has them.
fn boxes(pdf: &Path, pages: usize) -> Vec<[f64; 2]> {
    let last = pages.to_string();
    let message = outside("pdfinfo", &["-box", "-f", "1", "-l", &last, pdf.to_str().unwrap()]);
    let media = message.lines().filter(|l| l.contains("MediaBox:"));
    media
        .map(|l| {
            let numbers: Vec<f64> =
                l.split(':').next_back().unwrap().split_whitespace().map(|n| n.parse().unwrap()).collect();
            [numbers[2] - numbers[0], numbers[3] - numbers[1]].map(|pt| pt / 72.0 * 25.4)
        })
        .collect()
}

#[test]
fn page_boxes_are_the_sheet_and_other_programs_find_no_fault() {
    let dir = tempfile::tempdir().unwrap();
    let stock = Shelf::starter().unwrap().stocks.remove(0);
    let schemes = ["slit8", "octavo16", "letter6"].map(|id| fold::find(id).unwrap());
    for scheme in schemes.into_iter().chain([fold::accordion(5).unwrap()]) {
        for (format, faint) in [(SheetFormat::A4, false), (SheetFormat::Letter, true)] {
            let mut project = Project::new("Invented", format, stock.clone());
            project.main.fold = Some(scheme.clone());
            let pdf = dir.path().join(format!("{}-{faint}.pdf", scheme.id));
            dummy_sheet::write(&project.main_printing(), DummySheetOptions { faint }, &pdf).unwrap();
            let pages = 2 + usize::from(scheme.two_sided());
            let found = boxes(&pdf, pages);
            assert_eq!(found.len(), pages, "{}", scheme.id);
            let size = project.main.size();
            for [w, h] in found {
                assert!((w - size.width.get()).abs() < 0.1, "{}: {w}", scheme.id);
                assert!((h - size.height.get()).abs() < 0.1, "{}: {h}", scheme.id);
            }
            let message = outside("qpdf", &["--check", pdf.to_str().unwrap()]);
            assert!(!message.to_lowercase().contains("warning"), "{message}");
        }
    }
}
