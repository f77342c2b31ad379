//! A folder that appears whole: filled under another name beside its place, then renamed.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use super::{MANIFEST, Manifest, PackError};
use crate::atomic::WriteError;
use crate::scan::fingerprint_bytes;

/// A folder that is being filled; it goes when it is dropped before it took its place.
pub(super) struct Fresh {
    folder: tempfile::TempDir,
}

impl Fresh {
    pub fn beside(place: &Path) -> Result<Self, WriteError> {
        let parent = match place.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        fs::create_dir_all(parent).map_err(|e| WriteError::from_io(parent, e))?;
        let made = tempfile::Builder::new().prefix(".slipsheet-pack-").tempdir_in(parent);
        let folder = made.map_err(|e| WriteError::from_io(place, e))?;
        readable(folder.path()).map_err(|e| WriteError::from_io(place, e))?;
        Ok(Self { folder })
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Puts the folder in its place; what was there goes only once the new one stands.
    pub fn take_the_place_of(self, place: &Path) -> Result<(), WriteError> {
        let failed = |e| WriteError::from_io(place, e);
        let old = if fs::symlink_metadata(place).is_ok() {
            let aside = self.folder.path().with_extension("old");
            fs::rename(place, &aside).map_err(failed)?;
            Some(aside)
        } else {
            None
        };
        if let Err(e) = fs::rename(self.folder.path(), place) {
            if let Some(old) = &old {
                // The old pack goes back where it was; if even that fails it is still beside it.
                fs::rename(old, place).unwrap_or_default();
            }
            return Err(failed(e));
        }
        if let Some(old) = old {
            fs::remove_dir_all(&old).map_err(failed)?;
        }
        Ok(())
    }
}

/// A temporary folder is its owner's alone; a pack is to be handed on.
#[cfg(unix)]
fn readable(folder: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn readable(_folder: &Path) -> std::io::Result<()> {
    Ok(())
}

/// Makes a folder.
pub(super) fn make(folder: &Path) -> Result<(), WriteError> {
    fs::create_dir_all(folder).map_err(|e| WriteError::from_io(folder, e))
}

/// The ZIP file beside a folder.
pub(super) fn zip_path(folder: &Path) -> PathBuf {
    let mut name = folder.file_name().unwrap_or_default().to_owned();
    name.push(".zip");
    folder.with_file_name(name)
}

/// The list of an earlier pack, where the folder is one.
fn manifest_of(folder: &Path) -> Option<Manifest> {
    serde_json::from_str(&fs::read_to_string(folder.join(MANIFEST)).ok()?).ok()
}

/// Refuses to replace a ZIP beside a folder that is no earlier pack: it may be anyone's.
pub(super) fn refuse_foreign_zip(folder: &Path) -> Result<(), PackError> {
    let zip = zip_path(folder);
    if zip.exists() && manifest_of(folder).is_none() {
        let found = zip.file_name().unwrap_or_default().to_string_lossy().into_owned();
        return Err(PackError::Foreign { found, folder: folder.to_path_buf() });
    }
    Ok(())
}

/// Refuses a folder that holds anything but what an earlier pack put there.
pub(super) fn refuse_foreign(folder: &Path) -> Result<(), PackError> {
    let failed = |e| WriteError::from_io(folder, e);
    let foreign = |found: String| Err(PackError::Foreign { found, folder: folder.to_path_buf() });
    match fs::symlink_metadata(folder) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(failed(e).into()),
        Ok(meta) if !meta.is_dir() => return foreign("it is a file".to_owned()),
        Ok(_) => {}
    }
    let manifest = manifest_of(folder);
    let listed = manifest.map(|m| m.files).unwrap_or_default();
    let ours: Vec<String> = listed
        .iter()
        .map(|f| f.name.clone())
        .chain((!listed.is_empty()).then(|| MANIFEST.to_owned()))
        .collect();
    // A ticket whose fields were filled in is work that no new pack may take away.
    for file in &listed {
        let changed = |bytes: Vec<u8>| fingerprint_bytes(&bytes).sha256 != file.sha256;
        if fs::read(folder.join(&file.name)).is_ok_and(changed) {
            return foreign(format!("{}, changed since the pack was made", file.name));
        }
    }
    let mut left = vec![(folder.to_path_buf(), String::new())];
    while let Some((at, prefix)) = left.pop() {
        let mut entries: Vec<_> =
            fs::read_dir(&at).map_err(failed)?.collect::<Result<_, _>>().map_err(failed)?;
        entries.sort_by_key(fs::DirEntry::file_name);
        for entry in entries {
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            let kind = entry.file_type().map_err(failed)?;
            if kind.is_dir() && ours.iter().any(|o| o.starts_with(&format!("{name}/"))) {
                left.push((entry.path(), format!("{name}/")));
            } else if kind.is_dir() || !ours.contains(&name) {
                return foreign(name);
            }
        }
    }
    Ok(())
}
