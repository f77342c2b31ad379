//! Gathering a project's scans into one folder beside it, so that the two can be handed over together.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use slipsheet_document::project::Project;

use super::StoreError;
use super::paths::{folder_of, relative, resolve};
use crate::atomic::{self, WriteError};
use crate::file_name::{last, numbered, stem};
use crate::scan::{Fingerprint, Progress, ScanError, fingerprint};

/// Copies every scan into “`<stem> scans`” beside the project file and makes the project refer to the
/// copies.
///
/// Two scans of the same contents become one file, two of the same name get a number, and a copy
/// that is already there is used again. Returns the number of files copied. The project is not saved.
///
/// # Errors
/// When a scan cannot be read or a copy not written; the project then is as it was.
pub fn collect(project: &mut Project, project_path: &Path, progress: &Progress) -> Result<usize, StoreError> {
    let folder = folder_of(project_path).join(format!("{} scans", stem(project_path)));
    let mut gathered = project.clone();
    let total = gathered.every_art().count().max(1);
    let mut shelf = Folder { path: folder, by_contents: BTreeMap::new(), names: BTreeSet::new(), copied: 0 };
    for (done, art) in gathered.every_art_mut().enumerate() {
        if progress.is_cancelled() {
            return Err(ScanError::Cancelled.into());
        }
        progress.set_fraction(done as f32 / total as f32);
        let copy = shelf.take(&resolve(Some(project_path), &art.scan))?;
        art.scan.path = relative(Some(project_path), &copy);
    }
    progress.set_fraction(1.0);
    *project = gathered;
    Ok(shelf.copied)
}

/// The folder that is being filled.
struct Folder {
    path: PathBuf,
    by_contents: BTreeMap<String, PathBuf>,
    /// Names in use, in lower case: some disks do not tell the two apart.
    names: BTreeSet<String>,
    copied: usize,
}

impl Folder {
    /// Where the copy of a file is; makes it if there is none.
    fn take(&mut self, file: &Path) -> Result<PathBuf, StoreError> {
        let print = print_of(file)?;
        if let Some(copy) = self.by_contents.get(&print.sha256) {
            return Ok(copy.clone());
        }
        let copy = self.place_for(file, &print)?;
        self.by_contents.insert(print.sha256, copy.clone());
        Ok(copy)
    }

    fn place_for(&mut self, file: &Path, print: &Fingerprint) -> Result<PathBuf, StoreError> {
        for at in numbered(&self.path.join(last(file))) {
            let name = last(&at).to_lowercase();
            if !self.names.insert(name) {
                continue;
            }
            if fs::symlink_metadata(&at).is_err() {
                self.copy(file, &at)?;
                return Ok(at);
            }
            if fingerprint(&at).is_ok_and(|there| there == *print) {
                return Ok(at);
            }
        }
        Ok(file.to_path_buf())
    }

    fn copy(&mut self, from: &Path, to: &Path) -> Result<(), StoreError> {
        if let Err(source) = fs::create_dir_all(&self.path) {
            return Err(WriteError::from_io(&self.path, source).into());
        }
        let mut source = fs::File::open(from).map_err(|e| unreadable(from, e))?;
        atomic::write(to, |out| io::copy(&mut source, out).map(|_| ()))?;
        self.copied += 1;
        Ok(())
    }
}

fn print_of(file: &Path) -> Result<Fingerprint, StoreError> {
    let meta = fs::metadata(file).map_err(|e| unreadable(file, e))?;
    if !meta.is_file() {
        return Err(ScanError::NotAFile { name: file.display().to_string() }.into());
    }
    fingerprint(file).map_err(|e| unreadable(file, e))
}

fn unreadable(file: &Path, source: io::Error) -> StoreError {
    ScanError::from_io(&file.display().to_string(), source).into()
}
