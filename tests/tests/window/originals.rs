//! A person's own originals: pages added together, scans mended, parts read otherwise, and findings with what mends
//! them.

use std::path::Path;

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet_core::reading::Mode;
use slipsheet_core::retouch;
use slipsheet_core::units::SheetFormat;
use slipsheet_document::layer::{Art, Target};
use slipsheet_document::project::Project;
use slipsheet_files::store;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

fn blocks(dir: &Path, names: &[&str]) -> Vec<std::path::PathBuf> {
    names.iter().map(|name| letter_with_block(dir, name, [20.0, 20.0, 100.0, 60.0], 0)).collect()
}

fn art(person: &Person) -> &Art {
    &person.project().main.layers[0].art[0]
}

#[test]
fn many_scans_are_asked_about_once_and_become_pages_of_one_ink_in_order() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&blocks(dir.path(), &["p10.png", "p9.png", "p2.png", "p1.png", "p3.png"]));
    // Nothing is added before it is said how.
    assert!(person.project().main.layers.is_empty() && person.says("Add 5 scans"));
    person.click("Add");
    let layers = &person.project().main.layers;
    assert_eq!(layers.len(), 1, "one ink");
    let landed: Vec<(Target, &str)> = layers[0].art.iter().map(|a| (a.target, a.scan.file_name())).collect();
    let wanted = ["p1.png", "p2.png", "p3.png", "p9.png", "p10.png"];
    let wanted: Vec<_> = (1..).map(Target::Page).zip(wanted).collect();
    assert_eq!(landed, wanted);
    // One step of history, and not asked again of fewer.
    person.press(Modifiers::COMMAND, Key::Z);
    assert!(person.project().main.layers.is_empty());
    person.drop_files(&blocks(dir.path(), &["a.png", "b.png"]));
    assert_eq!(person.project().main.layers.len(), 2);
}

#[test]
fn many_scans_become_a_layer_each_where_that_is_said() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&blocks(dir.path(), &["a.png", "b.png", "c.png", "d.png"]));
    person.click("One layer each, every scan an ink of its own");
    person.click("Add");
    let layers = &person.project().main.layers;
    assert!(layers.len() == 4 && layers.iter().all(|l| l.art[0].target == Target::Sheet));
}

#[test]
fn what_is_painted_white_does_not_print_and_is_found_again() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&blocks(dir.path(), &["sea.png"]));
    let dark = |person: &Person| {
        let session = person.harness.state().session();
        let pixels = session.images().get(&art(person).scan.key).unwrap();
        pixels.full().pixels().iter().filter(|g| **g < 128).count()
    };
    let before = dark(&person);
    person.press(Modifiers::NONE, Key::X);
    let canvas = person.harness.get_by_label("Scan to be mended").rect();
    person.drag(canvas.lerp_inside(egui::vec2(0.2, 0.3)), canvas.lerp_inside(egui::vec2(0.6, 0.3)));
    person.click("Done");
    let painted = dark(&person);
    assert!(painted < before && painted > before / 2, "{painted} of {before}");
    let mask = art(&person).scan.key.mask.clone().unwrap();
    let bytes = person.harness.state().session().masks().find(&mask, None).unwrap();
    let codes = store::decoded_mask(&bytes).unwrap();
    assert!(codes.pixels().iter().all(|c| matches!(*c, retouch::AS_IT_IS | retouch::WHITE)));
    assert!(person.says("by a mask"));
    // Painted over again it can be cleared, and undo goes back step by step.
    person.press(Modifiers::NONE, Key::X);
    person.click("Clear all");
    person.click("Done");
    assert_eq!((dark(&person), art(&person).scan.key.mask.clone()), (before, None));
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(dark(&person), painted);
}

#[test]
fn a_part_that_is_drawn_gets_a_reading_of_its_own() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[letter_with_block(dir.path(), "wash.png", [20.0, 20.0, 200.0, 150.0], 120)]);
    person.press(Modifiers::NONE, Key::K);
    let canvas = person.harness.get_by_label("Scan").rect();
    person.drag(canvas.lerp_inside(egui::vec2(0.3, 0.3)), canvas.lerp_inside(egui::vec2(0.7, 0.6)));
    assert!(person.says("Part 1"));
    person.click("Done");
    let regions = &art(&person).regions;
    assert!(regions.len() == 1 && regions[0].reading.mode == Mode::Line, "{regions:?}");
    assert!(regions[0].bounds().width > 30.0);
    assert!(person.says("1 part read otherwise"));
    person.press(Modifiers::NONE, Key::K);
    person.click("Remove part 1");
    person.click("Done");
    assert!(art(&person).regions.is_empty());
    // A click draws nothing.
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(art(&person).regions.len(), 1);
}

#[test]
fn paper_that_would_print_is_found_and_cleaned_with_one_click() {
    let dir = tempfile::tempdir().unwrap();
    // Gray grainy paper with a solid block, as a scanner sees it.
    let (width, height) = (660_u32, 510_u32);
    let mut state = 1_u32;
    let pixels = (0..width * height).map(|i| {
        let (x, y) = (i % width, i / width);
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let grain = (state >> 24) as u8 % 7;
        if (200..400).contains(&x) && (150..350).contains(&y) { 20 } else { 205 + grain }
    });
    let path = dir.path().join("gray.png");
    let file = std::io::BufWriter::new(std::fs::File::create(&path).unwrap());
    let dpi = slipsheet_core::units::Dpi::new(60.0).unwrap();
    let meta = slipsheet_files::PngMeta { dpi, text: vec![] };
    slipsheet_files::png_out::write_gray(file, width, height, &pixels.collect::<Vec<u8>>(), &meta).unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[path]);
    assert!(art(&person).scan.key.clean, "a scan is cleaned where nobody says otherwise");
    person.click("Paper");
    assert!(!art(&person).scan.key.clean);
    let open = |person: &mut Person| {
        let figure = person.harness.query_all_by_label_contains("finding").last().unwrap();
        figure.click();
        person.settle();
    };
    open(&mut person);
    assert!(person.says("would print as a veil"));
    person.click("Clean to white");
    assert!(art(&person).scan.key.clean && !person.says("would print as a veil"));
}

#[test]
fn a_pale_drawing_is_found_and_its_black_point_set_with_one_click() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[letter_with_block(dir.path(), "pencil.png", [20.0, 20.0, 40.0, 30.0], 170)]);
    let figure = person.harness.query_all_by_label_contains("finding").last().unwrap();
    figure.click();
    person.settle();
    assert!(person.says("prints no darker than"));
    person.click("Before and after…");
    assert!(person.says("Readings of pencil"));
    person.press(Modifiers::NONE, Key::Escape);
    let figure = person.harness.query_all_by_label_contains("finding").last().unwrap();
    figure.click();
    person.settle();
    person.click("Set black point");
    let black = person.project().main.layers[0].reading.black.get();
    assert!((black - (1.0 - 170.0 / 255.0)).abs() < 0.02, "{black}");
    assert!(!person.says("prints no darker than"));
}

#[test]
fn a_photograph_is_said_to_be_one_and_made_flat() {
    let dir = tempfile::tempdir().unwrap();
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("data");
    let photo = dir.path().join("photo_cat.jpg");
    std::fs::copy(data.join("photo_cat.jpg"), &photo).unwrap();
    let shelf = slipsheet_document::shelf::Shelf::starter().unwrap();
    let project = Project::new("walk", SheetFormat::Letter, shelf.stocks[0].clone());
    let file = dir.path().join("walk.slipsheet");
    store::save(&project, &file).unwrap();
    let mut person = Person::at(dir.path(), Some(&file));
    person.drop_files(&[photo]);
    assert!(person.says("At what resolution was it scanned?"));
    person.click("It is a photograph");
    let flat = art(&person).scan.key.flat.unwrap();
    assert!(flat.width > 500 && art(&person).scan.dpi == flat.dpi);
    assert!(person.says("made flat at"), "the inspector says it");
    // Looked over once more the marks are those of the photograph itself.
    person.press(Modifiers::NONE, Key::M);
    assert!(person.says("RMS residual"));
    person.press(Modifiers::NONE, Key::Escape);
    assert!(person.harness.query_by_label("Loupe").is_none());
}
