//! Press profiles as files.

use std::path::{Path, PathBuf};

use slipsheet_core::press::Press;
use slipsheet_document::press_profile::{self, ProfileError};

use crate::atomic::{self, WriteError};
use crate::file_name;
use crate::user_file::{self, UserFileError};

/// The ending of a press profile, without the dot.
pub const ENDING: &str = "slipsheet-press";

/// Why a press profile could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum PressFileError {
    #[error(transparent)]
    File(#[from] UserFileError),
    #[error("{why}: {}", path.display())]
    Profile { why: ProfileError, path: PathBuf },
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// # Errors
/// One sentence for what keeps it from being read.
pub fn read(path: &Path) -> Result<Press, PressFileError> {
    let text = user_file::read_text(path, "press profile")?;
    press_profile::read(&text).map_err(|why| PressFileError::Profile { why, path: path.to_owned() })
}

/// Writes a press profile, or leaves what was there.
///
/// # Errors
/// When the file cannot be written.
pub fn write(press: &Press, path: &Path) -> Result<(), PressFileError> {
    let text =
        press_profile::text(press).map_err(|why| PressFileError::Profile { why, path: path.to_owned() })?;
    Ok(atomic::write_bytes(path, text.as_bytes())?)
}

/// A file's name for a press.
pub fn name(press: &Press) -> String {
    format!("{}.{ENDING}", file_name::plain(&press.name, "press"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_press_goes_out_and_comes_in_and_trouble_names_the_file() {
        let dir = tempfile::tempdir().unwrap();
        let press = Press { name: "Cellar / left: no. 2".to_owned(), ..Press::single_drum() };
        let path = dir.path().join(name(&press));
        assert_eq!(path.file_name().unwrap(), "Cellar - left- no- 2.slipsheet-press");
        write(&press, &path).unwrap();
        assert_eq!(read(&path).unwrap(), press);
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
        std::fs::write(&path, "PressProfile(format: 9)").unwrap();
        let error = read(&path).unwrap_err().to_string();
        assert!(error.starts_with("the press profile was saved by a newer Slipsheet"), "{error}");
        assert!(error.ends_with("no- 2.slipsheet-press"), "{error}");
        let error = read(dir.path()).unwrap_err().to_string();
        assert!(error.starts_with("this is not a file; choose the press profile itself"), "{error}");
        let nowhere = dir.path().join("none").join("press.slipsheet-press");
        assert!(matches!(write(&press, &nowhere), Err(PressFileError::Write(_))));
    }
}
