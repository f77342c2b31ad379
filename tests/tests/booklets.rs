//! Booklets of several sheets, from pages to pixels. Imposition is checked against what a person finds who folds
//! and numbers sheets of paper (common practice, no source).
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use std::sync::Arc;

use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Target};
use slipsheet_document::project::Project;
use slipsheet_files::scan::Progress;
use slipsheet_files::{PlateOptions, plates};
use slipsheet_paper::booklet::{Booklet, Bound};
use slipsheet_paper::fold::Face;
use slipsheet_render::dummy::{self, DummyView, Piece, Prints};
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

fn project(pages: u32) -> Project {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock { gsm: 80.0, caliper_mm: Some(0.1), ..Stock::new("Plain white", colour) };
    let mut p = Project::new("Invented", SheetFormat::A4, stock);
    p.main.booklet = Some(Booklet { pages, ..Booklet::default() });
    p
}

/// A scan of `width` x `height` mm whose left half is black and whose right half is gray, at 25.4 dpi.
fn with_art(p: &mut Project, target: Target, width: u32, height: u32) -> Images {
    let pixels = (0..width * height).map(|i| if i % width < width / 2 { 0 } else { 128 }).collect();
    let raster = GrayRaster::new(width, height, pixels).unwrap();
    let key = ScanKey::new("1".repeat(64));
    let mut images = Images::default();
    images.insert(key.clone(), Arc::new(Pyramid::new(raster, Dpi::new(25.4).unwrap())));
    let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi: Dpi::new(25.4).unwrap() };
    let (id, art) = (p.ids.layer(), p.ids.art());
    p.main.layers.push(Layer {
        art: vec![Art::new(art, scan, target)],
        ..Layer::new(id, "line", Ink::estimated("Deep blue", Lab::new(40.0, 0.0, -40.0).unwrap()))
    });
    images
}

/// The gray of the ink at a place of a sheet's face, in mm.
fn gray(p: &Project, images: &Images, sheet: usize, face: Face, x: usize, y: usize) -> u8 {
    let show = Show { sheet, ..Show::meant(face) };
    let scene = Scene::new(&p.main_printing(), images, show).unwrap();
    let view = View::sheet(scene.sheet(), Dpi::new(25.4).unwrap());
    (0..2)
        .filter_map(|layer| scene.plate(layer, &view))
        .map(|r| r.pixels()[y * view.width + x])
        .min()
        .unwrap_or(255)
}

#[test]
fn a_picture_over_the_gutter_is_cut_and_lies_on_both_sheets() {
    let mut p = project(8);
    // Pages 2 and 3: the back of the outer sheet and the front of the inner one.
    let images = with_art(&mut p, Target::Spread(2), 296, 210);
    assert_eq!((p.main.size().width.get(), p.main.printed_sheets()), (297.0, 2));
    // Page 2 lies left on the back of sheet 1, page 3 right on the front of sheet 2.
    assert_eq!(gray(&p, &images, 0, Face::Back, 70, 100), 0);
    assert_eq!(gray(&p, &images, 0, Face::Back, 220, 100), 255);
    assert_eq!(gray(&p, &images, 1, Face::Front, 220, 100), 128);
    assert_eq!(gray(&p, &images, 1, Face::Front, 70, 100), 255);
    assert_eq!(gray(&p, &images, 0, Face::Front, 70, 100), 255);
    assert_eq!(gray(&p, &images, 1, Face::Back, 70, 100), 255);
    // Nothing crosses the fold.
    assert_eq!(gray(&p, &images, 0, Face::Back, 150, 100), 255);
}

#[test]
fn the_middle_spread_lies_whole_on_the_innermost_sheet() {
    let mut p = project(8);
    let images = with_art(&mut p, Target::Spread(4), 296, 210);
    assert_eq!(gray(&p, &images, 1, Face::Back, 70, 100), 0);
    assert_eq!(gray(&p, &images, 1, Face::Back, 220, 100), 128);
}

#[test]
fn a_page_of_an_inner_sheet_moves_toward_the_spine_by_its_creep() {
    let mut p = project(32);
    p.main.stock.caliper_mm = Some(1.0);
    let images = with_art(&mut p, Target::Page(17), 100, 100);
    // Page 17 is right on the back of the innermost sheet, the eighth: its picture moves 7 mm to the left.
    let middle = 148.5 + 74.25;
    let at = |p: &Project, x: f64| gray(p, &images, 7, Face::Back, x as usize, 105);
    assert_eq!((at(&p, middle - 55.0), at(&p, middle - 59.0)), (0, 255));
    p.main.booklet.as_mut().unwrap().compensate = false;
    assert_eq!((at(&p, middle - 48.0), at(&p, middle - 52.0)), (0, 255));
}

#[test]
fn a_booklet_is_saved_with_its_project_and_a_project_without_one_reads_as_before() {
    let mut p = project(12);
    p.main.booklet.as_mut().unwrap().bound = Bound::Perfect;
    assert_eq!(Project::from_ron(&p.to_ron().unwrap()).unwrap(), p);
    p.main.booklet = None;
    assert!(!p.to_ron().unwrap().contains("booklet"));
    p.main.booklet = Some(Booklet { pages: 500, ..Booklet::default() });
    assert!(p.check().unwrap_err().to_string().contains("from 1 to 400"));
}

/// The two pages on a side of a sheet sum to the number of pages and one more: what anyone finds who folds sheets into
/// one another and numbers the leaves (common practice, no source).
#[test]
fn two_pages_on_a_side_of_a_sheet_sum_to_the_page_count_and_one() {
    for pages in (4..=64).step_by(4) {
        let p = project(pages);
        let mut seen = Vec::new();
        for sheet in 0..p.main.printed_sheets() {
            let scheme = p.main.scheme(sheet).unwrap();
            for face in [Face::Front, Face::Back] {
                let on: Vec<u32> = scheme.places(p.main.size(), face).iter().map(|l| l.page).collect();
                assert_eq!((on.len(), on.iter().sum::<u32>()), (2, pages + 1), "{pages}: {on:?}");
                seen.extend(on);
            }
        }
        seen.sort_unstable();
        assert_eq!(seen, (1..=pages).collect::<Vec<_>>());
    }
}

/// The closed formula: of flat folded sheets the one counted `s` from outside stands out by `s` calipers, and the
/// spine is as thick as all leaves (common practice, no source). 120 g/m2 uncoated is taken as 0.15 mm.
#[test]
fn creep_follows_the_closed_formula_with_the_caliper_of_the_stock() {
    let mut p = project(48);
    (p.main.stock.gsm, p.main.stock.caliper_mm) = (120.0, None);
    let caliper = slipsheet_core::units::Mm::new(slipsheet_core::paper::caliper(&p.main.stock));
    assert!((caliper.get() - 0.15).abs() < 1e-12);
    let booklet = p.main.booklet.as_ref().unwrap();
    for sheet in 0..booklet.sheets() {
        assert!((booklet.creep(sheet, caliper) - 0.15 * sheet as f64).abs() < 1e-12);
    }
    assert!((booklet.spine(caliper) - 24.0 * 0.15).abs() < 1e-12);
}

/// ISO 216: a sheet folded across its longer side has pages of the next size, rounded down to the millimetre.
#[test]
fn a_booklet_of_an_iso_sheet_has_pages_of_the_next_size() {
    for (format, page) in [(SheetFormat::A3, (210.0, 297.0)), (SheetFormat::A4, (148.0, 210.0))] {
        let mut p = project(8);
        p.main.format = format;
        let size = p.main.scheme(0).unwrap().place(p.main.size(), 1).unwrap().size;
        assert_eq!((size.width.get().floor(), size.height.get().floor()), page);
    }
}

/// What a reader who opens the bound booklet at a page sees of the ink: pixels left and right of the spine.
fn seen_open(p: &Project, images: &Images, page: u32) -> (usize, usize) {
    let p = &p.main_printing();
    let open = dummy::opening_of_page(&p.sheet.construction(), page).unwrap() as f64;
    let folded = Piece::of(&p.sheet.construction()).folded(1.0, open);
    let view = DummyView::facing(320, 240, [255; 3]);
    let mut prints = Prints::new(p, images, true, Dpi::new(60.0).unwrap());
    prints.sharpen(p, images, &folded, &view);
    let mut out = Picture::default();
    dummy::draw_sheets(&folded, |s, f| prints.of(s, f), dummy::paper_of(p), &view, &mut out);
    // The ink is blue, and paper, shade and ground are gray.
    let inked = |x: &usize| {
        let blue = |y: usize| out.at(*x, y)[2].saturating_sub(out.at(*x, y)[0]) > 30;
        (0..out.height).filter(|y| blue(*y)).count()
    };
    ((0..160).map(|x| inked(&x)).sum(), (160..320).map(|x| inked(&x)).sum())
}

#[test]
fn every_page_is_read_where_it_was_laid_through_the_whole_bound_booklet() {
    for bound in [Bound::Saddle, Bound::Perfect] {
        for page in [2, 3, 4, 5, 6, 9, 10, 11] {
            let mut p = project(12);
            p.main.booklet.as_mut().unwrap().bound = bound;
            let images = with_art(&mut p, Target::Page(page), 148, 210);
            let (left, right) = seen_open(&p, &images, page);
            let (on, off) = if page % 2 == 0 { (left, right) } else { (right, left) };
            assert!(on > 2000 && off < on / 20, "{bound:?}, page {page}: {left} left, {right} right");
            // The spread after it shows nothing of it.
            let (left, right) = seen_open(&p, &images, if page < 10 { page + 2 } else { page - 2 });
            assert!(
                left + right < 400,
                "{bound:?}, page {page}: {left} left, {right} right on another spread"
            );
        }
    }
}

#[test]
fn each_page_has_a_plate_on_its_own_sheet_and_side() {
    for bound in [Bound::Saddle, Bound::Perfect] {
        for page in 1..=8 {
            let mut p = project(8);
            p.press_dpi = Dpi::new(30.0).unwrap();
            p.main.booklet.as_mut().unwrap().bound = bound;
            let images = with_art(&mut p, Target::Page(page), 100, 100);
            let folder = tempfile::tempdir().unwrap();
            let options = PlateOptions::default();
            let written =
                plates::write(&p.main_printing(), &images, &options, folder.path(), &Progress::new())
                    .unwrap();
            let (sheet, face) = p.main.booklet.as_ref().unwrap().face_of(page).unwrap();
            assert_eq!(written.len(), 1);
            assert_eq!((written[0].sheet, written[0].face), (sheet, face));
            let name = written[0].path.file_name().unwrap().to_string_lossy().into_owned();
            let side = if face == Face::Front { "front" } else { "back" };
            assert_eq!(name, format!("sheet{}-{side}-1-deep-blue.png", sheet + 1));
            assert!(written[0].coverage > 0.05, "{}", written[0].coverage);
        }
    }
}
