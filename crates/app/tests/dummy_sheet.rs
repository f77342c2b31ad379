//! `slipsheet dummy-sheet` and `slipsheet proof --show-through`, from a project to files.

#![expect(clippy::unwrap_used, reason = "a test may stop")]

use std::ffi::OsString;
use std::path::Path;

use slipsheet::cli::{Ending, Outcome, Output, run_with};

/// How it ended, and the error output.
fn slipsheet(args: &[&str]) -> (Ending, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("slipsheet").chain(args.iter().copied()).map(OsString::from);
    let outcome = run_with(args, &mut std::io::empty(), &mut Output::new(&mut out, &mut err));
    let Outcome::Done(ending) = outcome else { panic!("a window was asked for") };
    (ending, String::from_utf8(err).unwrap())
}

fn new_project(folder: &Path, fold: &str) -> String {
    let scan = folder.join("ink.png");
    let file = std::fs::File::create(&scan).unwrap();
    let meta = slipsheet_files::PngMeta::default();
    slipsheet_files::png_out::write_gray(file, 400, 300, &[20; 120_000], &meta).unwrap();
    let project = folder.join(format!("{fold}.slipsheet")).to_str().unwrap().to_owned();
    let args =
        ["new", "--front-only", "--sheet", "a4", "--fold", fold, "-o", &project, scan.to_str().unwrap()];
    assert_eq!(slipsheet(&args), (Ending::Fine, String::new()));
    project
}

#[test]
fn a_dummy_to_fold_is_a_pdf_of_the_sheet_and_faint_is_another() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), "slit8");
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    assert_eq!(slipsheet(&["dummy-sheet", &project, "-o", &at("a.pdf")]), (Ending::Fine, String::new()));
    assert_eq!(
        slipsheet(&["dummy-sheet", &project, "--faint", "-o", &at("b.pdf")]),
        (Ending::Fine, String::new())
    );
    let (a, b) = (std::fs::read(at("a.pdf")).unwrap(), std::fs::read(at("b.pdf")).unwrap());
    assert!(a != b && a.starts_with(b"%PDF-"));
    // A4 lying, in points.
    let text = String::from_utf8_lossy(&a).into_owned();
    assert!(text.contains("/MediaBox [0 0 841.8"), "{}", &text[..400.min(text.len())]);
}

#[test]
fn the_project_is_not_written_over_by_its_dummy() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), "quarter8");
    let before = std::fs::read(&project).unwrap();
    let (ending, said) = slipsheet(&["dummy-sheet", &project, "-o", &project]);
    assert!(ending != Ending::Fine && !said.is_empty());
    assert_eq!(std::fs::read(&project).unwrap(), before);
}

#[test]
fn a_proof_shows_what_is_behind_only_where_it_is_asked_to() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), "slit8");
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let proof = |name: &str, more: &[&str]| {
        let to = at(name);
        let mut args =
            vec!["proof", &project, "--back", "--dpi", "36", "--no-legend", "--no-marks", "-o", &to];
        args.extend(more);
        assert_eq!(slipsheet(&args), (Ending::Fine, String::new()));
        std::fs::read(&to).unwrap()
    };
    // Nothing is printed on the back; the front is what shows.
    assert!(proof("bare.png", &[]) != proof("through.png", &["--show-through"]));
}
