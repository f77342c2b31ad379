//! What remedies do to the fit of two layers, by closed forms.

use super::run::testing::{shapes, two_boxes};
use super::{Covers, Study, StudyOptions};
use slipsheet_core::units::Dpi;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::ids::LayerId;
use slipsheet_document::printing::Printing;
use slipsheet_document::remedy::{Growth, Remedy};
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

/// The traps of a study's stretches, those at the very ends left out.
fn traps(printing: &Printing, images: &Images) -> Vec<f64> {
    let study = Study::of(printing, images, &StudyOptions::default()).unwrap();
    study.tight.iter().filter(|t| t.length > 0.4).map(|t| t.trap).collect()
}

#[test]
fn a_trap_at_a_kiss_fit_is_studied_as_wide_as_it_was_asked_for() {
    // Closed forms: shapes that share an edge overlap by the trap after it, all along the edge.
    let in_disc = |x: f64, y: f64| libm::hypot(x - 30.03, y - 20.0) < 10.0;
    let ground = |x: f64, y: f64| (5.0..55.0).contains(&x) && (3.0..37.0).contains(&y);
    let squares = two_boxes(0.0);
    let discs = shapes(&[&|x, y| ground(x, y) && !in_disc(x, y), &in_disc]);
    for (name, (mut printing, images)) in [("squares", squares), ("discs", discs)] {
        for dpi in [200.0, 300.0, 600.0] {
            printing.press_dpi = Dpi::new(dpi).unwrap();
            for (layer, other) in [(0, 1), (1, 0)] {
                for trap in [0.3, 1.0] {
                    let mut trapped = printing.clone();
                    let with = LayerId::new(other);
                    trapped.sheet.layers[layer].remedies = vec![Remedy::Trap { with, by: Growth::new(trap) }];
                    let traps = traps(&trapped, &images);
                    let length = traps.len();
                    assert!(length > 12, "{name} at {dpi} dpi, {trap} mm: {length} stretches");
                    // At 200 dpi a quarter of a pixel is 0.03 mm.
                    let near = if dpi < 300.0 { 0.04 } else { 0.03 };
                    for got in traps {
                        assert!((got - trap).abs() < near, "{name} at {dpi} dpi: {got} mm for {trap}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_gap_on_purpose_is_drawn_as_wide_as_it_was_asked_for_and_is_no_fit_any_more() {
    let (mut printing, images) = two_boxes(0.3);
    for (layer, other) in [(0, 1), (1, 0)] {
        let mut apart = printing.clone();
        let from = LayerId::new(other);
        apart.sheet.layers[layer].remedies = vec![Remedy::Gap { from, by: Growth::new(0.6) }];
        let scene = Scene::new(&apart, &images, Show::default()).unwrap();
        let view = View::sheet(apart.sheet.size(), Dpi::new(254.0).unwrap());
        let ink = |layer: usize| {
            let plate = scene.plate(layer, &view).unwrap();
            plate.row(200).iter().map(|g| 255.0 - f64::from(*g)).sum::<f64>() / 2550.0
        };
        // Together they reach from 5 to 55 mm, with nothing else between them than the white.
        let white = 50.0 - ink(0) - ink(1);
        assert!((white - 0.6).abs() < 0.05, "{white}");
        assert!(traps(&apart, &images).is_empty());
    }
    printing.sheet.layers.truncate(1);
    assert!(traps(&printing, &images).is_empty());
}

#[test]
fn what_is_drawn_and_what_is_studied_have_the_remedy() {
    let (mut printing, images) = two_boxes(0.0);
    printing.press_dpi = Dpi::new(300.0).unwrap();
    let options = StudyOptions::of(&printing.press, Face::Front);
    printing.acceptance = Acceptance::of(0.15, 0.05, None);
    let tolerance =
        |p: &Printing| Study::of(p, &images, &options).unwrap().tolerance(&p.acceptance).least().unwrap().0;
    let before = tolerance(&printing);
    printing.sheet.layers[1].remedies = vec![Remedy::Spread(Growth::new(0.3))];
    let after = tolerance(&printing);
    assert!((before - 0.15).abs() < 0.02 && (after - before - 0.3).abs() < 0.03, "{before} {after}");
    // The second box reached to x = 30 mm; it is drawn to 30.3.
    let scene = Scene::new(&printing, &images, Show::default()).unwrap();
    let plate = scene.plate(1, &View::sheet(printing.sheet.size(), Dpi::new(254.0).unwrap())).unwrap();
    let ink: f64 = plate.row(200).iter().map(|g| 255.0 - f64::from(*g)).sum::<f64>() / 2550.0;
    assert!((ink - 25.6).abs() < 0.05, "{ink}");
    // A remedy slips with its layer.
    printing.sheet.layers[1].slip.dx = slipsheet_core::units::Mm::new(5.0);
    let scene = Scene::new(&printing, &images, Show::default()).unwrap();
    let plate = scene.plate(1, &View::sheet(printing.sheet.size(), Dpi::new(254.0).unwrap())).unwrap();
    assert!(plate.row(200)[345] < 128 && plate.row(200)[90] == 255);
}

#[test]
fn a_knockout_leaves_its_trap_and_a_fill_closes_it_again() {
    let (mut printing, images) = two_boxes(10.0);
    printing.press_dpi = Dpi::new(300.0).unwrap();
    let width = |printing: &Printing, layer: usize| {
        let scene = Scene::new(printing, &images, Show::default()).unwrap();
        let plate =
            scene.plate(layer, &View::sheet(printing.sheet.size(), Dpi::new(254.0).unwrap())).unwrap();
        plate.row(200).iter().map(|g| 255.0 - f64::from(*g)).sum::<f64>() / 2550.0
    };
    // The first box runs from 30 to 55, the second over it to 40.
    assert!((width(&printing, 0) - 25.0).abs() < 0.05);
    printing.sheet.layers[0].remedies =
        vec![Remedy::Knockout { under: LayerId::new(1), trap: Growth::new(0.5) }];
    let cut = width(&printing, 0);
    assert!((cut - 15.5).abs() < 0.1, "{cut}");
    let study = Study::of(&printing, &images, &StudyOptions::default()).unwrap();
    let trap = study.worst(1)[0].tight.trap;
    assert!((trap - 0.5).abs() < 0.06, "{trap}");
    printing.sheet.layers[0].remedies.push(Remedy::Fill { under: LayerId::new(1) });
    assert!(width(&printing, 0) > 24.5, "{}", width(&printing, 0));
}

#[test]
fn a_spread_changes_the_coverage_of_its_own_layer_alone() {
    let (mut printing, images) = two_boxes(2.0);
    let dpi = Dpi::new(150.0).unwrap();
    printing.press_dpi = dpi;
    printing.sheet.layers[0].remedies =
        vec![Remedy::Knockout { under: LayerId::new(1), trap: Growth::new(0.5) }];
    let covers = |p: &Printing| Covers::of(p, &images, Face::Front, dpi).unwrap();
    let mut known = covers(&printing);
    let before = known.inks.clone();
    printing.sheet.layers[1].remedies = vec![Remedy::Spread(Growth::new(0.4))];
    known.renew(&printing, &images, 1, dpi).unwrap();
    assert_eq!(known.inks, covers(&printing).inks);
    assert!(known.inks[0] == before[0] && known.inks[1] != before[1]);
}
