use super::*;
use crate::fold::Face;
use crate::raster::GrayRaster;
use crate::render::{Scene, Show, View};
use crate::slip::run::testing::two_boxes;
use crate::slip::{Covers, Study, StudyOptions};
use crate::units::Dpi;

fn noise(width: u32, height: u32) -> GrayRaster {
    let mut random = crate::slip::random::SplitMix::new(3);
    let pixels = (0..width * height).map(|_| if random.uniform() < 0.9 { 255 } else { random.bits() as u8 });
    GrayRaster::new(width, height, pixels.collect()).unwrap()
}

#[test]
fn a_spread_is_the_darkest_gray_within_the_disc() {
    let plate = noise(61, 43);
    for radius in [1, 2, 3, 5, 9, 30] {
        let got = spread(&plate, f64::from(radius));
        for y in 0..43_i32 {
            for x in 0..61_i32 {
                let mut least = 255;
                for dy in -radius..=radius {
                    for dx in -radius..=radius {
                        let (sx, sy) = (x + dx, y + dy);
                        let inside = (0..61).contains(&sx) && (0..43).contains(&sy);
                        if dx * dx + dy * dy <= radius * radius && inside {
                            least = least.min(plate.row(sy as u32)[sx as usize]);
                        }
                    }
                }
                assert_eq!(got.row(y as u32)[x as usize], least, "{x} {y} at {radius}");
            }
        }
    }
}

#[test]
fn a_spread_between_whole_pixels_lies_between_and_a_choke_undoes_a_convex_one() {
    let mut plate = GrayRaster::filled(80, 60, 255).unwrap();
    for y in 20..40 {
        plate.pixels_mut()[y * 80 + 30..y * 80 + 50].fill(0);
    }
    let ink = |p: &GrayRaster| p.row(30).iter().map(|g| 255.0 - f64::from(*g)).sum::<f64>() / 255.0;
    assert!((ink(&spread(&plate, 2.5)) - 25.0).abs() < 0.02);
    assert!((ink(&choked(&plate, 2.5)) - 15.0).abs() < 0.02);
    assert_eq!(choked(&spread(&plate, 6.0), 6.0), plate);
}

#[test]
fn what_is_drawn_and_what_is_studied_have_the_remedy() {
    let (mut project, images) = two_boxes(0.0);
    project.press_dpi = Dpi::new(300.0).unwrap();
    let options = StudyOptions::of(&project.press, Face::Front);
    let before = Study::of(&project, &images, &options).unwrap().tolerance().unwrap().0;
    project.layers[1].remedies = vec![Remedy::Spread(Growth::new(0.3))];
    let after = Study::of(&project, &images, &options).unwrap().tolerance().unwrap().0;
    assert!((before - 0.15).abs() < 0.02 && (after - before - 0.3).abs() < 0.03, "{before} {after}");
    // The second box reached to x = 30 mm; it is drawn to 30.3.
    let scene = Scene::new(&project, &images, Show::default()).unwrap();
    let plate = scene.plate(1, &View::sheet(project.sheet_size(), Dpi::new(254.0).unwrap())).unwrap();
    let ink: f64 = plate.row(200).iter().map(|g| 255.0 - f64::from(*g)).sum::<f64>() / 2550.0;
    assert!((ink - 25.6).abs() < 0.05, "{ink}");
    // A remedy slips with its layer.
    project.layers[1].slip.dx = crate::units::Mm::new(5.0);
    let scene = Scene::new(&project, &images, Show::default()).unwrap();
    let plate = scene.plate(1, &View::sheet(project.sheet_size(), Dpi::new(254.0).unwrap())).unwrap();
    assert!(plate.row(200)[345] < 128 && plate.row(200)[90] == 255);
}

#[test]
fn a_knockout_leaves_its_trap_and_a_fill_closes_it_again() {
    let (mut project, images) = two_boxes(10.0);
    project.press_dpi = Dpi::new(300.0).unwrap();
    let width = |project: &crate::project::Project, layer: usize| {
        let scene = Scene::new(project, &images, Show::default()).unwrap();
        let plate = scene.plate(layer, &View::sheet(project.sheet_size(), Dpi::new(254.0).unwrap())).unwrap();
        plate.row(200).iter().map(|g| 255.0 - f64::from(*g)).sum::<f64>() / 2550.0
    };
    // The first box runs from 30 to 55, the second over it to 40.
    assert!((width(&project, 0) - 25.0).abs() < 0.05);
    project.layers[0].remedies = vec![Remedy::Knockout { under: 1, trap: Growth::new(0.5) }];
    let cut = width(&project, 0);
    assert!((cut - 15.5).abs() < 0.1, "{cut}");
    let study = Study::of(&project, &images, &StudyOptions::default()).unwrap();
    let trap = study.worst(1)[0].tight.trap;
    assert!((trap - 0.5).abs() < 0.06, "{trap}");
    project.layers[0].remedies.push(Remedy::Fill { under: 1 });
    assert!(width(&project, 0) > 24.5, "{}", width(&project, 0));
}

#[test]
fn the_smallest_trap_that_is_enough_is_suggested() {
    let (project, images) = two_boxes(0.1);
    let options = StudyOptions::of(&project.press, Face::Front);
    let found = suggest(&project, &images, &options, 0.6, &|| false).unwrap().unwrap();
    let Remedy::Spread(by) = found.remedy else { panic!("{found:?}") };
    // Tolerance is trap + 0.15, so 0.35 mm more are needed.
    assert!((by.get() - 0.35).abs() < 0.05, "{found:?}");
    assert!(found.before.unwrap() < 0.3 && found.after.unwrap() >= 0.599, "{found:?}");
    assert_eq!(suggest(&project, &images, &options, 0.2, &|| false).unwrap(), None);
}

#[test]
fn a_spread_changes_the_coverage_of_its_own_layer_alone() {
    let (mut project, images) = two_boxes(2.0);
    let dpi = Dpi::new(150.0).unwrap();
    project.press_dpi = dpi;
    project.layers[0].remedies = vec![Remedy::Knockout { under: 1, trap: Growth::new(0.5) }];
    let covers = |p: &crate::project::Project| Covers::of(p, &images, Face::Front, dpi).unwrap();
    let mut known = covers(&project);
    let before = known.inks.clone();
    project.layers[1].remedies = vec![Remedy::Spread(Growth::new(0.4))];
    known.renew(&project, &images, 1, dpi).unwrap();
    assert_eq!(known.inks, covers(&project).inks);
    assert!(known.inks[0] == before[0] && known.inks[1] != before[1]);
}

#[test]
fn remedies_follow_the_layers_that_they_are_about() {
    let (mut project, _) = two_boxes(0.0);
    let trap = Growth::new(0.1);
    project.layers[0].remedies = vec![Remedy::Knockout { under: 1, trap }, Remedy::Spread(trap)];
    follow(&mut project.layers, |i| Some(i + 3));
    assert_eq!(project.layers[0].remedies[0], Remedy::Knockout { under: 4, trap });
    follow(&mut project.layers, |i| (i != 4).then_some(i));
    assert_eq!(project.layers[0].remedies, [Remedy::Spread(trap)]);
    let text = ron::to_string(&project.layers[0].remedies).unwrap();
    assert_eq!(ron::from_str::<Vec<Remedy>>(&text).unwrap(), project.layers[0].remedies);
    assert!(ron::from_str::<Remedy>("Spread(99.0)").unwrap_err().to_string().contains("from 0 to 5"));
}
