//! Readings in the window: lost tones hatched on the sheet, readings side by side, a PDF read at another
//! resolution.

use egui::{Key, Modifiers, pos2, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use slipsheet_core::gray_check::Fate;
use slipsheet_core::reading::Reading;
use slipsheet_core::units::Dpi;
use slipsheet_document::layer::Layer;
use slipsheet_tests::scans::{letter_pdf, letter_wash};
use slipsheet_tests::window::Person;

fn layer(person: &Person) -> Layer {
    person.project().main.layers[0].clone()
}

/// Columns of the sheet's picture that have a fate's hatch, by the least and the greatest, and how many pixels.
fn hatched(person: &Person, fate: Fate) -> (usize, usize, usize) {
    let picture = person.harness.state().sheet_picture().unwrap();
    let [r, g, b] = fate.colour();
    let found = picture.pixels.iter().enumerate().filter(|(_, p)| **p == [r, g, b, 255]);
    let columns: Vec<usize> = found.map(|(i, _)| i % picture.width).collect();
    let end = |v: Option<&usize>| v.copied().unwrap_or(0);
    (columns.len(), end(columns.iter().min()), end(columns.iter().max()))
}

#[test]
fn lost_tones_are_hatched_with_a_legend_and_follow_what_one_does() {
    let dir = tempfile::tempdir().unwrap();
    let wash = letter_wash(dir.path(), "wash.png");
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[wash]);
    assert_eq!((hatched(&person, Fate::Vanishes).0, hatched(&person, Fate::Clogs).0), (0, 0));
    assert!(person.harness.query_by_label_contains("will vanish").is_none());

    // By its key: both hatches, the legend with its shares, one at each end of the wash.
    person.press(Modifiers::NONE, Key::V);
    let legend = person.harness.get_by_label_contains("will vanish");
    let text = legend.accesskit_node().label().unwrap();
    assert!(text.starts_with("Lost tones of wash:") && text.contains("will fill in"), "{text}");
    assert!(text.contains("% of it"), "the shares are missing: {text}");
    let (pale, pale_from, pale_to) = hatched(&person, Fate::Vanishes);
    let (dark, dark_from, _) = hatched(&person, Fate::Clogs);
    assert!(pale > 200 && dark > 200 && pale_to < dark_from, "{pale} to {pale_to}, {dark} from {dark_from}");

    // They follow a slip: dragged 40 points to the right, they lie as much further.
    person.drag(pos2(680.0, 430.0), pos2(720.0, 430.0));
    let (_, moved_from, moved_to) = hatched(&person, Fate::Vanishes);
    let by = [moved_from - pale_from, moved_to - pale_to];
    assert!(by.iter().all(|d| (28..=52).contains(d)), "{by:?}");

    // They follow the reading: lighter, and more vanishes.
    person.drag_slider("Density", -30.0);
    assert!(layer(&person).reading.density.get() < 0.0);
    assert!(hatched(&person, Fate::Vanishes).0 > pale + pale / 4);

    // Off again by the tick in the panel.
    person.click("Hatch lost tones on the sheet");
    assert_eq!((hatched(&person, Fate::Vanishes).0, hatched(&person, Fate::Clogs).0), (0, 0));
}

#[test]
fn one_of_several_readings_is_taken_over_by_a_click_and_undone_in_one_step() {
    let dir = tempfile::tempdir().unwrap();
    let wash = letter_wash(dir.path(), "wash.png");
    let mut person = Person::at(dir.path(), None);
    person.drop_files(&[wash]);
    let before = person.project().clone();
    person.click("Compare readings…");
    person.harness.get_by_label("Readings of wash");
    for i in 1..=5 {
        person.harness.get_by_label(&format!("Print of reading {i}"));
    }
    let shares = person.harness.get_all_by_label_contains("vanishes").count();
    assert!(shares >= 5, "figures stand under {shares} readings");

    // A drag looks elsewhere; it takes nothing over and leaves no step of history.
    let middle = person.harness.get_by_label("Print of reading 2").rect().center();
    person.drag(middle, middle + vec2(-30.0, 20.0));
    person.harness.get_by_label("Print of reading 2");
    assert_eq!(person.project(), &before);

    let wanted: Vec<Reading> = before.main.layers[0].reading.alternatives();
    person.click("Print of reading 3");
    assert!(person.harness.query_by_label("Print of reading 3").is_none(), "the strip closes");
    assert_eq!(layer(&person).reading, wanted[2]);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(person.project(), &before);

    // By its key and the button under a picture, at another setting of that picture.
    person.press(Modifiers::NONE, Key::C);
    person.click("Add a reading");
    person.harness.get_by_label("Print of reading 6");
    person.click("Use reading 2");
    assert_eq!(layer(&person).reading, wanted[1]);
}

#[test]
fn a_pdf_is_read_at_another_resolution_and_keeps_its_size() {
    let dir = tempfile::tempdir().unwrap();
    let pdf = letter_pdf(dir.path(), "page.pdf");
    // Tall enough for the whole inspector.
    let mut person = Person::sized(dir.path(), None, vec2(1360.0, 1500.0));
    person.drop_files(&[pdf]);
    let before = layer(&person);
    let mm_wide = |person: &Person| {
        let scan = layer(person).art[0].scan.clone();
        let pixels = person.harness.state().session().images().get(&scan.key).unwrap().full().width();
        f64::from(pixels) / scan.dpi.px_per_mm()
    };
    assert_eq!(before.art[0].scan.dpi, Dpi::new(600.0).unwrap());
    let wide = mm_wide(&person);
    let field = person.spin("Read at");
    person.drag(field, field + vec2(-120.0, 0.0));
    let after = layer(&person);
    let read_at = after.art[0].scan.key.resolution.unwrap();
    assert!(read_at.get() < 500.0 && read_at == after.art[0].scan.dpi, "{read_at:?}");
    assert!((mm_wide(&person) - wide).abs() < 0.1, "{} and {wide} mm", mm_wide(&person));
    assert_eq!(after.art[0].placement, before.art[0].placement);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(layer(&person), before);
    assert!((mm_wide(&person) - wide).abs() < 1e-9);
}
