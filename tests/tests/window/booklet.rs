//! A booklet of several sheets, as a person makes it in the window.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use slipsheet::window::Answer;
use slipsheet_core::units::{Mm, SheetFormat, Size};
use slipsheet_document::layer::Target;
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::{GuideOptions, guide_pdf};
use slipsheet_paper::booklet::Booklet;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

/// Coloured pixels left and right of the middle.
fn coloured(picture: &image::RgbImage) -> [usize; 2] {
    let mut sides = [0, 0];
    for (x, _, p) in picture.enumerate_pixels() {
        let (low, high) = (p.0.iter().min().unwrap(), p.0.iter().max().unwrap());
        sides[usize::from(x * 2 >= picture.width())] += usize::from(high - low > 60);
    }
    sides
}

#[test]
fn a_spread_of_a_booklet_is_laid_stepped_to_read_in_the_dummy_and_proofed() {
    let dir = tempfile::tempdir().unwrap();
    let scan = letter_with_block(dir.path(), "sea.png", [10.0, 40.0, 255.0, 120.0], 0);
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[scan]);
    assert!(person.harness.query_by_label("Sheet 1 of 4").is_none());
    let ink = |p: &mut Person, label: &str| {
        p.click(label);
    };
    ink(&mut person, "Choose an ink");
    ink(&mut person, "Noon blue");

    // Sixteen pages, and the scan over pages 4 and 5.
    person.press(Modifiers::NONE, Key::Escape);
    let target = |p: &Person| p.project().main.layers[0].art[0].target;
    let choose = |p: &mut Person, field: &str, choice: &str| {
        p.harness.get_by_role_and_label(Role::ComboBox, field).click_accesskit();
        p.settle();
        p.harness.get_by_label(choice).click_accesskit();
        p.settle();
    };
    choose(&mut person, "Place on", "Whole sheet");
    // The fold belongs to the sheet, which the stock at the bottom of the stack selects.
    person.harness.get_by_label_contains("Stock: ").click();
    person.settle();
    choose(&mut person, "Fold", "Booklet of several sheets");
    assert_eq!(person.tab("Dummy"), "16 pages, booklet of 4 sheets");
    person.click("sea");
    choose(&mut person, "Place on", "Pages 4 and 5");
    assert_eq!(target(&person), Target::Spread(4));

    // A list that was used keeps the keys until they are given back.
    person.press(Modifiers::NONE, Key::Escape);

    // Brackets step through the sheets, and stop at the ends.
    for (key, at) in [
        (Key::OpenBracket, 1),
        (Key::CloseBracket, 2),
        (Key::CloseBracket, 3),
        (Key::CloseBracket, 4),
        (Key::CloseBracket, 4),
        (Key::OpenBracket, 3),
        (Key::OpenBracket, 2),
    ] {
        person.press(Modifiers::NONE, key);
        person.harness.get_by_label(&format!("Sheet {at} of 4"));
    }

    // The dummy, bound and opened at the spread.
    person.press(Modifiers::NONE, Key::F2);
    for pages in ["Pages 2 and 3", "Pages 4 and 5"] {
        person.harness.key_press(Key::ArrowRight);
        person.harness.run_steps(80);
        person.settle();
        assert!(person.harness.get_all_by_label(pages).count() > 0, "{pages}");
    }
    let export = |p: &mut Person, name: &str, keys: (Modifiers, Key)| {
        let path = dir.path().join(name);
        p.paths.lay(Answer::Paths(vec![path.clone()]));
        p.press(keys.0, keys.1);
        p.click("Export…");
        image::open(&path).unwrap().to_rgb8()
    };
    let dummy = export(&mut person, "dummy.png", (Modifiers::COMMAND | Modifiers::SHIFT, Key::D));
    let [left, right] = coloured(&dummy);
    assert!(left > 20_000 && right > 20_000, "{left} {right}");

    // Page 4 lies left on the back of sheet 2, and the proof of that side shows it alone.
    person.press(Modifiers::NONE, Key::F5);
    person.press(Modifiers::NONE, Key::T);
    let proof = export(&mut person, "proof.png", (Modifiers::COMMAND, Key::E));
    let [left, right] = coloured(&proof);
    assert!(left > 100_000 && right < left / 20, "{left} {right}");
}

fn saved(folder: &std::path::Path, change: impl Fn(&mut Project)) -> std::path::PathBuf {
    let mut project = Project::new("Invented", SheetFormat::A4, Shelf::starter().unwrap().stocks.remove(0));
    change(&mut project);
    let path = folder.join("walk.slipsheet");
    std::fs::write(&path, project.to_ron().unwrap()).unwrap();
    path
}

#[test]
fn a_booklet_has_a_guide_for_each_page_where_originals_are_drawn_page_by_page() {
    let dir = tempfile::tempdir().unwrap();
    let path = saved(dir.path(), |p| p.main.booklet = Some(Booklet { pages: 8, ..Booklet::default() }));
    let mut person = Person::at(dir.path(), Some(&path));
    let to = dir.path().join("pages.pdf");
    person.paths.lay(Answer::Paths(vec![to.clone()]));
    person.choose("File", "Export guides of pages…");
    let pages = person.printing().sheet.pages() as usize;
    let text = String::from_utf8_lossy(&std::fs::read(&to).unwrap()).into_owned();
    assert!(pages == 8 && text.matches("/MediaBox").count() == pages);
}

/// The window's page guide of a booklet is the command line's: a page for each side of each sheet. Its text is outlines,
/// so that bytes are compared; files/guide tests what is drawn.
#[test]
fn the_page_guide_of_a_booklet_has_every_side_as_the_command_line_gives_it() {
    let dir = tempfile::tempdir().unwrap();
    let path = saved(dir.path(), |p| p.main.booklet = Some(Booklet { pages: 8, ..Booklet::default() }));
    let mut person = Person::at(dir.path(), Some(&path));
    let guide = dir.path().join("guide.pdf");
    person.paths.lay(Answer::Paths(vec![guide.clone()]));
    person.choose("File", "Export guide…");
    let by_window = std::fs::read(&guide).unwrap();
    assert_eq!(String::from_utf8_lossy(&by_window).matches("/MediaBox").count(), 4);
    let other = dir.path().join("other.pdf");
    guide_pdf(person.printing(), &GuideOptions::default(), &other).unwrap();
    assert!(by_window == std::fs::read(&other).unwrap());
}

#[test]
fn the_tick_of_landscape_tells_what_is_on_screen() {
    let lies = |change: &dyn Fn(&mut Project)| {
        let dir = tempfile::tempdir().unwrap();
        let path = saved(dir.path(), change);
        let person = Person::at(dir.path(), Some(&path));
        let tick = person.harness.get_by_role_and_label(Role::CheckBox, "Landscape");
        let node = tick.accesskit_node();
        (node.toggled() == Some(egui::accesskit::Toggled::True), !node.is_disabled())
    };
    assert_eq!(lies(&|_| {}), (false, true));
    assert_eq!(lies(&|p| p.main.landscape = true), (true, true));
    assert_eq!(lies(&|p| p.main.format = SheetFormat::Ledger), (true, false));
    assert_eq!(
        lies(&|p| p.main.format = SheetFormat::Custom(Size { width: Mm::new(300.0), height: Mm::new(200.0) })),
        (true, false)
    );
    assert_eq!(
        lies(&|p| p.main.format = SheetFormat::Custom(Size { width: Mm::new(200.0), height: Mm::new(300.0) })),
        (false, false)
    );
    assert_eq!(lies(&|p| p.main.booklet = Some(Booklet::default())), (true, false));
    assert_eq!(lies(&|p| p.main.fold = slipsheet_paper::fold::find("letter6")), (true, false));
}
