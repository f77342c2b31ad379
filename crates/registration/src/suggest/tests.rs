use super::*;
use crate::slip::run::testing::two_boxes;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_paper::fold::Face;

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
