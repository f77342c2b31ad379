//! The Run view, driven by what a person sees: tolerance, copies, a place that slips, passes and remedies.

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet_core::remedy::Remedy;
use slipsheet_core::slip::{Study, StudyOptions};
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

/// Two boxes that abut with a trap of one pixel, 0.42 mm, at x = 60 mm.
fn two_boxes(dir: &std::path::Path) -> Person {
    let scans = [
        letter_with_block(dir, "sea.png", [60.0, 20.0, 40.0, 60.0], 0),
        letter_with_block(dir, "sand.png", [20.0, 20.0, 40.8, 60.0], 0),
    ];
    let mut person = Person::at(dir, None);
    person.drop_files(&scans);
    person
}

#[test]
fn the_run_view_tells_the_tolerance_and_the_share_of_good_copies() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    let session = person.harness.state().session();
    let options = StudyOptions::of(&session.project().press, Default::default());
    let study = Study::of(session.project(), session.images(), &options).unwrap();
    let tolerance = study.tolerance().unwrap().0;
    assert!((tolerance - 0.57).abs() < 0.03, "{tolerance}");
    // The line of figures leads here.
    person.harness.get_by_label(&format!("Tolerance {tolerance:.2} mm")).click();
    person.settle();
    person.harness.get_by_label("Slip rose");
    person.harness.get_by_label_contains("% good copies");
    person.harness.get_by_label_contains("good ones print");

    // Copies can be flipped through by key.
    person.harness.get_by_label("Copies").click();
    person.settle();
    person.harness.get_by_label("Contact sheet");
    person.harness.get_by_label("Copy 1 of 200");
    person.press(Modifiers::NONE, Key::ArrowRight);
    person.harness.get_by_label("Copy 2 of 200");
    person.press(Modifiers::NONE, Key::ArrowLeft);
    person.press(Modifiers::NONE, Key::ArrowLeft);
    person.harness.get_by_label("Copy 200 of 200");
}

#[test]
fn a_tight_place_plays_its_slip_and_leaves_the_project_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.press(Modifiers::NONE, Key::F3);
    let before = person.harness.state().session().project().clone();
    person.harness.get_by_label_contains("Place 1: 60, ").click();
    person.settle();
    assert_eq!(person.harness.state().session().project(), &before);
    person.harness.get_by_label("Sheet").hover();
    person.settle();
}

#[test]
fn remedies_and_passes_are_steps_of_history() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.press(Modifiers::NONE, Key::F3);
    person.harness.get_by_label("Remedies").click();
    person.settle();
    person.harness.get_by_label("Spread").click();
    person.settle();
    let remedies = |p: &Person| p.harness.state().session().project().layers[1].remedies.clone();
    assert!(matches!(remedies(&person)[..], [Remedy::Spread(by)] if by.get() == 0.2));
    // 0.2 mm more trap: 0.77 mm.
    person.harness.get_by_label_contains("mm before, 0.7");
    person.press(Modifiers::COMMAND, Key::Z);
    assert!(remedies(&person).is_empty());

    person.harness.get_by_label("Print sea and sand in one pass").click();
    person.settle();
    let together = |p: &Person| p.harness.state().session().project().layers[1].with_previous;
    assert!(together(&person));
    person.press(Modifiers::COMMAND, Key::Z);
    assert!(!together(&person));

    person.harness.get_by_label("Passes").click();
    person.settle();
    person.harness.get_by_label_contains("Use plan").click();
    person.settle();
    assert!(together(&person));
    person.harness.get_by_label("in use");

    // The press: another drum count changes the plans, and is undone.
    person.harness.get_by_label("Press").click();
    person.settle();
    person.harness.get_by_label("1 drum").click();
    person.settle();
    assert_eq!(person.harness.state().session().project().press.drums, 1);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.harness.state().session().project().press.drums, 2);
}
