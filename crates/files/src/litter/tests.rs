use super::*;
use std::time::SystemTime;

/// Makes a file or a folder look as if nobody had touched it for so long.
pub(crate) fn age(path: &Path, by: Duration) {
    File::open(path).unwrap().set_modified(SystemTime::now() - by).unwrap();
}

#[test]
fn only_names_of_our_own_are_ours() {
    for name in [".slipsheet-a1B2c3.part", ".slipsheet-ZZZZZZ.part"] {
        assert!(is_ours(name, HIDDEN, ".part"), "{name}");
    }
    for name in [
        ".slipsheet-a1B2c.part",
        ".slipsheet-a1B2c34.part",
        ".slipsheet-my art.part",
        "slipsheet-a1B2c3.part",
        ".slipsheet-a1B2c3",
    ] {
        assert!(!is_ours(name, HIDDEN, ".part"), "{name}");
    }
}

#[test]
fn what_is_held_or_just_made_is_not_abandoned() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join(".slipsheet-a1B2c3.part");
    fs::write(&file, "half").unwrap();
    assert!(!is_abandoned(&file), "just made");
    age(&file, 2 * FRESH);
    let held = hold(&file).unwrap();
    assert!(!is_abandoned(&file), "held");
    sweep_files(dir.path(), HIDDEN, ".part");
    assert!(file.exists());
    drop(held);
    assert!(is_abandoned(&file));
    fs::write(dir.path().join(".slipsheet-mine.part"), "a person's").unwrap();
    age(&dir.path().join(".slipsheet-mine.part"), 2 * DAY);
    sweep_files(dir.path(), HIDDEN, ".part");
    assert!(!file.exists() && dir.path().join(".slipsheet-mine.part").exists());
}
