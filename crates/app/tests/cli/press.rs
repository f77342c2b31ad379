//! The press of a project: printed, taken out as a profile and taken in.

use std::path::Path;

use serde_json::Value;
use slipsheet::cli::Ending;
use slipsheet_core::press::{DensityStep, FeedSide, LateFeed, Measured, Offset, Press, Spread};
use slipsheet_document::passes;
use slipsheet_files::{press_file, store};
use slipsheet_paper::fold::Face;

use super::harness::{failing, fine, gray_png, new_project, slipsheet};

fn measured() -> Press {
    Press {
        name: "The one by the window".to_owned(),
        between_passes: Spread::of(0.31, 0.52, 0.06, 0.04),
        offset: Offset::of(0.8, -0.3, 0.0, 0.0),
        measured: Measured { between_passes: true, within_pass: false, offset: true },
        late_feed: LateFeed::new(FeedSide::Right, 0.2),
        density_steps: vec![DensityStep::new("light", -0.5), DensityStep::new("normal", 0.0)],
        ..Press::default()
    }
}

fn set(project: &str, press: &Press) {
    let path = Path::new(project);
    let mut loaded = store::load(path).unwrap();
    loaded.press = press.clone();
    store::save(&loaded, path).unwrap();
}

#[test]
fn a_press_says_what_each_figure_rests_on() {
    let dir = tempfile::tempdir().unwrap();
    let project = new_project(dir.path(), &["--sheet", "a4"]);
    let out = fine(&["press", &project]);
    assert!(out.starts_with("Two-drum duplicator, 2 drums\nsheets from 105 x 148 to 300 x 440 mm"), "{out}");
    let line =
        "between passes, across: 0.4 mm (estimated; usually 0.3 to 0.8 mm (common practice, no source))";
    assert!(out.contains(line), "{out}");
    assert!(out.contains("density steps: not known"), "{out}");

    set(&project, &measured());
    let out = fine(&["press", &project]);
    assert!(out.contains("between passes, across: 0.31 mm (measured from printed mark sheets)"), "{out}");
    assert!(out.contains("within a pass, across: 0.1 mm (estimated"), "{out}");
    assert!(out.contains("late on one side, right: 0.2 mm"), "{out}");
    assert!(out.contains("density step “light”: -0.5"), "{out}");
    assert!(out.contains("Set this out on the machine before the run"), "{out}");

    let told: Value = serde_json::from_str(&fine(&["press", &project, "--json"])).unwrap();
    assert_eq!((told["drums"].as_u64(), told["late_side"].as_str()), (Some(2), Some("right")));
    let figure = |name: &str| {
        let all = told["figures"].as_array().unwrap();
        all.iter().find(|f| f["name"] == name).unwrap_or_else(|| panic!("{name}: {told}")).clone()
    };
    assert_eq!(figure("between passes, along")["basis"], "measured");
    assert_eq!(figure("later passes off the first, across")["value"], 0.8);
    let within = figure("within a pass, twist");
    assert_eq!((within["basis"].as_str(), within["unit"].as_str()), (Some("estimated"), Some("°")));
    let usual = within["usual"].as_array().unwrap();
    assert!(usual[0].as_f64() < usual[1].as_f64(), "{within}");
    // One drum has nothing within a pass.
    set(&project, &Press::single_drum());
    assert!(!fine(&["press", &project]).contains("within a pass"));
}

#[test]
fn a_profile_carries_a_press_from_one_project_to_another() {
    let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (from, to) =
        (new_project(one.path(), &["--sheet", "a4"]), new_project(two.path(), &["--sheet", "a4"]));
    set(&from, &measured());
    let profile = one.path().join("ours.slipsheet-press");
    let profile = profile.to_str().unwrap();
    fine(&["press", &from, "--export", profile]);
    let before = store::load(Path::new(&to)).unwrap();
    let out = fine(&["press", &to, "--import", profile]);
    assert!(out.contains("is “The one by the window” now; its figures are measured between passes"), "{out}");
    let after = store::load(Path::new(&to)).unwrap();
    assert_eq!(after.press, measured());
    // Nothing else of the project changes.
    assert_eq!(slipsheet_document::project::Project { press: before.press.clone(), ..after }, before);
    // A ticket for plates as drawn names the panel's step.
    let ticket = two.path().join("ticket.txt");
    fine(&["ticket", &to, "-o", ticket.to_str().unwrap(), "--form", "as-drawn"]);
    let ticket = std::fs::read_to_string(ticket).unwrap();
    assert!(ticket.contains("density “normal”"), "{ticket}");
}

#[test]
fn what_is_no_profile_is_refused_and_the_project_stays() {
    let dir = tempfile::tempdir().unwrap();
    let project = new_project(dir.path(), &["--sheet", "a4"]);
    let bytes = std::fs::read(&project).unwrap();
    let profile = dir.path().join("ours.slipsheet-press");
    let path = profile.to_str().unwrap();
    assert!(
        failing(&["press", &project, "--import", path]).starts_with("there is no press profile of this name")
    );
    press_file::write(&measured(), &profile).unwrap();
    let good = std::fs::read_to_string(&profile).unwrap();
    for (right, wrong, why) in [
        ("format: 1", "format: 2", "saved by a newer Slipsheet (format 2, this one reads up to 1)"),
        ("dx: 0.31", "dx: NaN", "a register scatter in mm"),
        ("dx: 0.31", "dx: 31.0", "from 0 to 20"),
        ("PressProfile(", "Shelf(", "of another kind"),
    ] {
        assert!(good.contains(right), "{good}");
        std::fs::write(&profile, good.replacen(right, wrong, 1)).unwrap();
        let error = failing(&["press", &project, "--import", path]);
        assert!(error.contains(why) && error.trim_end().ends_with("ours.slipsheet-press"), "{error}");
    }
    assert!(failing(&["press", &project, "--import", &project]).contains("of another kind"));
    let error = failing(&["press", &project, "--export", &project]);
    assert!(error.contains("ends in .slipsheet-press"), "{error}");
    assert!(failing(&["press"]).contains("--help"));
    assert_eq!(std::fs::read(&project).unwrap(), bytes);
}

#[test]
fn the_shelf_lists_its_presses() {
    let out = fine(&["press", "--list"]);
    assert!(out.contains("Two-drum duplicator: 2 drums; estimated") && out.contains("One-drum"), "{out}");
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("mine.ron");
    let shelf = slipsheet_document::shelf::Shelf { presses: vec![measured()], ..Default::default() };
    std::fs::write(&file, shelf.to_ron().unwrap()).unwrap();
    let out = fine(&["press", "--list", "--shelf", file.to_str().unwrap(), "--json"]);
    let all: Value = serde_json::from_str(&out).unwrap();
    let mine = all.as_array().unwrap().iter().find(|p| p["name"] == "The one by the window").unwrap();
    assert_eq!(mine["density_steps"][0]["name"], "light");
    // What was measured is on the shelf as it was in the profile.
    assert!(mine["offset_advice"].as_str().unwrap().contains("0.80 mm right, 0.30 mm up"), "{mine}");
}

#[test]
fn a_new_project_prints_two_inks_in_a_pass_where_the_press_has_two_drums() {
    let dir = tempfile::tempdir().unwrap();
    let scans: Vec<String> = (0..3)
        .map(|i| {
            let path = dir.path().join(format!("{i}.png"));
            gray_png(&path, (400, 300), &[20 + i; 120_000], 300.0);
            path.to_str().unwrap().to_owned()
        })
        .collect();
    let profile = dir.path().join("one.slipsheet-press");
    press_file::write(&Press { drums: 1, ..measured() }, &profile).unwrap();
    let profile = profile.to_str().unwrap();
    let plan = |options: &[&str]| {
        let project = dir.path().join("walk.slipsheet").to_str().unwrap().to_owned();
        let files: Vec<&str> = scans.iter().map(String::as_str).collect();
        let args = [&["new", "--sheet", "a4", "--force", "-o", &project], options, &files].concat();
        let (ending, _, err) = slipsheet(&args);
        assert!(ending != Ending::Failed, "{err}");
        let loaded = store::load(Path::new(&project)).unwrap();
        (passes::passes(&loaded.main_printing(), Face::Front), loaded.press)
    };
    assert_eq!(plan(&[]).0, [vec![0, 1], vec![2]]);
    assert_eq!(plan(&["--drums", "2"]), (vec![vec![0, 1], vec![2]], Press::default()));
    assert_eq!(plan(&["--drums", "1"]), (vec![vec![0], vec![1], vec![2]], Press::single_drum()));
    let (passes, press) = plan(&["--press", profile]);
    assert_eq!((passes.len(), press), (3, Press { drums: 1, ..measured() }));
    let both = ["new", "--sheet", "a4", "-o", "x.slipsheet", "--press", profile, "--drums", "2"];
    assert!(failing(&both).contains("cannot be used with"));
    assert!(failing(&["new", "--sheet", "a4", "-o", "x.slipsheet", "--drums", "3"]).contains("from 1 to 2"));
}
