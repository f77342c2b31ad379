//! Photographs made by another camera than the one of the unit tests: `tests/fixtures/make_photo.py` drew, bent, lit
//! and packed them, and wrote down where points of the sheet lie in them.

#![expect(clippy::unwrap_used, reason = "a test may stop")]

use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_registration::register::layout::usual_original;
use slipsheet_registration::register::{
    FoundBy, FoundPhoto, MarkLayout, find_in_photo, find_paper, find_sheet,
};

const TRUTH: &str = include_str!("../../../tests/data/photo.csv");

fn photo(bytes: &[u8]) -> GrayRaster {
    let image = image::load_from_memory(bytes).unwrap().into_luma8();
    GrayRaster::new(image.width(), image.height(), image.into_raw()).unwrap()
}

/// Points of the sheet in mm, and where they lie in a photograph in pixels.
fn truth(name: &str) -> Vec<(Point, Point)> {
    let of_line = |line: &str| {
        let (of, numbers) = line.split_once(',')?;
        let n: Vec<f64> = numbers.split(',').filter_map(|v| v.parse().ok()).collect();
        let [x, y, u, v] = n.as_slice() else { return None };
        (of == name).then(|| (Point::new(*x, *y), Point::new(*u, *v)))
    };
    let pairs: Vec<_> = TRUTH.lines().filter_map(of_line).collect();
    assert_eq!(pairs.len(), 56, "{name}");
    pairs
}

/// The sheet found in a photograph, its errors held to half a millimetre in the mean and one at most.
#[track_caller]
fn check(name: &str, raster: &GrayRaster) -> FoundPhoto {
    let sheet = SheetFormat::Letter.size();
    let original = usual_original(SheetFormat::Letter, sheet);
    let found = find_in_photo(raster, &MarkLayout::guide(sheet, original), original).unwrap();
    let off =
        |(on_sheet, in_photo): &(Point, Point)| found.fit.on_sheet(*in_photo).unwrap().distance(*on_sheet);
    let errors: Vec<f64> = truth(name).iter().map(off).collect();
    let (mean, max) = (errors.iter().sum::<f64>() / 56.0, errors.iter().copied().fold(0.0, f64::max));
    assert!(mean <= 0.5 && max <= 1.0, "{name}: {mean:.3} mm in the mean, {max:.3} mm at most");
    assert!(found.by == FoundBy::Marks && found.lead_known && found.marks.len() >= 8, "{found:?}");
    found
}

#[test]
fn a_page_on_wood_lines_up() {
    let raster = photo(include_bytes!("../../../tests/data/photo_page.jpg"));
    let found = check("photo_page", &raster);
    assert!((0.02..0.05).contains(&found.fit.lens.k), "{}", found.fit.lens.k);
    assert!(find_paper(&raster).is_some());
}

#[test]
fn a_cat_on_a_light_table_lines_up_and_lies_flat() {
    let raster = photo(include_bytes!("../../../tests/data/photo_cat.jpg"));
    let found = check("photo_cat", &raster);
    // The flat picture is as good as a scan: its marks lie as on the sheet.
    let sheet = SheetFormat::Letter.size();
    let layout = MarkLayout::guide(sheet, usual_original(SheetFormat::Letter, sheet));
    let dpi = Dpi::new(150.0).unwrap();
    let part = Rect { x: -6.0, y: -12.0, width: 228.0, height: 304.0 };
    let flat = found.fit.flatten(part, dpi).apply(&raster).unwrap();
    let again = find_sheet(&flat, dpi, &layout).unwrap();
    assert!(again.fit.rms_mm < 0.3 && again.lead_known, "{again:?}");
    assert!((again.sheet_from_scan.growth() * dpi.px_per_mm() - 1.0).abs() < 0.002);
}

#[test]
fn a_text_upside_down_on_a_dark_table_lines_up() {
    let found = check("photo_text", &photo(include_bytes!("../../../tests/data/photo_text.jpg")));
    let across = found.fit.photo_from_sheet.near(Point::new(100.0, 140.0)).a;
    assert!(across < 0.0, "the photograph shows the sheet upside down");
}
