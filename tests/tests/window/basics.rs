//! The window driven by what a person sees: drop, pick an ink, slip, undo, save, open again, export.

use eframe::App as _;
use egui::{Key, Modifiers, pos2};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_document::layer::Slip;
use slipsheet_document::project::Project;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

#[test]
fn a_whole_job_from_dropped_scans_to_a_proof() {
    let dir = tempfile::tempdir().unwrap();
    let scans = [
        letter_with_block(dir.path(), "sea.png", [20.0, 20.0, 100.0, 60.0], 0),
        letter_with_block(dir.path(), "type.png", [60.0, 40.0, 100.0, 60.0], 60),
    ];
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&scans);
    let names: Vec<String> = person.project().main.layers.iter().map(|l| l.name.clone()).collect();
    assert_eq!(names, ["sea", "type"]);

    // Pick an ink for the selected layer, which is the last one dropped.
    person.click("Choose an ink");
    person.click("Noon blue");
    let ink = |p: &Person| p.project().main.layers[1].ink.name.clone();
    assert_eq!(ink(&person), "Noon blue");

    // Drag it on the sheet: one drag is one step of history.
    let slip = |p: &Person| p.project().main.layers[1].slip;
    person.drag(pos2(680.0, 430.0), pos2(700.0, 440.0));
    let dragged = slip(&person);
    assert!(dragged.dx.get() > 1.0 && dragged.dy.get() > 0.5, "{dragged:?}");
    assert!((dragged.dx.get() / dragged.dy.get() - 2.0).abs() < 0.1, "{dragged:?}");
    person.press(Modifiers::NONE, Key::ArrowRight);
    assert!((slip(&person).dx.get() - dragged.dx.get() - 0.1).abs() < 1e-6);
    person.press(Modifiers::SHIFT, Key::ArrowUp);
    assert!((slip(&person).dy.get() - dragged.dy.get() + 1.0).abs() < 1e-6);
    for _ in 0..3 {
        person.press(Modifiers::COMMAND, Key::Z);
    }
    assert_eq!(slip(&person), Slip::default());
    assert_eq!(ink(&person), "Noon blue");
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert_eq!(slip(&person), dragged);

    // Save, open again: the same project.
    let file = dir.path().join("job.slipsheet");
    person.paths.lay(Answer::Paths(vec![file.clone()]));
    person.press(Modifiers::COMMAND, Key::S);
    let saved = Project::from_ron(&std::fs::read_to_string(&file).unwrap()).unwrap();
    assert_eq!(&saved, person.project());
    assert!(!person.harness.state().session().is_dirty());
    let mut again = Person::at(dir.path(), Some(&file));
    assert_eq!(again.harness.state().session().project(), &saved);
    assert!(again.harness.state().session().images().bytes() > 0);

    // Export a proof.
    let proof = dir.path().join("proof.png");
    again.paths.lay(Answer::Paths(vec![proof.clone()]));
    again.press(Modifiers::COMMAND, Key::E);
    again.click("Export…");
    let picture = image::open(&proof).unwrap().to_rgb8();
    assert!(picture.width() > 3300 && picture.height() > 2550, "{:?}", picture.dimensions());
    let coloured =
        picture.pixels().filter(|p| p.0.iter().max().unwrap() - p.0.iter().min().unwrap() > 60).count();
    assert!(coloured > 100_000, "{coloured}");
}

#[test]
fn leaving_with_unsaved_changes_asks_first() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.click("+");
    person.press(Modifiers::COMMAND, Key::N);
    person.harness.get_by_label("Save your changes?");
    person.click("Cancel");
    assert_eq!(person.project().main.layers.len(), 1);
    person.press(Modifiers::COMMAND, Key::N);
    person.click("Discard");
    assert!(person.project().main.layers.is_empty());
}

#[test]
fn without_a_dialog_the_window_asks_for_the_path_itself() {
    let dir = tempfile::tempdir().unwrap();
    let scan = letter_with_block(dir.path(), "a.png", [20.0, 20.0, 50.0, 50.0], 0);
    let mut person = Person::at(dir.path(), None);
    person.press(Modifiers::COMMAND, Key::I);
    let field = person.harness.get_by_role(egui::accesskit::Role::MultilineTextInput);
    field.focus();
    person.harness.step();
    person.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    person.harness.step();
    person.harness.event(egui::Event::Text(scan.display().to_string()));
    person.harness.step();
    person.click("OK");
    assert_eq!(person.project().main.layers.len(), 1);
}

#[test]
fn a_scan_that_does_not_say_its_resolution_is_asked_for() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("plain.png");
    image::GrayImage::from_pixel(400, 300, image::Luma([30])).save(&path).unwrap();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[path]);
    person.harness.get_by_label("At what resolution was it scanned?");
    person.click("150");
    person.click("Use this resolution");
    assert_eq!(person.project().main.layers[0].art[0].scan.dpi.get(), 150.0);
    assert!(person.harness.state().session().unsized_scans().is_empty());
}

#[test]
fn work_that_was_open_in_a_crash_is_offered_again() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.click("+");
    let project = person.project().clone();
    // A program that ends without a word leaves its copy, and its claim with it.
    let home = person.home();
    let claim = home.claim_recovery().unwrap();
    home.save_recovery(&claim, None, &project, &Default::default()).unwrap();
    drop(claim);
    let mut again = Person::at(dir.path(), None);
    again.click("Recover");
    assert_eq!(again.harness.state().session().project(), &project);
    assert!(again.harness.state().session().is_dirty());
    // The old copy is gone, and the work already has a new one, which the running window holds.
    let copies = std::fs::read_dir(home.dir().join("recovery")).unwrap().flatten();
    assert_eq!(copies.filter(|f| f.path().extension().is_some_and(|e| e == "recovery")).count(), 1);
    assert!(home.recoverable().is_empty());
}

#[test]
fn the_dummy_turns_its_pages_and_follows_the_fold() {
    let dir = tempfile::tempdir().unwrap();
    let scan = letter_with_block(dir.path(), "a.png", [5.0, 5.0, 260.0, 200.0], 0);
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[scan]);
    person.press(Modifiers::NONE, Key::F2);
    person.harness.get_by_label("Page 1");
    person.harness.key_press(Key::ArrowRight);
    person.harness.run_steps(80);
    person.settle();
    person.harness.get_by_label("Pages 2 and 3");
    person.harness.get_by_label("Back").click();
    person.harness.run_steps(80);
    person.settle();
    person.harness.get_by_label("Page 1");
}

#[test]
fn at_the_smallest_size_nothing_lies_outside_the_window() {
    let dir = tempfile::tempdir().unwrap();
    let scan = letter_with_block(dir.path(), "a.png", [5.0, 5.0, 260.0, 200.0], 0);
    let mut person = Person::sized(dir.path(), None, egui::vec2(1100.0, 700.0));
    person.drop_files(&[scan]);
    let window = egui::Rect::from_min_size(pos2(0.0, 0.0), egui::vec2(1100.0, 700.0));
    let tabs = ["Sheet", "Dummy", "Run", "Booking"];
    for label in tabs.into_iter().chain(["File", "Next: Dummy", "Zoom in", "+"]) {
        // Headings of the inspector that bear a view's name may be scrolled away.
        let rect = person.harness.get_by_role_and_label(egui::accesskit::Role::Button, label).rect();
        assert!(window.contains_rect(rect), "{label} lies at {rect}");
    }
}

#[test]
fn moving_a_layer_in_the_stack_changes_the_printing_order() {
    let dir = tempfile::tempdir().unwrap();
    let scans = ["a", "b", "c"]
        .map(|n| letter_with_block(dir.path(), &format!("{n}.png"), [9.0, 9.0, 50.0, 50.0], 0));
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&scans);
    let names =
        |p: &Person| -> Vec<String> { p.project().main.layers.iter().map(|l| l.name.clone()).collect() };
    // The last printed lies on top; drag it below the others.
    let top = person.harness.get_by_label("c").rect().center();
    let bottom = person.harness.get_by_label("a").rect();
    person.drag(top, pos2(top.x, bottom.bottom() - 5.0));
    assert_eq!(names(&person), ["c", "a", "b"]);
    person.press(Modifiers::COMMAND, Key::ArrowUp);
    assert_eq!(names(&person), ["a", "c", "b"]);
    person.press(Modifiers::COMMAND, Key::Z);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(names(&person), ["a", "b", "c"]);
}

#[test]
fn a_new_window_starts_at_the_top_of_its_lists() {
    let dir = tempfile::tempdir().unwrap();
    let scan = letter_with_block(dir.path(), "a.png", [9.0, 9.0, 50.0, 50.0], 0);
    let project = dir.path().join("job.slipsheet");
    let inspector = pos2(1200.0, 500.0);
    let top = |p: &Person| p.harness.get_by_label("Reading").rect().top();
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[scan]);
    let at_first = top(&person);
    person.paths.lay(Answer::Paths(vec![project.clone()]));
    person.press(Modifiers::COMMAND, Key::S);
    person.harness.hover_at(inspector);
    person.harness.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: egui::vec2(0.0, -300.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
    person.harness.run_steps(30);
    assert!(top(&person) < at_first - 100.0, "the inspector does not scroll: {} {at_first}", top(&person));

    // What the toolkit does at the end of one program and the start of the next, if it may.
    let mut again = Person::at(dir.path(), Some(&project));
    if person.harness.state().persist_egui_memory() {
        let kept = person.harness.ctx.memory(Clone::clone);
        again.harness.ctx.memory_mut(|memory| *memory = kept);
        again.harness.run_steps(4);
    }
    assert_eq!(top(&again), at_first);
}

#[test]
fn a_stock_of_the_shelf_is_edited() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.press(Modifiers::COMMAND, Key::K);
    person.harness.get_by_label("Stocks").click();
    person.settle();
    person.harness.get_by_role_and_label(egui::accesskit::Role::TextInput, "Caliper").focus();
    person.settle();
    for typed in ["0", ".", "1", "2"] {
        person.harness.event(egui::Event::Text(typed.to_owned()));
        person.settle();
    }
    person.click("Save changes");
    assert_eq!(person.harness.state().session().shelf().stocks[0].caliper_mm, Some(0.12));
}
