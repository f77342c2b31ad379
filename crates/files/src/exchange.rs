//! Two folders that change places in one step.

use std::io::{self, ErrorKind};
use std::path::Path;

/// Exchanges two things of these names, or says that it cannot be done in one step.
pub(crate) type Exchange = fn(&Path, &Path) -> io::Result<()>;

/// The system's own exchange, where it has one.
#[cfg(target_os = "linux")]
pub(crate) fn exchange(one: &Path, other: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE)?)
}

/// The system's own exchange, where it has one.
#[cfg(not(target_os = "linux"))]
pub(crate) fn exchange(_one: &Path, _other: &Path) -> io::Result<()> {
    Err(ErrorKind::Unsupported.into())
}

/// Whether it has to be done in several steps here: some disks and old systems answer so.
pub(crate) fn is_unsupported(error: &io::Error) -> bool {
    matches!(error.kind(), ErrorKind::InvalidInput | ErrorKind::Unsupported)
}
