//! Small files that a person names: shelves and tables. Only files are read, and only so much of them: a pipe
//! would be waited for and a device has no end.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

/// The most bytes that such a file may have.
pub const MOST_BYTES: u64 = 64 << 20;

/// Why a file could not be read; `what` is what it was taken for, such as “shelf”.
#[derive(Debug, thiserror::Error)]
pub enum UserFileError {
    #[error("there is no {what} of this name; check its spelling and its folder: {}", path.display())]
    Missing { what: &'static str, path: PathBuf },
    /// The path leads to a folder, a pipe or a device.
    #[error("this is not a file; choose the {what} itself: {}", path.display())]
    NotAFile { what: &'static str, path: PathBuf },
    #[error("you may not read this {what}; change its permissions or copy it elsewhere: {}", path.display())]
    Denied { what: &'static str, path: PathBuf },
    #[error("the file is larger than 64 MB, so it is no {what}; choose another: {}", path.display())]
    TooLarge { what: &'static str, path: PathBuf },
    #[error("the {what} cannot be read, as the file is not text; choose another: {}", path.display())]
    NotText { what: &'static str, path: PathBuf },
    #[error("the {what} cannot be read ({source}); try again or copy it to this machine: {}", path.display())]
    Read { what: &'static str, path: PathBuf, source: io::Error },
}

/// The bytes of a file.
///
/// # Errors
/// One sentence for whatever keeps it from being read, at once.
pub fn read(path: &Path, what: &'static str) -> Result<Vec<u8>, UserFileError> {
    let owned = path.to_owned();
    let failed = |source: io::Error| {
        let path = path.to_owned();
        match source.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => UserFileError::Missing { what, path },
            io::ErrorKind::IsADirectory => UserFileError::NotAFile { what, path },
            io::ErrorKind::PermissionDenied => UserFileError::Denied { what, path },
            _ => UserFileError::Read { what, path, source },
        }
    };
    // Asked before opening: opening a pipe would wait for its other end.
    if !fs::metadata(path).map_err(failed)?.is_file() {
        return Err(UserFileError::NotAFile { what, path: owned });
    }
    let mut bytes = Vec::new();
    // One byte more than is allowed tells a file that is too large, even if it grows meanwhile.
    File::open(path).map_err(failed)?.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(UserFileError::TooLarge { what, path: owned });
    }
    Ok(bytes)
}

/// The same, as text.
///
/// # Errors
/// As [`read`], and when the bytes are no text.
pub fn read_text(path: &Path, what: &'static str) -> Result<String, UserFileError> {
    let text = String::from_utf8(read(path, what)?);
    text.map_err(|_e| UserFileError::NotText { what, path: path.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_small_file_is_refused_at_once() {
        let dir = tempfile::tempdir().unwrap();
        let at = |name: &str| dir.path().join(name);
        assert!(matches!(read(&at("none"), "shelf"), Err(UserFileError::Missing { .. })));
        assert!(matches!(read(dir.path(), "shelf"), Err(UserFileError::NotAFile { .. })));
        std::fs::write(at("text"), "(inks: [])").unwrap();
        assert_eq!(read_text(&at("text"), "shelf").unwrap(), "(inks: [])");
        std::fs::write(at("bytes"), [0xFF, 0xFE]).unwrap();
        assert!(matches!(read_text(&at("bytes"), "shelf"), Err(UserFileError::NotText { .. })));
        // A file that is large, but takes no room on the disk.
        File::create(at("large")).unwrap().set_len(MOST_BYTES + 1).unwrap();
        let error = read(&at("large"), "table").unwrap_err();
        assert!(error.to_string().starts_with("the file is larger than 64 MB, so it is no table"), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn a_device_and_a_pipe_are_not_read() {
        assert!(matches!(read(Path::new("/dev/zero"), "table"), Err(UserFileError::NotAFile { .. })));
        let dir = tempfile::tempdir().unwrap();
        let pipe = dir.path().join("pipe");
        assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
        assert!(matches!(read(&pipe, "table"), Err(UserFileError::NotAFile { .. })));
    }
}
