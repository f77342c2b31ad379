use super::testing::{Camera, Scene, Table};
use super::*;
use crate::register::layout::usual_original;
use crate::register::perspective::{Chosen, choose_fit};
use slipsheet_base::projective::Homography;
use slipsheet_base::random::SplitMix;
use slipsheet_core::geometry::Affine;
use slipsheet_core::units::SheetFormat;

fn letter() -> (MarkLayout, Size) {
    let sheet = SheetFormat::Letter.size();
    let original = usual_original(SheetFormat::Letter, sheet);
    (MarkLayout::guide(sheet, original), original)
}

/// Finds the sheet in a photograph and holds it to the truth: mean and greatest error in mm.
#[track_caller]
fn check(what: &str, camera: Camera, scene: Scene, most: (f64, f64)) -> FoundPhoto {
    let (layout, original) = letter();
    let photo = camera.photograph(&layout, original, &scene);
    let found = find_in_photo(&photo, &layout, original).unwrap_or_else(|why| panic!("{what}: {why}"));
    let (mean, max) = camera.errors(&found.fit, layout.sheet, original);
    assert!(mean <= most.0 && max <= most.1, "{what}: {mean:.3} mm in the mean, {max:.3} mm at most");
    found
}

#[test]
fn tilts_turns_and_lenses_are_undone() {
    for (tilt, towards, turn, k) in [
        (0.0, 0.0, 0.0, 0.0),
        (10.0, 0.0, 90.0, 0.0),
        (15.0, 45.0, 93.0, 0.03),
        (20.0, 120.0, 178.0, -0.03),
        (25.0, 90.0, 270.0, 0.05),
        (25.0, 200.0, 88.0, -0.05),
        (12.0, 310.0, 12.0, -0.05),
    ] {
        let camera = Camera { tilt, towards, turn, k, ..Camera::default() };
        let found = check(&format!("tilt {tilt} turn {turn} k {k}"), camera, Scene::default(), (0.5, 1.0));
        assert!(found.by == FoundBy::Marks && found.lead_known && found.marks.len() == 9, "{found:?}");
        assert!(found.confidence > 0.6, "{}", found.confidence);
    }
}

#[test]
fn twelve_megapixels_on_wood_are_exact_to_a_tenth_of_a_millimetre() {
    let camera = Camera { photo: (4000, 3000), tilt: 20.0, towards: 200.0, k: -0.04, ..Camera::default() };
    let scene = Scene { table: Table::Wood(130.0, 25.0), shadow: 0.6, noise: 5.0, ..Scene::default() };
    let found = check("12 MP", camera, scene, (0.1, 0.2));
    assert!(found.by == FoundBy::Marks && found.marks.len() == 9 && found.paper.is_some(), "{found:?}");
}

#[test]
fn any_table_and_light_will_do() {
    let wood = Table::Wood(120.0, 28.0);
    for (what, scene) in [
        ("black", Scene { table: Table::Plain(15.0), ..Scene::default() }),
        ("light", Scene { table: Table::Plain(205.0), ..Scene::default() }),
        ("nearly white", Scene { table: Table::Plain(216.0), ..Scene::default() }),
        ("brighter than the paper", Scene { table: Table::Plain(245.0), paper: 215.0, ..Scene::default() }),
        ("wood", Scene { table: wood, ..Scene::default() }),
        ("light wood", Scene { table: Table::Wood(185.0, 20.0), fall: 0.35, ..Scene::default() }),
        ("shadow", Scene { shadow: 0.55, ..Scene::default() }),
        ("shadow on wood", Scene { table: wood, shadow: 0.5, fall: 0.3, ..Scene::default() }),
        ("noise", Scene { noise: 9.0, table: wood, ..Scene::default() }),
        ("dim", Scene { fall: 0.6, noise: 5.0, ink: 120.0, ..Scene::default() }),
    ] {
        let camera = Camera { tilt: 14.0, towards: 70.0, turn: 84.0, k: 0.02, ..Camera::default() };
        let found = check(what, camera, scene, (0.5, 1.0));
        assert!(found.by == FoundBy::Marks && found.lead_known, "{what}: {found:?}");
    }
}

#[test]
fn where_no_table_shows_the_marks_alone_will_do() {
    let unseen = Scene { table: Table::Plain(225.0), lift: 1.0, ..Scene::default() };
    for (tilt, towards, turn, k, fill, scene) in [
        (0.0, 0.0, 90.0, 0.0, 1.0, Scene::default()),
        (8.0, 140.0, 1.0, 0.05, 0.9, unseen),
        (12.0, 20.0, 92.0, 0.03, 0.95, unseen),
        (18.0, 260.0, 268.0, -0.04, 0.9, unseen),
        (22.0, 75.0, 183.0, 0.0, 0.9, unseen),
        (10.0, 75.0, 25.0, 0.0, 0.9, unseen),
        (10.0, 75.0, -50.0, 0.0, 0.9, unseen),
    ] {
        let camera = Camera { tilt, towards, turn, k, fill, ..Camera::default() };
        let found = check(&format!("no table, turn {turn}"), camera, scene, (0.5, 1.0));
        assert!(found.by == FoundBy::Marks && found.lead_known, "{found:?}");
    }
}

/// A layout without some of its marks, as if they had not been drawn.
fn without(layout: &MarkLayout, gone: &[usize]) -> MarkLayout {
    let marks = layout.marks.iter().enumerate().filter(|(i, _)| !gone.contains(i)).map(|(_, m)| *m);
    MarkLayout { sheet: layout.sheet, marks: marks.collect() }
}

#[test]
fn missing_marks_lower_confidence_and_without_them_the_edges_do() {
    let (layout, original) = letter();
    let scene = Scene { feed: Point::new(0.3, 0.2), ..Scene::default() };
    let camera = Camera { tilt: 12.0, turn: 94.0, k: 0.03, ..Camera::default() };
    let mut last = 1.1;
    for (gone, by, lead, most) in [
        (vec![1], FoundBy::Marks, true, 0.5),
        (vec![0, 4, 5], FoundBy::Marks, true, 0.8),
        (vec![4, 5, 6, 7, 8], FoundBy::Marks, false, 1.0),
        (vec![0, 1, 2, 3, 4, 5], FoundBy::Edges, true, 1.0),
        ((0..9).collect(), FoundBy::Edges, false, 1.0),
    ] {
        let photo = camera.photograph(&without(&layout, &gone), original, &scene);
        let found = find_in_photo(&photo, &layout, original).unwrap();
        let turned = if lead { found.fit.clone() } else { least_error(&camera, &layout, original, &found) };
        let max = camera.errors(&turned, layout.sheet, original).1;
        assert!((found.by, found.lead_known) == (by, lead), "{gone:?}: {found:?}");
        assert!(max < most && found.confidence < last, "{gone:?}: {max} {}", found.confidence);
        last = found.confidence;
    }
}

/// The fit or its half turn, where nothing says which edge leads.
fn least_error(camera: &Camera, layout: &MarkLayout, original: Size, found: &FoundPhoto) -> PerspectiveFit {
    let (w, h) = (layout.sheet.width.get(), layout.sheet.height.get());
    let half = Affine { a: -1.0, b: 0.0, c: 0.0, d: -1.0, e: w, f: h };
    let turned = PerspectiveFit {
        photo_from_sheet: found.fit.photo_from_sheet * Homography::from(half),
        ..found.fit.clone()
    };
    let max = |fit: &PerspectiveFit| camera.errors(fit, layout.sheet, original).1;
    if max(&turned) < max(&found.fit) { turned } else { found.fit.clone() }
}

#[test]
fn without_a_lead_the_sheet_is_turned_as_little_as_possible() {
    let (layout, original) = letter();
    let bare = without(&layout, &(0..9).collect::<Vec<_>>());
    for turn in [4.0, 176.0] {
        let camera = Camera { turn, photo: (1200, 1600), ..Camera::default() };
        let found = find_in_photo(&camera.photograph(&bare, original, &Scene::default()), &layout, original);
        let found = found.unwrap();
        let across = found.fit.photo_from_sheet.near(Point::new(100.0, 100.0)).a;
        assert!(!found.lead_known && across > 0.0, "{turn}: {found:?}");
    }
}

#[test]
fn a_bent_sheet_is_not_trusted_and_an_empty_table_shows_nothing() {
    let (layout, original) = letter();
    let bent = Scene { bend: 3.0, ..Scene::default() };
    let photo = Camera::default().photograph(&layout, original, &bent);
    let why = find_in_photo(&photo, &layout, original).unwrap_err();
    assert!(matches!(why, PhotoError::NotTrusted { max_mm } if max_mm > 1.0), "{why}");
    assert!(why.to_string().contains("set marks by hand"), "{why}");
    for blank in [(900, 700), (40, 30), (1, 1)] {
        let blank = GrayRaster::filled(blank.0, blank.1, 180).unwrap();
        let why = find_in_photo(&blank, &layout, original);
        assert_eq!(why, Err(PhotoError::NothingFound));
    }
}

#[test]
fn other_papers_and_layouts_are_found_as_well() {
    for (format, turned) in [(SheetFormat::A4, false), (SheetFormat::A3, true), (SheetFormat::A6, true)] {
        let sheet = if turned { format.size().turned() } else { format.size() };
        let original = usual_original(format, sheet);
        let layout = MarkLayout::guide(sheet, original);
        let camera = Camera {
            turn: 3.0,
            tilt: 16.0,
            towards: 215.0,
            k: -0.02,
            photo: (2400, 1800),
            ..Camera::default()
        };
        let photo = camera.photograph(&layout, original, &Scene::default());
        let found = find_in_photo(&photo, &layout, original).unwrap();
        let (mean, max) = camera.errors(&found.fit, sheet, original);
        assert!(mean < 0.5 && max < 1.0 && found.lead_known, "{} {mean} {max}", format.name());
    }
}

#[test]
fn ticks_at_the_corners_and_an_arrow_are_enough_in_front_of_a_table() {
    use crate::register::layout::LayoutMark;
    use crate::register::shape::Corner;
    let (guide, original) = letter();
    let (w, h) = (guide.sheet.width.get(), guide.sheet.height.get());
    let at = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y));
    let tick = |(corner, at)| LayoutMark { kind: MarkKind::CornerTicks(corner), at, size: 4.0 };
    let arrow = guide.marks.iter().filter(|m| matches!(m.kind, MarkKind::Arrow(_))).copied();
    let marks = Corner::ALL.into_iter().zip(at).map(tick).chain(arrow).collect();
    let layout = MarkLayout { sheet: guide.sheet, marks };
    let camera = Camera { tilt: 15.0, towards: 60.0, turn: 181.0, photo: (1200, 1600), ..Camera::default() };
    let photo = camera.photograph(&layout, original, &Scene::default());
    let found = find_in_photo(&photo, &layout, original).unwrap();
    let (mean, max) = camera.errors(&found.fit, layout.sheet, original);
    assert!(mean < 0.5 && max < 1.0, "{mean} {max}");
    assert!(found.by == FoundBy::Marks && found.lead_known, "{found:?}");
}

#[test]
fn a_paper_of_another_size_than_was_said_is_found_by_its_marks() {
    let (layout, original) = letter();
    let larger = Size::mm(original.width.get() + 25.0, original.height.get() + 30.0);
    let camera = Camera { tilt: 10.0, k: 0.02, ..Camera::default() };
    let photo = camera.photograph(&layout, larger, &Scene::default());
    let found = find_in_photo(&photo, &layout, original).unwrap();
    let (mean, max) = camera.errors(&found.fit, layout.sheet, larger);
    assert!(mean < 0.5 && max < 1.0 && found.lead_known, "{mean} {max} {found:?}");
}

/// A scan that is coarse and faint is no photograph, and is found as well as ever.
#[test]
fn a_poor_scan_is_found_to_a_fraction_of_a_millimetre() {
    let (layout, original) = letter();
    let dpi = Dpi::new(150.0).unwrap();
    let (ppm, camera) = (dpi.px_per_mm(), Camera { photo: (1450, 1900), ..Camera::default() });
    let map = Affine::shift(80.3, 100.6) * Affine::turn(1.3) * Affine::scale(ppm, ppm);
    let scene = Scene { table: Table::Plain(235.0), ink: 165.0, noise: 8.0, fall: 0.0, ..Scene::default() };
    let scan = camera.drawn_by(map.into(), &layout, original, &scene);
    let found = find_sheet(&scan, dpi, &layout).unwrap();
    let corners = [(0.0, 0.0), (215.9, 0.0), (215.9, 279.4), (0.0, 279.4), (108.0, 140.0)];
    let off: Vec<f64> = corners
        .map(|(x, y)| Point::new(x, y))
        .map(|p| (found.sheet_from_scan * (map * p)).distance(p))
        .to_vec();
    let mean = off.iter().sum::<f64>() / off.len() as f64;
    assert!(mean < 0.15 && off.iter().all(|o| *o < 0.3), "{off:?}");
    let pairs = pairs(&layout, &found.marks);
    assert_eq!(choose_fit(&pairs), Chosen::Similarity);
}

#[test]
fn the_flat_picture_shows_the_marks_where_they_belong() {
    let (layout, original) = letter();
    let camera = Camera { photo: (2400, 1800), tilt: 15.0, k: 0.03, ..Camera::default() };
    let photo = camera.photograph(&layout, original, &Scene::default());
    let found = find_in_photo(&photo, &layout, original).unwrap();
    let dpi = Dpi::new(150.0).unwrap();
    let part = Rect { x: -10.0, y: -12.0, width: 236.0, height: 304.0 };
    let flat = found.fit.flatten(part, dpi).apply(&photo).unwrap();
    let sheet = find_sheet(&flat, dpi, &layout).unwrap();
    for mark in &sheet.marks {
        let at = layout.marks[mark.index].at;
        let got =
            Point::new(mark.mark.at.x / dpi.px_per_mm() + part.x, mark.mark.at.y / dpi.px_per_mm() + part.y);
        assert!(got.distance(at) < 0.1, "{mark:?} at {got:?} instead of {at:?}");
    }
    assert_eq!(sheet.marks.len(), 9);
}

/// Any way to hold a camera over any table, as many as asked for; what went wrong is told.
fn wrong_views(seeds: std::ops::Range<u64>) -> Vec<String> {
    let (layout, original) = letter();
    let view = |seed: u64| {
        let mut random = SplitMix::new(seed);
        let mut within = |low: f64, high: f64| low + (high - low) * random.uniform();
        let tables = [
            Table::Plain(within(10.0, 190.0)),
            Table::Wood(within(60.0, 170.0), within(5.0, 30.0)),
            Table::Plain(within(195.0, 215.0)),
        ];
        let camera = Camera {
            photo: if within(0.0, 1.0) < 0.5 { (1600, 1200) } else { (1200, 1600) },
            tilt: within(0.0, 25.0),
            towards: within(0.0, 360.0),
            turn: within(0.0, 360.0),
            k: within(-0.05, 0.05),
            fill: within(0.78, 0.95),
        };
        let scene = Scene {
            table: tables[(within(0.0, 2.999)) as usize],
            paper: within(218.0, 240.0),
            ink: within(30.0, 120.0),
            fall: within(0.0, 0.4),
            shadow: within(0.5, 1.0),
            noise: within(1.0, 6.0),
            feed: Point::new(within(-1.0, 1.0), within(-1.0, 1.0)),
            ..Scene::default()
        };
        let photo = camera.photograph(&layout, original, &scene);
        let told = |why: String| Some(format!("seed {seed}: {why}\n  {camera:?}\n  {scene:?}"));
        match find_in_photo(&photo, &layout, original) {
            Ok(found) => {
                let (mean, max) = camera.errors(&found.fit, layout.sheet, original);
                let held = mean <= 0.5 && max <= 1.0 && found.lead_known;
                if held { None } else { told(format!("{mean} {max} {:?} {}", found.by, found.confidence)) }
            }
            Err(why) => told(why.to_string()),
        }
    };
    seeds.filter_map(view).collect()
}

#[test]
fn any_way_to_hold_the_camera_will_do() {
    // The last one is askew on a table that is hardly darker than the paper, in a shadow.
    let wrong = [wrong_views(0..10), wrong_views(174..175)].concat();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
