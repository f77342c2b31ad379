//! Lining originals up in the window, as a person would: marks that are looked over and moved by hand, a crop,
//! and two layers held against each other.

use egui::accesskit::Role;
use egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use slipsheet_document::layer::{Art, Placement};
use slipsheet_files::{GuideOptions, guide_png};
use slipsheet_tests::scans::letter_with_block;
use slipsheet_tests::window::Person;

/// A window with one layer: the page guide itself, as it would come from a scanner.
fn with_guide(folder: &std::path::Path, size: egui::Vec2) -> Person {
    let mut person = Person::sized(folder, None, size);
    let guide = folder.join("original.png");
    guide_png(person.printing(), &GuideOptions::default(), &guide).unwrap();
    person.drop_files(&[guide]);
    person
}

fn art(person: &Person) -> &Art {
    &person.project().main.layers[0].art[0]
}

/// The root mean square that the dialog states.
fn rms(person: &Person) -> f64 {
    let node = person.harness.get_by_label_contains("RMS residual");
    let node = node.accesskit_node();
    let text = node.value().or_else(|| node.label()).unwrap();
    text.split_whitespace().find_map(|word| word.parse().ok()).unwrap()
}

#[test]
fn a_mark_is_dragged_in_the_loupe_and_placing_is_one_step() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_guide(dir.path(), vec2(1360.0, 860.0));
    let before = art(&person).clone();
    person.click("Line up by marks…");
    assert!(rms(&person) < 0.05);
    let nothing_yet = art(&person).clone();
    assert_eq!(nothing_yet, before);

    // Dragging the crosshair a fifth of the loupe moves the mark by millimetres, and its residual says so.
    let loupe = person.harness.get_by_label("Loupe").rect();
    person.drag(loupe.center(), loupe.center() + vec2(loupe.width() / 5.0, 0.0));
    let dragged = rms(&person);
    assert!(dragged > 0.3, "{dragged}");
    person.harness.get_by_label("by hand");
    // Left out, it no longer counts; counted again, it does.
    person.click("Mark 1 counts");
    assert!(rms(&person) < 0.05);
    person.click("Mark 1 counts");
    assert!((rms(&person) - dragged).abs() < 0.011);
    // Arrow keys move it back a little, and only the mark: no layer slips behind the dialog.
    for _ in 0..4 {
        person.press(Modifiers::SHIFT, Key::ArrowLeft);
    }
    assert!(rms(&person) < dragged && person.project().main.layers[0].slip.is_none());
    person.click("Reset marks");
    assert!(rms(&person) < 0.05);

    // The crop is chosen already.
    person.click("Place");
    assert!(person.harness.query_by_label("Loupe").is_none());
    let placed = art(&person).clone();
    let sheet = person.project().main.size();
    assert!(placed.placement.dx.get().abs() < 0.1 && placed.placement.dy.get().abs() < 0.1);
    let crop = placed.crop.unwrap();
    assert!((crop.width.get() - sheet.width.get()).abs() < 0.3, "{crop:?}");
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(art(&person), &before);
    // The crop is taken off again in the inspector.
    person.press(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert_eq!(art(&person), &placed);
    person.harness.get_by_role_and_label(Role::CheckBox, "Crop").scroll_to_me();
    person.settle();
    person.harness.get_by_role_and_label(Role::CheckBox, "Crop").click();
    person.settle();
    assert_eq!((art(&person).crop, art(&person).placement), (None, placed.placement));
}

#[test]
fn an_affine_fit_is_chosen_and_cancelling_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_guide(dir.path(), vec2(1360.0, 860.0));
    let before = art(&person).clone();
    person.click("Line up by marks…");
    let loupe = person.harness.get_by_label("Loupe").rect();
    person.drag(loupe.center(), loupe.center() + vec2(0.0, loupe.height() / 5.0));
    let similar = rms(&person);
    person.click("Affine");
    assert!(rms(&person) < similar);
    person.click("Cancel");
    assert_eq!(art(&person), &before);
    person.press(Modifiers::NONE, Key::M);
    person.press(Modifiers::NONE, Key::Escape);
    assert!(person.harness.query_by_label("Loupe").is_none());
    assert_eq!(art(&person), &before);
    // Placed by an affine fit of marks that were drawn askew, the artwork is stretched or slanted.
    person.click("Line up by marks…");
    let loupe = person.harness.get_by_label("Loupe").rect();
    person.drag(loupe.center(), loupe.center() + vec2(0.0, loupe.height() / 5.0));
    person.click("Affine");
    person.click("Place");
    let Placement { stretch, shear, .. } = art(&person).placement;
    assert!((stretch.get() - 1.0).abs() > 1e-4 || shear.get().abs() > 1e-4);
    person.click("Reset stretch");
    let Placement { stretch, shear, .. } = art(&person).placement;
    assert_eq!((stretch.get(), shear.get()), (1.0, 0.0));
}

#[test]
fn marks_that_are_not_found_are_set_by_hand_on_the_scan() {
    let dir = tempfile::tempdir().unwrap();
    let scan = letter_with_block(dir.path(), "sea.png", [20.0, 20.0, 100.0, 60.0], 0);
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[scan]);
    person.click("Line up by marks…");
    person.harness.get_by_label_contains("set marks by hand");
    assert!(person.harness.get_by_label("Place").accesskit_node().is_disabled());
    // A click in the loupe sets the mark that is looked at, the list chooses the next.
    for (row, off) in [("1  Cross, top left", 3.0), ("3  Cross, bottom right", -3.0)] {
        person.click(row);
        let middle = person.harness.get_by_label("Loupe").rect().center();
        person.drag(middle, middle + vec2(off * 10.0, 0.0));
    }
    person.harness.get_by_label_contains("2 marks fix it exactly");
    person.click("Place");
    // The left mark was set to the right and the right one to the left: the scan is enlarged to reach both.
    assert!(art(&person).placement.scale.get() > 1.003, "{:?}", art(&person).placement);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(art(&person).placement, Placement::default());
}

#[test]
fn two_layers_blink_and_differ_until_escape() {
    let dir = tempfile::tempdir().unwrap();
    let scans = [
        letter_with_block(dir.path(), "sea.png", [20.0, 20.0, 100.0, 60.0], 0),
        letter_with_block(dir.path(), "type.png", [25.0, 20.0, 100.0, 60.0], 60),
        letter_with_block(dir.path(), "weed.png", [90.0, 20.0, 100.0, 60.0], 60),
    ];
    let mut person = Person::at(dir.path(), None);
    person.press(Modifiers::NONE, Key::D);
    assert!(person.harness.query_by_label("End").is_none(), "there is nothing to compare yet");
    person.drop_files(&scans);
    person.press(Modifiers::NONE, Key::D);
    for label in ["weed alone", "type alone", "both"] {
        person.harness.get_by_label(label);
    }
    // Another layer to compare with.
    person.harness.get_by_role_and_label(Role::ComboBox, "Against").click();
    person.settle();
    let choices: Vec<_> = person.harness.get_all_by_label("sea").collect();
    choices.last().unwrap().click();
    drop(choices);
    person.settle();
    person.harness.get_by_label("sea alone");
    // A slip is taken while the difference is on.
    person.press(Modifiers::NONE, Key::ArrowRight);
    assert!(!person.project().main.layers[2].slip.is_none());
    // The other way of comparing keeps the choice.
    person.press(Modifiers::NONE, Key::B);
    assert!(person.harness.query_by_label("sea alone").is_none());
    person.harness.get_by_role_and_label(Role::ComboBox, "Against");
    person.press(Modifiers::NONE, Key::Escape);
    assert!(person.harness.query_by_label("End").is_none());
    // The same key ends it as well, and so does taking the layers away.
    person.press(Modifiers::NONE, Key::B);
    person.press(Modifiers::NONE, Key::B);
    assert!(person.harness.query_by_label("End").is_none());
    person.press(Modifiers::NONE, Key::D);
    person.press(Modifiers::COMMAND, Key::Delete);
    person.press(Modifiers::COMMAND, Key::Delete);
    assert!(person.harness.query_by_label("End").is_none());
    assert_eq!(person.project().main.layers.len(), 1);
}

#[test]
fn at_the_smallest_size_the_whole_dialog_lies_in_the_window() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = with_guide(dir.path(), vec2(1100.0, 700.0));
    person.click("Line up by marks…");
    let window = egui::Rect::from_min_size(egui::pos2(0.0, 0.0), vec2(1100.0, 700.0));
    for label in ["Scan", "Loupe", "Place", "Cancel", "Crop to the sheet found", "1  Cross, top left"] {
        let rect = person.harness.get_by_label(label).rect();
        assert!(window.contains_rect(rect), "{label} lies at {rect}");
    }
    let (list, place) = (
        person.harness.get_by_label("1  Cross, top left").rect(),
        person.harness.get_by_label("Place").rect(),
    );
    assert!(list.bottom() < place.top());
    // So does the legend of a comparison, beside the stack and the inspector.
    person.click("Cancel");
    let scan = letter_with_block(dir.path(), "a rather long name.png", [9.0, 9.0, 90.0, 60.0], 0);
    person.drop_files(&[scan]);
    person.press(Modifiers::NONE, Key::D);
    let canvas = person.harness.get_by_role_and_label(Role::Image, "Sheet").rect();
    for label in ["a rather long n… alone", "both", "original alone", "End"] {
        let rect = person.harness.get_by_label(label).rect();
        assert!(canvas.contains_rect(rect), "{label} lies at {rect}");
    }
}

/// What a person points at stays where it is while marks are set, left out and reset and messages come and go.
#[test]
fn nothing_moves_under_the_pointer_as_messages_come() {
    for size in [vec2(1360.0, 860.0), vec2(1100.0, 700.0)] {
        let dir = tempfile::tempdir().unwrap();
        let mut person = with_guide(dir.path(), size);
        person.click("Line up by marks…");
        let labels = [
            "Scan",
            "Loupe",
            "Similarity",
            "Reset marks",
            "Crop to the sheet found",
            "Place",
            "Cancel",
            "1  Cross, top left",
            "Mark 1 counts",
        ];
        let rects = |p: &Person| labels.map(|l| p.harness.get_by_label(l).rect());
        let before = rects(&person);
        let same = |p: &Person, when: &str| {
            for ((label, a), b) in labels.iter().zip(before).zip(rects(p)) {
                let moved = (a.min - b.min).length().max((a.max - b.max).length());
                assert!(moved < 0.5, "{label} moved from {a} to {b} {when}");
            }
        };
        // A mark far off: the scale is warned of and “by hand” stands beside it.
        let loupe = person.harness.get_by_label("Loupe").rect();
        person.drag(loupe.center(), loupe.center() + vec2(loupe.width() / 2.5, loupe.height() / 3.0));
        person.harness.get_by_label("by hand");
        same(&person, "as a mark was set by hand");
        // All but one mark left out: it does not fit any more, which is said in two lines.
        let marks =
            (1..40).take_while(|i| person.harness.query_by_label(&format!("Mark {i} counts")).is_some());
        for i in marks.collect::<Vec<_>>().into_iter().skip(1) {
            person.harness.get_by_label(&format!("Mark {i} counts")).click_accesskit();
            person.settle();
        }
        assert!(person.harness.query_by_label_contains("RMS residual").is_none());
        same(&person, "as too few marks were left");
        person.harness.get_by_label("Reset marks").click_accesskit();
        person.settle();
        same(&person, "as the marks were reset");
    }
}
