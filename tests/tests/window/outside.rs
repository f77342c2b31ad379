//! The project's file and its scans, changed by others while the window is open; jobs and settings that fail.

use std::path::{Path, PathBuf};

use egui::{Key, Modifiers};
use slipsheet_files::store;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

/// A saved project of one scan.
fn saved(folder: &Path) -> PathBuf {
    let scan = letter_with_block(folder, "sea.png", [20.0, 20.0, 100.0, 60.0], 0);
    let file = folder.join("job.slipsheet");
    let mut person = Person::at(&folder.join("first"), None);
    person.drop_files(&[scan]);
    person.paths.lay(slipsheet::window::Answer::Paths(vec![file.clone()]));
    person.press(Modifiers::COMMAND, Key::S);
    assert!(file.is_file());
    file
}

fn retitled(file: &Path, title: &str) {
    let mut project = store::load(file).unwrap();
    project.title = title.to_owned();
    store::save(&project, file).unwrap();
}

#[test]
fn the_window_asks_which_version_is_kept() {
    let dir = tempfile::tempdir().unwrap();
    let file = saved(dir.path());
    let mut person = Person::at(dir.path(), Some(&file));
    retitled(&file, "Theirs");
    person.press(Modifiers::NONE, Key::ArrowRight);
    person.press(Modifiers::COMMAND, Key::S);
    assert!(person.says("Which version do you want to keep?") && person.says("job.slipsheet"));
    person.click("Not now");
    assert_eq!(store::load(&file).unwrap().title, "Theirs");
    person.press(Modifiers::COMMAND, Key::S);
    person.click("Take the file’s");
    assert_eq!(person.project().title, "Theirs");
    assert!(!person.says("Which version do you want to keep?"));
    person.press(Modifiers::COMMAND, Key::Z);
    retitled(&file, "Theirs again");
    person.press(Modifiers::COMMAND, Key::S);
    person.click("Keep mine");
    assert_eq!(&store::load(&file).unwrap(), person.project());
    assert!(!person.harness.state().session().is_dirty());
}

#[test]
fn a_scan_that_changes_on_the_disk_is_noticed() {
    let dir = tempfile::tempdir().unwrap();
    let file = saved(dir.path());
    let mut person = Person::at(dir.path(), Some(&file));
    letter_with_block(dir.path(), "sea.png", [40.0, 40.0, 100.0, 60.0], 30);
    let start = std::time::Instant::now();
    while !person.says("by another program") {
        assert!(start.elapsed().as_secs() < 40, "nothing is said");
        std::thread::sleep(std::time::Duration::from_millis(100));
        person.settle();
    }
    let key = person.project().main.layers[0].art[0].scan.key.clone();
    person.click("File");
    person.click("Accept changed scans");
    person.settle();
    assert_ne!(person.project().main.layers[0].art[0].scan.key, key);
    assert!(!person.says("by another program"));
}

#[test]
fn settings_that_cannot_be_read_are_kept_aside_with_a_word() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::create_dir(dir.path().join("home")).unwrap();
    std::fs::write(dir.path().join("home/settings.ron"), "(unit: Furlong)").unwrap();
    let person = Person::at(dir.path(), None);
    assert!(person.says("Your settings could not be read"));
    let kept = dir.path().join("home/settings.ron.unreadable");
    assert_eq!(std::fs::read_to_string(kept).unwrap(), "(unit: Furlong)");
}
