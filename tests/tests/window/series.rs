//! The dummy's time, pictures of it, editions and colourways, done at the window as a person would.

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

fn at_work(dir: &std::path::Path) -> Person {
    let scans = [
        letter_with_block(dir, "sea.png", [20.0, 20.0, 100.0, 60.0], 0),
        letter_with_block(dir, "type.png", [60.0, 40.0, 100.0, 60.0], 60),
    ];
    let mut person = Person::at(dir, None);
    person.drop_files(&scans);
    person
}

#[test]
fn time_runs_through_the_folds_and_the_pages() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    person.press(Modifiers::NONE, Key::F2);
    person.harness.get_by_label("Page 1");
    person.click("The flat sheet");
    person.harness.run_steps(150);
    person.settle();
    person.harness.get_by_label("Flat sheet");
    person.click("Step 4: Turn page 1");
    person.harness.run_steps(150);
    person.settle();
    person.harness.get_by_label("Pages 2 and 3");
    // Space plays the rest, to the last page.
    person.harness.key_press(Key::Space);
    person.harness.run_steps(400);
    person.settle();
    person.harness.get_by_label("Page 8");
}

#[test]
fn a_turn_around_is_written_from_the_window() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    let file = dir.path().join("round.png");
    person.paths.lay(Answer::Paths(vec![file.clone()]));
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::D);
    person.click("Turn-around");
    person.click("Export…");
    let reader = png::Decoder::new(std::io::BufReader::new(std::fs::File::open(&file).unwrap()));
    let reader = reader.read_info().unwrap();
    let info = reader.info();
    assert_eq!((info.width, info.height), (640, 480));
    assert_eq!(info.animation_control().map(|a| a.num_frames), Some(36));
}

#[test]
fn editions_are_added_taken_over_renamed_and_undone() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    let first = person.project().clone();
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::E);
    person.type_into("New edition", "Spring");
    person.click("Add edition");
    assert_eq!(person.project().main.editions.len(), 1);
    person.click("Close");

    // Another ink; the edition still holds the first.
    person.click("Choose an ink");
    person.click("Noon blue");
    assert_eq!(person.project().main.layers[1].ink.name, "Noon blue");
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::E);
    person.click("Spring");
    assert_eq!(person.project().main.layers, first.main.layers);
    person.click("Undo");
    assert_eq!(person.project().main.layers[1].ink.name, "Noon blue");

    person.type_into("Name of edition 1", "Winter");
    person.harness.key_press(Key::Enter);
    person.settle();
    assert_eq!(person.project().main.editions[0].name, "Winter");
    person.click("Remove edition");
    assert!(person.project().main.editions.is_empty());
}

#[test]
fn every_edition_is_proofed_into_a_folder() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::E);
    for name in ["Spring", "Autumn"] {
        person.type_into("New edition", name);
        person.click("Add edition");
    }
    person.click("Close");
    let folder = dir.path().join("series");
    person.paths.lay(Answer::Paths(vec![folder.clone()]));
    person.press(Modifiers::COMMAND, Key::E);
    person.click("a proof of each of the 2 editions, into a folder");
    person.click("Export…");
    for name in ["Spring.png", "Autumn.png"] {
        let picture = image::open(folder.join(name)).unwrap();
        assert!(picture.width() > 3300, "{name}: {}", picture.width());
    }
}

#[test]
fn a_colourway_is_taken_over_and_undone() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    let before = person.project().clone();
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::K);
    // The inks in use on the stock in use: two ways round.
    person.harness.get_by_label("2 combinations");
    let [a, b] = [0, 1].map(|i| before.main.layers[i].ink.name.clone());
    let swapped = format!("{b} and {a} on {}", before.main.stock.name);
    person.click(&swapped);
    let inks: Vec<&str> = person.project().main.layers.iter().map(|l| l.ink.name.as_str()).collect();
    assert_eq!(inks, [b.as_str(), a.as_str()]);
    person.click("Undo");
    assert_eq!(person.project().main.layers, before.main.layers);
    // A third ink makes six.
    person.click("Noon blue");
    person.harness.get_by_label("6 combinations");
    person.click("Save as edition");
    assert_eq!(person.project().main.editions.len(), 1);
}

#[test]
fn renaming_and_moving_layers_keeps_their_editions() {
    use slipsheet_document::edit::{Edit, EditionEdit, LayerEdit, SheetEdit};
    use slipsheet_editor::Request;
    let shelf = slipsheet_document::shelf::Shelf::starter().unwrap();
    let mut session = slipsheet_editor::Session::new(shelf.clone(), Default::default());
    let sheet = session.sheet().id;
    for i in 0..3 {
        session.apply(Request::sheet(sheet, SheetEdit::AddLayer(format!("{i}")))).unwrap();
    }
    let [a, b, c] = [0, 1, 2].map(|i: usize| session.sheet().layers[i].id);
    for (i, id) in [a, b, c].into_iter().enumerate() {
        session.apply(Request::layer(id, LayerEdit::Ink(shelf.inks[i].clone()))).unwrap();
    }
    session.apply(Request::sheet(sheet, SheetEdit::AddEdition("Spring".to_owned()))).unwrap();
    let twice = session.apply(Request::sheet(sheet, SheetEdit::AddEdition("spring".to_owned())));
    assert!(twice.unwrap_err().to_string().contains("another name"));
    session.apply(Request::layer(a, LayerEdit::Name("wash".to_owned()))).unwrap();
    session.apply(Request::sheet(sheet, SheetEdit::MoveLayer(a, 2))).unwrap();
    session.apply(Request::layer(b, LayerEdit::Remove)).unwrap();
    for id in [a, c] {
        session.apply(Request::layer(id, LayerEdit::Ink(shelf.inks[9].clone()))).unwrap();
    }
    let spring = session.sheet().editions[0].id;
    session.apply(Edit::Edition(spring, EditionEdit::Use).into()).unwrap();
    let inks: Vec<&str> = session.project().main.layers.iter().map(|l| l.ink.name.as_str()).collect();
    assert_eq!(inks, [shelf.inks[2].name.as_str(), shelf.inks[0].name.as_str()]);
    session.apply(Request::Undo).unwrap();
    assert!(session.project().main.layers.iter().all(|l| l.ink == shelf.inks[9]));
}
