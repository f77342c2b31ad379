//! Projects on disk: the project file itself, and the scans it refers to.
//!
//! A project names its scans by path and by contents. Paths are kept relative to the project file where
//! that is possible, so that a folder can be moved as a whole; contents tell whether a scan is still the
//! one that was placed, and find it again when it was moved alone.

mod apart;
mod collect;
mod find;
mod masks;
mod paths;
mod plates;
mod scans;

#[cfg(test)]
mod tests;

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use slipsheet_document::project::{Project, ProjectError};

use crate::atomic::{self, WriteError};
use crate::scan::{Fingerprint, ScanError, fingerprint, fingerprint_bytes};

pub use crate::scan::{flatten_of, made_flat};
pub use apart::write_plate_beside;
pub use collect::collect;
pub use find::find_moved;
pub use masks::{Masks, carried as carried_mask, decoded as decoded_mask};
pub use paths::{rebase, relative, resolve};
pub use plates::{AddedPicture, Recipes, add_picture, load_scans};
pub use scans::{AddedScan, LoadedScan, ScanState, add_scan, load_scan, load_scan_with, scan_state};

/// The most bytes that a project file may have.
pub const MAX_PROJECT_BYTES: u64 = 64 << 20;

/// Why a project could not be read, saved or gathered.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    #[error("there is no such project; see whether it was moved or renamed: {}", path.display())]
    Missing { path: PathBuf },
    /// The path leads to a folder or a device.
    #[error("this is not a file; choose the project file itself: {}", path.display())]
    NotAFile { path: PathBuf },
    #[error("you may not read this project; change its permissions or copy it elsewhere: {}", path.display())]
    Denied { path: PathBuf },
    #[error("the project could not be read ({source}); try again or copy it to this machine: {}", path.display())]
    Read { path: PathBuf, source: io::Error },
    #[error("the file is larger than 64 MB, so it is no project; choose another: {}", path.display())]
    TooLarge { path: PathBuf },
    #[error("the file is not text, so it is no project; choose another: {}", path.display())]
    NotText { path: PathBuf },
    #[error("{source}: {}", path.display())]
    Project { path: PathBuf, source: ProjectError },
    #[error("this would replace the project or one of its scans; choose another name: {}", path.display())]
    WouldReplace { path: PathBuf },
    #[error("something else changed the project meanwhile, so it was not saved over; do this once more, and it starts from the file as it is now: {}", path.display())]
    ChangedOutside { path: PathBuf },
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error(transparent)]
    Scan(#[from] ScanError),
}

impl StoreError {
    fn from_io(path: &Path, source: io::Error) -> Self {
        let path = path.to_path_buf();
        match source.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => Self::Missing { path },
            io::ErrorKind::IsADirectory => Self::NotAFile { path },
            io::ErrorKind::PermissionDenied => Self::Denied { path },
            _ => Self::Read { path, source },
        }
    }
}

/// Reads a project file.
///
/// # Errors
/// When the file cannot be read, is no text, or is no project that this program can use.
pub fn load(path: &Path) -> Result<Project, StoreError> {
    load_marked(path).map(|(project, _)| project)
}

/// The same with the fingerprint of what was read, by which [`save_over`] knows the file again.
pub fn load_marked(path: &Path) -> Result<(Project, Fingerprint), StoreError> {
    let io = |e| StoreError::from_io(path, e);
    let meta = fs::metadata(path).map_err(io)?;
    if !meta.is_file() {
        return Err(StoreError::NotAFile { path: path.to_path_buf() });
    }
    let mut bytes = Vec::new();
    // One byte more than is allowed tells a file that is too large, even if it grows meanwhile.
    fs::File::open(path).map_err(io)?.take(MAX_PROJECT_BYTES + 1).read_to_end(&mut bytes).map_err(io)?;
    if bytes.len() as u64 > MAX_PROJECT_BYTES {
        return Err(StoreError::TooLarge { path: path.to_path_buf() });
    }
    let Ok(text) = std::str::from_utf8(&bytes) else {
        return Err(StoreError::NotText { path: path.to_path_buf() });
    };
    Project::from_ron(text.trim_start_matches('\u{feff}'))
        .map(|project| (project, fingerprint_bytes(&bytes)))
        .map_err(|source| StoreError::Project { path: path.to_path_buf(), source })
}

/// The files that a project is made of. Whoever writes a file asks here first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Originals {
    files: BTreeSet<PathBuf>,
}

impl Originals {
    /// The scans of a project and, where it has one, its own file.
    pub fn of(project: &Project, project_path: Option<&Path>) -> Self {
        let mut all = Self::scans_of([project], project_path);
        all.files.extend(project_path.and_then(|p| p.canonicalize().ok()));
        all
    }

    /// The scans and their masks alone, of several states of a project.
    pub fn scans_of<'a>(
        projects: impl IntoIterator<Item = &'a Project>,
        project_path: Option<&Path>,
    ) -> Self {
        let of = |project: &'a Project| {
            let scans = project.every_art().map(|a| resolve(project_path, &a.scan));
            scans.chain(masks::files(project, project_path)).collect::<Vec<_>>()
        };
        let scans: BTreeSet<PathBuf> = projects.into_iter().flat_map(of).collect();
        Self { files: scans.iter().filter_map(|s| s.canonicalize().ok()).collect() }
    }

    /// Refuses a file that is one of them, under whatever name.
    ///
    /// # Errors
    /// [`StoreError::WouldReplace`].
    pub fn refuse(&self, target: &Path) -> Result<(), StoreError> {
        if target.canonicalize().is_ok_and(|t| self.files.contains(&t)) {
            return Err(StoreError::WouldReplace { path: target.to_path_buf() });
        }
        Ok(())
    }
}

/// Refuses to write over what a project is made of: its scans and, where it has one, its own file.
///
/// # Errors
/// [`StoreError::WouldReplace`].
pub fn refuse_to_replace(
    target: &Path,
    project_path: Option<&Path>,
    project: &Project,
) -> Result<(), StoreError> {
    Originals::of(project, project_path).refuse(target)
}

/// Saves a project: the file holds all of it afterwards, or what it held before. The fingerprint of what was
/// written comes back.
///
/// # Errors
/// When the project is one that [`load`] would refuse, or the file cannot be written.
pub fn save(project: &Project, path: &Path) -> Result<Fingerprint, StoreError> {
    let text = text_of(project, path)?;
    atomic::write_bytes(path, text.as_bytes())?;
    Ok(fingerprint_bytes(text.as_bytes()))
}

/// Saves a project over the file that it was read from, unless that holds something else by now. A file that has
/// gone is written anew.
///
/// # Errors
/// [`StoreError::ChangedOutside`], and as [`save`].
pub fn save_over(project: &Project, path: &Path, known: &Fingerprint) -> Result<Fingerprint, StoreError> {
    let text = text_of(project, path)?;
    let written = fingerprint_bytes(text.as_bytes());
    let staged = atomic::stage(path, |out| out.write_all(text.as_bytes()))?;
    // Looked at last, so that hardly anything can come between.
    match fingerprint(path) {
        Ok(now) if now != *known && now != written => {
            Err(StoreError::ChangedOutside { path: path.to_path_buf() })
        }
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(StoreError::from_io(path, e)),
        Ok(_) | Err(_) => {
            staged.put()?;
            Ok(written)
        }
    }
}

/// The fingerprint of a file that nobody wrote after another one was; none where that cannot be told.
pub fn unchanged_since(path: &Path, other: &Path) -> Option<Fingerprint> {
    let time = |p: &Path| fs::metadata(p).and_then(|meta| meta.modified()).ok();
    (time(path)? <= time(other)?).then(|| fingerprint(path).ok())?
}

/// A project that can be opened again, as text.
fn text_of(project: &Project, path: &Path) -> Result<String, StoreError> {
    let refused = |source| StoreError::Project { path: path.to_path_buf(), source };
    project.check().map_err(refused)?;
    project.to_ron().map_err(refused)
}
