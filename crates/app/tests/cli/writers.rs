//! Writers: none of them replaces an original, and a set of files is whole or not there.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use slipsheet::cli::Ending;

use super::harness::{fine, gray_png, slipsheet};

/// A project of two inks in a folder, of which the second scan has this name.
fn project(folder: &Path, scan: &str) -> (String, PathBuf) {
    let (one, two) = (folder.join("first.png"), folder.join(scan));
    std::fs::create_dir_all(two.parent().unwrap()).unwrap();
    for (path, gray) in [(&one, 20), (&folder.join("other.png"), 90)] {
        gray_png(path, (400, 300), &[gray; 120_000], 300.0);
    }
    std::fs::rename(folder.join("other.png"), &two).unwrap();
    let project = folder.join("walk.slipsheet").to_str().unwrap().to_owned();
    let inks = ["--ink", "Hip-berry red", "--ink", "Ink-bottle blue"];
    let files = ["-o", &project, one.to_str().unwrap(), two.to_str().unwrap()];
    fine(&[&["new", "--sheet", "letter", "--fold", "slit8"], &inks[..], &files].concat());
    let text = std::fs::read_to_string(&project).unwrap().replace("press_dpi: 600.0", "press_dpi: 72.0");
    std::fs::write(&project, text).unwrap();
    (project, two)
}

/// A command that writes: its words, with `P` for the project and `O` for what is written, and the name of the scan
/// that lies where it would write. A name with a folder in it is that of a file among several.
const WRITERS: [(&str, &str); 20] = [
    ("proof P -o O --dpi 50", "scan.png"),
    ("proof P -o O --all-editions --dpi 50", "in/Night.png"),
    ("plates P -o O", "in/1-front-hip-berry-red.png"),
    ("plates P -o O --format tiff", "in/1-front-hip-berry-red.tiff"),
    ("plates P -o O --format pdf", "in/2-front-ink-bottle-blue.pdf"),
    ("plates P -o O --format spot", "in/separations.pdf"),
    ("ticket P -o O", "scan.pdf"),
    ("ticket P -o O", "scan.txt"),
    ("pack P -o O", "in/proof.pdf"),
    ("pack P -o O --zip", "in.zip"),
    ("guide P -o O", "scan.png"),
    ("guide P -o O", "scan.pdf"),
    ("dummy P -o O", "scan.png"),
    ("dummy-sheet P -o O", "scan.pdf"),
    ("wrap P --kind sleeve --sheet a3 -o O", "scan.pdf"),
    ("wrap P --kind sleeve --sheet a3 -o O", "scan.svg"),
    ("run P --copies 5 --dpi 50 -o O", "scan.png"),
    ("press P --export O", "scan.slipsheet-press"),
    ("spread P --plates O --dpi 72", "in/marks-1.png"),
    ("new --sheet letter --force -o O first.png S", "scan.slipsheet"),
];

#[test]
fn no_command_replaces_an_original_whatever_it_is_called() {
    for (words, scan) in WRITERS {
        let dir = tempfile::tempdir().unwrap();
        let (project, original) = project(dir.path(), scan);
        let bytes = std::fs::read(&original).unwrap();
        let folder = dir.path().join("in");
        let target = if scan.starts_with("in") { &folder } else { &original };
        let target = target.to_str().unwrap();
        let (first, second) = (dir.path().join("first.png"), original.to_str().unwrap());
        let args: Vec<&str> = words
            .split(' ')
            .map(|w| match w {
                "P" => project.as_str(),
                "O" => target,
                "S" => second,
                "first.png" => first.to_str().unwrap(),
                word => word,
            })
            .collect();
        if words.contains("editions") {
            add_edition(&project);
        }
        let (ending, _, err) = slipsheet(&args);
        assert_eq!(ending, Ending::Failed, "{words} wrote over {scan}");
        let name = original.file_name().unwrap().to_str().unwrap();
        assert!(err.contains(name), "{words}: {err}");
        assert!(std::fs::read(&original).unwrap() == bytes, "{words} changed {scan}");
    }
}

/// Gives the project an edition called Night, as it is.
fn add_edition(project: &str) {
    let path = Path::new(project);
    let mut loaded = slipsheet_files::store::load(path).unwrap();
    let colours = loaded.main.colours();
    let (id, name) = (loaded.ids.edition(), "Night".to_owned());
    let edition = slipsheet_document::edition::Edition::new(id, name, colours);
    loaded.main.editions.push(edition);
    slipsheet_files::store::save(&loaded, path).unwrap();
}

/// The files in which something is written to the disk, each with who asks before.
const WRITE: [(&str, &str); 28] = [
    ("app/src/cli/calibration.rs", "a shelf file, which is read first and refused when it is none"),
    ("app/src/cli/plates.rs", "the command"),
    ("app/src/cli/run.rs", "the command"),
    ("app/src/cli/wedge.rs", "nobody: the command knows no project"),
    ("editor/src/export/shelf.rs", "the session"),
    ("files/src/atomic.rs", "its callers"),
    ("files/src/dummy_picture.rs", "the session, the command"),
    ("files/src/dummy_sheet.rs", "the session, the command"),
    ("files/src/file_set.rs", "its callers, for each file"),
    ("files/src/guide.rs", "the session, the command"),
    ("files/src/home.rs", "nobody: names of our own in a folder of our own"),
    ("files/src/marks.rs", "itself"),
    ("files/src/pack.rs", "itself"),
    ("files/src/pack/fill.rs", "nobody: a hidden folder of our own"),
    ("files/src/pack/swap.rs", "the pack, for each file of an earlier one"),
    ("files/src/plates.rs", "the command; in a pack nobody: a hidden folder of our own"),
    ("files/src/press_file.rs", "the session, the command"),
    ("files/src/proof.rs", "the session, the command, the series"),
    ("files/src/proof/page.rs", "the command"),
    ("files/src/proof_series.rs", "itself"),
    ("files/src/spot_pdf.rs", "the command; in a pack nobody: a hidden folder of our own"),
    ("files/src/store.rs", "the session; the project's own file is compared"),
    ("files/src/store/apart.rs", "nobody: only names that nothing has"),
    ("files/src/store/collect.rs", "nobody: only names that nothing has"),
    ("files/src/store/masks.rs", "nobody: only names that nothing has"),
    ("files/src/ticket.rs", "the command"),
    ("files/src/wedge.rs", "the session; the command knows no project"),
    ("files/src/wrap_sheet.rs", "the session, the command"),
];

#[test]
fn every_writer_is_known_here() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut writers = BTreeSet::new();
    let mut left = ["app/src", "editor/src", "files/src"].map(|part| crates.join(part)).to_vec();
    while let Some(at) = left.pop() {
        for entry in std::fs::read_dir(&at).unwrap().map(Result::unwrap) {
            let (path, name) = (entry.path(), entry.file_name().to_string_lossy().into_owned());
            if path.is_dir() {
                left.push(path);
            } else if !name.contains("tests") {
                let text = std::fs::read_to_string(&path).unwrap();
                let code = text.split("mod tests {").next().unwrap();
                let writes = [
                    "atomic::write",
                    "atomic::stage",
                    "fs::write(",
                    "File::create",
                    "fs::rename(",
                    "fs::copy(",
                    "FileSet::for_folder",
                ];
                if writes.iter().any(|w| code.contains(w)) || name == "atomic.rs" {
                    let path = path.strip_prefix(crates).unwrap().to_string_lossy().replace('\\', "/");
                    writers.insert(path);
                }
            }
        }
    }
    let known: BTreeSet<String> = WRITE.iter().map(|(file, _)| (*file).to_owned()).collect();
    assert_eq!(writers, known, "a new writer asks the guard of originals; then it is listed here");
}

#[test]
fn plates_that_fail_half_way_leave_those_of_before() {
    let dir = tempfile::tempdir().unwrap();
    let (project, _) = project(dir.path(), "second.png");
    let folder = dir.path().join("plates");
    let to = folder.to_str().unwrap();
    fine(&["plates", &project, "-o", to]);
    let first = folder.join("1-front-hip-berry-red.png");
    let before = std::fs::read(&first).unwrap();
    // The second plate has nowhere to go.
    let second = folder.join("2-front-ink-bottle-blue.png");
    std::fs::remove_file(&second).unwrap();
    std::fs::create_dir(&second).unwrap();
    let (ending, _, err) = slipsheet(&["plates", &project, "-o", to, "--form", "dots"]);
    assert!(ending == Ending::Failed && err.contains("a folder already has this name"), "{err}");
    assert!(std::fs::read(&first).unwrap() == before, "plates of two ages lie side by side");
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 2);
}

#[test]
fn a_project_that_changes_while_a_command_runs_is_not_saved_over() {
    let dir = tempfile::tempdir().unwrap();
    let (project, _) = project(dir.path(), "second.png");
    let path = Path::new(&project);
    let (read, print) = slipsheet_files::store::load_marked(path).unwrap();
    let text = std::fs::read_to_string(path).unwrap() + "\n";
    std::fs::write(path, &text).unwrap();
    let error = slipsheet_files::store::save_over(&read, path, &print).unwrap_err().to_string();
    assert!(
        error.starts_with("something else changed the project meanwhile")
            && error.ends_with("walk.slipsheet"),
        "{error}"
    );
    assert_eq!(std::fs::read_to_string(path).unwrap(), text);
    assert!(
        std::fs::read_dir(dir.path()).unwrap().all(|e| !e
            .unwrap()
            .file_name()
            .to_string_lossy()
            .starts_with('.'))
    );
}

#[test]
fn a_pack_in_the_folder_one_stands_in_is_refused_before_any_work() {
    let dir = tempfile::tempdir().unwrap();
    let (project, _) = project(dir.path(), "second.png");
    let stands = dir.path().join("here");
    std::fs::create_dir(&stands).unwrap();
    let called = std::process::Command::new(env!("CARGO_BIN_EXE_slipsheet"))
        .args(["pack", &project, "-o", "."])
        .current_dir(&stands)
        .output()
        .unwrap();
    let err = String::from_utf8(called.stderr).unwrap();
    assert!(!called.status.success() && err.contains("name a new folder in it or beside it: ."), "{err}");
    assert_eq!(std::fs::read_dir(&stands).unwrap().count(), 0);
}
