//! `slipsheet study`, `run` and `spread`, from scans to figures and pictures.

use std::path::Path;

use slipsheet::cli::Ending;
use slipsheet_core::geometry::Point;
use slipsheet_core::press::{Measured, Offset, Press, Spread};
use slipsheet_core::units::Dpi;
use slipsheet_files::store;
use slipsheet_registration::slip::run::Slipper;
use slipsheet_registration::slip::spread::{SpreadSheet, station_plate};

use super::harness::{fine, gray_png, slipsheet};

/// Two boxes on a sheet of 120 x 100 mm, each in a pass of its own: the first from x = 60 mm to 100, the second from
/// 20 to 60.4.
fn project(folder: &Path) -> String {
    let mut scans = Vec::new();
    for (i, (x0, x1)) in [(600, 1000), (200, 604)].into_iter().enumerate() {
        let pixels: Vec<u8> = (0..1200 * 1000)
            .map(|p| if (x0..x1).contains(&(p % 1200)) && (200..800).contains(&(p / 1200)) { 0 } else { 255 })
            .collect();
        let path = folder.join(format!("ink{i}.png"));
        gray_png(&path, (1200, 1000), &pixels, 254.0);
        scans.push(path.to_str().unwrap().to_owned());
    }
    let project = folder.join("walk.slipsheet").to_str().unwrap().to_owned();
    let args = ["new", "--sheet", "120x100", "--drums", "1", "-o", &project, &scans[0], &scans[1]];
    fine(&args);
    project
}

fn json(args: &[&str]) -> serde_json::Value {
    let (_, out, err) = slipsheet(args);
    assert_eq!(err, "");
    serde_json::from_str(&out).unwrap()
}

#[test]
fn a_study_tells_the_tolerance_and_the_place() {
    let folder = tempfile::tempdir().unwrap();
    let project = project(folder.path());
    let study = json(&["study", &project, "--json"]);
    // Trap 0.4 mm as drawn, and 0.5 mm that would still sell.
    let tolerance = study["tolerance_mm"].as_f64().unwrap();
    assert!((tolerance - 0.9).abs() < 0.02, "{study}");
    let worst = &study["worst"][0];
    assert!((worst["x_mm"].as_f64().unwrap() - 60.4).abs() < 0.1, "{worst}");
    assert!((worst["trap_mm"].as_f64().unwrap() - 0.4).abs() < 0.02 && worst["shows"] == "paper", "{worst}");
    assert_eq!((study["rose"].as_array().unwrap().len(), &worst["upper"]), (72, &2.into()));
    for name in ["pairs", "thin", "thin_strokes", "knocked_out_type", "small_text"] {
        assert!(study[name].is_array(), "{name}");
    }
    assert_eq!(study["pairs"][0]["rose"].as_array().unwrap().len(), 72);
    let wider = json(&["study", &project, "--json", "--gap", "0.3"])["tolerance_mm"].as_f64().unwrap();
    assert!((wider - 0.7).abs() < 0.02, "{wider}");
    let (ending, out, _) = slipsheet(&["study", &project]);
    // The estimated press slips farther between its passes than this design takes.
    assert!(ending == Ending::Warnings && out.starts_with("tolerance: 0.9"), "{out}");
    let (ending, _, err) = slipsheet(&["study", &project, "--gap", "0"]);
    assert!(
        ending == Ending::Failed && err.contains("a number of mm from 0.01 to 10, or close, easy or loose"),
        "{err}"
    );
    let (ending, _, err) = slipsheet(&["study", &project, "--share", "2"]);
    assert!(ending == Ending::Failed && err.contains("from 0 to 1"), "{err}");
}

#[test]
fn a_study_tells_strokes_knocked_out_type_and_small_text_apart() {
    // 80 x 60 mm at 10 pixels a mm: one line of 0.4 mm in both inks, a grid of such lines like small type, and
    // an opening of 0.4 mm through both inks.
    let folder = tempfile::tempdir().unwrap();
    let line = |x: i32, y: i32| (100..104).contains(&x) && (50..550).contains(&y);
    let grid =
        |x: i32, y: i32| (200..400).contains(&x) && (100..300).contains(&y) && (x % 20 < 4 || y % 20 < 4);
    let hole = |x: i32, y: i32| (600..604).contains(&x) && (100..500).contains(&y);
    let solid = |x: i32, y: i32| (500..700).contains(&x) && (50..550).contains(&y) && !hole(x, y);
    let pixels: Vec<u8> = (0..800 * 600)
        .map(|p| (p % 800, p / 800))
        .map(|(x, y)| if line(x, y) || grid(x, y) || solid(x, y) { 0 } else { 255 })
        .collect();
    let scans: Vec<String> = ["a.png", "b.png"]
        .map(|name| {
            let path = folder.path().join(name);
            gray_png(&path, (800, 600), &pixels, 254.0);
            path.to_str().unwrap().to_owned()
        })
        .to_vec();
    let project = folder.path().join("thin.slipsheet").to_str().unwrap().to_owned();
    let args = ["new", "--sheet", "80x60", "--fold", "none", "-o", &project, &scans[0], &scans[1]];
    assert_eq!(slipsheet(&args).0, Ending::Fine);
    let study = json(&["study", &project, "--json", "--places", "60"]);
    let near = |name: &str, x0: f64, x1: f64| {
        study[name].as_array().unwrap().iter().any(|t| {
            let x = t["x_mm"].as_f64().unwrap();
            x0 < x && x < x1 && (t["width_mm"].as_f64().unwrap() - 0.4).abs() < 0.15
        })
    };
    assert!(near("thin_strokes", 9.0, 11.5), "{}", study["thin_strokes"]);
    assert!(near("small_text", 20.0, 40.0), "{}", study["small_text"]);
    assert!(near("knocked_out_type", 59.0, 61.5), "{}", study["knocked_out_type"]);
    assert!(!near("small_text", 9.0, 11.5) && !near("thin_strokes", 50.0, 70.0), "{study}");
}

#[test]
fn a_run_is_the_same_for_a_seed_and_draws_its_copies() {
    let folder = tempfile::tempdir().unwrap();
    let project = project(folder.path());
    let sheet = folder.path().join("run.png");
    let args = ["run", &project, "--copies", "40", "--seed", "7", "--json", "-o", sheet.to_str().unwrap()];
    let first = json(&args);
    assert_eq!(first, json(&args));
    assert_ne!(first["each"], json(&["run", &project, "--copies", "40", "--seed", "8", "--json"])["each"]);
    let each = first["each"].as_array().unwrap();
    assert_eq!(each.len(), 40);
    let good = each.iter().filter(|c| c["sells"] == true).count() as u64;
    assert_eq!(first["sold"].as_u64().unwrap(), good);
    // A copy sells when no more than a twentieth of the edge opens wider; skew may open one end of it.
    for copy in each {
        let (sells, gap) = (copy["sells"].as_bool().unwrap(), copy["gap_mm"].as_f64().unwrap());
        let needs = copy["needs_gap_mm"].as_f64().unwrap();
        assert!(sells == (needs <= 0.5) && needs <= gap, "{copy}");
    }
    assert!(first["to_print"].as_u64().unwrap() >= 100, "{first}");
    for name in ["gap_histogram", "change_histogram"] {
        let bins = first[name]["copies"].as_array().unwrap();
        assert_eq!(bins.iter().map(|b| b.as_u64().unwrap()).sum::<u64>(), 40, "{name}");
    }
    let share = first["share"].as_f64().unwrap();
    let ends = [&first["wilson"][0], &first["wilson"][1]].map(|v| v.as_f64().unwrap());
    assert!(ends[0] < share && share < ends[1], "{ends:?}");
    let reader = png::Decoder::new(std::io::BufReader::new(std::fs::File::open(&sheet).unwrap()));
    let info = reader.read_info().unwrap();
    assert_eq!(info.info().width, 10 * 156 + 6);
    let (_, out, _) = slipsheet(&["run", &project, "--copies", "40", "--wanted", "50"]);
    assert!(out.contains("of 100 would sell") && out.contains("To get 50 good copies print"), "{out}");
    let (ending, _, err) = slipsheet(&["run", &project, "-o", &project]);
    assert!(ending == Ending::Failed && !err.is_empty());
}

#[test]
fn a_run_takes_a_gap_and_a_share_and_a_laxer_acceptance_gives_no_fewer_good_copies() {
    let folder = tempfile::tempdir().unwrap();
    let project = project(folder.path());
    let good = |gap: &str, share: &str| {
        let args = ["run", &project, "--copies", "60", "--json", "--gap", gap, "--share", share];
        let run = json(&args);
        assert_eq!(run["accepted"]["gap_mm"].as_f64().unwrap(), gap.parse::<f64>().unwrap());
        let good = |c: &serde_json::Value| c["sells"].as_bool().unwrap();
        run["each"].as_array().unwrap().iter().map(good).collect::<Vec<bool>>()
    };
    let steps =
        [("0.05", "0"), ("0.15", "0.05"), ("0.5", "0.05"), ("0.5", "0.4"), ("1.5", "0.4"), ("1.5", "1")]
            .map(|(gap, share)| good(gap, share));
    for two in steps.windows(2) {
        assert!(two[0].iter().zip(&two[1]).all(|(strict, lax)| lax >= strict), "{two:?}");
    }
    let count = |copies: &[bool]| copies.iter().filter(|good| **good).count();
    assert!(count(&steps[0]) < count(&steps[4]) && count(&steps[5]) == 60, "{steps:?}");
    for (wish, wanted) in [
        (["--gap", "NaN"], "a number of mm"),
        (["--gap", "0"], "a number of mm from 0.01 to 10"),
        (["--share", "NaN"], "not a number"),
        (["--share", "1.5"], "0 to 1"),
    ] {
        let (ending, _, err) = slipsheet(&["run", &project, wish[0], wish[1]]);
        assert!(ending == Ending::Failed && err.contains(wanted), "{wish:?}: {err}");
    }
    // Colour may count besides, and "any" lets go of it.
    let strict = json(&["run", &project, "--copies", "60", "--json", "--gap", "5", "--colour", "0.1"]);
    assert_eq!(strict["sold"], 0, "{strict}");
    let any = json(&["run", &project, "--copies", "60", "--json", "--gap", "5", "--colour", "any"]);
    assert_eq!(any["sold"], 60, "{any}");
}

#[test]
fn a_spread_is_measured_from_scans_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let file = project(folder.path());
    let plates = folder.path().join("marks");
    let (ending, out, err) =
        slipsheet(&["spread", &file, "--plates", plates.to_str().unwrap(), "--dpi", "200"]);
    assert_eq!((ending, err.as_str(), out.lines().count()), (Ending::Fine, "", 2));
    // Copies as a press of known spread prints them, scanned at 200 dpi.
    let mut of_press = store::load(Path::new(&file)).unwrap().main_printing();
    of_press.press.between_passes = Spread::of(0.3, 0.5, 0.0, 0.0);
    of_press.press.offset = Offset::of(1.5, 0.0, 0.2, 0.0);
    let slipper = Slipper::of(&of_press, slipsheet_paper::fold::Face::Front, 3);
    let size = of_press.sheet.size();
    let layout = SpreadSheet::new(size, 2);
    let dpi = Dpi::new(200.0).unwrap();
    let mut scans = Vec::new();
    for copy in 0..12 {
        let slips = slipper.slips(copy);
        let mut scan: Option<slipsheet_core::raster::GrayRaster> = None;
        for (marks, slip) in layout.marks.iter().zip(&slips) {
            let at = |p: Point| {
                let shift = slip.shift_at(p, size);
                Point::new(p.x + shift.x, p.y + shift.y)
            };
            let plate = station_plate(size, marks, dpi, at).unwrap();
            match &mut scan {
                Some(scan) => {
                    for (s, p) in scan.pixels_mut().iter_mut().zip(plate.pixels()) {
                        *s = (*s).min(*p);
                    }
                }
                None => scan = Some(plate),
            }
        }
        let scan = scan.unwrap();
        let path = folder.path().join(format!("copy{copy}.png"));
        gray_png(&path, (scan.width(), scan.height()), scan.pixels(), 200.0);
        scans.push(path.to_str().unwrap().to_owned());
    }
    let args: Vec<&str> = ["spread", &file, "--json", "--save", "press"]
        .into_iter()
        .chain(scans.iter().map(String::as_str))
        .collect();
    let found = json(&args);
    let between = &found["between_passes"];
    for (i, wanted) in [(0, 0.3), (1, 0.5)] {
        let (low, high) = (between[i]["low"].as_f64().unwrap(), between[i]["high"].as_f64().unwrap());
        assert!(low < wanted && wanted < high, "{wanted} is not from {low} to {high}");
    }
    let press = store::load(Path::new(&file)).unwrap().press;
    // The marks were printed in passes of one ink: nothing is known of two in one.
    assert!(press.measured.between_passes && !press.measured.within_pass, "{}", press.standing());
    assert!((press.between_passes.dy.get() - between[1]["value"].as_f64().unwrap()).abs() < 1e-9);
    // What lies off alike on every copy is told with its interval, kept, and used.
    for (i, wanted) in [(0, 1.5), (2, 0.2)] {
        let figure = &found["offset"][i];
        let (low, high) = (figure["low"].as_f64().unwrap(), figure["high"].as_f64().unwrap());
        assert!(low - 0.02 < wanted && wanted < high + 0.02, "{wanted}: {figure}");
    }
    assert!((press.offset.dx.get() - found["offset"][0]["value"].as_f64().unwrap()).abs() < 1e-9);
    assert!((press.offset.skew.get() - 0.2).abs() < 0.03, "{:?}", press.offset);
    let args: Vec<&str> = ["spread", &file].into_iter().chain(scans.iter().map(String::as_str)).collect();
    let (_, out, _) = slipsheet(&args);
    assert!(out.contains("later passes against the first: right, mm: 1."), "{out}");
    assert!(out.contains("Set this out on the machine before the run"), "{out}");
    let (_, out, _) = slipsheet(&["run", &file, "--copies", "40"]);
    assert!(out.contains("Set this out on the machine before the run"), "{out}");
    // The right one of the boxes prints first: a later pass that lies 1.5 mm to the right opens nothing there.
    let with_it = json(&["run", &file, "--copies", "60", "--json"])["sold"].as_u64().unwrap();
    let (ending, out, _) = slipsheet(&["spread", &file, "--no-offset"]);
    assert!(ending == Ending::Fine && out.contains("has no offset now"), "{out}");
    assert!(press.measured.offset);
    let measured = Measured { offset: false, ..press.measured };
    let set_out = Press { offset: Offset::default(), measured, ..press };
    assert_eq!(store::load(Path::new(&file)).unwrap().press, set_out);
    assert!(with_it > json(&["run", &file, "--copies", "60", "--json"])["sold"].as_u64().unwrap());
    let (ending, _, err) = slipsheet(&["spread", &file, &scans[0], &scans[1]]);
    assert!(ending == Ending::Failed && err.contains("at least 3"), "{err}");
    let twin = folder.path().join("twin.png").to_str().unwrap().to_owned();
    std::fs::copy(&scans[1], &twin).unwrap();
    let (ending, _, err) = slipsheet(&["spread", &file, &scans[0], &scans[1], &twin]);
    assert!(ending == Ending::Failed && err.contains("are the same file; scan several copies"), "{err}");
    assert!(err.contains("copy1.png and ") && err.contains("twin.png"), "{err}");
    let (ending, _, err) = slipsheet(&["spread", &file]);
    assert!(ending == Ending::Failed && err.contains("--help"), "{err}");
}

#[test]
fn what_a_person_accepts_is_kept_with_the_project_and_read_by_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let project = project(folder.path());
    assert!(fine(&["accept", &project]).contains("gaps to 0.5 mm (easy), 5 % of the edges wider"));
    let tolerance = || json(&["study", &project, "--json"])["tolerance_mm"].as_f64().unwrap();
    let easy = tolerance();
    fine(&["accept", &project, "--gap", "loose", "--share", "0.1", "--colour", "6"]);
    let now = json(&["accept", &project, "--json"]);
    assert_eq!(now, serde_json::json!({"gap_mm": 1.0, "share": 0.1, "colour_ciede2000": 6.0}));
    assert!((tolerance() - easy - 0.5).abs() < 0.1, "{easy}");
    assert_eq!(store::load(Path::new(&project)).unwrap().acceptance.gap.get(), 1.0);
    // What is given to one command is not kept.
    let once = json(&["study", &project, "--json", "--gap", "close"]);
    assert_eq!(once["accepted"]["gap_mm"], 0.15);
    assert_eq!(json(&["accept", &project, "--json"]), now);
    for wrong in [["--gap", "0"], ["--gap", "wide"], ["--share", "1.2"], ["--colour", "-1"]] {
        let (ending, _, err) = slipsheet(&["accept", &project, wrong[0], wrong[1]]);
        assert!(ending == Ending::Failed && err.contains("not “"), "{err}");
    }
}
