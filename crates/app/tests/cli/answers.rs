//! `slipsheet answers`, from scans to a project that sells.

use std::path::Path;

use slipsheet::cli::Ending;
use slipsheet_document::remedy::Remedy;
use slipsheet_files::store;

use super::harness::{fine, gray_png, slipsheet};

/// Two boxes that share an edge at x = 60 mm, and a line of type on the second.
fn project(folder: &Path) -> String {
    let within =
        |p: usize, x: std::ops::Range<usize>| x.contains(&(p % 1200)) && (200..800).contains(&(p / 1200));
    let shapes: [&dyn Fn(usize) -> bool; 3] =
        [&|p| within(p, 600..1000), &|p| within(p, 200..600), &|p| within(p, 300..500) && p % 10 < 3];
    let mut args =
        ["new", "--drums", "1", "--sheet", "120x100", "--fold", "none", "-o"].map(str::to_owned).to_vec();
    let project = folder.join("walk.slipsheet").to_str().unwrap().to_owned();
    args.push(project.clone());
    for (i, prints) in shapes.iter().enumerate() {
        let pixels: Vec<u8> = (0..1200 * 1000).map(|p| if prints(p) { 0 } else { 255 }).collect();
        let path = folder.join(format!("ink{i}.png"));
        gray_png(&path, (1200, 1000), &pixels, 254.0);
        args.push(path.to_str().unwrap().to_owned());
    }
    fine(&args.iter().map(String::as_str).collect::<Vec<_>>());
    project
}

fn json(args: &[&str]) -> serde_json::Value {
    let (_, out, err) = slipsheet(args);
    assert_eq!(err, "");
    serde_json::from_str(&out).unwrap()
}

#[test]
fn an_answer_is_told_and_applied_and_then_nothing_is_left_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let project = project(folder.path());
    let found = json(&["answers", &project, "--wanted-share", "0.8", "--json"]);
    let now = found["now"]["share"].as_f64().unwrap();
    assert!(now < 0.8 && found["enough"] == false, "{found}");
    let list = found["proposals"].as_array().unwrap();
    assert!((1..=5).contains(&list.len()));
    for proposal in list {
        assert!(proposal["outcome"]["share"].as_f64().unwrap() > now, "{proposal}");
        assert!(proposal["colour_ciede2000"].as_f64().unwrap() >= 0.0 && proposal["places_mm"].is_array());
    }
    let reaching = list.iter().position(|p| p["reaches"] == true).unwrap();
    assert_eq!(reaching, 0, "those that reach the wanted share come first");
    let by_trap =
        list.iter().position(|p| p["remedies"][0]["remedy"].as_str().is_some_and(|r| r.starts_with("Trap")));
    let better = folder.path().join("better.slipsheet").to_str().unwrap().to_owned();
    let n = (by_trap.unwrap() + 1).to_string();
    let out = fine(&["answers", &project, "--wanted-share", "0.8", "--apply", &n, "-o", &better]);
    assert!(out.contains("copies would sell; print ") && out.contains("mm trap where"), "{out}");
    let (was, is) = (store::load(Path::new(&project)).unwrap(), store::load(Path::new(&better)).unwrap());
    assert!(was.main.layers.iter().all(|l| l.remedies.is_empty()));
    let traps = is.main.layers.iter().flat_map(|l| &l.remedies).filter(|r| matches!(r, Remedy::Trap { .. }));
    assert_eq!(traps.count(), 1);
    let again = json(&["answers", &better, "--wanted-share", "0.8", "--json"]);
    assert!(again["enough"] == true && again["proposals"].as_array().unwrap().is_empty(), "{again}");
    assert!(fine(&["answers", &better, "--wanted-share", "0.8"]).contains("nothing to do"));
}

#[test]
fn what_cannot_be_applied_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let project = project(folder.path());
    let better = folder.path().join("better.slipsheet").to_str().unwrap().to_owned();
    let (ending, _, err) = slipsheet(&["answers", &project, "--apply", "9", "-o", &better]);
    assert!(ending == Ending::Failed && err.contains("there is no proposal 9: name one from 1 to "), "{err}");
    let (ending, _, err) =
        slipsheet(&["answers", &project, "--wanted-share", "0", "--apply", "1", "-o", &better]);
    assert!(ending == Ending::Failed && err.contains("sells enough as it is"), "{err}");
    let (ending, _, _) = slipsheet(&["answers", &project, "--apply", "1"]);
    assert_eq!(ending, Ending::Failed);
    let scan = folder.path().join("ink0.png").to_str().unwrap().to_owned();
    let (ending, _, _) = slipsheet(&["answers", &project, "--apply", "1", "-o", &scan]);
    assert_eq!(ending, Ending::Failed);
    assert!(!Path::new(&better).exists());
}
