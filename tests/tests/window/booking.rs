//! A person in the Booking view: terms, findings, undo, and the pack.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::cli::Ending;
use slipsheet::window::Answer;
use slipsheet_tests::programs::slipsheet;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

fn at_booking(folder: &std::path::Path) -> Person {
    let scan = letter_with_block(folder, "sea.png", [20.0, 20.0, 80.0, 60.0], 60);
    let path = folder.join("walk.slipsheet");
    let (ending, _, err) = slipsheet(&[
        "new",
        "--sheet",
        "letter",
        "--fold",
        "slit8",
        "-o",
        path.to_str().unwrap(),
        scan.to_str().unwrap(),
    ]);
    assert_eq!(ending, Ending::Fine, "{err}");
    // Coarse masters, for the time a pack takes.
    let text = std::fs::read_to_string(&path).unwrap().replace("press_dpi: 600.0", "press_dpi: 100.0");
    std::fs::write(&path, text).unwrap();
    let mut person = Person::at(folder, Some(&path));
    person.press(Modifiers::NONE, Key::F4);
    person
}

#[test]
fn copies_are_typed_counted_and_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut person = at_booking(folder.path());
    person.click("Cost, line by line");
    person.harness.get_by_label("Masters");
    person.harness.get_by_role_and_label(Role::SpinButton, "Copies").focus();
    person.settle();
    person.press(Modifiers::COMMAND, Key::A);
    person.harness.event(egui::Event::Text("120".to_owned()));
    person.settle();
    person.press(Modifiers::NONE, Key::Enter);
    assert_eq!(person.project().job.copies, 120);
    assert!(person.says("120 copies; enter your shop's prices"));
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.project().job.copies, 0);
}

#[test]
fn the_first_price_is_typed_to_its_end_without_the_fields_moving() {
    let folder = tempfile::tempdir().unwrap();
    let mut person = at_booking(folder.path());
    assert!(person.harness.state().session().project().job.prices.says_nothing());
    let field = person.spin("Master");
    person.harness.get_by_role_and_label(Role::SpinButton, "Master").focus();
    person.settle();
    person.press(Modifiers::COMMAND, Key::A);
    for typed in ["2", ".", "7", "5"] {
        person.harness.event(egui::Event::Text(typed.to_owned()));
        person.settle();
        assert_eq!(person.spin("Master").y, field.y, "after {typed}");
    }
    person.press(Modifiers::NONE, Key::Enter);
    assert_eq!(person.harness.state().session().project().job.prices.master.get(), 2.75);
    // All of it is one step of history.
    person.press(Modifiers::COMMAND, Key::Z);
    assert!(person.harness.state().session().project().job.prices.says_nothing());
}

#[test]
fn a_finding_is_accepted_with_a_note_and_listed_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut person = at_booking(folder.path());
    let count = person.harness.query_all_by_label("Accept…").count();
    assert!(count > 0);
    person.harness.get_all_by_label("Accept…").next().unwrap().click();
    person.settle();
    person.harness.get_by_role_and_label(Role::TextInput, "Why it is fine").focus();
    person.settle();
    person.harness.event(egui::Event::Text("known to the shop".to_owned()));
    person.settle();
    person.click("Accept");
    let accepted = person.project().main.accepted.clone();
    assert_eq!(accepted.len(), 1);
    assert_eq!(accepted[0].note, "known to the shop");
    assert_eq!(person.harness.query_all_by_label("Accept…").count(), count - 1);
    // It may lie below the fold.
    person.harness.get_by_label("Reopen").click_accesskit();
    person.settle();
    assert!(person.project().main.accepted.is_empty());
}

#[test]
fn the_pack_is_made_in_a_folder_that_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let mut person = at_booking(folder.path());
    let pack = folder.path().join("walk pack");
    person.paths.lay(Answer::Paths(vec![pack.clone()]));
    person.press(Modifiers::COMMAND, Key::B);
    person.click("a ZIP file of the folder");
    person.click("Choose a folder…");
    assert!(pack.join("manifest.json").is_file() && pack.join("ticket.pdf").is_file());
    let plates = std::fs::read_dir(pack.join("plates")).unwrap().count();
    assert_eq!(plates, 1);
    assert!(folder.path().join("walk pack.zip").is_file());
    // The choice is kept for the next pack, and the person is told where this one is.
    assert!(person.home().settings().0.pack.zip);
    let notified = person.harness.state().session().notices().iter().any(|n| n.text.contains("walk pack"));
    assert!(notified);
}
