//! Fold schemes drawn at the window as a person would: from an empty sheet to a fold in use, and to one that
//! is kept on the shelf.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use slipsheet_paper::fold::{self, Scheme};
use slipsheet_tests::window::Person;

fn fold_in_use(person: &Person) -> Option<Scheme> {
    person.project().main.fold.clone()
}

/// Opens the editor on an empty sheet of three panels and creases it as a letter fold.
fn draw_letter(person: &mut Person) {
    person.press(Modifiers::COMMAND, Key::F);
    person.click("New…");
    assert!(person.says("Nothing is creased yet"));
    // Nothing -> valley -> mountain.
    person.click("Vertical line 1, row 1: not used");
    person.click("Vertical line 1, row 1: valley");
    person.click("Crease 1: right side moves");
    person.click("Vertical line 2, row 1: not used");
    person.click("Vertical line 2, row 1: valley");
}

#[test]
fn a_letter_fold_is_drawn_from_nothing_used_and_undone() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    let before = fold_in_use(&person);
    draw_letter(&mut person);
    assert!(person.says("has no page yet"));
    assert!(person.says("2 of 2"));
    person.click("Number the pages");
    assert!(person.says("It folds: 6 pages in reading order"));
    person.type_into("Name of the fold", "Tide letter");
    person.click("Use in project");

    let scheme = fold_in_use(&person).unwrap();
    let shipped = fold::find("letter6").unwrap();
    assert_eq!((scheme.name.as_str(), &scheme.id[..4]), ("Tide letter", "own-"));
    assert_eq!((&scheme.front, &scheme.back), (&shipped.front, &shipped.back));
    assert_eq!(scheme.check(), Ok(()));
    // One step of history.
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(fold_in_use(&person), before);
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert_eq!(fold_in_use(&person), Some(scheme));
}

#[test]
fn an_impossible_fold_is_refused_in_words() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.press(Modifiers::COMMAND, Key::F);
    person.click("New…");
    person.click("Add after Row 1");
    // A crease over the upper half alone cannot be folded.
    person.click("Single stretches");
    person.click("Vertical line 2, row 1: not used");
    assert!(person.says("Step 1 ends inside the paper"));
    assert!(person.harness.get_by_label("Use in project").accesskit_node().is_disabled());
    // Slit apart from the lower half it folds.
    person.click("Horizontal line 1, column 3: not used");
    person.click("Horizontal line 1, column 3: valley");
    person.click("Horizontal line 1, column 3: mountain");
    person.click("Number the pages");
    assert!(person.says("It folds: 12 pages"));
    assert!(person.says("cutting away from your fingers"));
    // So does the lower half with a crease of its own.
    person.click("Whole lines");
    person.click("Vertical line 2, row 2: not used");
    person.click("Number the pages");
    assert!(person.says("It folds: 12 pages"));
}

#[test]
fn pages_are_named_by_hand_and_held_to_the_folds() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    let before = fold_in_use(&person);
    draw_letter(&mut person);
    person.click("Number the pages");
    person.click("Front panel, column 1, row 1");
    let field = person.spin("Page");
    // Typed as a person does: a double click opens the field.
    person.harness.hover_at(field);
    person.harness.step();
    person.harness.drag_at(field);
    person.harness.drop_at(field);
    person.harness.step();
    person.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    person.harness.step();
    person.harness.event(egui::Event::Text("6".to_owned()));
    person.harness.step();
    person.harness.key_press(Key::Enter);
    person.settle();
    assert!(person.says("exactly once"), "page 6 is named twice");
    // Numbered from another panel, if that one can be page 1; the middle one lies outside, too.
    person.click("Front panel, column 3, row 1");
    person.click("Number from here");
    assert!(person.says("It folds: 6 pages"));
    // The editor takes its own steps back without closing.
    person.click("Clear");
    assert!(person.says("has no page yet"));
    person.click("Undo");
    assert!(person.says("It folds: 6 pages"));
    person.click("Cancel");
    assert_eq!(fold_in_use(&person), before);
}

#[test]
fn a_fold_kept_on_the_shelf_is_found_again_and_removed() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    draw_letter(&mut person);
    person.click("Number the pages");
    person.type_into("Name of the fold", "Tide letter");
    person.click("Save to shelf");
    assert_eq!(person.harness.state().session().shelf().folds[0].name, "Tide letter");
    assert_eq!(person.home().shelf().0.folds.len(), 1);
    drop(person);

    // Another day.
    let mut person = Person::at(dir.path(), None);
    person.harness.get_by_role_and_label(Role::ComboBox, "Fold").click();
    person.settle();
    person.click("Tide letter");
    assert_eq!(fold_in_use(&person).unwrap().name, "Tide letter");
    person.press(Modifiers::COMMAND, Key::F);
    // The list opens at the fold in use.
    assert!(person.says("6 pages on both faces, on the shelf"));
    person.click("Remove");
    assert!(person.home().shelf().0.folds.is_empty());
    // The project keeps its copy.
    assert_eq!(fold_in_use(&person).unwrap().name, "Tide letter");
}
