//! `slipsheet guide`, from a project to a page that has the right size.

use std::path::Path;

use slipsheet::cli::Ending;

use super::harness::{fine, new_project, slipsheet};

#[test]
fn a_guide_is_a_pdf_or_a_png_of_the_original() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--front-only", "--sheet", "a4", "--fold", "quarter8"]);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for args in [
        vec!["guide", &project, "-o", &at("guide.pdf")],
        vec!["guide", &project, "-o", &at("guide.png"), "--dpi", "100", "--margin", "10", "--pale", "--back"],
        vec!["guide", &project, "-o", &at("marks.png"), "--dpi", "100", "--marks-only"],
    ] {
        fine(&args);
    }
    // A4 on A3, in points.
    let pdf = String::from_utf8_lossy(&std::fs::read(at("guide.pdf")).unwrap()).into_owned();
    assert!(pdf.contains("/MediaBox [0 0 841.8"), "{pdf}");
    let size = |name: &str| {
        let reader = png::Decoder::new(std::io::BufReader::new(std::fs::File::open(at(name)).unwrap()));
        let reader = reader.read_info().unwrap();
        (reader.info().width, reader.info().height)
    };
    assert_eq!(size("guide.png"), (906, 1248));
    assert_eq!(size("marks.png"), (1169, 1654));
}

#[test]
fn what_a_guide_cannot_be_is_said_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--front-only", "--sheet", "a4", "--fold", "quarter8"]);
    for (output, more, message) in [
        ("guide.svg", vec![], "end its name in .pdf or .png"),
        ("guide.pdf", vec!["--margin", "2"], "give at least 6 mm"),
        ("guide.pdf", vec!["--margin", "-2"], "see --help"),
        ("guide.png", vec!["--dpi", "9600"], "choose a lower resolution"),
    ] {
        let output = folder.path().join(output).to_str().unwrap().to_owned();
        let args: Vec<&str> = ["guide", &project, "-o", &output].into_iter().chain(more).collect();
        let (ending, _, err) = slipsheet(&args);
        assert!(ending == Ending::Failed && err.contains(message), "{err}");
        assert!(!Path::new(&output).exists());
    }
}
