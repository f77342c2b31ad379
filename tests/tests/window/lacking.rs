//! What a project lacks is said before it is complete, and nothing is judged before it is there.

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_tests::window::Person;

use super::overlay::with_two_layers;

/// Whether a label of a window without a person at it has this in it.
fn says(harness: &egui_kittest::Harness<'_, slipsheet::window::SlipsheetApp>, text: &str) -> bool {
    harness.query_all_by_label_contains(text).next().is_some()
}

#[test]
fn run_and_findings_say_what_is_lacking_before_they_judge() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    // An empty project: nothing is wrong with it.
    person.press(Modifiers::NONE, Key::F4);
    person.harness.get_by_label("Add scans first");
    assert!(!person.says("is an estimate") && !person.says("no artwork in any ink"));
    person.press(Modifiers::NONE, Key::F3);
    person.harness.get_by_label("Add scans first");
    // A layer without artwork has no edges either.
    person.click("Sheet");
    person.click("+");
    person.click("Run");
    person.harness.get_by_label("Add scans first");
    assert!(!person.says("forgives") && !person.says("No tight edges"));
    drop(person);

    // Saved, and opened where one of its scans is gone.
    let work = tempfile::tempdir().unwrap();
    drop(with_two_layers(work.path()));
    std::fs::remove_file(work.path().join("type.png")).unwrap();
    let mut person = Person::at(dir.path(), Some(&work.path().join("two.slipsheet")));
    person.press(Modifiers::NONE, Key::F3);
    person.harness.get_by_label("1 scan could not be read");
    assert!(!person.says("forgives") && !person.says("No tight edges") && !person.says("good copies"));
}

#[test]
fn while_scans_are_read_run_waits_for_them() {
    let work = tempfile::tempdir().unwrap();
    drop(with_two_layers(work.path()));
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.press(Modifiers::NONE, Key::F3);
    // Opened under the Run view: the frame in which it opens has none of its scans yet.
    person.paths.lay(Answer::Paths(vec![work.path().join("two.slipsheet")]));
    let harness = &mut person.harness;
    harness.key_press_modifiers(Modifiers::COMMAND, Key::O);
    while harness.state().session().project().main.layers.is_empty() {
        harness.step();
    }
    // Until the scans have come, every frame says so and none says anything else.
    for _ in 0..2000 {
        let session = harness.state().session();
        let all = session.project().every_art().all(|a| session.images().get(&a.scan.key).is_some());
        if all {
            break;
        }
        assert!(
            !says(harness, "No tight edges") && !says(harness, "forgives"),
            "a verdict before the scans are there"
        );
        std::thread::sleep(std::time::Duration::from_millis(2));
        harness.step();
    }
    let start = std::time::Instant::now();
    while !says(harness, "Tolerance") && !says(harness, "No tight edges") {
        assert!(start.elapsed().as_secs() < 120, "no study comes");
        std::thread::sleep(std::time::Duration::from_millis(5));
        harness.step();
    }
}
