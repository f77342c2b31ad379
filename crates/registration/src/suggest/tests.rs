use super::*;
use crate::slip::run::testing::two_boxes;
use crate::slip::{Covers, Study, StudyOptions};
use slipsheet_core::units::Dpi;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::ids::LayerId;
use slipsheet_paper::fold::Face;
use slipsheet_render::{Scene, Show, View};

#[test]
fn what_is_drawn_and_what_is_studied_have_the_remedy() {
    let (mut printing, images) = two_boxes(0.0);
    printing.press_dpi = Dpi::new(300.0).unwrap();
    let options = StudyOptions::of(&printing.press, Face::Front);
    printing.acceptance = Acceptance::of(0.15, 0.05, None);
    let tolerance = |p: &slipsheet_document::printing::Printing| {
        Study::of(p, &images, &options).unwrap().tolerance(&p.acceptance).least().unwrap().0
    };
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
    let width = |printing: &slipsheet_document::printing::Printing, layer: usize| {
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
fn the_smallest_trap_that_is_enough_is_suggested() {
    let (mut printing, images) = two_boxes(0.1);
    printing.acceptance = Acceptance::of(0.15, 0.05, None);
    let options = StudyOptions::of(&printing.press, Face::Front);
    let found = suggest(&printing, &images, &options, 0.6, &|| false).unwrap().unwrap();
    let Remedy::Spread(by) = found.remedy else { panic!("{found:?}") };
    // Tolerance is trap + 0.15, so 0.35 mm more are needed.
    assert!((by.get() - 0.35).abs() < 0.05, "{found:?}");
    assert!(found.before.unwrap() < 0.3 && found.after.unwrap() >= 0.599, "{found:?}");
    assert_eq!(suggest(&printing, &images, &options, 0.2, &|| false).unwrap(), None);
}

#[test]
fn a_spread_changes_the_coverage_of_its_own_layer_alone() {
    let (mut printing, images) = two_boxes(2.0);
    let dpi = Dpi::new(150.0).unwrap();
    printing.press_dpi = dpi;
    printing.sheet.layers[0].remedies =
        vec![Remedy::Knockout { under: LayerId::new(1), trap: Growth::new(0.5) }];
    let covers =
        |p: &slipsheet_document::printing::Printing| Covers::of(p, &images, Face::Front, dpi).unwrap();
    let mut known = covers(&printing);
    let before = known.inks.clone();
    printing.sheet.layers[1].remedies = vec![Remedy::Spread(Growth::new(0.4))];
    known.renew(&printing, &images, 1, dpi).unwrap();
    assert_eq!(known.inks, covers(&printing).inks);
    assert!(known.inks[0] == before[0] && known.inks[1] != before[1]);
}
