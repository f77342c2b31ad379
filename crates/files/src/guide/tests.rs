use slipsheet_core::colour::Lab;
use slipsheet_core::fold;
use slipsheet_core::ink::Swatch;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::register::find_sheet;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::SheetFormat;

use super::*;

fn project(format: SheetFormat, id: &str) -> Project {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock::new("Plain white", colour);
    let mut p = Project::new("Invented", format, stock);
    p.fold = fold::find(id);
    p
}

/// The guide as a gray scan of it would be.
fn scanned(project: &Project, options: &GuideOptions) -> GrayRaster {
    let drawing = Drawing::new(project, options).unwrap();
    let (w, h) = drawing.original.pixels(options.dpi);
    let rgb = picture::rgb(&drawing, options.dpi, (w, h));
    let gray = rgb.chunks_exact(3).map(|p| p.iter().copied().min().unwrap()).collect();
    GrayRaster::new(w, h, gray).unwrap()
}

#[test]
fn the_marks_of_a_guide_are_found_where_they_were_drawn() {
    for (format, id, pale) in [
        (SheetFormat::Letter, "slit8", false),
        (SheetFormat::A4, "quarter8", true),
        (SheetFormat::A6, "none", false),
    ] {
        let p = project(format, id);
        let options = GuideOptions { dpi: Dpi::new(200.0).unwrap(), pale, ..GuideOptions::default() };
        let raster = scanned(&p, &options);
        let layout = mark_layout(&p, &options).unwrap();
        let found = find_sheet(&raster, options.dpi, &layout).unwrap();
        assert_eq!(found.marks.len(), layout.marks.len(), "{}", format.name());
        assert!(found.fit.rms_mm < 0.02 && found.lead_known && found.confidence > 0.75, "{found:?}");
        let place = found.placement;
        assert!(place.dx.get().abs() < 0.05 && place.dy.get().abs() < 0.05, "{place:?}");
        assert!(place.rotation.get().abs() < 0.01 && (place.scale.get() - 1.0).abs() < 5e-4, "{place:?}");
    }
}

#[test]
fn a_pdf_has_the_size_of_the_original_and_is_the_same_every_time() {
    let p = project(SheetFormat::Letter, "slit8");
    let options = GuideOptions::default();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("guide.pdf");
    guide_pdf(&p, &options, &path).unwrap();
    let first = std::fs::read(&path).unwrap();
    assert!(first.starts_with(b"%PDF-"));
    // 12 x 9 in, lying.
    let text = String::from_utf8_lossy(&first).into_owned();
    assert!(text.contains("/MediaBox [0 0 864 648]"), "{}", &text[..600]);
    guide_pdf(&p, &options, &path).unwrap();
    assert_eq!(first, std::fs::read(&path).unwrap());
}

#[test]
fn a_margin_too_narrow_for_the_marks_is_refused() {
    let options = GuideOptions { margin: Some(Mm::new(3.0)), ..GuideOptions::default() };
    let error = original_size(&project(SheetFormat::Letter, "slit8"), &options).unwrap_err();
    assert!(error.to_string().contains("at least 6 mm"), "{error}");
}
