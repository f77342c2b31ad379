//! `slipsheet measured` and `wedge`: tables that end early, files that are no scans, and inks that do not match.

use std::path::Path;

use slipsheet::cli::Ending;

use super::harness::{failing, fine, slipsheet};

const TABLE: &str = "CGATS.17\nNUMBER_OF_SETS 2\nBEGIN_DATA_FORMAT\nCMYK_C LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n\
    BEGIN_DATA\n0 95 0 -2\n100 55 -37 -50\nEND_DATA\n";

#[test]
fn a_table_that_was_cut_off_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("press.txt").to_str().unwrap().to_owned();
    let args = ["measured", &file, "--ink", "CMYK_C=Hip-berry red"];
    assert!(failing(&args).starts_with("there is no table of this name; check its spelling"));
    let write = |text: String| std::fs::write(&file, text).unwrap();
    write(TABLE.to_owned());
    fine(&args);
    for cut in ["END_DATA\n", "100 55 -37 -50\n"] {
        let at = TABLE.rfind(cut).unwrap();
        write(format!("{}{}", &TABLE[..at], &TABLE[at + cut.len()..]));
        let error = failing(&args);
        assert!(
            error.starts_with("the table ends early") && error.contains("export the file again"),
            "{error}"
        );
        assert_eq!(failing(&["wedge", "read", &file, "--ink", "Hip-berry red"]), error);
    }
}

#[test]
fn a_file_that_is_no_scan_gets_the_sentence_that_a_new_project_gives() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let plates = at("plates");
    fine(&["wedge", "--ink", "Hip-berry red", "-o", &plates, "--dpi", "60"]);
    let whole = std::fs::read(Path::new(&plates).join("wedge-plate-1.png")).unwrap();
    std::fs::write(at("cut.png"), &whole[..whole.len() / 2]).unwrap();
    std::fs::write(at("words.png"), b"no picture").unwrap();
    std::fs::write(at("empty.png"), b"").unwrap();
    for name in ["cut.png", "words.png", "empty.png", "missing.png"] {
        let of_new = failing(&["new", "--sheet", "letter", "-o", &at("new.slipsheet"), &at(name)]);
        assert_eq!(failing(&["wedge", "read", &at(name), "--ink", "Hip-berry red"]), of_new);
    }
    fine(&["wedge", "--ink", "Hip-berry red", "--pdf", "-o", &at("wedge.pdf")]);
    let error = failing(&["wedge", "read", &at("wedge.pdf"), "--ink", "Hip-berry red"]);
    assert!(error.contains("not from PDF; save it as PNG, JPEG or TIFF in colour"), "{error}");
}

#[test]
fn a_sheet_read_with_another_number_of_inks_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let plates = folder.path().join("plates");
    let inks = ["--ink", "Hip-berry red", "--ink", "Egg yolk", "--ink", "Ink-bottle blue"];
    fine(&[&["wedge", "-o", plates.to_str().unwrap(), "--dpi", "100"], &inks[..4]].concat());
    let preview = plates.join("wedge-preview.png").to_str().unwrap().to_owned();
    let read = |inks: &[&str]| slipsheet(&[&["wedge", "read", &preview], inks].concat());
    assert_eq!(read(&inks[..4]).0, Ending::Fine);
    for (named, number) in [(&inks[..2], 1), (&inks[..], 3)] {
        let (ending, _, err) = read(named);
        let wanted = format!("the sheet was printed with 2 inks, not {number}; name each with --ink");
        assert!(ending == Ending::Failed && err.contains(&wanted), "{err}");
    }
}

#[test]
fn an_ink_that_is_not_on_the_shelf_is_pointed_at() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (more, to) in [(&["--dpi", "60"][..], at("plates")), (&["--pdf"], at("wedge.pdf"))] {
        let (ending, out, err) =
            slipsheet(&[&["wedge", "--ink", "Hip-berry red", "--ink", "Foo", "-o", &to], more].concat());
        assert_eq!(ending, Ending::Warnings, "{out}");
        assert!(
            err.contains("no ink has the name “Foo”; check its spelling") && !err.contains("Hip-berry red"),
            "{err}"
        );
    }
}
