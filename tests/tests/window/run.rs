//! The Run view, driven by what a person sees: tolerance, copies, a place that slips, passes and remedies.

use std::path::PathBuf;

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::window::Answer;
use slipsheet_core::geometry::Point;
use slipsheet_core::press::{Measured, Offset, Press, Spread};
use slipsheet_core::units::Dpi;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_document::remedy::Remedy;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::png_out::write_gray;
use slipsheet_files::store;
use slipsheet_files::ticket::{Ticket, TicketNotes};
use slipsheet_files::{PlateForm, PngMeta};
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::run::Slipper;
use slipsheet_registration::slip::spread::{SpreadSheet, station_plate};
use slipsheet_registration::slip::{Study, StudyOptions};
use slipsheet_render::{Scene, Show, View};
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

/// Two boxes that abut with a trap of one pixel, 0.42 mm, at x = 60 mm; each in a pass of its own.
fn two_boxes(dir: &std::path::Path) -> Person {
    let scans = [
        letter_with_block(dir, "sea.png", [60.0, 20.0, 40.0, 60.0], 0),
        letter_with_block(dir, "sand.png", [20.0, 20.0, 40.8, 60.0], 0),
    ];
    let mut first = Person::at(&dir.join("first"), None);
    first.drop_files(&scans);
    // On two drums they would print together.
    let mut project = first.project().clone();
    project.main.layers.iter_mut().for_each(|l| l.with = None);
    let file = dir.join("boxes.slipsheet");
    store::save(&project, &file).unwrap();
    Person::at(dir, Some(&file))
}

/// How many of a hundred would sell, as the tab says.
fn sold(person: &Person) -> usize {
    let tab = person.tab("Run");
    let (sold, rest) = tab.split_once("/100").unwrap_or_else(|| panic!("{tab}"));
    assert_eq!(rest, ", would sell");
    sold.parse().unwrap()
}

fn accepted(person: &Person) -> Acceptance {
    person.harness.state().session().project().acceptance
}

#[test]
fn the_run_view_says_how_many_would_sell_and_shows_copies_from_best_to_worst() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    let session = person.harness.state().session();
    let options = StudyOptions::of(&session.project().press, Default::default());
    let study = Study::of(session.printing(), session.images(), &options).unwrap();
    let tolerance = study.tolerance(&accepted(&person)).least().unwrap().0;
    assert!((tolerance - 0.92).abs() < 0.03, "{tolerance}");
    // The tab of the view says it, and leads here; both are of one count.
    let of_hundred = sold(&person);
    person.click("Run");
    person.harness.get_by_label(&format!("{of_hundred}/100"));
    person.harness.get_by_label_contains("to be safe");
    let copies: Vec<String> =
        person.labels(" sell").into_iter().filter(|label| label.starts_with("Copy ")).collect();
    let verdicts: Vec<bool> = copies.iter().map(|label| label.ends_with("would sell")).collect();
    assert!(verdicts.len() >= 4 && verdicts.is_sorted_by(|a, b| a >= b), "{verdicts:?}");

    // One of them whole, beside what was meant, and the next worse ones by key.
    person.click_first("Copy ");
    assert!(person.says("As it is meant"));
    person.press(Modifiers::NONE, Key::ArrowRight);
    person.harness.get_by_label_contains("of 1000 from the best");
    person.press(Modifiers::NONE, Key::Escape);
    person.harness.get_by_label("Copies by the gap that each needs");
}

#[test]
fn the_line_is_dragged_stepped_by_keys_and_taken_back_and_every_figure_follows() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.click("Run");
    let (before, start) = (sold(&person), accepted(&person));
    let line = "Line between copies that would sell and that would not";
    let at = person.harness.get_by_label(line).rect().center();
    person.drag(at, at + egui::vec2(-260.0, 0.0));
    let stricter = accepted(&person);
    assert!(stricter.gap < start.gap && sold(&person) < before, "{stricter:?}");
    person.press(Modifiers::NONE, Key::ArrowRight);
    assert!(accepted(&person).gap > stricter.gap);
    // A drag is one step of history, and so is a key.
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(accepted(&person), stricter);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!((accepted(&person), sold(&person)), (start, before));

    // The worst copy that is shown would sell after all: the line moves past it, and no copy is lost by it.
    let spoiled = person.labels("would not sell");
    let worst = spoiled.iter().rfind(|label| label.starts_with("Copy ")).unwrap();
    person.click(worst);
    assert!(accepted(&person).gap > start.gap && sold(&person) > before, "{:?}", accepted(&person));

    // Taken back, it stays taken back.
    let marked = accepted(&person);
    person.press(Modifiers::COMMAND, Key::Z);
    person.settle();
    assert_eq!(accepted(&person), start);
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert_eq!(accepted(&person), marked);

    // A place to start from, with colour as well.
    person.click("What would sell");
    person.click_first("Close, ");
    assert_eq!(accepted(&person).gap.get(), 0.15);
    let close = sold(&person);
    assert!(close < before, "{close} {before}");
    person.click("Colour counts too");
    assert!(accepted(&person).colour.is_some() && sold(&person) <= close);
}

#[test]
fn a_plan_made_by_dragging_is_followed_by_the_proof_the_primaries_and_the_ticket() {
    let (dir, home) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    // Two inks that both let through what the other leaves: of black and anything only the floor is seen.
    let mut project = two_boxes(dir.path()).harness.state().session().project().clone();
    let shelf = Shelf::starter().unwrap();
    for (layer, ink) in project.main.layers.iter_mut().zip(["Pool green-blue", "Hip-berry red"]) {
        layer.ink = shelf.ink(ink).unwrap().clone();
    }
    let file = dir.path().join("two.slipsheet");
    store::save(&project, &file).unwrap();
    let mut person = Person::at(home.path(), Some(&file));
    person.press(Modifiers::NONE, Key::F3);
    person.click("Passes by hand");
    let state = |p: &Person| {
        let session = p.harness.state().session();
        (Printing::clone(session.printing()), session.images().clone())
    };
    let names = |p: &Printing| -> Vec<Vec<String>> {
        let name = |i: &usize| p.sheet.layers[*i].name.clone();
        passes::passes(p, Face::Front).iter().map(|pass| pass.iter().map(name).collect()).collect()
    };
    let picture = |p: &Person| {
        let (project, images) = state(p);
        let scene = Scene::new(&project, &images, Show { perfect: true, ..Show::default() }).unwrap();
        // Where both inks lie, and the solid over solid that the model predicts there.
        let view = View::sheet(project.sheet.size(), Dpi::new(60.0).unwrap());
        let at = scene.render(&view).at(142, 100);
        (at, scene.model().primary(3).lab())
    };
    let ticket = |p: &Person| -> Vec<Vec<String>> {
        let (project, images) = state(p);
        let ticket = Ticket::new(&project, &images, &TicketNotes::default(), PlateForm::default());
        ticket.passes.iter().map(|t| t.inks.iter().map(|i| i.layer.clone()).collect()).collect()
    };
    assert_eq!(names(&state(&person).0), [["sea"], ["sand"]]);
    assert_eq!(ticket(&person), [["sea"], ["sand"]]);
    let before = picture(&person);

    // The ink of the second pass goes before the first.
    person.harness.get_by_label("Room before pass 3").scroll_to_me();
    person.settle();
    let room = |p: &Person, at: usize| p.harness.get_by_label(&format!("Room before pass {at}")).rect();
    let second = room(&person, 2).left_bottom() + egui::vec2(60.0, 21.0);
    let first = room(&person, 1).center();
    person.drag(second, first);
    assert_eq!(names(&state(&person).0), [["sand"], ["sea"]]);
    assert_eq!(ticket(&person), [["sand"], ["sea"]]);
    let after = picture(&person);
    // Inks trap and cover otherwise in the other order.
    assert_ne!(after, before);
    assert!(after.1.ciede2000(before.1) > 0.5, "{} {}", after.1, before.1);

    // And now onto the first pass, so that both print together.
    let second = room(&person, 2).left_bottom() + egui::vec2(60.0, 21.0);
    let first = room(&person, 1).left_bottom() + egui::vec2(60.0, 21.0);
    person.drag(second, first);
    assert_eq!(names(&state(&person).0), [["sand", "sea"]]);
    assert_eq!(ticket(&person), [["sand", "sea"]]);
    person.press(Modifiers::COMMAND, Key::Z);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(names(&state(&person).0), [["sea"], ["sand"]]);
    assert_eq!(picture(&person), before);
}

#[test]
fn printed_mark_sheets_are_read_shown_with_intervals_and_taken_over() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.press(Modifiers::NONE, Key::F3);
    person.click("Press");
    let folder = dir.path().join("marks");
    person.paths.lay(Answer::Paths(vec![folder.clone()]));
    person.click("Export mark sheet…");
    assert!(folder.join("marks-1.png").is_file() && folder.join("marks-2.png").is_file());

    // Copies as a press of a known spread prints them, scanned at 150 dpi.
    let mut press_of = person.printing().clone();
    press_of.press.between_passes = Spread::of(0.3, 0.5, 0.0, 0.0);
    press_of.press.offset = Offset::of(1.5, 0.0, 0.0, 0.0);
    let slipper = Slipper::of(&press_of, Face::Front, 3);
    let (size, dpi) = (press_of.sheet.size(), Dpi::new(150.0).unwrap());
    let layout = SpreadSheet::new(size, 2);
    let scans: Vec<PathBuf> = (0..8)
        .map(|copy| {
            let slips = slipper.slips(copy);
            let plates: Vec<_> = layout
                .marks
                .iter()
                .zip(&slips)
                .map(|(marks, s)| {
                    station_plate(size, marks, dpi, |p| Point::new(p.x + s.dx, p.y + s.dy)).unwrap()
                })
                .collect();
            let both: Vec<u8> =
                plates[0].pixels().iter().zip(plates[1].pixels()).map(|(a, b)| *a.min(b)).collect();
            let path = dir.path().join(format!("copy{copy}.png"));
            let file = std::io::BufWriter::new(std::fs::File::create(&path).unwrap());
            let meta = PngMeta { dpi, text: vec![] };
            write_gray(file, plates[0].width(), plates[0].height(), &both, &meta).unwrap();
            path
        })
        .collect();
    let before = person.project().press.clone();
    person.paths.lay(Answer::Paths(scans));
    person.harness.get_by_label("Read printed mark sheets…").click();
    person.harness.step();
    person.settle();
    person.harness.get_by_label("Measured from 8 copies");
    assert_eq!(person.project().press, before, "nothing is taken over unasked");
    person.harness.get_by_label_contains("Set this out on the machine before the run");
    person.click("Use these");
    let press = person.project().press.clone();
    assert!(
        press.measured.between_passes && (0.15..0.6).contains(&press.between_passes.dx.get()),
        "{press:?}"
    );
    assert!(person.harness.query_by_label("Measured from 8 copies").is_none());
    // Later passes lie off the first by the same on every copy: kept, shown, and set to 0 when it is set out.
    assert!((press.offset.dx.get() - 1.5).abs() < 0.5, "{:?}", press.offset);
    person.harness.get_by_label_contains("Set this out on the machine before the run");
    person.click("Set the offset to 0");
    assert!(press.measured.offset);
    let measured = Measured { offset: false, ..press.measured };
    let set_out = Press { offset: Offset::default(), measured, ..press.clone() };
    assert_eq!(person.project().press, set_out);
    assert!(person.harness.query_by_label("Set the offset to 0").is_none());
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.project().press, press);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.project().press, before);

    // One scan is too little, and says so.
    person.paths.lay(Answer::Paths(vec![dir.path().join("copy0.png")]));
    person.click("Read printed mark sheets…");
    person.harness.get_by_label_contains("at least 3");
}

#[test]
fn a_tight_place_plays_its_slip_and_leaves_the_project_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.press(Modifiers::NONE, Key::F3);
    let before = person.project().clone();
    person.click("Tight places");
    person.click_first("Place 1: 6");
    assert_eq!(person.project(), &before);
    assert!(person.harness.state().sheet_picture().is_some(), "the place is shown on the sheet");
}

#[test]
fn remedies_and_passes_are_steps_of_history() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.press(Modifiers::NONE, Key::F3);
    person.click("Remedies by hand");
    person.click("Spread");
    let remedies = |p: &Person| p.project().main.layers[0].remedies.clone();
    assert!(matches!(remedies(&person)[..], [Remedy::Spread(by)] if by.get() == 0.2));
    // 0.2 mm more trap: 1.12 mm.
    person.harness.get_by_label_contains("mm before, 1.1");
    person.press(Modifiers::COMMAND, Key::Z);
    assert!(remedies(&person).is_empty());

    // The press: another drum count is undone.
    person.click("Press");
    person.click("1 drum");
    assert_eq!(person.project().press.drums, 1);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.project().press.drums, 2);
}

#[test]
fn a_press_goes_out_as_a_profile_comes_back_and_is_kept_on_the_shelf() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.press(Modifiers::NONE, Key::F3);
    person.click("Press");
    person.click("1 drum");
    person.type_into("Name of the press", "By the window");
    person.press(Modifiers::NONE, Key::Enter);
    let press = person.project().press.clone();
    assert_eq!((press.name.as_str(), press.drums), ("By the window", 1));
    let file = dir.path().join("ours");
    person.paths.lay(Answer::Paths(vec![file]));
    person.click("Export press…");
    let profile = dir.path().join("ours.slipsheet-press");
    assert_eq!(slipsheet_files::press_file::read(&profile).unwrap(), press);
    person.click("Keep on the shelf");
    let kept = person.home().shelf().0.presses;
    assert_eq!(kept.iter().find(|p| p.name == press.name), Some(&press));

    // Another press from a profile, in one step of history.
    let other = Press { name: "In the cellar".to_owned(), ..Press::default() };
    slipsheet_files::press_file::write(&other, &profile).unwrap();
    person.paths.lay(Answer::Paths(vec![profile]));
    person.click("Import press…");
    assert_eq!(person.project().press, other);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.project().press, press);
}

#[test]
fn a_density_step_is_added_and_named_and_one_of_the_same_name_waits() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_boxes(dir.path());
    person.press(Modifiers::NONE, Key::F3);
    person.click("Press");
    person.click("Density steps of its panel");
    person.click("Add a density step");
    person.click("Add a density step");
    let names = |p: &Person| -> Vec<String> {
        p.project().press.density_steps.iter().map(|s| s.name.clone()).collect()
    };
    assert_eq!(names(&person), ["1", "2"]);
    person.type_into("Name of density step 1", "2");
    person.harness.get_by_label_contains("Two density steps are called");
    assert_eq!(names(&person), ["1", "2"], "a project with both could not be read again");
    person.type_into("Name of density step 1", "normal");
    assert_eq!(names(&person), ["normal", "2"]);
}
