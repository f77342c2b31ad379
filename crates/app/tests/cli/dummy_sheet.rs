//! `slipsheet dummy-sheet` and `slipsheet proof --show-through`, from a project to files.

use slipsheet::cli::Ending;

use super::harness::{fine, new_project, slipsheet};

#[test]
fn a_dummy_to_fold_is_a_pdf_of_the_sheet_and_faint_is_another() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--front-only", "--sheet", "a4", "--fold", "slit8"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fine(&["dummy-sheet", &project, "-o", &at("a.pdf")]);
    fine(&["dummy-sheet", &project, "--faint", "-o", &at("b.pdf")]);
    let (a, b) = (std::fs::read(at("a.pdf")).unwrap(), std::fs::read(at("b.pdf")).unwrap());
    assert!(a != b && a.starts_with(b"%PDF-"));
    // A4 landscape, in points.
    let text = String::from_utf8_lossy(&a).into_owned();
    assert!(text.contains("/MediaBox [0 0 841.8"), "{}", &text[..400.min(text.len())]);
}

#[test]
fn the_project_is_not_written_over_by_its_dummy() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--front-only", "--sheet", "a4", "--fold", "quarter8"]);
    let before = std::fs::read(&project).unwrap();
    let (ending, _, message) = slipsheet(&["dummy-sheet", &project, "-o", &project]);
    assert!(ending != Ending::Fine && !message.is_empty());
    assert_eq!(std::fs::read(&project).unwrap(), before);
}

#[test]
fn a_proof_shows_what_is_behind_only_where_it_is_asked_to() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--front-only", "--sheet", "a4", "--fold", "slit8"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let proof = |name: &str, more: &[&str]| {
        let to = at(name);
        let mut args =
            vec!["proof", &project, "--back", "--dpi", "36", "--no-legend", "--no-marks", "-o", &to];
        args.extend(more);
        fine(&args);
        std::fs::read(&to).unwrap()
    };
    // Nothing is printed on the back; the front is what shows.
    assert!(proof("bare.png", &[]) != proof("through.png", &["--show-through"]));
}
