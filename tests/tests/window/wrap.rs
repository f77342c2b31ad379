//! A wrap made at the window: its sheet, its layers, back and forth, undo, save and open again.

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_booking::ink_use::ink_use;
use slipsheet_booking::verdict::Whole;
use slipsheet_document::terms::Money;
use slipsheet_files::store;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

fn layers(person: &Person) -> Vec<&str> {
    person.printing().sheet.layers.iter().map(|l| l.name.as_str()).collect()
}

/// A booklet with one layer, and a sleeve for it whose sheet is in hand.
fn with_a_sleeve(dir: &std::path::Path) -> Person {
    let mut person = Person::at(dir, None);
    person.drop_files(&[letter_with_block(dir, "sea.png", [20.0, 20.0, 100.0, 60.0], 0)]);
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::W);
    person.harness.get_by_label("Net of the sleeve");
    person.click("Add a sheet for the wrap");
    assert!(person.printing().is_wrap() && person.printing().sheet.layers.is_empty());
    person
}

#[test]
fn a_wrap_has_layers_of_its_own_that_are_saved_and_opened_again() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_a_sleeve(dir.path());
    person.drop_files(&[letter_with_block(dir.path(), "tube.png", [40.0, 40.0, 60.0, 60.0], 60)]);
    assert_eq!(layers(&person), ["tube"]);
    // The picture on screen is that of the wrap's sheet: something is printed on it.
    let picture = person.harness.state().sheet_picture().unwrap();
    let inside: Vec<_> = picture.pixels.iter().filter(|p| p[3] != 0).collect();
    assert!(inside.iter().any(|p| *p != inside[0]), "the wrap's art is not seen");

    person.click("Booklet");
    assert_eq!(layers(&person), ["sea"]);
    person.press(Modifiers::NONE, Key::W);
    assert_eq!(layers(&person), ["tube"]);

    // Saved with the wrap in hand: the file holds both, and opens on the booklet.
    let file = dir.path().join("both.slipsheet");
    person.paths.lay(Answer::Paths(vec![file.clone()]));
    person.press(Modifiers::COMMAND, Key::S);
    assert!(!person.harness.state().session().is_dirty());
    person.click("Booklet");
    assert!(!person.harness.state().session().is_dirty(), "turning is no change");
    let other = tempfile::tempdir().unwrap();
    let mut again = Person::at(other.path(), Some(&file));
    assert_eq!(layers(&again), ["sea"]);
    again.click("Wrap");
    assert_eq!(layers(&again), ["tube"]);
    let session = again.harness.state().session();
    let key = &session.project().main.layers[0].art[0].scan.key;
    assert!(session.images().get(key).is_some(), "scans of both sheets are read");
    assert!(session.missing().is_empty());
}

#[test]
fn undo_and_redo_come_back_to_the_sheet_that_a_step_belongs_to() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_a_sleeve(dir.path());
    person.press(Modifiers::COMMAND, Key::L);
    assert_eq!(person.printing().sheet.layers.len(), 1);
    person.click("Booklet");
    assert_eq!(layers(&person), ["sea"]);
    person.press(Modifiers::COMMAND, Key::Z);
    assert!(person.printing().is_wrap() && person.printing().sheet.layers.is_empty());
    person.click("Booklet");
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert!(person.printing().is_wrap() && person.printing().sheet.layers.len() == 1);
    // Two steps back there is no wrap any more, and the booklet is in hand.
    person.press(Modifiers::COMMAND, Key::Z);
    person.press(Modifiers::COMMAND, Key::Z);
    assert!(person.project().wrap.is_none());
    assert_eq!(layers(&person), ["sea"]);
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert!(person.project().wrap.is_some());
}

#[test]
fn a_missing_scan_of_the_wrap_is_found_and_collected_while_the_booklet_is_in_hand() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_a_sleeve(dir.path());
    let scan = letter_with_block(dir.path(), "tube.png", [40.0, 40.0, 60.0, 60.0], 60);
    person.drop_files(std::slice::from_ref(&scan));
    let file = dir.path().join("both.slipsheet");
    person.paths.lay(Answer::Paths(vec![file.clone()]));
    person.press(Modifiers::COMMAND, Key::S);
    drop(person);

    let away = dir.path().join("elsewhere");
    std::fs::create_dir(&away).unwrap();
    std::fs::rename(&scan, away.join("tube.png")).unwrap();
    let other = tempfile::tempdir().unwrap();
    let mut person = Person::at(other.path(), Some(&file));
    assert!(!person.printing().is_wrap());
    assert_eq!(person.harness.state().session().missing().len(), 1);
    person.paths.lay(Answer::Paths(vec![away]));
    person.click("File");
    person.click("Find missing scans…");
    assert!(person.harness.state().session().missing().is_empty());
    person.click("File");
    person.click("Copy scans beside project");
    let paths: Vec<&str> = person.project().every_art().map(|a| a.scan.path.as_str()).collect();
    assert_eq!(paths, ["both scans/sea.png", "both scans/tube.png"]);
    assert!(dir.path().join("both scans/tube.png").is_file());
}

#[test]
fn the_wraps_sheet_is_written_from_its_window() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::sized(dir.path(), None, egui::vec2(1100.0, 700.0));
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::W);
    person.click("Slipcase");
    person.harness.get_by_label("Net of the slipcase");
    for name in ["case.pdf", "case.svg"] {
        let file = dir.path().join(name);
        person.paths.lay(Answer::Paths(vec![file.clone()]));
        person.click("Export PDF or SVG…");
        let bytes = std::fs::read(&file).unwrap();
        assert!(bytes.starts_with(if name.ends_with("svg") { b"<?xml" } else { b"%PDF-" }));
    }
    assert!(person.project().wrap.is_none(), "writing it gives it no sheet");
}

#[test]
fn the_booking_counts_the_printing_of_the_wrap_whichever_sheet_is_in_hand() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_a_sleeve(dir.path());
    person.drop_files(&[letter_with_block(dir.path(), "tube.png", [40.0, 40.0, 60.0, 60.0], 60)]);
    let mut project = person.project().clone();
    let images = person.harness.state().session().images().clone();
    drop(person);
    (project.job.copies, project.job.overs) = (120, 10);
    let prices = &mut project.job.prices;
    (prices.master, prices.ink_kilogram) = (Money::new(3.0), Money::new(80.0));
    let file = dir.path().join("both.slipsheet");
    store::save(&project, &file).unwrap();
    let whole = Whole::of(&project, &mut |part| ink_use(part, &images));
    let each = project.job.prices.amount(whole.verdict.per_copy.unwrap());
    let wrap = whole.wrap.unwrap().total;
    assert!(wrap > 3.0 && (whole.verdict.total - whole.series.total - wrap).abs() < 1e-9);

    let home = tempfile::tempdir().unwrap();
    let mut person = Person::at(home.path(), Some(&file));
    for sheet in ["Booklet", "Wrap"] {
        person.click(sheet);
        person.settle();
        assert!(person.tab("Booking").starts_with(&format!("{:.2} a copy", whole.verdict.per_copy.unwrap())));
        person.press(Modifiers::NONE, Key::F4);
        person.harness.get_by_label(&each);
        person.press(Modifiers::NONE, Key::F5);
    }
}
