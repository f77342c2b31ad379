use super::*;
use crate::register::layout::{MarkLayout, usual_original};
use crate::register::photo::testing::{Camera, Scene, Table};
use slipsheet_core::units::SheetFormat;

fn letter() -> (MarkLayout, Size) {
    let sheet = SheetFormat::Letter.size();
    let original = usual_original(SheetFormat::Letter, sheet);
    (MarkLayout::guide(sheet, original), original)
}

/// The corners of the paper as a camera sees them, clockwise from the one nearest to the top left.
fn truth(camera: &Camera, scene: &Scene) -> [Point; 4] {
    let (layout, original) = letter();
    let (w, h) = (original.width.get(), original.height.get());
    let x = (layout.sheet.width.get() - w) / 2.0 - scene.feed.x;
    let y = (layout.sheet.height.get() - h) / 2.0 - scene.feed.y;
    let map = camera.photo_from_sheet(layout.sheet, original);
    let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
    quad::clockwise(corners.map(|(x, y)| camera.lens().distort(map * Point::new(x, y)))).unwrap()
}

#[test]
fn the_paper_is_found_on_any_table() {
    let (layout, original) = letter();
    for (table, k, shadow) in [
        (Table::Plain(20.0), 0.0, 1.0),
        (Table::Plain(205.0), 0.05, 1.0),
        (Table::Wood(120.0, 28.0), -0.05, 0.6),
        (Table::Wood(180.0, 20.0), 0.03, 1.0),
        (Table::Plain(245.0), 0.0, 1.0),
    ] {
        for (turn, tilt) in [(92.0, 18.0), (10.0, 22.0), (140.0, 5.0)] {
            let scene = Scene { table, shadow, paper: 220.0, ..Scene::default() };
            let camera = Camera { turn, tilt, k, fill: 0.8, ..Camera::default() };
            let found = find_paper(&camera.photograph(&layout, original, &scene));
            let found = found.unwrap_or_else(|| panic!("{table:?} {k} {turn}"));
            let off =
                found.iter().zip(truth(&camera, &scene)).map(|(a, b)| a.distance(b)).fold(0.0, f64::max);
            // On a table that is brighter than the paper, the paper's own shadow is taken for a part of it.
            let most = if matches!(table, Table::Plain(245.0)) { 8.0 } else { 1.0 };
            assert!(off < most, "{table:?} {k} {turn}: {found:?} instead of {:?}", truth(&camera, &scene));
        }
    }
}

#[test]
fn a_flat_bed_scan_is_placed_by_the_edges_of_its_paper() {
    let (layout, original) = letter();
    let dpi = Dpi::new(150.0).unwrap();
    let ppm = dpi.px_per_mm();
    for (turn, lid) in [(1.5, 205.0), (-88.0, 30.0), (88.0, 190.0), (-2.0, 235.0)] {
        let (photo, scale) = ((1900, 2000), ppm * 1.004);
        let drawn = Camera { photo, tilt: 0.0, turn, ..Camera::default() };
        let scene =
            Scene { table: Table::Plain(lid), paper: 222.0, fall: 0.0, lift: 1.0, ..Scene::default() };
        let map = Affine::shift(950.0, 1000.0)
            * Affine::turn(turn)
            * Affine::scale(scale, scale)
            * Affine::shift(-layout.sheet.width.get() / 2.0, -layout.sheet.height.get() / 2.0);
        let scan = drawn.drawn_by(map.into(), &layout, original, &scene);
        let placed = place_by_edges(&scan, dpi, original).unwrap_or_else(|| panic!("{turn} {lid}"));
        let corner = Point::new(
            (original.width.get() - layout.sheet.width.get()) / 2.0 + scene.feed.x,
            (original.height.get() - layout.sheet.height.get()) / 2.0 + scene.feed.y,
        );
        for p in [(0.0, 0.0), (215.9, 0.0), (100.0, 279.4)].map(|(x, y)| Point::new(x, y)) {
            let got = placed * (map * p);
            let off = got.distance(Point::new(p.x + corner.x, p.y + corner.y));
            assert!(off < 0.3, "{off} mm off, turned {turn} on {lid}");
        }
        // Another paper than the one that was scanned is not made to fit.
        assert_eq!(place_by_edges(&scan, dpi, SheetFormat::A4.size()), None);
    }
    let (photo, scene) =
        ((1000, 1300), Scene { table: Table::Plain(222.0), paper: 222.0, ..Scene::default() });
    let unseen = Camera { photo, turn: 0.0, fill: 1.3, ..Camera::default() };
    assert_eq!(place_by_edges(&unseen.photograph(&layout, original, &scene), dpi, original), None);
}

#[test]
fn a_blank_or_tiny_picture_shows_no_paper() {
    for (w, h) in [(1, 1), (2, 300), (40, 30), (900, 700)] {
        assert_eq!(find_paper(&GrayRaster::filled(w, h, 120).unwrap()), None);
    }
}
