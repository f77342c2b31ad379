//! Writing files so that nothing is lost.
//!
//! The new contents go to a temporary file beside the target, reach the disk, and only then
//! take the target's name. Whatever goes wrong before that, the old file stays as it was.

use std::fs;
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Why a file could not be written. The old file, if there was one, is untouched.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The folder or the file may not be written to.
    #[error("you may not write here; choose another folder or change the permissions: {}", path.display())]
    Denied {
        /// The file that was to be written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// No space is left.
    #[error("the disk is full; free some space or choose another disk: {}", path.display())]
    DiskFull {
        /// The file that was to be written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The folder that should hold the file is not there.
    #[error("the folder for this file does not exist; make it or choose another: {}", path.display())]
    MissingFolder {
        /// The file that was to be written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A folder has the name that the file should get.
    #[error("a folder already has this name; choose another name for the file: {}", path.display())]
    IsFolder {
        /// The file that was to be written.
        path: PathBuf,
    },
    /// Anything else; the system's own words are in the sentence.
    #[error("the file could not be written ({source}); try again or choose another place: {}", path.display())]
    Other {
        /// The file that was to be written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

impl WriteError {
    /// The file that was to be written.
    pub fn path(&self) -> &Path {
        match self {
            Self::Denied { path, .. }
            | Self::DiskFull { path, .. }
            | Self::MissingFolder { path, .. }
            | Self::IsFolder { path }
            | Self::Other { path, .. } => path,
        }
    }

    /// The sentence for what the system said about a file that was to be written.
    pub(crate) fn from_io(path: &Path, source: io::Error) -> Self {
        let path = path.to_path_buf();
        match source.kind() {
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => Self::Denied { path, source },
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::DiskFull { path, source },
            ErrorKind::NotFound | ErrorKind::NotADirectory => Self::MissingFolder { path, source },
            ErrorKind::IsADirectory => Self::IsFolder { path },
            _ => Self::Other { path, source },
        }
    }
}

/// Writes a whole file, or leaves what was there.
///
/// `bytes` gets a buffered writer. A symbolic link is followed, so the file it
/// points to is replaced and the link stays. Permissions of an old file are kept;
/// an old file marked read-only is refused.
///
/// # Errors
/// When the folder is missing or closed to us, the disk is full, the target is a
/// folder, or `bytes` itself fails; the temporary file is then removed.
pub fn write(path: &Path, bytes: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), WriteError> {
    let target = followed(path).map_err(|e| WriteError::from_io(path, e))?;
    let old = match fs::metadata(&target) {
        Ok(meta) if meta.is_dir() => return Err(WriteError::IsFolder { path: path.to_path_buf() }),
        Ok(meta) => Some(meta.permissions()),
        Err(e) if e.kind() == ErrorKind::NotFound => None,
        Err(e) => return Err(WriteError::from_io(path, e)),
    };
    if old.as_ref().is_some_and(fs::Permissions::readonly) {
        let source = io::Error::new(ErrorKind::PermissionDenied, "the old file is read-only");
        return Err(WriteError::from_io(path, source));
    }
    replace(&target, old, bytes).map_err(|e| WriteError::from_io(path, e))
}

/// Writes these bytes as [`write()`] does.
///
/// # Errors
/// As [`write()`].
pub fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    write(path, |out| out.write_all(bytes))
}

/// The file behind a symbolic link, else the path itself.
fn followed(path: &Path) -> io::Result<PathBuf> {
    match fs::symlink_metadata(path) {
        Ok(meta) if meta.is_symlink() => fs::canonicalize(path),
        _ => Ok(path.to_path_buf()),
    }
}

fn replace(
    target: &Path,
    old: Option<fs::Permissions>,
    bytes: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let folder = match target.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut temp = temporary_in(folder)?;
    {
        let mut out = BufWriter::with_capacity(1 << 18, temp.as_file_mut());
        bytes(&mut out)?;
        out.flush()?;
    }
    if let Some(permissions) = old {
        temp.as_file().set_permissions(permissions)?;
    }
    temp.as_file().sync_all()?;
    temp.persist(target).map_err(|e| e.error)?;
    sync_folder(folder)
}

#[cfg(unix)]
fn temporary_in(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    use std::os::unix::fs::PermissionsExt as _;
    // The crate's own default is 0600; a new document should get what any
    // program would give it, which the umask then narrows.
    tempfile::Builder::new()
        .prefix(".slipsheet-")
        .suffix(".part")
        .permissions(fs::Permissions::from_mode(0o666))
        .tempfile_in(folder)
}

#[cfg(not(unix))]
fn temporary_in(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    tempfile::Builder::new().prefix(".slipsheet-").suffix(".part").tempfile_in(folder)
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    match fs::File::open(folder)?.sync_all() {
        // Some network file systems cannot sync a folder; the file itself is safe by now.
        Err(e) if matches!(e.kind(), ErrorKind::InvalidInput | ErrorKind::Unsupported) => Ok(()),
        other => other,
    }
}

#[cfg(not(unix))]
fn sync_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_new_file_and_a_replaced_file_hold_what_was_written() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.txt");
        write_bytes(&path, b"one").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"one");
        write(&path, |w| w.write_all(b"two")).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(names(dir.path()), ["a.txt"]);
    }

    #[test]
    fn a_failing_writer_leaves_the_old_file_and_no_litter() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.txt");
        write_bytes(&path, b"old").unwrap();
        let failed = write(&path, |w| {
            w.write_all(&[7; 1 << 20])?;
            Err(io::Error::from(ErrorKind::StorageFull))
        });
        let error = failed.unwrap_err();
        assert!(matches!(error, WriteError::DiskFull { .. }));
        assert!(error.to_string().starts_with("the disk is full; free some space"));
        assert!(error.to_string().ends_with("a.txt"));
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(names(dir.path()), ["a.txt"]);
    }

    #[test]
    fn a_missing_folder_and_a_folder_that_is_a_file_are_named() {
        let dir = tempfile::tempdir().unwrap();
        let missing = dir.path().join("nowhere/a.txt");
        assert!(matches!(write_bytes(&missing, b""), Err(WriteError::MissingFolder { .. })));
        fs::write(dir.path().join("file"), b"x").unwrap();
        let under_a_file = dir.path().join("file/a.txt");
        let error = write_bytes(&under_a_file, b"").unwrap_err();
        assert!(matches!(error, WriteError::MissingFolder { .. }), "{error}");
        assert_eq!(error.path(), under_a_file);
    }

    #[test]
    fn a_folder_is_not_replaced_by_a_file() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("taken");
        fs::create_dir(&path).unwrap();
        assert!(matches!(write_bytes(&path, b""), Err(WriteError::IsFolder { .. })));
        assert!(path.is_dir());
    }

    #[test]
    fn a_denied_write_says_what_to_do() {
        let path = Path::new("/zines/a.txt");
        for kind in [ErrorKind::PermissionDenied, ErrorKind::ReadOnlyFilesystem] {
            let error = WriteError::from_io(path, io::Error::from(kind));
            assert!(matches!(error, WriteError::Denied { .. }));
            assert_eq!(
                error.to_string(),
                "you may not write here; choose another folder or change the permissions: /zines/a.txt"
            );
        }
        let error = WriteError::from_io(path, io::Error::from(ErrorKind::TimedOut));
        assert!(matches!(error, WriteError::Other { .. }));
    }

    #[test]
    fn a_read_only_file_is_not_replaced() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("kept.txt");
        fs::write(&path, b"kept").unwrap();
        let mut permissions = fs::metadata(&path).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&path, permissions).unwrap();
        assert!(matches!(write_bytes(&path, b"new"), Err(WriteError::Denied { .. })));
        assert_eq!(fs::read(&path).unwrap(), b"kept");
    }

    #[cfg(unix)]
    #[test]
    fn permissions_are_kept_and_links_are_followed() {
        use std::os::unix::fs::PermissionsExt as _;
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.txt");
        write_bytes(&path, b"one").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        let link = dir.path().join("link");
        std::os::unix::fs::symlink(&path, &link).unwrap();
        write_bytes(&link, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_device_that_is_always_full_is_reported_as_a_full_disk() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.txt");
        let failed = write(&path, |_| fs::OpenOptions::new().write(true).open("/dev/full")?.write_all(b"x"));
        assert!(matches!(failed, Err(WriteError::DiskFull { .. })));
        assert!(names(dir.path()).is_empty());
    }
}
