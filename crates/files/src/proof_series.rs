//! Proofs of every edition of a project, one file each, in one folder.

use std::path::{Path, PathBuf};

use slipsheet_core::edition::Edition;
use slipsheet_core::project::{Images, Project};

use crate::file_name;
use crate::proof::{self, ProofError, ProofOptions};
use crate::scan::Progress;
use crate::store::{self, StoreError};

/// Why a series of proofs could not be written.
#[derive(Debug, thiserror::Error)]
pub enum SeriesError {
    /// The project has no editions.
    #[error("the project has no editions; add them under Editions in the window first")]
    None,
    /// The folder could not be made.
    #[error("the folder could not be made ({source}); choose another one: {}", folder.display())]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A proof would replace a part of the project.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A proof could not be written.
    #[error(transparent)]
    Proof(#[from] ProofError),
}

/// The name of each edition as a file or a folder has it.
pub(crate) fn file_names(editions: &[Edition]) -> Vec<String> {
    file_name::all_different(editions.iter().map(|e| e.name.as_str()), "edition")
}

/// The file of each edition in a folder.
pub fn files(editions: &[Edition], folder: &Path) -> Vec<PathBuf> {
    file_names(editions).iter().map(|name| folder.join(format!("{name}.png"))).collect()
}

/// Writes a proof of every edition into a folder, which is made where it is missing; the files written come
/// back. `file` is the project's own, so that it is never replaced.
///
/// # Errors
/// At the first that could not be written; those before it stay.
pub fn write(
    project: &Project,
    images: &Images,
    options: &ProofOptions,
    (folder, file): (&Path, Option<&Path>),
    progress: &Progress,
) -> Result<Vec<PathBuf>, SeriesError> {
    if project.editions.is_empty() {
        return Err(SeriesError::None);
    }
    let files = files(&project.editions, folder);
    for path in &files {
        store::refuse_to_replace(path, file, project)?;
    }
    std::fs::create_dir_all(folder)
        .map_err(|source| SeriesError::Folder { folder: folder.to_owned(), source })?;
    for (i, (edition, path)) in project.editions.iter().zip(&files).enumerate() {
        if progress.is_cancelled() {
            break;
        }
        progress.set_fraction(i as f32 / files.len() as f32);
        let shown = edition.applied_to(project);
        proof::write(&shown, images, options, path, &Progress::new())?;
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::shelf::Shelf;
    use slipsheet_core::units::{Dpi, SheetFormat};

    fn project(names: &[&str]) -> Project {
        let stocks = Shelf::starter().unwrap().stocks;
        let mut p = Project::new("Invented", SheetFormat::A5, stocks[0].clone());
        for (name, stock) in names.iter().zip(&stocks) {
            p.stock = stock.clone();
            let edition = Edition::of(&p, name);
            p.editions.push(edition);
        }
        p
    }

    #[test]
    fn names_become_files_that_differ() {
        let p = project(&["Spring", "a/b", "a:b", " "]);
        let files = files(&p.editions, Path::new("out"));
        let names: Vec<_> = files.iter().map(|f| f.to_str().unwrap()).collect();
        assert_eq!(names, ["out/Spring.png", "out/a-b.png", "out/a-b 2.png", "out/edition.png"]);
    }

    #[test]
    fn every_edition_gets_its_own_proof() {
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("series");
        let p = project(&["Spring", "Autumn"]);
        let options = ProofOptions { dpi: Dpi::new(30.0).unwrap(), ..ProofOptions::default() };
        let written = write(&p, &Images::default(), &options, (&folder, None), &Progress::new()).unwrap();
        let bytes: Vec<Vec<u8>> = written.iter().map(|f| std::fs::read(f).unwrap()).collect();
        assert_eq!(bytes.len(), 2);
        assert_ne!(bytes[0], bytes[1]);
        let none = write(&project(&[]), &Images::default(), &options, (&folder, None), &Progress::new());
        assert!(none.unwrap_err().to_string().contains("no editions"));
    }
}
