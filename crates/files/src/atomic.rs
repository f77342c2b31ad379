//! Writing files so that nothing is lost.
//!
//! The new contents go to a temporary file beside the target, reach the disk, and only then
//! take the target's name. Whatever goes wrong before that, the old file stays as it was.

use std::fs;
use std::io::{self, BufWriter, ErrorKind, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use crate::litter::{self, HIDDEN};

/// Why a file could not be written. The old file, if there was one, is untouched.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    #[error("you may not write here; choose another folder or change the permissions: {}", path.display())]
    Denied { path: PathBuf, source: io::Error },
    #[error("the disk is full; free some space or choose another disk: {}", path.display())]
    DiskFull { path: PathBuf, source: io::Error },
    #[error("the folder for this file does not exist; make it or choose another: {}", path.display())]
    MissingFolder { path: PathBuf, source: io::Error },
    #[error("a folder already has this name; choose another name for the file: {}", path.display())]
    IsFolder { path: PathBuf },
    #[error("the file could not be written ({source}); try again or choose another place: {}", path.display())]
    Other { path: PathBuf, source: io::Error },
}

impl WriteError {
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
    stage(path, |out| bytes(out))?.put()
}

/// Writes these bytes as [`write()`] does.
pub fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    write(path, |out| out.write_all(bytes))
}

/// What a staged file is written to: a writer that can also go back in it.
pub trait WriteSeek: Write + Seek {}

impl<T: Write + Seek> WriteSeek for T {}

/// A file that is written and on the disk, but has not taken its name yet. It goes when it is dropped.
#[derive(Debug)]
pub struct Staged {
    temp: tempfile::NamedTempFile,
    target: PathBuf,
    path: PathBuf,
}

/// Writes all of a file beside its place; [`Staged::put`] then only has to rename it. Where several things have to
/// change together, this is what can fail of each, done beforehand.
pub fn stage(
    path: &Path,
    bytes: impl FnOnce(&mut dyn WriteSeek) -> io::Result<()>,
) -> Result<Staged, WriteError> {
    let failed = |e| WriteError::from_io(path, e);
    let target = followed(path).map_err(failed)?;
    let old = replaceable(&target, path)?;
    let folder = folder_of(&target);
    litter::sweep_files(folder, HIDDEN, PART);
    let mut temp = temporary_in(folder).map_err(failed)?;
    // Says that somebody works on it; a disk without locks goes by its age.
    let _held = temp.as_file().try_lock();
    fill(temp.as_file_mut(), bytes).map_err(failed)?;
    if let Some(permissions) = old {
        temp.as_file().set_permissions(permissions).map_err(failed)?;
    }
    temp.as_file().sync_all().map_err(failed)?;
    Ok(Staged { temp, target, path: path.to_path_buf() })
}

impl Staged {
    /// Gives the file its name.
    ///
    /// # Errors
    /// When it cannot be renamed; what was there before stays.
    pub fn put(self) -> Result<(), WriteError> {
        let Self { temp, target, path } = self;
        temp.persist(&target).map_err(|e| WriteError::from_io(&path, e.error))?;
        sync_folder(folder_of(&target)).map_err(|e| WriteError::from_io(&path, e))
    }
}

/// The permissions of a file that is there and may be replaced; `path` is its name as it was given.
pub(crate) fn replaceable(target: &Path, path: &Path) -> Result<Option<fs::Permissions>, WriteError> {
    match fs::metadata(target) {
        Ok(meta) if meta.is_dir() => Err(WriteError::IsFolder { path: path.to_path_buf() }),
        Ok(meta) if meta.permissions().readonly() => {
            let source = io::Error::new(ErrorKind::PermissionDenied, "the old file is read-only");
            Err(WriteError::from_io(path, source))
        }
        Ok(meta) => Ok(Some(meta.permissions())),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
        Err(e) => Err(WriteError::from_io(path, e)),
    }
}

/// The file behind a symbolic link, else the path itself.
pub(crate) fn followed(path: &Path) -> io::Result<PathBuf> {
    match fs::symlink_metadata(path) {
        Ok(meta) if meta.is_symlink() => fs::canonicalize(path),
        _ => Ok(path.to_path_buf()),
    }
}

pub(crate) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Hands a buffered writer to `bytes`. What the disk said counts more than what comes back: encoders put an error
/// of the disk into words of their own, which do not tell that it is full.
fn fill(out: impl WriteSeek, bytes: impl FnOnce(&mut dyn WriteSeek) -> io::Result<()>) -> io::Result<()> {
    let mut first = FirstError { out, error: None };
    let done = {
        let mut buffer = BufWriter::with_capacity(1 << 18, &mut first);
        bytes(&mut buffer).and_then(|()| buffer.flush())
    };
    match first.error {
        Some(error) => Err(error),
        None => done,
    }
}

/// A writer that remembers how it first failed.
struct FirstError<W> {
    out: W,
    error: Option<io::Error>,
}

impl<W> FirstError<W> {
    fn seen<T>(&mut self, done: io::Result<T>) -> io::Result<T> {
        if let Err(e) = &done
            && e.kind() != ErrorKind::Interrupted
            && self.error.is_none()
        {
            let again = e.raw_os_error().map(io::Error::from_raw_os_error);
            self.error = Some(again.unwrap_or_else(|| io::Error::new(e.kind(), e.to_string())));
        }
        done
    }
}

impl<W: Write> Write for FirstError<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let done = self.out.write(bytes);
        self.seen(done)
    }

    fn flush(&mut self) -> io::Result<()> {
        let done = self.out.flush();
        self.seen(done)
    }
}

impl<W: Seek> Seek for FirstError<W> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let done = self.out.seek(to);
        self.seen(done)
    }
}

/// The ending of a file that is not finished.
const PART: &str = ".part";

#[cfg(unix)]
fn temporary_in(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    use std::os::unix::fs::PermissionsExt as _;
    // The crate's own default is 0600; a new document should get what any
    // program would give it, which the umask then narrows.
    tempfile::Builder::new()
        .prefix(HIDDEN)
        .suffix(PART)
        .permissions(fs::Permissions::from_mode(0o666))
        .tempfile_in(folder)
}

#[cfg(not(unix))]
fn temporary_in(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    tempfile::Builder::new().prefix(HIDDEN).suffix(PART).tempfile_in(folder)
}

#[cfg(unix)]
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    match fs::File::open(folder)?.sync_all() {
        // Some network file systems cannot sync a folder; the file itself is safe by now.
        Err(e) if matches!(e.kind(), ErrorKind::InvalidInput | ErrorKind::Unsupported) => Ok(()),
        other => other,
    }
}

#[cfg(not(unix))]
pub(crate) fn sync_folder(_folder: &Path) -> io::Result<()> {
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
        let WriteError::MissingFolder { path, .. } = &error else { panic!("{error}") };
        assert_eq!(path, &under_a_file);
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

    /// A disk without room.
    struct Full;

    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(ErrorKind::StorageFull.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    impl Seek for Full {
        fn seek(&mut self, _to: SeekFrom) -> io::Result<u64> {
            Ok(0)
        }
    }

    /// Pixels that do not pack into the buffer, so that the disk is asked while the picture is encoded.
    fn noise() -> Vec<u8> {
        let mut seed = 1_u32;
        let next = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 24) as u8
        };
        std::iter::repeat_with(next).take(1000 * 1000).collect()
    }

    #[test]
    fn a_full_disk_is_told_as_such_through_the_encoder_of_pictures() {
        let gray = noise();
        let picture =
            |out: &mut dyn WriteSeek| crate::png_out::write_gray(out, 1000, 1000, &gray, &Default::default());
        // The encoder alone hides what the disk said.
        assert_ne!(picture(&mut Full).unwrap_err().kind(), ErrorKind::StorageFull);
        let error = WriteError::from_io(Path::new("a.png"), fill(Full, picture).unwrap_err());
        assert_eq!(error.to_string(), "the disk is full; free some space or choose another disk: a.png");
        #[cfg(target_os = "linux")]
        {
            let device = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
            assert_eq!(fill(device, picture).unwrap_err().kind(), ErrorKind::StorageFull);
        }
    }

    #[test]
    fn an_unfinished_file_of_a_run_that_was_killed_goes_with_the_next_write() {
        let dir = tempfile::tempdir().unwrap();
        let left = dir.path().join(".slipsheet-a1B2c3.part");
        fs::write(&left, "half a plate").unwrap();
        write_bytes(&dir.path().join("a.txt"), b"one").unwrap();
        assert!(left.exists(), "it may be one that is being written");
        litter::tests::age(&left, std::time::Duration::from_secs(300));
        write_bytes(&dir.path().join("a.txt"), b"two").unwrap();
        assert_eq!(names(dir.path()), ["a.txt"]);
    }

    #[test]
    fn a_staged_file_shows_only_once_it_is_put() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.txt");
        write_bytes(&path, b"old").unwrap();
        drop(stage(&path, |w| w.write_all(b"never")).unwrap());
        assert_eq!((fs::read(&path).unwrap().as_slice(), names(dir.path()).len()), (&b"old"[..], 1));
        let staged = stage(&path, |w| w.write_all(b"new")).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"old");
        staged.put().unwrap();
        assert_eq!((fs::read(&path).unwrap().as_slice(), names(dir.path()).len()), (&b"new"[..], 1));
    }
}
