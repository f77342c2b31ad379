//! The dummy's time, pictures of it, editions and colourways, done at the window as a person would.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_core::project::Project;
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

fn project(person: &Person) -> &Project {
    person.harness.state().session().project()
}

fn click(person: &mut Person, label: &str) {
    person.harness.get_by_label(label).click();
    person.settle();
}

/// Types into the field with this label, in place of what is there.
fn type_into(person: &mut Person, label: &str, text: &str) {
    let field = person.harness.get_by_role_and_label(Role::TextInput, label);
    field.focus();
    person.harness.step();
    person.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    person.harness.step();
    person.harness.event(egui::Event::Text(text.to_owned()));
    person.harness.step();
}

#[test]
fn time_runs_through_the_folds_and_the_pages() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    person.press(Modifiers::NONE, Key::F2);
    person.harness.get_by_label("Page 1");
    click(&mut person, "The flat sheet");
    person.harness.run_steps(150);
    person.settle();
    person.harness.get_by_label("Flat sheet");
    click(&mut person, "Step 4: Turn page 1");
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
    click(&mut person, "Turn-around");
    click(&mut person, "Export…");
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
    let first = project(&person).clone();
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::E);
    type_into(&mut person, "New edition", "Spring");
    click(&mut person, "Add as it is now");
    assert_eq!(project(&person).editions.len(), 1);
    click(&mut person, "Close");

    // Another ink; the edition still holds the first.
    person.harness.get_by_label("Choose an ink").click();
    person.settle();
    click(&mut person, "Clear sky blue");
    assert_eq!(project(&person).layers[1].ink.name, "Clear sky blue");
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::E);
    click(&mut person, "Spring");
    assert_eq!(project(&person).layers, first.layers);
    click(&mut person, "Undo");
    assert_eq!(project(&person).layers[1].ink.name, "Clear sky blue");

    type_into(&mut person, "Name of edition 1", "Winter");
    person.harness.key_press(Key::Enter);
    person.settle();
    assert_eq!(project(&person).editions[0].name, "Winter");
    click(&mut person, "Remove edition");
    assert!(project(&person).editions.is_empty());
}

#[test]
fn every_edition_is_proofed_into_a_folder() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::E);
    for name in ["Spring", "Autumn"] {
        type_into(&mut person, "New edition", name);
        click(&mut person, "Add as it is now");
    }
    click(&mut person, "Close");
    let folder = dir.path().join("series");
    person.paths.lay(Answer::Paths(vec![folder.clone()]));
    person.press(Modifiers::COMMAND, Key::E);
    click(&mut person, "a proof of each of the 2 editions, into a folder");
    click(&mut person, "Export…");
    for name in ["Spring.png", "Autumn.png"] {
        let picture = image::open(folder.join(name)).unwrap();
        assert!(picture.width() > 3300, "{name}: {}", picture.width());
    }
}

#[test]
fn a_colourway_is_taken_over_and_undone() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = at_work(dir.path());
    let before = project(&person).clone();
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::K);
    // The inks in use on the stock in use: two ways round.
    person.harness.get_by_label("2 combinations");
    let [a, b] = [0, 1].map(|i| before.layers[i].ink.name.clone());
    let swapped = format!("{b} and {a} on {}", before.stock.name);
    click(&mut person, &swapped);
    let inks: Vec<&str> = project(&person).layers.iter().map(|l| l.ink.name.as_str()).collect();
    assert_eq!(inks, [b.as_str(), a.as_str()]);
    click(&mut person, "Undo");
    assert_eq!(project(&person).layers, before.layers);
    // A third ink makes six.
    click(&mut person, "Clear sky blue");
    person.harness.get_by_label("6 combinations");
    click(&mut person, "Keep as edition");
    assert_eq!(project(&person).editions.len(), 1);
}

#[test]
fn renaming_and_moving_layers_keeps_their_editions() {
    use slipsheet_editor::{Command, EditionChange, LayerChange};
    let shelf = slipsheet_core::shelf::Shelf::starter().unwrap();
    let mut session = slipsheet_editor::Session::new(shelf.clone(), Default::default());
    for i in 0..3 {
        session.apply(Command::AddLayer).unwrap();
        session.apply(Command::Layer(i, LayerChange::Ink(shelf.inks[i].clone()))).unwrap();
    }
    session.apply(Command::Edition(EditionChange::Add("Spring".to_owned()))).unwrap();
    let twice = session.apply(Command::Edition(EditionChange::Add("spring".to_owned())));
    assert!(twice.unwrap_err().to_string().contains("another name"));
    session.apply(Command::Layer(0, LayerChange::Name("wash".to_owned()))).unwrap();
    session.apply(Command::MoveLayer { from: 0, to: 2 }).unwrap();
    session.apply(Command::RemoveLayer(0)).unwrap();
    for i in 0..2 {
        session.apply(Command::Layer(i, LayerChange::Ink(shelf.inks[9].clone()))).unwrap();
    }
    session.apply(Command::Edition(EditionChange::TakeOver(0))).unwrap();
    let inks: Vec<&str> = session.project().layers.iter().map(|l| l.ink.name.as_str()).collect();
    assert_eq!(inks, [shelf.inks[2].name.as_str(), shelf.inks[0].name.as_str()]);
    session.apply(Command::Undo).unwrap();
    assert!(session.project().layers.iter().all(|l| l.ink == shelf.inks[9]));
}
