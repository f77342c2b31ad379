//! `slipsheet plates` and `cost`: what is left of an earlier run, and sheets for the wanted copies.

use std::path::Path;

use slipsheet::cli::Ending;
use slipsheet_files::store;

use super::harness::{fine, new_project, slipsheet};

#[test]
fn plates_of_an_earlier_run_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "120x100", "--ink", "Hip-berry red"]);
    let plates = folder.path().join("plates");
    let at = |name: &str| plates.join(name);
    let args = ["plates", &project, "-o", plates.to_str().unwrap(), "--dpi", "100"];
    assert!(fine(&args).contains("1-front-hip-berry-red.png"));
    // Written over, so nothing is left of the first run; what is no plate of this kind is not spoken of.
    for name in ["notes.txt", "1-front-hip-berry-red.tiff", "front-2.png", "sheet1-front-hip-berry-red.jpg"] {
        std::fs::write(at(name), b"").unwrap();
    }
    fine(&args);
    for name in ["2-front-egg-yolk.png", "sheet12-back-3-reed.png"] {
        std::fs::write(at(name), b"").unwrap();
    }
    let (ending, out, err) = slipsheet(&args);
    assert!(ending == Ending::Warnings && out.contains("1-front-hip-berry-red.png"), "{out}");
    assert!(
        err.contains("not made now: 2-front-egg-yolk.png, sheet12-back-3-reed.png; delete them"),
        "{err}"
    );
}

#[test]
fn a_share_of_good_copies_is_turned_into_sheets_and_money() {
    let folder = tempfile::tempdir().unwrap();
    let file = new_project(folder.path(), &["--sheet", "120x100"]);
    let mut project = store::load(Path::new(&file)).unwrap();
    (project.job.copies, project.job.good_copies) = (100, 80);
    store::save(&project, Path::new(&file)).unwrap();
    let ask = |more: &[&str]| slipsheet(&[&["cost", &file], more].concat()).1;
    // One ink cannot slip against itself: without a share that is given, every copy sells.
    let simulated = ask(&[]);
    assert!(
        simulated.contains("100 of 100 copies would sell") && simulated.contains("80 good copies, 80 sheets"),
        "{simulated}"
    );
    let json: serde_json::Value = serde_json::from_str(&ask(&["--good", "0.5", "--json"])).unwrap();
    assert_eq!(json["budget_for_good_copies"]["sheets"], 160);
    let text = ask(&["--good", "0.5"]);
    assert!(text.contains("80 good copies, 160 sheets"), "{text}");
}
