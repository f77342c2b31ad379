//! A pack takes the place of an earlier one: filled under a hidden name beside it, then exchanged in one step, or in
//! two where the disk has no such step. A journal beside it lets the next run finish what one that was killed began.
//!
//! **Invariant:** of an earlier pack only the files are removed that its list names and that are still as they were
//! made. Whatever else came to be there is moved into the new pack and named.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::folder::manifest_of;
use super::{MANIFEST, PackError};
use crate::atomic::{WriteError, folder_of, sync_folder};
use crate::exchange::{Exchange, is_unsupported};
use crate::file_name::numbered;
use crate::litter;
use crate::log_file::logged;
use crate::scan::fingerprint;

/// What the names of hidden packs begin with.
const BEGINNING: &str = ".slipsheet-pack-";
/// The ending of the journal of an exchange.
const JOURNAL: &str = ".swap";
/// The ending of an earlier pack that was moved aside.
const ASIDE: &str = ".old";
/// How often an exchange is tried again when something else moves the folder meanwhile.
const TRIES: usize = 3;

/// A pack that is being filled; it goes when it is dropped before it took its place.
pub(super) struct Fresh {
    folder: TempDir,
    _held: Option<File>,
    place: PathBuf,
    /// What was set right of runs that were killed, in sentences.
    notes: Vec<String>,
}

impl Fresh {
    /// An empty one for a place. What earlier runs left half done beside it is set right first.
    pub fn beside(place: &Path) -> Result<Self, WriteError> {
        let parent = folder_of(place);
        fs::create_dir_all(parent).map_err(|e| WriteError::from_io(parent, e))?;
        let notes = recover(parent, place);
        let made = tempfile::Builder::new().prefix(BEGINNING).tempdir_in(parent);
        let folder = made.map_err(|e| WriteError::from_io(place, e))?;
        readable(folder.path()).map_err(|e| WriteError::from_io(place, e))?;
        let _held = litter::hold(folder.path());
        Ok(Self { folder, _held, place: place.to_path_buf(), notes })
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Puts the pack in its place and does what has to change with it; if that fails, the earlier pack comes back.
    /// What a person should hear of it comes back in sentences.
    pub fn take_its_place(
        self,
        exchange: Exchange,
        then: impl FnOnce() -> Result<(), PackError>,
    ) -> Result<Vec<String>, PackError> {
        let Self { folder, _held, place, mut notes } = self;
        let failed = |e| WriteError::from_io(&place, e);
        // From here on the hidden name may be that of the earlier pack, which must not go with this struct.
        let hidden = folder.keep();
        let journal = match Journal::begin(&hidden, &place) {
            Ok(journal) => journal,
            Err(e) => {
                notes.extend(clear_out(&hidden, None));
                return Err(failed(e).into());
            }
        };
        let old = match put(&hidden, &place, exchange) {
            Ok(old) => old,
            Err(e) => {
                clear_out(&hidden, None);
                journal.end();
                return Err(failed(e).into());
            }
        };
        if let Err(e) = then() {
            put_back(&hidden, &place, old.as_deref(), exchange);
            clear_out(&hidden, None);
            journal.end();
            return Err(e);
        }
        sync_folder(folder_of(&place)).map_err(failed)?;
        if let Some(old) = old {
            notes.extend(clear_out(&old, Some(&place)));
        }
        journal.end();
        Ok(notes)
    }
}

/// Exchanges or renames; where the earlier pack is now, if there was one.
fn put(hidden: &Path, place: &Path, exchange: Exchange) -> io::Result<Option<PathBuf>> {
    let aside = with_ending(hidden, ASIDE);
    for _ in 0..TRIES {
        if fs::symlink_metadata(place).is_err() {
            match fs::rename(hidden, place) {
                Ok(()) => return Ok(None),
                // Another pack came to be here meanwhile.
                Err(_) if fs::symlink_metadata(place).is_ok() => continue,
                Err(e) => return Err(e),
            }
        }
        match exchange(hidden, place) {
            Ok(()) => return Ok(Some(hidden.to_path_buf())),
            Err(e) if e.kind() == ErrorKind::NotFound => continue,
            Err(e) if !is_unsupported(&e) => return Err(e),
            Err(_) => {}
        }
        match fs::rename(place, &aside) {
            Err(e) if e.kind() == ErrorKind::NotFound => continue,
            Err(e) => return Err(e),
            Ok(()) => {}
        }
        return match fs::rename(hidden, place) {
            Ok(()) => Ok(Some(aside)),
            Err(e) => {
                // If even this fails, the journal stays true and the next run does it.
                logged("the earlier pack in its place", fs::rename(&aside, place));
                Err(e)
            }
        };
    }
    Err(io::Error::other("other packs are being made here"))
}

/// Takes the new pack out of its place again.
fn put_back(hidden: &Path, place: &Path, old: Option<&Path>, exchange: Exchange) {
    if old == Some(hidden) && exchange(hidden, place).is_ok() {
        return;
    }
    // Of a rename that fails here nothing is lost: both packs stand under the names that the journal gives.
    if fs::rename(place, hidden).is_ok()
        && let Some(old) = old
    {
        logged("the earlier pack in its place", fs::rename(old, place));
    }
}

/// Removes a pack that is not wanted any more, and nothing else. Other files in it go into the new pack `into`, or
/// stay where they are; each is named in a sentence.
fn clear_out(pack: &Path, into: Option<&Path>) -> Vec<String> {
    let mut notes = Vec::new();
    if !fs::symlink_metadata(pack).is_ok_and(|meta| meta.is_dir()) {
        return notes;
    }
    remove_listed(pack);
    for name in files_in(pack) {
        let from = pack.join(&name);
        let moved = into.and_then(|into| {
            let to = free_name(&into.join(&name));
            fs::create_dir_all(folder_of(&to)).and_then(|()| fs::rename(&from, &to)).ok()?;
            Some(to)
        });
        notes.push(format!(
            "{} came into the earlier pack while the new one was made; it is kept as {}",
            name.display(),
            moved.as_ref().unwrap_or(&from).display()
        ));
    }
    remove_empty(pack);
    notes
}

/// Removes what the list of a pack names, as far as it is still what was made.
fn remove_listed(pack: &Path) {
    let Some(manifest) = manifest_of(pack) else { return };
    for file in &manifest.files {
        let path = pack.join(&file.name);
        if fingerprint(&path).is_ok_and(|now| now.sha256 == file.sha256) {
            fs::remove_file(&path).unwrap_or_default();
        }
    }
    fs::remove_file(pack.join(MANIFEST)).unwrap_or_default();
}

/// Everything in a folder that is no folder, by its path in it.
fn files_in(folder: &Path) -> Vec<PathBuf> {
    let (mut found, mut left) = (Vec::new(), vec![PathBuf::new()]);
    while let Some(at) = left.pop() {
        for entry in fs::read_dir(folder.join(&at)).into_iter().flatten().flatten() {
            let name = at.join(entry.file_name());
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                left.push(name);
            } else {
                found.push(name);
            }
        }
    }
    found.sort();
    found
}

/// Removes a folder of nothing but folders; whatever holds a file stays.
fn remove_empty(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            remove_empty(&entry.path());
        }
    }
    fs::remove_dir(folder).unwrap_or_default();
}

/// A path that nothing has: a number is added where it is taken.
fn free_name(path: &Path) -> PathBuf {
    let free = |p: &PathBuf| fs::symlink_metadata(p).is_err();
    numbered(path).find(free).unwrap_or_else(|| path.to_path_buf())
}

/// A path with an ending after whatever name it has.
fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// The word, beside a hidden pack, on whose place it is to take. It is locked while the run goes on.
struct Journal {
    path: PathBuf,
    _file: File,
}

impl Journal {
    fn begin(hidden: &Path, place: &Path) -> io::Result<Self> {
        let path = with_ending(hidden, JOURNAL);
        let mut file = File::options().write(true).create_new(true).open(&path)?;
        // Locked before it says anything, so that one with words in it and without a lock is left over.
        let held = file.try_lock();
        debug_assert!(!matches!(held, Err(fs::TryLockError::WouldBlock)));
        let name = place.file_name().unwrap_or_default();
        file.write_all(&[name.as_encoded_bytes(), b"\n\n"].concat())?;
        file.sync_all()?;
        sync_folder(folder_of(&path))?;
        Ok(Self { path, _file: file })
    }

    fn end(self) {
        // One that stays is found by the next run, which has nothing left to do for it.
        fs::remove_file(&self.path).unwrap_or_default();
    }

    /// The place that a journal speaks of; none when it was not written to its end.
    fn place(path: &Path) -> Option<PathBuf> {
        let mut bytes = fs::read(path).ok()?;
        bytes.ends_with(b"\n\n").then(|| bytes.truncate(bytes.len() - 2))?;
        let name = name_from(bytes)?;
        (Path::new(&name).file_name() == Some(&name)).then(|| path.with_file_name(name))
    }
}

#[cfg(unix)]
fn name_from(bytes: Vec<u8>) -> Option<std::ffi::OsString> {
    Some(std::os::unix::ffi::OsStringExt::from_vec(bytes))
}

#[cfg(not(unix))]
fn name_from(bytes: Vec<u8>) -> Option<std::ffi::OsString> {
    String::from_utf8(bytes).ok().map(Into::into)
}

/// Sets right what runs that were killed left in a folder; what a person should hear comes back in sentences.
fn recover(parent: &Path, wanted: &Path) -> Vec<String> {
    let mut notes = Vec::new();
    for journal in litter::ours(parent, BEGINNING, JOURNAL) {
        let (Some(place), hidden) = (Journal::place(&journal), journal.with_extension("")) else { continue };
        if !litter::is_unheld(&journal) {
            continue;
        }
        let aside = with_ending(&hidden, ASIDE);
        if fs::symlink_metadata(&place).is_err() && fs::rename(&aside, &place).is_ok() && place != wanted {
            let back = place.display();
            notes.push(format!(
                "an earlier run was stopped before its end; the pack from before is back: {back}"
            ));
        }
        let into = Some(place.as_path()).filter(|p| p.is_dir());
        for left in [&hidden, &aside] {
            notes.extend(clear_out(left, into));
        }
        fs::remove_file(&journal).unwrap_or_default();
    }
    litter::sweep_folders(parent, BEGINNING, |folder| with_ending(folder, JOURNAL).exists());
    for old in litter::ours(parent, BEGINNING, ASIDE) {
        if !old.with_extension("swap").exists() {
            let old = old.display();
            notes.push(format!("a run that was stopped left an earlier pack; rename it or delete it: {old}"));
        }
    }
    notes
}

/// A temporary folder is its owner's alone; a pack is to be handed on.
#[cfg(unix)]
fn readable(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn readable(_folder: &Path) -> io::Result<()> {
    Ok(())
}
