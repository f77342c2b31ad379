//! Art that prints pale and paper that prints, from drawn pages.

use super::*;
use proptest::prelude::*;
use slipsheet_core::reading::{BlackPoint, DropOut, Mode, Reading, Ruling, Swing};
use slipsheet_core::units::{Degrees, Size};
use slipsheet_paper::booklet::Booklet;

const DPI: f64 = 300.0;

/// Coverage at a place in mm.
type Draw<'a> = &'a dyn Fn(f64, f64) -> f64;

/// A sheet of eight pages, 35 x 50 mm each, with one original.
fn sheet(paper: f64, draw: Draw<'_>) -> (Printing, Images) {
    let (mut p, _) = sound();
    p.sheet.format = SheetFormat::Custom(Size::mm(140.0, 100.0));
    p.sheet.landscape = true;
    let mut images = Images::default();
    images
        .insert(key("page"), Arc::new(Pyramid::new(scan(140.0, 100.0, paper, draw), Dpi::new(DPI).unwrap())));
    let mut art = art("page", Target::Sheet);
    art.scan.dpi = Dpi::new(DPI).unwrap();
    p.sheet.layers[0].art = vec![art];
    "Type".clone_into(&mut p.sheet.layers[0].name);
    (p, images)
}

/// What is drawn on paper of a gray, which has grain unless it is white.
fn scan(width: f64, height: f64, paper: f64, draw: Draw<'_>) -> GrayRaster {
    let px = |mm: f64| (mm / 25.4 * DPI).round() as u32;
    let (w, h) = (px(width), px(height));
    let pixels = (0..w * h).map(|i| {
        let (x, y) = (i % w, i / w);
        let grain =
            if paper < 255.0 { f64::from((i.wrapping_mul(2_654_435_761) >> 24) % 7) - 3.0 } else { 0.0 };
        let shade = paper - if paper < 255.0 { 8.0 * f64::from(x) / f64::from(w) } else { 0.0 };
        let mm = |v: u32| (f64::from(v) + 0.5) / DPI * 25.4;
        (shade * (1.0 - draw(mm(x), mm(y))) + grain).clamp(0.0, 255.0).round() as u8
    });
    GrayRaster::new(w, h, pixels.collect()).unwrap()
}

fn place(p: &Printing, page: u32) -> Rect {
    p.sheet.fold.as_ref().unwrap().place(p.sheet.size(), page).unwrap().rect
}

/// Lines of text type: stems of a quarter of a millimetre.
fn text(x: f64, y: f64) -> bool {
    y % 4.0 < 1.6 && x % 0.9 < 0.25
}

fn strokes(x: f64, y: f64) -> bool {
    (x + 0.4 * y) % 1.8 < 0.5
}

fn inside(x: f64, y: f64, r: Rect, margin: f64) -> bool {
    (r.x + margin..r.x + r.width - margin).contains(&x)
        && (r.y + margin..r.y + r.height - margin).contains(&y)
}

/// Every page has type, page 3 also a pencil drawing in its lower half, `gap` mm below.
fn drawing(paper: f64, depth: f64, gap: f64) -> (Printing, Images) {
    let (p, _) = sheet(255.0, &|_, _| 0.0);
    let rects: Vec<(u32, Rect)> = (1..=8).map(|n| (n, place(&p, n))).collect();
    sheet(paper, &move |x, y| {
        let Some((page, r)) = rects.iter().find(|(_, r)| inside(x, y, *r, 3.0)) else { return 0.0 };
        let down = y - r.y;
        match page {
            3 if down >= 24.0 + gap => {
                if strokes(x, y) {
                    depth
                } else {
                    0.0
                }
            }
            3 if down >= 24.0 => 0.0,
            _ => {
                if text(x, down) {
                    0.97
                } else {
                    0.0
                }
            }
        }
    })
}

fn screened() -> Mode {
    Mode::Screened { ruling: Ruling::default(), angle: Degrees::new(45.0) }
}

fn groups(p: &Printing, images: &Images) -> Vec<PaleGroup> {
    pale_groups(p, images).into_iter().flat_map(|(_, groups)| groups).collect()
}

fn kinds_of(p: &Printing, images: &Images) -> Vec<Kind> {
    let wanted = [Kind::PaleArt, Kind::PaperPrints, Kind::TooLight, Kind::PaleOriginal];
    findings(p, images, &[]).into_iter().map(|f| f.kind).filter(|k| wanted.contains(k)).collect()
}

#[test]
fn one_pencil_drawing_among_black_type_is_found_and_its_black_point_brings_it_up() {
    for gap in [2.6, 6.0, 12.0] {
        let (mut p, images) = drawing(255.0, 0.2, gap);
        p.sheet.layers[0].reading = Reading::of(screened());
        let found = pale_groups(&p, &images);
        assert_eq!((found.len(), found[0].1.len()), (1, 1), "{gap}: {found:?}");
        let (id, pale) = (found[0].0, found[0].1[0]);
        assert_eq!((id, pale.page, pale.face, pale.sheet), (LayerId::new(0), Some(3), Face::Front, None));
        let printed = p.sheet.layers[0].ink.curve.effective(0.2);
        assert!((f64::from(pale.darkest) - printed).abs() < 0.02 && pale.lost < 0.05, "{pale:?}");
        assert!((black_point_for(&pale).get() - 0.2).abs() < 0.01, "{pale:?}");
        let (page, r) = (place(&p, 3), pale.rect);
        assert!(r.y >= page.y + 22.0 + gap && r.y + r.height <= page.y + 49.0 && r.width > 25.0, "{r:?}");

        let told = findings(&p, &images, &[]);
        let told = told.iter().find(|f| f.kind == Kind::PaleArt).unwrap();
        let percent = format!("{:.0} %", printed * 100.0);
        assert!(told.sentence.starts_with(&format!(
            "some of the art on page 3 of “Type” prints no darker than {percent}; set"
        )));
        assert!(told.sentence.contains("black point to 20 %"), "{}", told.sentence);
        assert_eq!((told.layer, told.page, told.place.unwrap().rect), (Some(id), Some(3), r));

        p.sheet.layers[0].reading.black = black_point_for(&pale);
        assert!(groups(&p, &images).is_empty());
    }
}

#[test]
fn small_type_dark_drawings_washes_with_outlines_and_stipple_are_not_pale() {
    let (p, images) = drawing(255.0, 0.9, 3.0);
    assert_eq!(groups(&p, &images), []);
    let (p, images) = drawing(236.0, 0.7, 3.0);
    assert_eq!(groups(&p, &images), []);
    let outlined = |x: f64, y: f64| match libm::hypot(x - 50.0, y - 25.0) {
        r if r < 18.0 => 0.1,
        r if r < 18.6 => 0.95,
        _ => 0.0,
    };
    let (mut p, images) = sheet(255.0, &outlined);
    p.sheet.fold = None;
    assert_eq!(groups(&p, &images), []);
    let dots = |x: f64, y: f64| if libm::hypot(x % 4.0 - 2.0, y % 4.0 - 2.0) < 0.2 { 1.0 } else { 0.0 };
    let (p, images) = sheet(255.0, &dots);
    assert_eq!(groups(&p, &images), []);
}

#[test]
fn bare_paper_its_grain_and_dust_are_no_pale_art() {
    let dust = |x: f64, y: f64| {
        let (u, v) = (x % 17.0 - 8.0, y % 13.0 - 6.0);
        if libm::hypot(u, v) < 0.25 { 0.3 } else { 0.0 }
    };
    for paper in [255.0, 246.0, 232.0, 205.0] {
        for mode in [Mode::Continuous, screened(), Mode::Line, Mode::Faint] {
            for drop in [0.0, 0.3] {
                let (mut p, images) = sheet(paper, &dust);
                p.sheet.layers[0].reading = Reading { background: DropOut::new(drop), ..Reading::of(mode) };
                assert_eq!(groups(&p, &images), [], "{paper} {mode:?} {drop}");
            }
        }
    }
}

#[test]
fn a_drawing_that_its_reading_takes_away_is_found_in_every_mode() {
    let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
    for (mode, drop, advice) in [
        (screened(), 0.4, "black point"),
        (Mode::Mixed { ruling, angle }, 0.4, "black point"),
        (Mode::Faint, 0.5, "black point"),
        (Mode::Line, 0.0, "raise the density"),
    ] {
        let (mut p, images) = drawing(236.0, 0.3, 4.0);
        p.sheet.layers[0].reading = Reading { background: DropOut::new(drop), ..Reading::of(mode) };
        let pale = groups(&p, &images);
        assert_eq!((pale.len(), pale[0].page), (1, Some(3)), "{mode:?}: {pale:?}");
        assert!(pale[0].darkest < 0.02 && pale[0].lost > 0.9, "{mode:?}: {pale:?}");
        let told = findings(&p, &images, &[]).into_iter().find(|f| f.kind == Kind::PaleArt).unwrap();
        assert!(
            told.sentence.starts_with("some of the art on page 3 of “Type” does not print at all"),
            "{told:?}"
        );
        assert!(told.sentence.contains(advice), "{told:?}");
        if mode != Mode::Line {
            p.sheet.layers[0].reading.black = black_point_of(&pale).unwrap();
            assert!(groups(&p, &images).iter().all(|g| g.page != Some(3)), "{mode:?}");
        }
    }
}

#[test]
fn several_places_are_one_finding_with_the_palest_first_and_small_ones_are_none() {
    let at = |x: f64, y: f64| match (x, y) {
        (5.0..25.0, 5.0..25.0) => 0.2,
        (75.0..95.0, 5.0..25.0) => 0.1,
        (110.0..113.0, 60.0..66.0) => 0.1,
        _ => 0.0,
    };
    let (mut p, images) = sheet(255.0, &at);
    p.sheet.fold = None;
    let pale = groups(&p, &images);
    assert_eq!(pale.len(), 2, "{pale:?}");
    assert!(pale[0].darkest < pale[1].darkest && (74.0..76.0).contains(&pale[0].rect.x), "{pale:?}");
    assert_eq!(pale[0].page, None);
    let found: Vec<_> = findings(&p, &images, &[]).into_iter().filter(|f| f.kind == Kind::PaleArt).collect();
    assert_eq!(found.len(), 1);
    let sentence = &found[0].sentence;
    assert!(
        sentence.starts_with("some of the art on the front of “Type” prints no darker than"),
        "{sentence}"
    );
    assert!(sentence.contains("(pale as well: 1 place more)"), "{sentence}");
    assert_eq!(found[0].place.unwrap().rect, pale[0].rect);
    assert_eq!(black_point_of(&pale).unwrap(), pale[0].wants);
    assert_eq!(black_point_of(&[]), None);
    // Folded, the two lie on pages.
    p.sheet.fold = fold::find("slit8");
    let found = findings(&p, &images, &[]).into_iter().find(|f| f.kind == Kind::PaleArt).unwrap();
    assert!(found.sentence.contains("(pale as well: page "), "{found:?}");
}

#[test]
fn a_layer_is_told_to_be_pale_once() {
    let (mut p, images) = sheet(255.0, &|x, y| if strokes(x, y) { 0.022 } else { 0.0 });
    p.sheet.layers[0].ink.solid = Swatch::Measured {
        lab: slipsheet_core::colour::Lab::new(88.0, 0.0, 60.0).unwrap(),
        note: String::new(),
    };
    assert_eq!(kinds_of(&p, &images), [Kind::PaleArt]);
    // Hidden layers are not looked at, and what is not loaded may be anything.
    p.sheet.layers[0].visible = false;
    assert_eq!(groups(&p, &images), []);
    p.sheet.layers[0].visible = true;
    assert_eq!(groups(&p, &Images::default()), []);
}

#[test]
fn pages_of_a_booklet_are_named_with_their_sheet() {
    let (mut p, mut images) = sheet(255.0, &|_, _| 0.0);
    p.sheet.fold = None;
    p.sheet.booklet = Some(Booklet { pages: 8, ..Booklet::default() });
    let pale = scan(50.0, 60.0, 255.0, &|x, y| {
        if inside(x, y, Rect { x: 0.0, y: 0.0, width: 50.0, height: 60.0 }, 8.0) { 0.25 } else { 0.0 }
    });
    images.insert(key("pale"), Arc::new(Pyramid::new(pale, Dpi::new(DPI).unwrap())));
    for page in [3, 6] {
        let mut art = art("pale", Target::Page(page));
        art.scan.dpi = Dpi::new(DPI).unwrap();
        p.sheet.layers[0].art = vec![art];
        let found = groups(&p, &images);
        let (sheet, face) = p.sheet.booklet.as_ref().unwrap().face_of(page).unwrap();
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!((found[0].page, found[0].sheet, found[0].face), (Some(page), Some(sheet), face));
    }
}

#[test]
fn paper_that_would_print_is_found_once_a_scan_with_its_veil() {
    let (mut p, images) = drawing(216.0, 0.9, 3.0);
    p.sheet.layers[0].reading = Reading::of(screened());
    let found = paper_prints(&p, &images);
    let veil = p.sheet.layers[0].ink.curve.effective(1.0 - 212.0 / 255.0);
    assert!(found.len() == 1 && (found[0].1 - veil).abs() < 0.02, "{found:?}, {veil}");
    let told = findings(&p, &images, &[]).into_iter().find(|f| f.kind == Kind::PaperPrints).unwrap();
    assert!(told.sentence.starts_with("the paper of “page.png” (gray 21"), "{told:?}");
    assert!(
        told.sentence.ends_with(&format!("would print as a veil of {:.0} %", found[0].1 * 100.0)),
        "{told:?}"
    );

    // The same scan in another layer prints as well, and is told of once.
    p.sheet.layers.push(another(&p));
    assert_eq!(paper_prints(&p, &images).len(), 2);
    assert_eq!(kinds_of(&p, &images).iter().filter(|k| **k == Kind::PaperPrints).count(), 1);
    p.sheet.layers.truncate(1);

    // What takes the paper out, by itself or by its settings, prints no veil; a black point makes it darker.
    let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
    for mode in [Mode::Mixed { ruling, angle }, Mode::Faint, Mode::Line] {
        p.sheet.layers[0].reading = Reading::of(mode);
        assert_eq!(paper_prints(&p, &images), [], "{mode:?}");
    }
    p.sheet.layers[0].reading = Reading { background: DropOut::new(0.2), ..Reading::of(screened()) };
    assert_eq!(paper_prints(&p, &images), []);
    p.sheet.layers[0].reading = Reading { black: BlackPoint::new(0.5), ..Reading::of(screened()) };
    assert!(paper_prints(&p, &images)[0].1 > veil + 0.1);
    let (p, images) = drawing(255.0, 0.9, 3.0);
    assert_eq!(paper_prints(&p, &images), []);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]
    /// Whatever the settings, a layer's black point leaves no group paler and no more of them lost.
    #[test]
    fn the_black_point_that_is_offered_never_makes_it_worse(
        depth in 0.06..0.5_f64, density in -0.5..0.5_f64, drop in 0.0..0.3_f64, mode in 0..3_usize,
    ) {
        let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
        let mode = [screened(), Mode::Mixed { ruling, angle }, Mode::Faint][mode];
        let (mut p, images) = drawing(255.0, depth, 5.0);
        p.sheet.layers[0].reading =
            Reading { density: Swing::new(density), background: DropOut::new(drop), ..Reading::of(mode) };
        let before = groups(&p, &images);
        if let Some(black) = black_point_of(&before) {
            prop_assert!(black <= p.sheet.layers[0].reading.black);
            p.sheet.layers[0].reading.black = black;
            let after = groups(&p, &images);
            let worst = |g: &[PaleGroup]| g.iter().map(|g| g.darkest).fold(1.0, f32::min);
            let lost = |g: &[PaleGroup]| g.iter().map(|g| g.lost).fold(0.0, f32::max);
            prop_assert!(worst(&after) >= worst(&before) - 1e-3, "{:?} {:?}", before, after);
            prop_assert!(after.is_empty() || lost(&after) <= lost(&before) + 1e-3, "{:?} {:?}", before, after);
        }
    }
}
