use std::process::Command;

use slipsheet_core::colour::Lab;
use slipsheet_core::ink::Swatch;
use slipsheet_core::stock::{Finish, Stock};
use slipsheet_core::units::SheetFormat;
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold;

use super::*;

fn printing(format: SheetFormat, id: &str, gsm: f64) -> Printing {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let finish = Finish::Uncoated;
    let stock = Stock { finish, gsm, ..Stock::new("Plain", colour) };
    let mut p = Printing::new("Invented", format, stock);
    p.sheet.fold = fold::find(id);
    p
}

/// The page boxes of a PDF in mm, one a page.
fn boxes(pdf: &[u8]) -> Vec<(f64, f64)> {
    let text = String::from_utf8_lossy(pdf).into_owned();
    text.split("/MediaBox [")
        .skip(1)
        .map(|rest| {
            let numbers: Vec<f64> =
                rest.split(']').next().unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
            (numbers[2] / 72.0 * 25.4, numbers[3] / 72.0 * 25.4)
        })
        .collect()
}

#[test]
fn every_page_has_the_size_of_the_sheet() {
    for scheme in fold::shipped().unwrap() {
        let p = printing(SheetFormat::A4, &scheme.id, 200.0);
        let found = boxes(&document(&p, DummySheetOptions::default()).unwrap());
        assert_eq!(found.len(), 2 + usize::from(scheme.two_sided()), "{}", scheme.id);
        let size = p.sheet.size();
        for (w, h) in found {
            assert!(
                (w - size.width.get()).abs() < 0.1 && (h - size.height.get()).abs() < 0.1,
                "{}",
                scheme.id
            );
        }
    }
}

#[test]
fn a_booklet_has_both_faces_of_every_sheet_and_one_page_of_steps() {
    let mut p = printing(SheetFormat::A4, "none", 80.0);
    p.sheet.booklet = Some(Booklet { pages: 10, ..Booklet::default() });
    assert_eq!(boxes(&document(&p, DummySheetOptions { faint: true }).unwrap()).len(), 7);
}

#[test]
fn a_flat_sheet_has_no_dummy() {
    let error = document(&printing(SheetFormat::A4, "none", 80.0), DummySheetOptions::default()).unwrap_err();
    assert!(error.to_string().contains("choose a fold"), "{error}");
}

/// Halving a sheet of ISO 216 across its longer side gives the next size, to the millimetre rounded down
/// (ISO 216:2007, 3): a single fold of A4 has A5 pages, an octavo of A4 has A7 pages.
#[test]
fn iso_sheets_halve_into_iso_pages() {
    for (id, wanted) in
        [("single4", (148.0, 210.0)), ("quarter8", (105.0, 148.0)), ("octavo16", (74.0, 105.0))]
    {
        let p = printing(SheetFormat::A4, id, 80.0);
        let size = p.sheet.fold.as_ref().unwrap().place(p.sheet.size(), 1).unwrap().size;
        assert_eq!((size.width.get().floor(), size.height.get().floor()), wanted, "{id}");
    }
}

/// A second reader finds nothing wrong with the file and the same page box.
#[test]
fn other_programs_read_the_dummy_without_a_warning() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("dummy.pdf");
    write(&printing(SheetFormat::Letter, "slit8", 200.0), DummySheetOptions::default(), &path).unwrap();
    let checked = Command::new("qpdf").arg("--check").arg(&path).output();
    let checked = checked.expect("qpdf is needed for this test; .ci/setup test installs it");
    let message =
        String::from_utf8_lossy(&checked.stdout).into_owned() + &String::from_utf8_lossy(&checked.stderr);
    assert!(checked.status.success() && !message.to_lowercase().contains("warning"), "{message}");
    let read = crate::lettering::tests::read_pdf(&std::fs::read(&path).unwrap());
    assert!(read.iter().any(|line| line == "Print at 100 %."), "{read:?}");
}

#[test]
fn nothing_of_the_steps_is_drawn_beyond_the_page() {
    let ids = ["slit8", "octavo16", "letter6", "quarter8"].map(|id| fold::find(id).unwrap());
    for scheme in ids.into_iter().chain([fold::accordion(8).unwrap()]) {
        for format in [SheetFormat::A4, SheetFormat::A5, SheetFormat::Letter] {
            let mut p = printing(format, "none", 200.0);
            p.sheet.fold = Some(scheme.clone());
            let size = p.sheet.size();
            let mut sketch = Sketch::new(DARK).unwrap();
            draw_steps(&mut sketch, &p, &scheme, size);
            for (_, item) in &sketch.items {
                if let Item::Line { from, to, .. } = item {
                    for at in [from, to] {
                        let inside = (0.0..=size.width.get()).contains(&at.x)
                            && (0.0..=size.height.get() - 5.0).contains(&at.y);
                        assert!(inside, "{} on {}: {at:?}", scheme.id, format.name());
                    }
                }
            }
        }
    }
}
