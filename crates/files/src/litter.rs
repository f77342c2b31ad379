//! What a run that was killed leaves behind: hidden files and folders with names of our own. The next run of the
//! same kind takes away what nobody works on any more, and nothing else.
//!
//! A run holds a lock on what it fills, which the system lets go of however the run ends.

use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What the names of all our hidden files and folders begin with.
pub(crate) const HIDDEN: &str = ".slipsheet-";
/// Characters between the beginning and the ending, drawn at random.
const DRAWN: usize = 6;
/// Younger than this, something may just be made and not be locked yet.
const FRESH: Duration = Duration::from_secs(60);
/// Where a disk knows no locks, age alone has to tell.
const DAY: Duration = Duration::from_secs(24 * 60 * 60);

/// Whether a name is exactly one that we give: this beginning, six letters or figures, this ending.
pub(crate) fn is_ours(name: &str, beginning: &str, ending: &str) -> bool {
    let drawn = name.strip_prefix(beginning).and_then(|rest| rest.strip_suffix(ending));
    drawn.is_some_and(|d| d.len() == DRAWN && d.bytes().all(|b| b.is_ascii_alphanumeric()))
}

/// Entries of a folder with names of ours; none where it cannot be read.
pub(crate) fn ours(folder: &Path, beginning: &str, ending: &str) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let ours = |entry: &fs::DirEntry| {
        entry.file_name().to_str().is_some_and(|name| is_ours(name, beginning, ending))
    };
    let mut found: Vec<PathBuf> = entries.flatten().filter(ours).map(|e| e.path()).collect();
    found.sort();
    found
}

/// A lock on a file or a folder, for as long as it is kept; none where the disk has no locks.
pub(crate) fn hold(path: &Path) -> Option<File> {
    File::open(path).ok().filter(|file| file.try_lock().is_ok())
}

/// Whether the run that made this has ended.
pub(crate) fn is_abandoned(path: &Path) -> bool {
    is_left_for(path, FRESH)
}

/// The same for what is locked before anything is in it, so that its age says nothing.
pub(crate) fn is_unheld(path: &Path) -> bool {
    is_left_for(path, Duration::ZERO)
}

fn is_left_for(path: &Path, least: Duration) -> bool {
    let modified = fs::symlink_metadata(path).and_then(|meta| meta.modified());
    // A time in the future has no age; such a thing is left alone.
    let Some(age) = modified.ok().and_then(|t| t.elapsed().ok()).filter(|age| *age >= least) else {
        return false;
    };
    match File::open(path).map(|file| file.try_lock()) {
        Ok(Ok(())) => true,
        Ok(Err(TryLockError::WouldBlock)) => false,
        Ok(Err(TryLockError::Error(_))) | Err(_) => age >= DAY,
    }
}

pub(crate) fn sweep_files(folder: &Path, beginning: &str, ending: &str) {
    let is_file = |p: &PathBuf| fs::symlink_metadata(p).is_ok_and(|meta| meta.is_file());
    for file in ours(folder, beginning, ending).into_iter().filter(|p| is_file(p) && is_abandoned(p)) {
        // What cannot be removed now is tried again by the next run.
        fs::remove_file(file).unwrap_or_default();
    }
}

/// Removes half-filled folders from a folder, but for those that `keep` wants.
pub(crate) fn sweep_folders(folder: &Path, beginning: &str, keep: impl Fn(&Path) -> bool) {
    let is_dir = |p: &PathBuf| fs::symlink_metadata(p).is_ok_and(|meta| meta.is_dir());
    let left = ours(folder, beginning, "").into_iter().filter(|p| is_dir(p) && !keep(p) && is_abandoned(p));
    for one in left {
        fs::remove_dir_all(one).unwrap_or_default();
    }
}

#[cfg(test)]
pub(crate) mod tests;
