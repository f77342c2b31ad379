//! What commands refuse in one sentence: names with another ending than is written, and orders that make no sense.

use std::path::Path;
use std::process::Command;

use slipsheet::cli::Ending;

use super::harness::{failing, fine, gray_png, new_project, slipsheet};

#[test]
fn a_name_that_promises_another_kind_of_file_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "letter", "--fold", "slit8"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (job, name, more, message) in [
        ("proof", "x.jpg", &[][..], "a proof is a PNG; end its name in .png"),
        ("proof", "x", &[], "a proof is a PNG; end its name in .png"),
        ("dummy", "x.gif", &[], "a picture of the dummy is a PNG; end its name in .png"),
        ("dummy-sheet", "x.png2", &[], "a dummy to fold is a PDF; end its name in .pdf"),
        ("run", "x.pdf", &[], "a contact sheet is a PNG; end its name in .png"),
    ] {
        let error = failing(&[&[job, &project, "-o", &at(name)], more].concat());
        assert!(error.starts_with(message), "{job}: {error}");
        assert!(!Path::new(&at(name)).exists(), "{job}");
    }
    let error = failing(&["wedge", "--ink", "Hip-berry red", "--pdf", "-o", &at("x.png")]);
    assert!(error.contains("is a PDF; end its name in .pdf"), "{error}");
    fine(&["dummy-sheet", &project, "-o", &at("DUMMY.PDF")]);
}

#[test]
fn orders_that_make_no_sense_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "120x100"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let png = at("x.png");
    for (args, message) in [
        (vec!["run", &project, "--at", "5000,3"], "lies off the sheet of 120 x 100 mm; choose one on it"),
        (vec!["run", &project, "--at", "-5,3"], "lies off the sheet"),
        (vec!["run", &project, "--back"], "there is no ink on the back of the sheet; leave --back out"),
        (
            vec!["guide", &project, "-o", &png, "--unprintable", "500"],
            "leaves nothing of the sheet; give less than 50 mm",
        ),
        (
            vec!["proof", &project, "-o", &png, "--slip", "1=1,0", "--slip", "1=0,1"],
            "layer 1 has two slips; give each layer one",
        ),
    ] {
        let error = failing(&args);
        assert!(error.contains(message), "{error}");
        assert!(!Path::new(&png).exists(), "{args:?}");
    }
}

#[test]
fn a_run_without_abutting_inks_speaks_of_the_difference_and_not_of_trap() {
    let folder = tempfile::tempdir().unwrap();
    let mut scans = Vec::new();
    for (name, from, every) in [("lines.png", 0, 10), ("more.png", 300, 14)] {
        let ink = |p: i32| (from..from + 250).contains(&(p % 600)) && p % 600 % every < 4;
        let pixels: Vec<u8> = (0..600 * 500).map(|p| if ink(p) { 0 } else { 255 }).collect();
        let path = folder.path().join(name);
        gray_png(&path, (600, 500), &pixels, 127.0);
        scans.push(path.to_str().unwrap().to_owned());
    }
    let project = folder.path().join("walk.slipsheet").to_str().unwrap().to_owned();
    fine(&["new", "--sheet", "120x100", "-o", &project, &scans[0], &scans[1]]);
    let run = ["run", &project, "--copies", "5", "--colour", "0.1", "--dpi", "50"];
    let (ending, out, err) = slipsheet(&run);
    assert_eq!((ending, err.as_str()), (Ending::Warnings, ""));
    assert!(out.contains("no inks abut") && out.contains("raise --colour"), "{out}");
    assert!(!out.contains("trap"), "{out}");
}

#[test]
fn a_project_that_is_not_there_is_not_called_a_command() {
    let message = |name: &str| {
        let called = Command::new(env!("CARGO_BIN_EXE_slipsheet")).arg(name).output().unwrap();
        assert_eq!(called.status.code(), Some(2));
        String::from_utf8(called.stderr).unwrap()
    };
    assert!(
        message("missing.slipsheet")
            .contains("the project is not there; it was moved or its name is misspelt")
    );
    assert!(message("prof").contains("no command called “prof”; see slipsheet --help"));
}
