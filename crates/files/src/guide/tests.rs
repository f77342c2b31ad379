use slipsheet_core::colour::Lab;
use slipsheet_core::geometry::Point;
use slipsheet_core::ink::Swatch;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::SheetFormat;
use slipsheet_paper::booklet::{Booklet, Bound};
use slipsheet_paper::fold;
use slipsheet_registration::register::find_sheet;

use super::sketch::Item;
use super::*;

pub(super) fn printing(format: SheetFormat, id: &str) -> Printing {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock::new("Plain white", colour);
    let mut p = Printing::new("Invented", format, stock);
    p.sheet.fold = fold::find(id);
    p
}

/// The guide as a gray scan of it would be.
fn scanned(printing: &Printing, options: &GuideOptions) -> GrayRaster {
    let drawing = Drawing::new(printing, 0, options).unwrap();
    let (w, h) = drawing.original.pixels(options.dpi);
    let rgb = picture::rgb(&drawing, options.dpi, (w, h)).unwrap();
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
        let p = printing(format, id);
        let options = GuideOptions { dpi: Dpi::new(200.0).unwrap(), pale, ..GuideOptions::default() };
        let raster = scanned(&p, &options);
        let layout = mark_layout(&p, Target::Sheet, &options).unwrap();
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
    let p = printing(SheetFormat::Letter, "slit8");
    let options = GuideOptions::default();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("guide.pdf");
    guide_pdf(&p, &options, &path).unwrap();
    let first = std::fs::read(&path).unwrap();
    assert!(first.starts_with(b"%PDF-"));
    // 12 x 9 in, landscape.
    let text = String::from_utf8_lossy(&first).into_owned();
    assert!(text.contains("/MediaBox [0 0 864 648]"), "{}", &text[..600]);
    let read = crate::lettering::tests::read_pdf(&first);
    assert!(read.iter().any(|line| line == "Print at 100 % and measure this ruler."), "{read:?}");
    guide_pdf(&p, &options, &path).unwrap();
    assert_eq!(first, std::fs::read(&path).unwrap());
}

/// Two ways to pixels: our own, and the PDF drawn by a PDF renderer.
#[test]
fn what_the_pdf_shows_is_inked_as_in_the_picture() {
    let p = printing(SheetFormat::Letter, "slit8");
    let options = GuideOptions { dpi: Dpi::new(300.0).unwrap(), ..GuideOptions::default() };
    let drawing = Drawing::new(&p, 0, &options).unwrap();
    let (w, h) = drawing.original.pixels(options.dpi);
    let ours = picture::rgb(&drawing, options.dpi, (w, h)).unwrap();
    let theirs = crate::pdf_picture::pictures(guide_document(&p, &options).unwrap(), w as u16).remove(0);
    assert_eq!((theirs.width, theirs.height), (w as usize, h as usize));
    let theirs: Vec<u8> = theirs.pixels.iter().flat_map(|p| [p[0], p[1], p[2]]).collect();

    // Ink on a square of 3 mm, in full pixels.
    let ink = |rgb: &[u8], at: Point| -> f64 {
        let [x, y] = [at.x, at.y].map(|v| (v * options.dpi.px_per_mm()) as usize);
        let row = |y: usize| &rgb[(y * w as usize + x - 18) * 3..(y * w as usize + x + 18) * 3];
        (y - 18..y + 18).flat_map(row).map(|v| f64::from(255 - v) / (3.0 * 255.0)).sum()
    };
    let seen = drawing.sketch.items.iter().filter_map(|(_, item)| match item {
        Item::Ring { centre, .. } => Some(*centre),
        Item::Line { .. } => None,
        Item::Words(line, from_line) => Some(*from_line * Point::new(line.width() / 2.0, -0.8)),
    });
    for at in seen {
        let [a, b] = [ours.as_slice(), &theirs].map(|all| ink(all, at));
        assert!(a > 20.0 && (a - b).abs() < 0.1 * a, "{a} against {b} at {at:?}");
    }
}

#[test]
fn a_margin_too_narrow_for_the_marks_is_refused() {
    let options = GuideOptions { margin: Some(Mm::new(3.0)), ..GuideOptions::default() };
    let error = original_size(&printing(SheetFormat::Letter, "slit8"), Target::Sheet, &options).unwrap_err();
    assert!(error.to_string().contains("at least 6 mm"), "{error}");
}

/// The page numbers and the words of one side, as outlines are not read: what is drawn is compared instead.
fn side(printing: &Printing, sheet: usize, face: Face) -> Drawing {
    let options = GuideOptions { face, ..GuideOptions::default() };
    Drawing::new(printing, sheet, &options).unwrap()
}

#[test]
fn a_booklet_has_a_guide_for_each_side_of_each_sheet_with_its_fold_and_pages() {
    let mut p = printing(SheetFormat::A4, "none");
    p.sheet.booklet = Some(Booklet { pages: 8, ..Booklet::default() });
    let pages = |p: &Printing, options: &GuideOptions| {
        let text = String::from_utf8_lossy(&guide_document(p, options).unwrap()).into_owned();
        text.matches("/MediaBox").count()
    };
    assert_eq!(pages(&p, &GuideOptions::default()), 4);
    assert_eq!(pages(&p, &GuideOptions { sheet: Some(1), ..GuideOptions::default() }), 1);
    assert_eq!(pages(&p, &GuideOptions { marks_only: true, ..GuideOptions::default() }), 1);
    p.sheet.booklet = Some(Booklet { pages: 3, ..Booklet::default() });
    assert_eq!(pages(&p, &GuideOptions::default()), 2);

    // Each side is drawn as the guide of a plain sheet with the booklet's fold is: fold, numbers, arrows.
    p.sheet.booklet = Some(Booklet { pages: 8, ..Booklet::default() });
    for sheet in 0..2 {
        for face in [Face::Front, Face::Back] {
            let mut plain = printing(SheetFormat::A4, "none");
            plain.sheet.fold = p.sheet.scheme(sheet);
            let (booklet, plain) = (side(&p, sheet, face), side(&plain, 0, face));
            // The line of words that names the sheet alone is longer.
            let lines =
                |d: &Drawing| d.sketch.items.iter().filter(|(_, i)| matches!(i, Item::Line { .. })).count();
            assert_eq!(lines(&booklet), lines(&plain), "sheet {sheet}, {face:?}");
            let middle = booklet.original.width.get() / 2.0;
            let fold = booklet.sketch.items.iter().filter(|(_, i)| match i {
                Item::Line { from, to, .. } => (from.x - middle).abs() < 1e-9 && (to.x - middle).abs() < 1e-9,
                Item::Ring { .. } | Item::Words(..) => false,
            });
            assert!(fold.count() > 20, "the fold of sheet {sheet} is not drawn");
        }
    }
    // Glued leaves are cut apart in the middle.
    p.sheet.booklet = Some(Booklet { pages: 8, bound: Bound::Perfect, ..Booklet::default() });
    let cut = side(&p, 0, Face::Front).sketch.items.into_iter().any(|(_, i)| match i {
        Item::Line { from, to, .. } => from.x == to.x && (to.y - from.y - 210.0).abs() < 1e-9,
        Item::Ring { .. } | Item::Words(..) => false,
    });
    assert!(cut);
}

#[test]
fn a_picture_of_many_sides_and_a_sheet_too_far_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("guide.png");
    let mut p = printing(SheetFormat::A4, "none");
    p.sheet.booklet = Some(Booklet { pages: 8, ..Booklet::default() });
    let low = GuideOptions { dpi: Dpi::new(40.0).unwrap(), ..GuideOptions::default() };
    let error = guide_png(&p, &low, &path).unwrap_err().to_string();
    assert!(error.contains("4 sides") && error.contains("write a PDF") && !path.exists(), "{error}");
    let error = guide_png(&p, &GuideOptions { sheet: Some(2), ..low }, &path).unwrap_err().to_string();
    assert!(error.contains("2 sheets; choose one from 1 to 2"), "{error}");
    guide_png(&p, &GuideOptions { sheet: Some(1), face: Face::Back, ..low }, &path).unwrap();
    guide_png(&p, &GuideOptions { marks_only: true, ..low }, &path).unwrap();
}
