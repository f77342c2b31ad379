//! What lies over the views keeps keys and dropped files from what is behind it.

use std::path::Path;

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use slipsheet::window::{Answer, Overlay};
use slipsheet_document::ids::LayerId;
use slipsheet_document::project::Project;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

const CTRL: Modifiers = Modifiers::COMMAND;
const BOTH: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

/// A window on two layers that is in the Sheet view, with its work saved.
pub(super) fn with_two_layers(dir: &Path) -> Person {
    let scans = [
        letter_with_block(dir, "sea.png", [20.0, 20.0, 100.0, 60.0], 0),
        letter_with_block(dir, "type.png", [120.0, 20.0, 60.0, 60.0], 0),
    ];
    let mut person = Person::at(dir, None);
    person.drop_files(&scans);
    let file = dir.join("two.slipsheet");
    person.paths.lay(Answer::Paths(vec![file]));
    person.press(CTRL, Key::S);
    assert!(!person.harness.state().session().is_dirty());
    person
}

/// Clicks the proof among the pages of the pack, or scrolls to it.
fn picture_of_the_proof(person: &Person, click: bool) {
    let named = person.harness.query_all_by_label_contains("Proof, ");
    let mut pictures = named.filter(|n| n.accesskit_node().role() == Role::Image);
    let Some(page) = pictures.next() else { panic!("the proof is not among the pages of the pack") };
    if click {
        page.click();
    } else {
        page.scroll_to_me();
    }
}

/// Opens one overlay as a person would. A new one does not compile until it says how.
fn open(dir: &Path, overlay: Overlay) -> Person {
    let mut person = with_two_layers(dir);
    match overlay {
        Overlay::Unsaved => {
            person.press(Modifiers::NONE, Key::ArrowRight);
            person.press(CTRL, Key::N);
        }
        Overlay::ChangedProject => {
            let mut theirs = person.project().clone();
            theirs.title = "Theirs".to_owned();
            slipsheet_files::store::save(&theirs, &dir.join("two.slipsheet")).unwrap();
            person.press(Modifiers::NONE, Key::ArrowRight);
            person.press(CTRL, Key::S);
        }
        Overlay::Path => person.press(CTRL, Key::I),
        Overlay::Recover => {
            let home = person.home();
            let claim = home.claim_recovery().unwrap();
            home.save_recovery(&claim, None, person.project(), &Default::default()).unwrap();
            drop(claim);
            person = Person::at(dir, None);
        }
        Overlay::Proof => person.press(CTRL, Key::E),
        Overlay::Pack => person.press(CTRL, Key::B),
        Overlay::DummyPicture => person.press(BOTH, Key::D),
        Overlay::Resolution => {
            let path = dir.join("plain.png");
            image::GrayImage::from_pixel(400, 300, image::Luma([30])).save(&path).unwrap();
            person.drop_files(&[path]);
        }
        Overlay::Landing => {
            let more = ["a.png", "b.png", "c.png", "d.png"];
            let scans = more.map(|n| letter_with_block(dir, n, [20.0, 20.0, 100.0, 60.0], 0));
            person.drop_files(&scans);
        }
        Overlay::Separating => {
            let path = dir.join("colour.png");
            image::RgbImage::from_pixel(60, 40, image::Rgb([200, 90, 30])).save(&path).unwrap();
            person.paths.lay(Answer::Paths(vec![path]));
            person.press(BOTH, Key::I);
        }
        Overlay::Mending => person.press(Modifiers::NONE, Key::X),
        Overlay::Parts => person.press(Modifiers::NONE, Key::K),
        Overlay::PrintedDummy => person.choose("File", "Export printed dummy"),
        Overlay::FoldingSteps => person.press(Modifiers::NONE, Key::J),
        Overlay::Help => person.press(Modifiers::NONE, Key::F1),
        Overlay::Licences => person.choose("Help", "Licences"),
        Overlay::Findings => {
            let figure = person.harness.query_all_by_label_contains("finding").last().unwrap();
            figure.click();
            person.settle();
        }
        Overlay::Calibration => {
            let table = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/FOGRA39L.txt");
            person.paths.lay(Answer::Paths(vec![table]));
            person.choose("File", "Import measured data");
        }
        Overlay::LineUp => person.press(Modifiers::NONE, Key::M),
        Overlay::Shelf => person.press(CTRL, Key::K),
        Overlay::FoldSchemes => person.press(CTRL, Key::F),
        Overlay::Editions => person.press(BOTH, Key::E),
        Overlay::Colourways => person.press(BOTH, Key::K),
        Overlay::Wrap => person.press(BOTH, Key::W),
        Overlay::Readings => person.press(Modifiers::NONE, Key::C),
        Overlay::PackPage => {
            person.press(Modifiers::NONE, Key::F4);
            for click in [false, true] {
                picture_of_the_proof(&person, click);
                person.settle();
            }
        }
    }
    assert_eq!(person.harness.state().overlay(), Some(overlay), "{} does not open", overlay.name());
    person
}

/// The project, what can be undone, what is selected, and the sheet that is opened.
fn behind(person: &Person) -> (Project, Option<String>, Option<LayerId>) {
    let session = person.harness.state().session();
    let undo = session.history().undo_label().map(str::to_owned);
    (session.project().clone(), undo, session.selection().layer)
}

/// Keys that do something in one view or another.
const KEYS: [(Modifiers, Key); 19] = [
    (Modifiers::NONE, Key::ArrowLeft),
    (Modifiers::SHIFT, Key::ArrowRight),
    (Modifiers::NONE, Key::ArrowUp),
    (Modifiers::SHIFT, Key::ArrowDown),
    (Modifiers::NONE, Key::Space),
    (Modifiers::NONE, Key::H),
    (Modifiers::NONE, Key::A),
    (Modifiers::NONE, Key::R),
    (Modifiers::NONE, Key::B),
    (Modifiers::NONE, Key::T),
    (Modifiers::NONE, Key::F2),
    (Modifiers::NONE, Key::F3),
    (CTRL, Key::L),
    (CTRL, Key::Delete),
    (CTRL, Key::ArrowUp),
    (CTRL, Key::ArrowDown),
    (CTRL, Key::R),
    (CTRL, Key::Z),
    (BOTH, Key::Z),
];

#[test]
fn neither_keys_nor_dropped_files_reach_behind_any_overlay() {
    for overlay in Overlay::ALL {
        let dir = tempfile::tempdir().unwrap();
        let mut person = open(dir.path(), *overlay);
        let before = behind(&person);
        for (modifiers, key) in KEYS {
            person.harness.key_press_modifiers(modifiers, key);
            person.harness.step();
        }
        person.settle();
        let name = overlay.name();
        assert_eq!(person.harness.state().overlay(), Some(*overlay), "a key changes what lies over: {name}");
        assert_eq!(behind(&person), before, "a key reaches behind {name}");
        assert!(
            person.harness.query_by_role_and_label(Role::Image, "Dummy").is_none(),
            "{name}: a view opens"
        );
        person.drop_files(&[letter_with_block(dir.path(), "late.png", [9.0, 9.0, 50.0, 50.0], 0)]);
        assert_eq!(person.harness.state().overlay(), Some(*overlay));
        assert_eq!(behind(&person), before, "a file reaches behind {name}");
        let notices = person.harness.state().session().notices();
        let notified = notices.last().is_some_and(|n| n.text.contains(name));
        assert_eq!(notified, *overlay != Overlay::Path, "{name}: {notices:?}");
    }
}

#[test]
fn the_dummy_and_the_copies_stand_still_behind_windows() {
    for (modifiers, key) in [(BOTH, Key::W), (CTRL, Key::F), (BOTH, Key::E), (BOTH, Key::K)] {
        let dir = tempfile::tempdir().unwrap();
        let mut person = with_two_layers(dir.path());
        person.press(Modifiers::NONE, Key::F2);
        person.harness.get_by_label("Page 1");
        person.press(modifiers, key);
        assert!(person.harness.state().overlay().is_some());
        for key in [Key::ArrowRight, Key::Space, Key::PageDown] {
            person.harness.key_press(key);
            person.harness.run_steps(40);
        }
        person.press(Modifiers::NONE, Key::Escape);
        assert_eq!(person.harness.state().overlay(), None);
        person.harness.get_by_label("Page 1");
    }
}

#[test]
fn keys_wait_while_a_menu_is_open_and_escape_closes_only_the_menu() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_two_layers(dir.path());
    person.press(Modifiers::NONE, Key::D);
    person.harness.get_by_label("both");
    let before = behind(&person);
    person.click("Edit");
    for key in [Key::ArrowRight, Key::H, Key::R, Key::A] {
        person.press(Modifiers::NONE, key);
    }
    assert_eq!(behind(&person), before);
    person.press(Modifiers::NONE, Key::Escape);
    assert!(!person.says("Remove layer"), "the menu is still open");
    person.harness.get_by_label("both");
    person.press(Modifiers::NONE, Key::Escape);
    assert!(person.harness.query_by_label("both").is_none());
    person.press(Modifiers::NONE, Key::ArrowRight);
    assert_ne!(behind(&person), before);
}

#[test]
fn escape_answers_the_question_first_and_then_closes_what_it_lies_over() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_two_layers(dir.path());
    person.press(CTRL, Key::K);
    person.click("Import…");
    assert_eq!(person.harness.state().overlay(), Some(Overlay::Path));
    person.press(Modifiers::NONE, Key::Escape);
    assert_eq!(person.harness.state().overlay(), Some(Overlay::Shelf));
    person.press(Modifiers::NONE, Key::Escape);
    assert_eq!(person.harness.state().overlay(), None);
}

#[test]
fn a_button_behind_cannot_be_pressed_by_the_keyboard() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_two_layers(dir.path());
    person.harness.get_by_label("+").focus();
    person.harness.step();
    person.press(CTRL, Key::E);
    if person.harness.state().overlay().is_none() {
        // With a button in focus the keys are the button's; the menu opens it all the same.
        person.click("File");
        person.click("Export proof… Ctrl+E");
        assert_eq!(person.harness.state().overlay(), Some(Overlay::Proof));
    }
    for key in [Key::Space, Key::Enter] {
        person.press(Modifiers::NONE, key);
    }
    assert_eq!(person.project().main.layers.len(), 2);
}

#[test]
fn return_is_ok_in_a_typed_path() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.click("+");
    let file = dir.path().join("typed.slipsheet");
    person.press(CTRL, Key::S);
    let label = "Type or drop the path of the file.";
    // A path that cannot be is refused, and the field keeps the keys.
    person.type_into(label, &dir.path().join("no/such/typed.slipsheet").display().to_string());
    person.press(Modifiers::NONE, Key::Enter);
    assert!(person.says("There is no folder"));
    person.type_into(label, &file.display().to_string());
    person.press(Modifiers::NONE, Key::Enter);
    assert!(file.is_file(), "Return does nothing");
    assert_eq!(person.harness.state().overlay(), None);

    // A file that is there is replaced on the second Return, without a click in between.
    person.press(BOTH, Key::S);
    person.type_into(label, &file.display().to_string());
    person.press(Modifiers::NONE, Key::Enter);
    assert!(person.says("This file exists"));
    person.press(Modifiers::NONE, Key::Enter);
    assert_eq!(person.harness.state().overlay(), None);
}

#[test]
fn several_paths_are_typed_on_lines_and_sent_with_control_return_or_dropped_in() {
    let dir = tempfile::tempdir().unwrap();
    let scan = |name| letter_with_block(dir.path(), name, [20.0, 20.0, 50.0, 50.0], 0);
    let (a, b) = (scan("a.png"), scan("b.png"));
    let mut person = Person::at(dir.path(), None);
    person.press(CTRL, Key::I);
    person.drop_files(&[a, b]);
    assert!(person.project().main.layers.is_empty(), "dropped paths are only typed");
    person.press(CTRL, Key::Enter);
    assert_eq!(person.project().main.layers.len(), 2);
}

#[test]
fn escape_in_the_path_box_takes_back_what_waited_for_it() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.click("+");
    person.press(CTRL, Key::N);
    person.click("Save");
    assert_eq!(person.harness.state().overlay(), Some(Overlay::Path));
    person.press(Modifiers::NONE, Key::Escape);
    // Saved later, for its own sake: nothing new is begun.
    person.paths.lay(Answer::Paths(vec![dir.path().join("later.slipsheet")]));
    person.press(CTRL, Key::S);
    assert_eq!(person.project().main.layers.len(), 1);
}

#[test]
fn f1_is_help_and_f5_the_sheet() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_two_layers(dir.path());
    person.press(Modifiers::NONE, Key::F2);
    person.harness.get_by_role_and_label(Role::Image, "Dummy");
    person.press(Modifiers::NONE, Key::F1);
    assert_eq!(person.harness.state().overlay(), Some(Overlay::Help));
    assert!(person.says(&person.home().log_file().display().to_string()));
    person.press(Modifiers::NONE, Key::Escape);
    person.press(Modifiers::NONE, Key::F5);
    person.harness.get_by_role_and_label(Role::Image, "Sheet");
}

#[test]
fn the_notices_are_shown_in_the_help_menu() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = open(dir.path(), Overlay::Licences);
    assert!(person.says("MIT License"));
    person.harness.get_by_role_and_label(Role::ComboBox, "Show").click();
    person.settle();
    person.click("PDF stand-in fonts (BSD-3-Clause)");
    assert!(person.says("Copyright 2014 PDFium Authors"));
    assert!(person.says("FoxitSans"));
}
