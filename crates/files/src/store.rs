//! Projects on disk: the project file itself, and the scans it refers to.
//!
//! A project names its scans by path and by contents. Paths are kept relative to the project file where
//! that is possible, so that a folder can be moved as a whole; contents tell whether a scan is still the
//! one that was placed, and find it again when it was moved alone.

mod collect;
mod find;
mod paths;
mod scans;

#[cfg(test)]
mod tests;

use std::fs;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use slipsheet_core::project::{Project, ProjectError};

use crate::atomic::{self, WriteError};
use crate::scan::ScanError;

pub use collect::collect;
pub use find::find_moved;
pub use paths::{rebase, relative, resolve};
pub use scans::{AddedScan, LoadedScan, ScanState, add_scan, load_scan, scan_state};

/// The most bytes that a project file may have.
pub const MAX_PROJECT_BYTES: u64 = 64 << 20;

/// Why a project could not be read, saved or gathered.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// No file has this name.
    #[error("there is no such project; see whether it was moved or renamed: {}", path.display())]
    Missing {
        /// The project file.
        path: PathBuf,
    },
    /// The path leads to a folder or a device.
    #[error("this is not a file; choose the project file itself: {}", path.display())]
    NotAFile {
        /// The path.
        path: PathBuf,
    },
    /// The system does not let us read it.
    #[error("you may not read this project; change its permissions or copy it elsewhere: {}", path.display())]
    Denied {
        /// The project file.
        path: PathBuf,
    },
    /// The disk or the network failed.
    #[error("the project could not be read ({source}); try again or copy it to this machine: {}", path.display())]
    Read {
        /// The project file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file is far larger than any project.
    #[error("the file is larger than 64 MB, so it is no project; choose another: {}", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
    },
    /// The file is no text.
    #[error("the file is not text, so it is no project; choose another: {}", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
    },
    /// The text is not a project that can be used.
    #[error("{source}: {}", path.display())]
    Project {
        /// The project file.
        path: PathBuf,
        /// What is wrong, and where.
        source: ProjectError,
    },
    /// The file is one that the project is made of.
    #[error("this would replace the project or one of its scans; choose another name: {}", path.display())]
    WouldReplace {
        /// The file that was to be written.
        path: PathBuf,
    },
    /// A file could not be written; what was there before is untouched.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// A scan of the project could not be read.
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
        .map_err(|source| StoreError::Project { path: path.to_path_buf(), source })
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
    if project_path.is_some_and(|p| same_file(p, target)) {
        return Err(StoreError::WouldReplace { path: target.to_path_buf() });
    }
    refuse_to_replace_scans(target, project_path, project)
}

/// Refuses to write over a scan of a project; its own file may be saved over.
///
/// # Errors
/// [`StoreError::WouldReplace`].
pub fn refuse_to_replace_scans(
    target: &Path,
    project_path: Option<&Path>,
    project: &Project,
) -> Result<(), StoreError> {
    let mut scans = project.every_art().map(|a| resolve(project_path, &a.scan));
    if scans.any(|s| same_file(&s, target)) {
        return Err(StoreError::WouldReplace { path: target.to_path_buf() });
    }
    Ok(())
}

/// Whether two paths lead to one file that is there.
fn same_file(a: &Path, b: &Path) -> bool {
    matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}

/// Saves a project: the file holds all of it afterwards, or what it held before.
///
/// # Errors
/// When the project is one that [`load`] would refuse, or the file cannot be written.
pub fn save(project: &Project, path: &Path) -> Result<(), StoreError> {
    let refused = |source| StoreError::Project { path: path.to_path_buf(), source };
    project.check().map_err(refused)?;
    let text = project.to_ron().map_err(refused)?;
    Ok(atomic::write_bytes(path, text.as_bytes())?)
}
