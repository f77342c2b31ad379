//! Two sides, paper and the printed dummy, done at the window as a person would.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_core::units::{Mm, SheetFormat};
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::store;
use slipsheet_paper::fold::{self, Face};
use slipsheet_paper::turning::Turning;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

/// A leaflet of two sides: a block low on the right of the back, nothing on the front.
fn at_work(dir: &std::path::Path) -> Person {
    let scan = letter_with_block(dir, "sea.png", [150.0, 20.0, 100.0, 60.0], 0);
    let path = dir.join("two.slipsheet");
    let mut project =
        Project::new("Two sides", SheetFormat::Letter, Shelf::starter().unwrap().stocks.remove(0));
    project.main.fold = fold::find("letter6");
    project.main.back_slip.dx = Mm::new(0.3);
    store::save(&project, &path).unwrap();
    let mut person = Person::sized(dir, Some(&path), egui::vec2(1360.0, 1500.0));
    person.drop_files(&[scan]);
    person.click("back");
    person
}

#[test]
fn a_person_turns_the_sheet_slips_the_back_and_takes_both_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    assert_eq!(person.project().main.layers[0].face, Face::Back);
    person.harness.get_by_role_and_label(Role::ComboBox, "Turned by").scroll_to_me();
    person.settle();
    person.harness.get_by_role_and_label(Role::ComboBox, "Turned by").click();
    person.settle();
    person.click("Work-and-tumble");
    assert_eq!(person.project().main.turning, Turning::WorkAndTumble);
    person.harness.get_by_label_contains("turned head over foot");
    person.click("Reset back");
    assert!(person.project().main.back_slip.is_none());
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.project().main.back_slip.dx, Mm::new(0.3));
    person.press(Modifiers::COMMAND, Key::R);
    assert!(person.project().main.back_slip.is_none());
}

#[test]
fn the_back_shows_through_the_front_on_the_other_side_and_says_that_it_is_an_estimate() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    let light = |person: &Person| -> [u64; 2] {
        let picture = person.harness.state().sheet_picture().unwrap();
        let mut halves = [0; 2];
        for (i, p) in picture.pixels.iter().enumerate() {
            halves[usize::from(i % picture.width >= picture.width / 2)] += u64::from(p[1]);
        }
        halves
    };
    let bare = light(&person);
    person.press(Modifiers::NONE, Key::O);
    let seen = light(&person);
    person.harness.get_by_label_contains("Show-through: ");
    // Right on the back is left on the front.
    assert!(seen[0] < bare[0] && bare[0] - seen[0] > 3 * (bare[1] - seen[1]), "{bare:?} {seen:?}");
    person.press(Modifiers::NONE, Key::O);
    assert_eq!(light(&person), bare);
}

#[test]
fn folding_steps_are_shown_and_the_dummy_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    person.press(Modifiers::NONE, Key::J);
    person.harness.get_by_label("Step 2");
    person.click("Close");
    let to = dir.path().join("dummy.pdf");
    person.paths.lay(Answer::Paths(vec![to.clone()]));
    person.choose("File", "Export printed dummy");
    person.harness.get_by_label_contains("Pale blue, to draw over").click();
    person.settle();
    person.click("Export…");
    assert!(std::fs::read(to).unwrap().starts_with(b"%PDF-"));
}
