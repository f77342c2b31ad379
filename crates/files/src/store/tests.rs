//! Projects and their scans on a real disk.

use std::path::{Path, PathBuf};

use proptest::prelude::*;
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_document::layer::{Art, Layer, ScanRef, Target};
use slipsheet_document::project::{Project, ProjectError};
use slipsheet_paper::fold::{self};

use super::*;
use crate::scan::{Progress, ScanError, ScanNotice, ScanOptions};

fn gray_png(path: &Path, gray: u8) {
    let meta = crate::PngMeta { dpi: Dpi::new(150.0).unwrap(), text: Vec::new() };
    let pixels = vec![gray; 12 * 8];
    let mut file = Vec::new();
    crate::png_out::write_gray(&mut file, 12, 8, &pixels, &meta).unwrap();
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, file).unwrap();
}

fn add(project: Option<&Path>, file: &Path) -> AddedScan {
    add_scan(project, file, &ScanOptions::default(), None, &Progress::new()).unwrap()
}

fn project_with(scans: Vec<ScanRef>) -> Project {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock::new("Plain white", colour);
    let mut p = Project::new("Walk", SheetFormat::Letter, stock);
    p.main.fold = fold::find("slit8");
    let art = scans.into_iter().map(|scan| Art::new(p.ids.art(), scan, Target::Sheet)).collect();
    let id = p.ids.layer();
    p.main.layers.push(Layer {
        art,
        ..Layer::new(id, "sea", Ink::estimated("Deep blue", Lab::new(40.0, 0.0, -40.0).unwrap()))
    });
    p
}

fn paths(p: &Project) -> Vec<&str> {
    p.main.layers.iter().flat_map(|l| &l.art).map(|a| a.scan.path.as_str()).collect()
}

#[test]
fn a_project_and_its_scan_come_back() {
    let dir = tempfile::tempdir().unwrap();
    let (file, at) = (dir.path().join("scans/a.png"), dir.path().join("walk.slipsheet"));
    gray_png(&file, 40);
    let added = add(Some(&at), &file);
    assert_eq!((added.scan.path.as_str(), added.had_resolution), ("scans/a.png", true));
    assert_eq!((added.scan.dpi.get(), added.pixels.full().width()), (150.0, 12));
    let project = project_with(vec![added.scan.clone()]);
    save(&project, &at).unwrap();
    assert_eq!(load(&at).unwrap(), project);
    let loaded = load_scan(Some(&at), &added.scan, &Progress::new()).unwrap();
    assert_eq!((loaded.state, &loaded.key), (ScanState::Unchanged, &added.scan.key));
    assert_eq!(loaded.pixels, added.pixels);
}

#[test]
fn a_resolution_that_is_given_overrides_the_files_and_300_is_assumed_without_any() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("a.png");
    gray_png(&file, 40);
    let dpi = Some(Dpi::new(600.0).unwrap());
    let given = add_scan(None, &file, &ScanOptions::default(), dpi, &Progress::new()).unwrap();
    assert_eq!((given.scan.dpi.get(), given.had_resolution), (600.0, true));
    fs::write(&file, crate::scan::testing::jpeg_gray(8, 8, &[9; 64], None)).unwrap();
    let none = add(None, &file);
    assert_eq!((none.scan.dpi.get(), none.had_resolution), (300.0, false));
    assert_eq!(none.notices, [ScanNotice::NoResolution]);
    let given = add_scan(None, &file, &ScanOptions::default(), dpi, &Progress::new()).unwrap();
    assert!(given.notices.is_empty());
}

#[test]
fn references_go_up_and_down_and_resolve_to_the_same_file() {
    let dir = tempfile::tempdir().unwrap();
    let real = dir.path().canonicalize().unwrap();
    for (project, file, expected) in [
        ("zine/p.slipsheet", "zine/a.png", "a.png"),
        ("zine/p.slipsheet", "scans/deep/a.png", "../scans/deep/a.png"),
        ("zine/one/p.slipsheet", "a.png", "../../a.png"),
        ("zine/p.slipsheet", "zine/../zine/./a.png", "a.png"),
    ] {
        let (project, file) = (real.join(project), real.join(file));
        let short = relative(Some(&project), &file);
        assert_eq!(short, expected);
        let scan = ScanRef { path: short, ..reference() };
        assert_eq!(relative(Some(&project), &resolve(Some(&project), &scan)), expected);
    }
    let far = relative(Some(Path::new("/zines/p.slipsheet")), Path::new("/scans/a.png"));
    assert_eq!(far, if cfg!(unix) { "/scans/a.png".to_owned() } else { far.clone() });
    assert_eq!(PathBuf::from(relative(None, &real.join("a.png"))), real.join("a.png"));
}

fn reference() -> ScanRef {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("r.png");
    gray_png(&file, 1);
    add(None, &file).scan
}

#[cfg(unix)]
#[test]
fn a_project_means_the_same_scans_through_a_link() {
    let dir = tempfile::tempdir().unwrap();
    let real = dir.path().canonicalize().unwrap();
    gray_png(&real.join("scans/a.png"), 7);
    fs::create_dir_all(real.join("deep/zine")).unwrap();
    std::os::unix::fs::symlink(real.join("deep/zine"), real.join("link")).unwrap();
    let (straight, linked) = (real.join("deep/zine/p.slipsheet"), real.join("link/p.slipsheet"));
    let scan = add(Some(&linked), &real.join("scans/a.png")).scan;
    assert_eq!(scan.path, "../../scans/a.png");
    assert_eq!(resolve(Some(&linked), &scan), real.join("scans/a.png"));
    assert_eq!(resolve(Some(&straight), &scan), real.join("scans/a.png"));
}

#[test]
fn a_project_saved_elsewhere_means_the_same_scans() {
    let dir = tempfile::tempdir().unwrap();
    let real = dir.path().canonicalize().unwrap();
    let file = real.join("zine/scans/a.png");
    gray_png(&file, 7);
    let (old, new) = (real.join("zine/p.slipsheet"), real.join("elsewhere/deep/q.slipsheet"));
    let mut project = project_with(vec![add(Some(&old), &file).scan, add(None, &file).scan]);
    rebase(&mut project, Some(&old), &new);
    assert_eq!(paths(&project), ["../../zine/scans/a.png"; 2]);
    assert_eq!(resolve(Some(&new), &project.main.layers[0].art[0].scan), file);
}

#[test]
fn a_changed_scan_shows_its_new_pixels_under_the_old_key() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("a.png");
    gray_png(&file, 40);
    let scan = add(None, &file).scan;
    gray_png(&file, 90);
    let loaded = load_scan(None, &scan, &Progress::new()).unwrap();
    assert_eq!(loaded.key, scan.key);
    assert_eq!(loaded.pixels.full().pixels()[0], 90);
    assert!(matches!(&loaded.state, ScanState::Changed { sha256, .. } if *sha256 != scan.key.sha256));
    assert_eq!(scan_state(None, &scan, &Progress::new()).unwrap(), loaded.state);
    fs::remove_file(&file).unwrap();
    assert!(matches!(load_scan(None, &scan, &Progress::new()), Err(ScanError::Missing { .. })));
    assert_eq!(scan_state(None, &scan, &Progress::new()).unwrap(), ScanState::Missing);
}

#[test]
fn a_moved_scan_is_found_by_its_contents_and_one_too_deep_is_not() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("a.png");
    gray_png(&file, 40);
    let scan = add(None, &file).scan;
    fs::create_dir_all(dir.path().join("1/2/3/4/5")).unwrap();
    gray_png(&dir.path().join("1/a.png"), 41);
    let moved = dir.path().join("1/2/3/4/renamed.png");
    fs::rename(&file, &moved).unwrap();
    assert_eq!(find_moved(&scan, dir.path(), &Progress::new()), Some(moved.clone()));
    fs::rename(&moved, dir.path().join("1/2/3/4/5/a.png")).unwrap();
    assert_eq!(find_moved(&scan, dir.path(), &Progress::new()), None);
    assert_eq!(find_moved(&scan, &dir.path().join("nowhere"), &Progress::new()), None);
}

#[test]
fn scans_are_collected_once_each_and_clashing_names_get_a_number() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path().join("zine/walk.slipsheet");
    let files = ["one/a.png", "two/a.png", "three/copy.png", "four/A.png"].map(|f| dir.path().join(f));
    for (file, gray) in files.iter().zip([1, 2, 1, 3]) {
        gray_png(file, gray);
    }
    let mut project = project_with(files.iter().map(|f| add(Some(&at), f).scan).collect());
    assert_eq!(collect(&mut project, &at, &Progress::new()).unwrap(), 3);
    let expected = ["walk scans/a.png", "walk scans/a 2.png", "walk scans/a.png", "walk scans/A 2.png"]
        .map(str::to_owned);
    // “A 2.png” would clash with “a 2.png” on a disk that does not tell them apart.
    let expected = expected.map(|e| e.replace("A 2.png", "A 3.png"));
    assert_eq!(paths(&project), expected);
    for art in &project.main.layers[0].art {
        assert_eq!(load_scan(Some(&at), &art.scan, &Progress::new()).unwrap().state, ScanState::Unchanged);
    }
    let before = project.clone();
    assert_eq!(collect(&mut project, &at, &Progress::new()).unwrap(), 0);
    assert_eq!(project, before);
    assert!(!at.exists());
}

#[test]
fn collecting_with_a_scan_missing_names_it_and_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path().join("walk.slipsheet");
    let file = dir.path().join("one/a.png");
    gray_png(&file, 1);
    let mut project = project_with(vec![add(Some(&at), &file).scan]);
    fs::remove_file(&file).unwrap();
    let before = project.clone();
    let error = collect(&mut project, &at, &Progress::new()).unwrap_err().to_string();
    assert!(error.starts_with("there is no such file") && error.ends_with("a.png"), "{error}");
    assert_eq!(project, before);
}

#[test]
fn a_read_only_project_is_not_replaced_and_the_sentence_says_what_to_do() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path().join("walk.slipsheet");
    let mut project = project_with(vec![]);
    save(&project, &at).unwrap();
    let mut permissions = fs::metadata(&at).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&at, permissions).unwrap();
    project.title = "Other".to_owned();
    let error = save(&project, &at).unwrap_err().to_string();
    assert!(error.starts_with("you may not write here; choose another folder"), "{error}");
    assert_eq!(load(&at).unwrap().title, "Walk");
}

#[test]
fn what_is_no_project_is_refused_with_the_path_last() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path().join("p.slipsheet");
    let check = |expected: &str| {
        let error = load(&at).unwrap_err().to_string();
        assert!(error.starts_with(expected) && error.ends_with("p.slipsheet"), "{error}");
    };
    check("there is no such project");
    fs::create_dir(&at).unwrap();
    check("this is not a file");
    fs::remove_dir(&at).unwrap();
    fs::write(&at, [0xff, 0xfe, 0, 1]).unwrap();
    check("the file is not text");
    fs::write(&at, "Project(schema: 99)").unwrap();
    check("the project was saved by a newer Slipsheet");
    assert!(matches!(load(&at), Err(StoreError::Project { source: ProjectError::Newer { found: 99 }, .. })));
    fs::write(&at, "Project(schema: 2, title: 3)").unwrap();
    check("the project cannot be read at line 1");
    fs::File::create(&at).unwrap().set_len(MAX_PROJECT_BYTES + 1).unwrap();
    check("the file is larger than 64 MB");
}

#[test]
fn a_project_that_could_not_be_opened_again_is_not_saved() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path().join("p.slipsheet");
    let mut project = project_with(vec![]);
    project.main.layers = vec![project.main.layers[0].clone(); 9];
    assert!(save(&project, &at).unwrap_err().to_string().contains("9 layers"));
    assert!(!at.exists());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn random_bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let dir = tempfile::tempdir().unwrap();
        let at = dir.path().join("p.slipsheet");
        fs::write(&at, &bytes).unwrap();
        prop_assert!(load(&at).is_err());
    }

    #[test]
    fn a_damaged_project_never_panics_and_what_loads_saves_again(
        at_byte in 0_usize..10_000, with in "[ -~\n]{0,6}", cut in 0_usize..8,
    ) {
        let mut text = project_with(vec![reference()]).to_ron().unwrap().into_bytes();
        let start = at_byte % text.len();
        let end = (start + cut).min(text.len());
        text.splice(start..end, with.bytes());
        if let Ok(text) = String::from_utf8(text) && let Ok(project) = Project::from_ron(&text) {
            prop_assert_eq!(Project::from_ron(&project.to_ron().unwrap()).unwrap(), project);
        }
    }
}

#[test]
fn a_mask_is_found_by_its_contents_and_one_that_is_another_by_now_is_not() {
    let dir = tempfile::tempdir().unwrap();
    let project = dir.path().join("walk.slipsheet");
    let mut codes = GrayRaster::filled(30, 20, 0).unwrap();
    codes.pixels_mut()[7] = slipsheet_core::retouch::WHITE;
    let (id, bytes) = Masks::encoded(&codes).unwrap();
    assert_eq!(Masks::encoded(&codes).unwrap().0, id, "the same mask has the same name");
    assert_eq!(decoded_mask(&bytes).unwrap(), codes);
    let mut masks = Masks::default();
    masks.extend([(id.clone(), bytes)]);
    assert!(Masks::default().find(&id, Some(&project)).is_none());
    masks.write_beside(&project).unwrap();
    let found = Masks::default().find(&id, Some(&project)).unwrap();
    assert_eq!(decoded_mask(&found).unwrap(), codes);
    // Somebody painted in it, or wrote something else there.
    let file = std::fs::read_dir(dir.path().join("masks")).unwrap().next().unwrap().unwrap().path();
    std::fs::write(&file, b"something else").unwrap();
    assert!(Masks::default().find(&id, Some(&project)).is_none());
    assert!(decoded_mask(b"something else").is_none());
    // What is at hand needs no file, and a file that is there is not written over, but another one beside it.
    assert!(masks.find(&id, Some(&project)).is_some());
    masks.write_beside(&project).unwrap();
    assert_eq!(std::fs::read(&file).unwrap(), b"something else");
    assert!(Masks::default().find(&id, Some(&project)).is_some());
}
