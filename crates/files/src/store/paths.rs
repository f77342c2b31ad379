//! Where a project's scans are: paths kept relative to the project file, with `/` between parts.
//!
//! Folders are followed to where they really are before two paths are compared, and `..` is taken away
//! by name after that, so a project means the same files whichever link it is opened through.

use std::ffi::OsStr;
use std::path::{Component, Path, PathBuf};

use slipsheet_document::layer::ScanRef;
use slipsheet_document::project::Project;

/// The file that a reference means: absolute ones as they are, others against the project's folder
/// (against the working folder when the project has not been saved).
pub fn resolve(project_path: Option<&Path>, scan: &ScanRef) -> PathBuf {
    let path = Path::new(&scan.path);
    if path.is_absolute() {
        return path.to_path_buf();
    }
    match project_path {
        Some(project) => plain(&folder_of(project).join(path)),
        None => path.to_path_buf(),
    }
}

/// How a project should refer to a file: relative with `/` where project and file share a folder above
/// the root, absolute otherwise and while the project has not been saved.
pub fn relative(project_path: Option<&Path>, scan_path: &Path) -> String {
    let file = located(scan_path);
    let short = project_path.and_then(|project| between(&folder_of(project), &file));
    short.unwrap_or_else(|| file.to_string_lossy().into_owned())
}

/// Rewrites every reference of a project that is saved elsewhere, so that it means the same file as before.
pub fn rebase(project: &mut Project, old: Option<&Path>, new: &Path) {
    for art in project.every_art_mut() {
        art.scan.path = relative(Some(new), &resolve(old, &art.scan));
    }
}

/// The real folder of a project file.
pub(super) fn folder_of(project: &Path) -> PathBuf {
    let whole = std::path::absolute(project).unwrap_or_else(|_| project.to_path_buf());
    real(whole.parent().unwrap_or(Path::new("")))
}

/// A file in its real folder. The file itself may be a link; its name is the one that was chosen.
fn located(file: &Path) -> PathBuf {
    let whole = plain(&std::path::absolute(file).unwrap_or_else(|_| file.to_path_buf()));
    match (whole.parent(), whole.file_name()) {
        (Some(folder), Some(name)) => real(folder).join(name),
        _ => whole,
    }
}

/// A folder with links followed as far as it exists.
fn real(folder: &Path) -> PathBuf {
    // Elsewhere the real path comes in a form that people would not know again.
    if cfg!(unix) {
        for above in folder.ancestors() {
            if let (Ok(there), Ok(rest)) = (above.canonicalize(), folder.strip_prefix(above)) {
                return plain(&there.join(rest));
            }
        }
    }
    plain(folder)
}

/// A path without `.` and with `..` taken away by name.
fn plain(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => match out.components().next_back() {
                Some(Component::Normal(_)) => {
                    out.pop();
                }
                Some(Component::RootDir | Component::Prefix(_)) => {}
                Some(Component::ParentDir | Component::CurDir) | None => out.push(".."),
            },
            Component::Normal(_) | Component::RootDir | Component::Prefix(_) => out.push(part),
        }
    }
    out
}

/// From a folder to a file, both absolute and plain; `None` when they share no folder above the root or a
/// name is no text.
fn between(folder: &Path, file: &Path) -> Option<String> {
    let same = folder.components().zip(file.components()).take_while(|(a, b)| a == b);
    let shared: Vec<Component<'_>> = same.map(|(a, _)| a).collect();
    if !shared.iter().any(|c| matches!(c, Component::Normal(_))) && folder.parent().is_some() {
        return None;
    }
    let up = std::iter::repeat_n("..", folder.components().count() - shared.len());
    let down: Option<Vec<&str>> =
        file.components().skip(shared.len()).map(|c| OsStr::to_str(c.as_os_str())).collect();
    Some(up.chain(down?).collect::<Vec<_>>().join("/"))
}
