//! What an earlier pack is, and what may be put in its place.

use std::fs;
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};

use super::{MANIFEST, Manifest, PackError};
use crate::atomic::{self, WriteError};
use crate::file_name;
use crate::litter::HIDDEN;
use crate::scan::fingerprint_bytes;
use crate::store::Originals;

pub(super) fn make(folder: &Path) -> Result<(), WriteError> {
    fs::create_dir_all(folder).map_err(|e| WriteError::from_io(folder, e))
}

/// The folder itself, where the name is a link, with its whole path.
pub(super) fn place_of(folder: &Path) -> Result<PathBuf, PackError> {
    let failed = |e| WriteError::from_io(folder, e);
    let foreign = |found: &str| PackError::Foreign { found: found.to_owned(), folder: folder.to_path_buf() };
    let place = match fs::symlink_metadata(folder) {
        Err(e) if e.kind() == ErrorKind::NotFound => std::path::absolute(folder).map_err(failed)?,
        Err(e) => return Err(failed(e).into()),
        Ok(meta) => match folder.canonicalize() {
            Ok(place) if place.is_dir() => place,
            Ok(_) => return Err(foreign("it is a file")),
            Err(_) if meta.is_symlink() => return Err(foreign("it is a link that leads nowhere")),
            Err(e) => return Err(failed(e).into()),
        },
    };
    // Whoever stands in a folder would go on standing in the old one, which is then removed.
    let inside = std::env::current_dir().and_then(|d| d.canonicalize()).is_ok_and(|d| d.starts_with(&place));
    if place.file_name().is_none() || inside {
        return Err(PackError::Here { folder: folder.to_path_buf() });
    }
    Ok(place)
}

pub(super) fn zip_path(folder: &Path) -> PathBuf {
    let mut name = folder.file_name().unwrap_or_default().to_owned();
    name.push(".zip");
    folder.with_file_name(name)
}

/// The list of an earlier pack, where the folder is one. Names that would lead out of the folder are not of a pack.
pub(super) fn manifest_of(folder: &Path) -> Option<Manifest> {
    let mut listed: Manifest = serde_json::from_str(&fs::read_to_string(folder.join(MANIFEST)).ok()?).ok()?;
    let stays = |name: &str| Path::new(name).components().all(|c| matches!(c, Component::Normal(_)));
    listed.files.retain(|f| !f.name.is_empty() && stays(&f.name));
    Some(listed)
}

/// Refuses to replace a ZIP beside a folder that is no earlier pack: it may be anyone's.
pub(super) fn refuse_foreign_zip(folder: &Path, zip: &Path) -> Result<(), PackError> {
    atomic::replaceable(zip, zip)?;
    if zip.exists() && manifest_of(folder).is_none() {
        let found = file_name::last(zip);
        return Err(PackError::Foreign { found, folder: folder.to_path_buf() });
    }
    Ok(())
}

/// Refuses an earlier pack that is closed to us: its files could not be removed once the new one stands.
pub(super) fn refuse_closed(folder: &Path) -> Result<(), WriteError> {
    if folder.exists() {
        let tried = tempfile::Builder::new().prefix(HIDDEN).tempfile_in(folder);
        tried.map_err(|e| WriteError::from_io(folder, e))?;
    }
    Ok(())
}

/// Refuses a folder that holds anything but what an earlier pack put there.
pub(super) fn refuse_foreign(folder: &Path) -> Result<(), PackError> {
    let failed = |e| WriteError::from_io(folder, e);
    let foreign = |found: String| Err(PackError::Foreign { found, folder: folder.to_path_buf() });
    if !folder.exists() {
        return Ok(());
    }
    let listed = manifest_of(folder).map(|m| m.files).unwrap_or_default();
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

/// Refuses a pack of which the project uses a file as a scan: a new pack would take it away.
pub(super) fn refuse_originals(folder: &Path, originals: &Originals) -> Result<(), PackError> {
    for file in manifest_of(folder).map(|m| m.files).unwrap_or_default() {
        originals.refuse(&folder.join(file.name))?;
    }
    originals.refuse(&folder.join(MANIFEST))?;
    Ok(())
}
