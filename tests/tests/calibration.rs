//! Measured data against the model that is fitted to it.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]
#![expect(clippy::print_stdout, reason = "the fitted figures are shown")]

use std::path::{Path, PathBuf};

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use slipsheet::cli::Ending;
use slipsheet::window::Answer;
use slipsheet_core::calibrate::{WedgeSheet, fit_measured};
use slipsheet_core::cgats::{ColourFields, Table};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::stock::Finish;
use slipsheet_core::tone::ToneCurve;
use slipsheet_core::units::SheetFormat;
use slipsheet_document::layer::Layer;
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_tests::prints::scan_of_sheet;
use slipsheet_tests::programs::slipsheet;
use slipsheet_tests::window::Person;

/// FOGRA29L (tests/data): uncoated, the ramps of C, M, Y, K and the overprinted solids, read as measured data.
#[test]
fn a_characterisation_predicts_its_own_ramps() {
    let text = std::fs::read_to_string(slipsheet_tests::data("FOGRA29L.txt")).unwrap();
    let measured = Table::parse(&text).unwrap().measurements().unwrap();
    assert_eq!((measured.channels.concat().as_str(), measured.colours), ("CMYK", ColourFields::Lab));
    assert_eq!(measured.patches.len(), 1485);
    let result = fit_measured(&measured.patches, &measured.channels, Finish::Uncoated).unwrap();
    println!("n {:.2} {:?}, floor {:.3}, trap {:?}", result.n, result.n_range, result.floor, result.trap);
    for ink in &result.inks {
        let all: Vec<f64> = ink.steps.iter().map(|s| s.delta_e).collect();
        let (mean, worst) =
            (all.iter().sum::<f64>() / all.len() as f64, all.iter().copied().fold(0.0, f64::max));
        println!(
            "{}: {} steps, CIEDE2000 mean {mean:.2}, worst {worst:.2}, rms {:.4}",
            ink.name,
            all.len(),
            ink.rms
        );
        assert!(all.len() >= 5 && mean < 1.5 && worst < 3.0 && ink.rms < 0.01, "{}", ink.name);
    }
    let trap = result.trap.unwrap();
    assert!(trap.after <= trap.before, "{trap:?}");
}

/// The press of the synthetic prints: solids, curves, floor, trapping and n that no shelf has (invented).
struct Truth {
    solids: Vec<Lab>,
    curves: Vec<ToneCurve>,
    model: Overprint,
}

const TRAP: f64 = 0.75;
const N: f64 = 1.7;

fn truth(paper: Lab) -> Truth {
    let solids = vec![Lab::new(60.0, -32.0, -16.0).unwrap(), Lab::new(52.0, 50.0, 24.0).unwrap()];
    let gain = |g: f64| {
        let at = |x: f64| (x, (x + g * 4.0 * x * (1.0 - x)).min(1.0));
        ToneCurve::new((0..=8).map(|i| at(f64::from(i) / 8.0)).collect()).unwrap()
    };
    let film = |solid: &Lab| Film { solid: *solid, on: paper, on_floor: 0.062, opacity: 0.0, emission: 1.0 };
    let films: Vec<Film> = solids.iter().map(film).collect();
    let ground = Ground { paper, floor: 0.062, trap: TRAP, n: N };
    Truth { solids, curves: vec![gain(0.2), gain(0.1)], model: Overprint::new(&ground, &films).unwrap() }
}

/// A saved project with two layers in inks of the starter shelf, and its scan of a calibration sheet.
fn project_and_scan(folder: &Path) -> (PathBuf, Project, PathBuf, Truth) {
    let shelf = Shelf::starter().unwrap();
    let mut project = Project::new("Calibrated", SheetFormat::Letter, shelf.stocks[0].clone());
    for ink in shelf.inks.iter().take(2) {
        let id = project.ids.layer();
        project.main.layers.push(Layer::new(id, ink.name.clone(), ink.clone()));
    }
    let file = folder.join("job.slipsheet");
    std::fs::write(&file, project.to_ron().unwrap()).unwrap();
    let names: Vec<String> = project.main.layers.iter().map(|l| l.ink.name.clone()).collect();
    let sheet = WedgeSheet::new(project.main.format.size(), &names, 0).unwrap();
    let truth = truth(project.main.stock.colour.lab());
    let scan = scan_of_sheet(folder, "calibration.png", &sheet, (&truth.model, &truth.curves));
    (file, project, scan, truth)
}

/// The curve within 0.02 of coverage, the solid within 2 CIEDE2000: what a synthetic print must give back.
#[track_caller]
fn gives_back(ink: &Ink, truth: &Truth, k: usize) {
    assert!(ink.solid.measured());
    let off = ink.solid.lab().ciede2000(truth.solids[k]);
    assert!(off < 2.0, "{}: {off}", ink.name);
    for step in 0..=100 {
        let x = f64::from(step) / 100.0;
        let (got, wanted) = (ink.curve.effective(x), truth.curves[k].effective(x));
        assert!((got - wanted).abs() < 0.02, "{} at {x}: {got} is not {wanted}", ink.name);
    }
}

#[test]
fn a_dropped_calibration_sheet_is_read_shown_taken_over_and_taken_back() {
    let dir = tempfile::tempdir().unwrap();
    let (file, before, scan, truth) = project_and_scan(dir.path());
    let mut person = Person::at(dir.path(), Some(&file));
    person.drop_files(&[scan]);
    person.harness.get_by_label("Read this calibration sheet?");
    let project = |p: &Person| p.harness.state().session().project().clone();
    assert_eq!(project(&person), before, "nothing is added before the person has answered");
    person.harness.get_by_label("Read").click();
    person.settle();
    person.harness.get_by_label("What was measured");
    assert_eq!(project(&person), before, "nothing changes before it is accepted");
    person.harness.get_by_label("The red, green and blue channel by itself").click();
    person.settle();
    person.harness.get_by_label("Use these").click();
    person.settle();

    let after = project(&person);
    let shelf = person.harness.state().session().shelf().clone();
    for (k, layer) in after.main.layers.iter().enumerate() {
        gives_back(&layer.ink, &truth, k);
        assert_eq!(shelf.ink(&layer.ink.name), Some(&layer.ink));
    }
    assert!((after.main.stock.n.unwrap() - N).abs() < 0.2, "{:?}", after.main.stock.n);
    assert!((after.main.stock.trap.unwrap() - TRAP).abs() < 0.15, "{:?}", after.main.stock.trap);
    assert_eq!(after.overprints.len(), 1);
    assert_eq!(shelf.stock(&after.main.stock.name), Some(&after.main.stock));
    assert_eq!(shelf.overprints, after.overprints);
    // The project now foresees what the press does, also without the measured overprint.
    let inks: Vec<&Ink> = after.main.layers.iter().map(|l| &l.ink).collect();
    let foreseen = Overprint::of(&after.main.stock, &inks, &[]).unwrap();
    for cover in [[1.0, 1.0], [0.5, 0.0], [0.3, 0.8]] {
        let off = foreseen.mix(&cover).lab().ciede2000(truth.model.mix(&cover).lab());
        assert!(off < 2.0, "{cover:?}: {off}");
    }
    // It outlives the program, and one undo takes the project back.
    assert_eq!(person.home().shelf().0, shelf);
    person.press(Modifiers::COMMAND, Key::Z);
    assert_eq!(project(&person), before);
    assert!(person.harness.state().session().history().undo_label().is_none());
}

#[test]
fn a_calibration_sheet_may_be_left_or_become_a_layer_after_all() {
    let dir = tempfile::tempdir().unwrap();
    let (file, before, scan, _) = project_and_scan(dir.path());
    let mut person = Person::at(dir.path(), Some(&file));
    person.drop_files(std::slice::from_ref(&scan));
    person.harness.get_by_label("Read").click();
    person.settle();
    person.harness.get_by_label("Discard").click();
    person.settle();
    let session = |p: &Person| p.harness.state().session().project().clone();
    assert_eq!(session(&person), before);
    assert_eq!(person.harness.state().session().shelf(), &Shelf::starter().unwrap());
    person.drop_files(&[scan]);
    person.harness.get_by_label("Add it as a layer").click();
    person.settle();
    // The first layer was selected and empty, so that is where a single scan goes.
    assert_eq!(session(&person).main.layers[0].art.len(), 1);
}

#[test]
fn a_picture_that_is_no_calibration_sheet_says_so_where_it_was_asked_for() {
    let dir = tempfile::tempdir().unwrap();
    let (file, ..) = project_and_scan(dir.path());
    let other = dir.path().join("other.png");
    image::RgbImage::from_pixel(900, 1200, image::Rgb([230, 228, 220])).save(&other).unwrap();
    let mut person = Person::at(dir.path(), Some(&file));
    person.paths.lay(Answer::Paths(vec![other]));
    person.harness.get_by_label("File").click();
    person.settle();
    person.harness.get_by_label("Read calibration scan…").click();
    person.settle();
    person.harness.get_by_label("Read").click();
    person.settle();
    person.harness.get_by_label_contains("0 of the 4 ringed corner marks");
}

#[test]
fn an_instruments_table_is_imported_in_the_window() {
    let dir = tempfile::tempdir().unwrap();
    let (file, before, ..) = project_and_scan(dir.path());
    let mut person = Person::at(dir.path(), Some(&file));
    person.paths.lay(Answer::Paths(vec![slipsheet_tests::data("FOGRA29L.txt")]));
    person.harness.get_by_label("File").click();
    person.settle();
    person.harness.get_by_label("Import measured data…").click();
    person.settle();
    person.harness.get_by_label("Import measured data");
    // Magenta is printed second, though its column is chosen first.
    let combo = egui::accesskit::Role::ComboBox;
    for (column, layer) in [("CMYK_M", 1), ("CMYK_C", 0)] {
        person.harness.get_by_role_and_label(combo, column).click();
        person.settle();
        let name = before.main.layers[layer].ink.name.clone();
        // The layer stack has a button of that name too; the list's own comes last.
        let entries = person.harness.get_all_by_role_and_label(egui::accesskit::Role::Button, &name);
        entries.last().unwrap().click();
        person.settle();
    }
    person.harness.get_by_label("Read").click();
    person.settle();
    person.harness.get_by_label("Use these").click();
    person.settle();
    let after = person.harness.state().session().project().clone();
    // Cyan and magenta solids of FOGRA29L, as its table has them.
    for (k, solid) in [(0, [100.0, 0.0, 0.0, 0.0]), (1, [0.0, 100.0, 0.0, 0.0])] {
        let measured = solid_of("FOGRA29L.txt", solid);
        assert!(
            after.main.layers[k].ink.solid.lab().ciede2000(measured) < 0.5,
            "{}",
            after.main.layers[k].ink.name
        );
    }
    assert!(after.main.stock.colour.measured() && after.overprints.len() == 1);
}

fn solid_of(file: &str, cover: [f64; 4]) -> Lab {
    let text = std::fs::read_to_string(slipsheet_tests::data(file)).unwrap();
    let measured = Table::parse(&text).unwrap().measurements().unwrap();
    let wanted = cover.map(|c| c / 100.0);
    measured.patches.iter().find(|p| p.cover == wanted).unwrap().lab
}

#[test]
fn measured_data_goes_onto_a_shelf_from_the_command_line() {
    let dir = tempfile::tempdir().unwrap();
    let (table, save) = (slipsheet_tests::data("FOGRA29L.txt"), dir.path().join("measured.ron"));
    let (table, save) = (table.to_str().unwrap(), save.to_str().unwrap());
    let stock = Shelf::starter().unwrap().stocks[0].name.clone();
    let columns = ["--ink", "CMYK_C=Deep blue", "--ink", "Y=Hip-berry red"];
    let mut args = vec!["measured", table, "--json", "--stock", &stock, "--save", save];
    args.extend(columns);
    let (ending, out, err) = slipsheet(&args);
    assert_eq!((ending, err.as_str()), (Ending::Fine, ""));
    assert!(out.contains("\"name\":\"Deep blue\"") && out.contains("\"tints\""), "{out}");
    let shelf = Shelf::from_ron(&std::fs::read_to_string(save).unwrap()).unwrap();
    assert_eq!(shelf.inks.len(), 2);
    assert!(shelf.inks[0].solid.lab().ciede2000(solid_of("FOGRA29L.txt", [100.0, 0.0, 0.0, 0.0])) < 0.5);
    assert_eq!(shelf.overprints[0].inks, ["Deep blue", "Hip-berry red"]);
    assert!(shelf.stocks[0].colour.measured() && shelf.stocks[0].n.is_some());

    let (ending, _, err) = slipsheet(&["measured", table, "--ink", "CMYK_G=Hip-berry red"]);
    assert_eq!(ending, Ending::Failed);
    assert!(err.contains("no column “CMYK_G”; there are CMYK_C, CMYK_M"), "{err}");
}
