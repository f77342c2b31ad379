//! The strip of views: its tabs lead to the views and say what is true, and its button names the next step.

use std::path::Path;

use egui::accesskit::Role;
use egui::{Key, Modifiers, Rect, vec2};
use egui_kittest::kittest::Queryable as _;
use slipsheet_booking::cost::cost;
use slipsheet_booking::ink_use::ink_use;
use slipsheet_document::project::Project;
use slipsheet_document::terms::Money;
use slipsheet_files::store;
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

const VIEWS: [&str; 4] = ["Sheet", "Dummy", "Run", "Booking"];

/// Two solid blocks on a letter sheet that share a corner of 60 x 40 mm.
fn two_blocks(folder: &Path) -> Person {
    let scans = [
        letter_with_block(folder, "sea.png", [20.0, 20.0, 100.0, 60.0], 0),
        letter_with_block(folder, "sand.png", [60.0, 40.0, 100.0, 60.0], 0),
    ];
    let mut person = Person::at(folder, None);
    person.drop_files(&scans);
    person
}

fn rect_of(person: &Person, label: &str) -> Rect {
    person.harness.get_by_role_and_label(Role::Button, label).rect()
}

#[test]
fn with_nothing_loaded_every_tab_says_so_and_scans_are_the_next_step() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    for view in VIEWS {
        let tab = rect_of(&person, view).center();
        person.harness.hover_at(tab);
        person.harness.get_by_role_and_label(Role::Button, view).click();
        person.settle();
        assert_eq!(
            VIEWS.map(|v| person.tab(v)),
            ["No inks, no scans yet", "8 pages, slit eight-page sheet", "–, no scans yet", "–, no scans yet",]
        );
        let strip = rect_of(&person, "Sheet").y_range();
        let adds: Vec<Rect> = person.harness.get_all_by_label("Add scans…").map(|n| n.rect()).collect();
        assert!(adds.iter().any(|r| strip.contains(r.center().y)), "{view}: {adds:?}");
    }
}

#[test]
fn the_button_leads_through_the_views_to_the_pack() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_blocks(dir.path());
    for (next, shows) in
        [("Next: Dummy", "Page 1"), ("Next: Run", "Proposals"), ("Next: Booking", "Cost, line by line")]
    {
        person.click(next);
        assert!(person.says(shows), "{next} leads elsewhere");
    }
    person.click("Make pack…");
    person.harness.get_by_label("Make the booking pack");
}

#[test]
fn tabs_are_reached_and_pressed_by_the_keyboard() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_blocks(dir.path());
    let focused = |p: &Person, label: &str| p.harness.get_by_role_and_label(Role::Button, label).is_focused();
    person.harness.get_by_role_and_label(Role::Button, "Sheet").focus();
    person.settle();
    for view in ["Dummy", "Run"] {
        person.press(Modifiers::NONE, Key::Tab);
        assert!(focused(&person, view), "{view} is not reached");
    }
    person.press(Modifiers::NONE, Key::Enter);
    assert!(person.says("Proposals"));
}

#[test]
fn coverage_is_what_geometry_gives_and_changes_with_what_is_shown() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_blocks(dir.path());
    // Two blocks of 6000 mm2 that share 2400 mm2, on a letter sheet of 279.4 x 215.9 mm: 15.9 %.
    assert_eq!(person.tab("Sheet"), "2 inks, 16 % covered");
    person.click("Hide sand");
    // One block alone: 9.9 %.
    assert_eq!(person.tab("Sheet"), "1 ink, 10 % covered");
    // A slip is a what-if, and changes nothing that is known.
    person.harness.key_press(Key::ArrowRight);
    person.harness.step();
    assert_eq!(person.tab("Sheet"), "1 ink, 10 % covered");
}

#[test]
fn a_run_counts_only_for_the_print_that_it_was_simulated_of() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_blocks(dir.path());
    let before = person.tab("Run");
    assert!(before.ends_with("/100, would sell"), "{before}");
    person.press(Modifiers::NONE, Key::F3);
    assert_eq!(person.tab("Run"), before);
    person.press(Modifiers::NONE, Key::F5);
    // The next frame already says nothing of the print as it was.
    person.harness.key_press(Key::H);
    person.harness.run_steps(2);
    assert!(!person.tab("Run").contains("/100"), "{}", person.tab("Run"));
    // One ink alone has nothing to slip against.
    person.settle();
    assert_eq!(person.tab("Run"), "100/100, would sell");
    // Back as it was, the run is of this print again.
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.tab("Run"), before);
}

#[test]
fn the_cost_of_a_copy_is_the_bills_or_says_what_is_missing() {
    let dir = tempfile::tempdir().unwrap();
    let person = two_blocks(dir.path());
    assert!(person.tab("Booking").ends_with(", no prices yet"), "{}", person.tab("Booking"));
    let mut project = person.project().clone();
    let images = person.harness.state().session().images().clone();
    project.job.prices.master = Money::new(2.75);
    let file = dir.path().join("walk.slipsheet");
    let home = tempfile::tempdir().unwrap();
    let reopened = |project: &Project| {
        store::save(project, &file).unwrap();
        Person::at(home.path(), Some(&file))
    };
    assert!(reopened(&project).tab("Booking").ends_with(", no copies yet"));
    project.job.copies = 120;
    let printing = project.main_printing();
    let each = cost(&printing, &ink_use(&printing, &images), 120).per_copy.unwrap();
    let person = reopened(&project);
    let message = person.tab("Booking");
    let (figure, caption) = message.split_once(", ").unwrap();
    assert_eq!(figure, format!("{each:.2} a copy"));
    // The findings stand under it, and are counted at the right end of the strip as well.
    person
        .harness
        .get_by_role_and_label(Role::Button, if caption == "no findings" { "No findings" } else { caption });
}

#[test]
fn while_scans_load_no_tab_says_what_is_not_so() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("walk.slipsheet");
    store::save(two_blocks(dir.path()).project(), &file).unwrap();
    let home = tempfile::tempdir().unwrap();
    let mut person = Person::opening(home.path(), Some(&file), vec2(1360.0, 860.0));
    let mut seen: Vec<[String; 2]> = Vec::new();
    while !person.harness.state().is_settled() || seen.is_empty() {
        seen.push([person.tab("Sheet"), person.tab("Run")]);
        std::thread::sleep(std::time::Duration::from_millis(2));
        person.harness.step();
    }
    person.settle();
    assert_eq!(person.tab("Sheet"), "2 inks, 16 % covered");
    let run = person.tab("Run");
    assert!(run.ends_with("/100, would sell"), "{run}");
    for [sheet, share] in seen {
        let true_ones = ["2 inks, loading scans", "2 inks, …", "2 inks, 16 % covered"];
        assert!(true_ones.contains(&sheet.as_str()), "{sheet}");
        assert!(share == "…, loading scans" || share == "…, would sell" || share == run, "{share}");
    }
}

#[test]
fn findings_are_counted_in_the_strip_and_open_from_there() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_blocks(dir.path());
    let findings = person.tab("Booking").split(", ").next().unwrap().to_owned();
    assert!(findings.ends_with("findings") || findings.ends_with("finding"), "{findings}");
    person.click(&findings);
    person.harness.get_by_label("Before printing");
}

#[test]
fn a_notice_floats_and_moves_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_blocks(dir.path());
    let canvas = |p: &Person| p.harness.get_by_role_and_label(Role::Image, "Sheet").rect();
    let before = canvas(&person);
    person.drop_files(&[dir.path().join("nowhere.png")]);
    person.harness.get_by_label("Dismiss");
    assert_eq!(canvas(&person), before);
    person.click("Dismiss");
    assert!(person.harness.query_by_label("Dismiss").is_none());
}

#[test]
fn the_strip_fits_the_narrowest_window() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("walk.slipsheet");
    store::save(two_blocks(dir.path()).project(), &file).unwrap();
    let home = tempfile::tempdir().unwrap();
    for size in [vec2(1000.0, 640.0), vec2(1100.0, 700.0), vec2(1920.0, 1080.0)] {
        let person = Person::sized(home.path(), Some(&file), size);
        let findings = person.tab("Booking").split(", ").next().unwrap().to_owned();
        let mut right = 0.0;
        for label in VIEWS.into_iter().chain([findings.as_str(), "Next: Dummy"]) {
            let rect = rect_of(&person, label);
            assert!(rect.left() >= right && rect.right() <= size.x, "{label} at {rect} in {size}");
            right = rect.right();
        }
        // Tabs are as high as the strip, and all alike.
        let widths: Vec<f32> = VIEWS.iter().map(|v| rect_of(&person, v).width()).collect();
        assert!(widths.iter().all(|w| *w == widths[0] && *w >= 132.0), "{widths:?}");
        assert!((51.0..=52.0).contains(&rect_of(&person, "Run").height()));
    }
}

#[test]
fn the_corner_of_the_sheet_zooms() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = two_blocks(dir.path());
    let percent = |p: &Person| {
        let message = p.harness.get_by_role_and_label(Role::Button, "Zoom").value().unwrap();
        message.trim_end_matches(" %").parse::<f64>().unwrap()
    };
    let fitted = percent(&person);
    person.click("Zoom in");
    assert!((percent(&person) / fitted - 1.25).abs() < 0.02);
    person.click("Zoom out");
    assert!((percent(&person) - fitted).abs() <= 1.0);
}
