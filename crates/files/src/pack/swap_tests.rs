//! Packs that take the place of earlier ones, where something comes between: files of others, a kill, another pack,
//! a disk without an exchange in one step.

use std::fs;
use std::io::{self, ErrorKind};
use std::sync::Mutex;

use slipsheet_core::units::{Dpi, SheetFormat};

use super::tests::contents;
use super::*;
use crate::litter;
use crate::plates::tests::{job, project_of};

/// A project of one ink, so that a pack takes little time.
fn zine() -> (Project, Images) {
    let (mut p, images) = job(SheetFormat::A6, &["Hip-berry red"], 0.0);
    p.press_dpi = Dpi::new(100.0).unwrap();
    (project_of(p), images)
}

fn made(folder: &Path, options: &PackOptions) -> Result<WrittenPack, PackError> {
    made_by(exchange::exchange, folder, options)
}

fn made_by(by: Exchange, folder: &Path, options: &PackOptions) -> Result<WrittenPack, PackError> {
    let (p, images) = zine();
    write_by(by, &p, &images, options, (folder, None), &Progress::new())
}

/// A disk that cannot exchange.
fn in_two_steps(_: &Path, _: &Path) -> io::Result<()> {
    Err(ErrorKind::InvalidInput.into())
}

fn plain() -> PackOptions {
    PackOptions::default()
}

fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    all.sort();
    all
}

/// Puts a letter into the folder in the last moment, and exchanges it.
fn with_a_late_letter(hidden: &Path, place: &Path) -> io::Result<()> {
    fs::write(place.join("plates/letter.txt"), "please trim")?;
    fs::write(place.join("ticket.txt"), "filled in")?;
    exchange::exchange(hidden, place)
}

/// The same where the exchange is none.
fn with_a_late_letter_in_two_steps(_: &Path, place: &Path) -> io::Result<()> {
    fs::write(place.join("plates/letter.txt"), "please trim")?;
    fs::write(place.join("ticket.txt"), "filled in")?;
    Err(ErrorKind::Unsupported.into())
}

#[test]
fn what_comes_into_the_earlier_pack_meanwhile_is_kept_and_named() {
    for by in [with_a_late_letter as Exchange, with_a_late_letter_in_two_steps] {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("pack");
        made(&folder, &plain()).unwrap();
        let pack = made_by(by, &folder, &plain()).unwrap();
        assert_eq!(names(home.path()), ["pack"]);
        assert_eq!(fs::read_to_string(folder.join("plates/letter.txt")).unwrap(), "please trim");
        assert_eq!(fs::read_to_string(folder.join("ticket 2.txt")).unwrap(), "filled in");
        assert!(fs::read_to_string(folder.join("ticket.txt")).unwrap().len() > 100, "the new one");
        assert_eq!(pack.notes.len(), 2, "{:?}", pack.notes);
        assert!(pack.notes[0].contains("letter.txt came into the earlier pack"), "{:?}", pack.notes);
        // The next pack is refused rather than taking them away.
        let error = made(&folder, &plain()).unwrap_err().to_string();
        assert!(error.contains("plates/letter.txt") || error.contains("ticket 2.txt"), "{error}");
    }
}

#[test]
fn a_disk_without_an_exchange_gives_the_same_pack_and_no_litter() {
    let home = tempfile::tempdir().unwrap();
    let (one, two) = (home.path().join("one"), home.path().join("two"));
    for (by, folder) in [(exchange::exchange as Exchange, &one), (in_two_steps, &two)] {
        made_by(by, folder, &plain()).unwrap();
        let again = made_by(by, folder, &plain()).unwrap();
        assert!(again.notes.is_empty(), "{:?}", again.notes);
    }
    assert!(contents(&one) == contents(&two));
    assert_eq!(names(home.path()), ["one", "two"]);
}

/// A hidden pack and its journal, as a run leaves them that is killed in its exchange.
fn killed(home: &Path, place: &str) -> (PathBuf, PathBuf) {
    let hidden = home.join(".slipsheet-pack-a1B2c3");
    let journal = home.join(".slipsheet-pack-a1B2c3.swap");
    made(&hidden, &plain()).unwrap();
    fs::write(&journal, format!("{place}\n\n")).unwrap();
    (hidden, journal)
}

#[test]
fn a_kill_between_two_renames_brings_the_earlier_pack_back() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    made(&folder, &plain()).unwrap();
    let before = contents(&folder);
    // The new one is whole, the earlier one aside, and nothing has the name.
    killed(home.path(), "pack");
    fs::rename(&folder, home.path().join(".slipsheet-pack-a1B2c3.old")).unwrap();
    let other = made(&home.path().join("other"), &plain()).unwrap();
    assert!(contents(&folder) == before);
    assert!(other.notes.iter().any(|n| n.contains("is back") && n.ends_with("pack")), "{:?}", other.notes);
    assert_eq!(names(home.path()), ["other", "pack"]);
}

#[test]
fn a_kill_after_the_exchange_keeps_what_came_into_the_earlier_pack() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    made(&folder, &plain()).unwrap();
    // Under the hidden name is the earlier pack, of which half was removed already.
    let (hidden, _) = killed(home.path(), "pack");
    fs::remove_file(hidden.join("ticket.pdf")).unwrap();
    fs::write(hidden.join("letter.txt"), "please trim").unwrap();
    made(&home.path().join("other"), &plain()).unwrap();
    assert_eq!(names(home.path()), ["other", "pack"]);
    assert_eq!(fs::read_to_string(folder.join("letter.txt")).unwrap(), "please trim");
}

#[test]
fn half_filled_packs_go_but_neither_running_ones_nor_those_of_others() {
    let home = tempfile::tempdir().unwrap();
    let at = |name: &str| home.path().join(name);
    for name in [".slipsheet-pack-a1B2c3", ".slipsheet-pack-ddDD44", ".slipsheet-pack-of mine"] {
        fs::create_dir(at(name)).unwrap();
        fs::write(at(name).join("plate.png"), "half").unwrap();
        litter::tests::age(&at(name), std::time::Duration::from_secs(300));
    }
    let running = litter::hold(&at(".slipsheet-pack-ddDD44")).unwrap();
    made(&at("pack"), &plain()).unwrap();
    assert_eq!(names(home.path()), [".slipsheet-pack-ddDD44", ".slipsheet-pack-of mine", "pack"]);
    drop(running);
}

#[test]
fn the_exchange_of_a_run_that_goes_on_is_left_alone() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    let (_, journal) = killed(home.path(), "pack");
    let held = fs::File::open(&journal).unwrap();
    held.try_lock().unwrap();
    // One that says nothing yet.
    fs::write(home.path().join(".slipsheet-pack-eeEE55.swap"), "pa").unwrap();
    made(&folder, &plain()).unwrap();
    let [one, two] = [".slipsheet-pack-a1B2c3", ".slipsheet-pack-a1B2c3.swap"];
    assert_eq!(names(home.path()), [one, two, ".slipsheet-pack-eeEE55.swap", "pack"]);
    drop(held);
    made(&folder, &plain()).unwrap();
    assert_eq!(names(home.path()), [".slipsheet-pack-eeEE55.swap", "pack"]);
}

#[test]
fn an_earlier_pack_that_was_left_aside_without_a_word_is_named() {
    let home = tempfile::tempdir().unwrap();
    let aside = home.path().join(".slipsheet-pack-a1B2c3.old");
    fs::create_dir(&aside).unwrap();
    let pack = made(&home.path().join("pack"), &plain()).unwrap();
    assert!(pack.notes.iter().any(|n| n.ends_with(".slipsheet-pack-a1B2c3.old")), "{:?}", pack.notes);
    assert!(aside.exists());
}

#[test]
fn a_list_that_leads_out_of_the_folder_removes_nothing_there() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    made(&folder, &plain()).unwrap();
    fs::write(home.path().join("scan.png"), "an original").unwrap();
    let list = folder.join(MANIFEST);
    let mut manifest: Manifest = serde_json::from_str(&fs::read_to_string(&list).unwrap()).unwrap();
    let Fingerprint { size, sha256 } = fingerprint_bytes(b"an original");
    let what = "out".to_owned();
    manifest.files.push(PackFile { name: "../scan.png".to_owned(), what, bytes: size, sha256 });
    fs::write(&list, serde_json::to_string(&manifest).unwrap()).unwrap();
    made(&folder, &plain()).unwrap();
    assert_eq!(fs::read_to_string(home.path().join("scan.png")).unwrap(), "an original");
}

/// Bytes of the ZIP's place when the folder was exchanged.
static ZIP_THEN: Mutex<Option<PathBuf>> = Mutex::new(None);

/// Makes the ZIP's name one that cannot be taken, in the last moment.
fn with_a_folder_for_the_zip(hidden: &Path, place: &Path) -> io::Result<()> {
    if let Some(zip) = ZIP_THEN.lock().unwrap().take() {
        fs::remove_file(&zip)?;
        fs::create_dir(&zip)?;
    }
    exchange::exchange(hidden, place)
}

#[test]
fn a_zip_that_fails_late_takes_the_folder_back_to_its_age() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    let zipped = PackOptions { zip: true, ..plain() };
    made(&folder, &zipped).unwrap();
    let before = contents(&folder);
    *ZIP_THEN.lock().unwrap() = Some(home.path().join("pack.zip"));
    let (mut p, images) = zine();
    p.title = "Another".to_owned();
    let failed = write_by(with_a_folder_for_the_zip, &p, &images, &zipped, (&folder, None), &Progress::new());
    assert!(matches!(failed, Err(PackError::Write(_))), "{failed:?}");
    assert!(contents(&folder) == before);
    assert_eq!(names(home.path()), ["pack", "pack.zip"]);
    // A folder of the ZIP's name is refused before any work.
    let error = made(&folder, &zipped).unwrap_err().to_string();
    assert!(error.starts_with("a folder already has this name") && error.ends_with("pack.zip"), "{error}");
}

#[test]
fn a_pack_without_a_zip_names_the_zip_of_an_earlier_one() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    made(&folder, &PackOptions { zip: true, ..plain() }).unwrap();
    let pack = made(&folder, &plain()).unwrap();
    assert!(pack.notes.iter().any(|n| n.contains("of an earlier pack") && n.ends_with("pack.zip")));
}

#[test]
fn the_folder_that_one_stands_in_is_refused_before_any_work() {
    for here in [".", "/", ".."] {
        let error = made(Path::new(here), &plain()).unwrap_err();
        assert!(matches!(error, PackError::Here { .. }), "{here}: {error}");
    }
}

#[cfg(unix)]
#[test]
fn a_link_to_a_pack_is_followed_and_one_that_leads_nowhere_refused() {
    let home = tempfile::tempdir().unwrap();
    let (real, link) = (home.path().join("real"), home.path().join("link"));
    made(&real, &plain()).unwrap();
    std::os::unix::fs::symlink(&real, &link).unwrap();
    made(&link, &plain()).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(names(home.path()), ["link", "real"]);
    fs::remove_dir_all(&real).unwrap();
    let error = made(&link, &plain()).unwrap_err().to_string();
    assert!(error.contains("leads nowhere"), "{error}");
}

#[test]
fn two_packs_at_once_leave_one_whole_pack() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    made(&folder, &plain()).unwrap();
    let before = contents(&folder);
    std::thread::scope(|scope| {
        let both = [(); 2].map(|()| scope.spawn(|| made(&folder, &plain())));
        for one in both {
            assert!(one.join().unwrap().unwrap().notes.is_empty());
        }
    });
    assert!(contents(&folder) == before);
    assert_eq!(names(home.path()), ["pack"]);
}

#[test]
fn a_pack_whose_file_is_a_scan_of_the_project_is_not_replaced() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    made(&folder, &plain()).unwrap();
    let (mut p, images) = zine();
    p.main.layers[0].art[0].scan.path = folder.join("proof-front.png").display().to_string();
    let error = super::write(&p, &images, &plain(), (&folder, None), &Progress::new()).unwrap_err();
    assert!(error.to_string().contains("one of its scans"), "{error}");
    assert!(folder.join("proof-front.png").is_file());
}

#[cfg(unix)]
#[test]
fn an_earlier_pack_that_is_closed_to_us_is_refused_before_any_work() {
    use std::os::unix::fs::PermissionsExt as _;
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    made(&folder, &plain()).unwrap();
    let before = contents(&folder);
    let close = |mode| fs::set_permissions(&folder, fs::Permissions::from_mode(mode)).unwrap();
    close(0o555);
    // Who may do anything is not stopped by this.
    if fs::File::create(folder.join("probe")).is_err() {
        let error = made(&folder, &plain()).unwrap_err().to_string();
        assert!(error.starts_with("you may not write here"), "{error}");
        close(0o755);
        assert!(contents(&folder) == before);
    }
    close(0o755);
    assert_eq!(names(home.path()), ["pack"]);
}
