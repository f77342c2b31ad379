//! A colour picture separated at the window: read, looked at in every way, separated, changed, taken apart and undone.

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_core::units::Dpi;
use slipsheet_files::{PngMeta, png_out};
use slipsheet_tests::window::Person;

/// A small picture of strong colours.
fn picture(folder: &std::path::Path) -> std::path::PathBuf {
    let (width, height) = (96_u32, 64_u32);
    let rgb: Vec<u8> = (0..width * height)
        .flat_map(|i| {
            let (x, y) = (i % width, i / width);
            [255 - x * 2, 40 + y * 3, if x > 48 { 60 } else { 200 }].map(|v| v as u8)
        })
        .collect();
    let path = folder.join("gull.png");
    let meta = PngMeta { dpi: Dpi::new(30.0).unwrap(), text: vec![] };
    png_out::write_rgb(std::fs::File::create(&path).unwrap(), width, height, &rgb, &meta).unwrap();
    path
}

fn plates(person: &Person) -> Vec<(String, usize)> {
    let sheet = &person.printing().sheet;
    sheet.layers.iter().map(|layer| (layer.ink.name.clone(), layer.art.len())).collect()
}

#[test]
fn a_picture_is_separated_looked_at_and_changed() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    let file = picture(dir.path());
    person.paths.lay(Answer::Paths(vec![file]));
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::I);
    // Three inks of the shelf that print it nearest are chosen where there are none yet, and two more sets beside them.
    person.harness.get_by_label("Predicted print");
    person.harness.get_by_label("Use set 3 of 3");
    assert!(person.says("sRGB is assumed") && person.says("on the mean from the picture"));
    for look in ["Slipped", "Out of reach", "Difference", "Print"] {
        person.click(look);
    }
    person.click("Choose 2 inks for me");
    person.click("Use set 1 of 2");
    person.click("Separate");
    let two = plates(&person);
    assert!(two.len() == 2 && two.iter().all(|(_, art)| *art == 1), "{two:?}");
    let session = person.harness.state().session();
    assert!(session.missing().is_empty() && session.loading() == 0);
    assert!(person.printing().sheet.art().all(|art| session.images().get(&art.scan.key).is_some()));
    assert!(person.tab("Sheet").starts_with("2 inks, ") && person.tab("Sheet").ends_with("covered"));

    // It stays what it was: another stock makes other plates, and undo brings these back.
    let keys = |p: &Person| p.printing().sheet.art().map(|a| a.scan.key.clone()).collect::<Vec<_>>();
    let before = keys(&person);
    person.click("Separation…");
    person.click("Saturation");
    person.click("Use it");
    assert_ne!(keys(&person), before);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(keys(&person), before);

    // Taken apart, its plates are files of their own.
    let saved = dir.path().join("gull.slipsheet");
    person.paths.lay(Answer::Paths(vec![saved]));
    person.press(Modifiers::COMMAND, Key::S);
    person.click("Take apart");
    assert!(person.project().main.sources.is_empty());
    let written = std::fs::read_dir(dir.path().join("gull plates")).unwrap().count();
    assert_eq!(written, 2);
    assert!(person.project().every_art().all(|art| art.scan.path.starts_with("gull plates/")));
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!((person.project().main.sources.len(), keys(&person)), (1, before));
}

#[test]
fn a_colour_picture_that_was_dropped_can_be_separated_in_place_of_its_gray_layer() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[picture(dir.path())]);
    assert_eq!(plates(&person).len(), 1);
    person.click("Separate into inks…");
    person.click("Separate");
    let made = plates(&person);
    assert!(made.len() == 3 && person.project().main.sources.len() == 1, "{made:?}");
    assert!(person.project().every_art().all(|art| art.scan.key.plate.is_some()));
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(plates(&person).len(), 1);
}
