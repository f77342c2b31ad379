//! Proofs of every edition of a project, one file each, in one folder.

use std::path::{Path, PathBuf};

use slipsheet_document::edition::Edition;
use slipsheet_document::printing::Printing;
use slipsheet_render::images::Images;

use crate::atomic::WriteError;
use crate::file_name;
use crate::file_set::FileSet;
use crate::proof::{self, ProofError, ProofOptions};
use crate::scan::Progress;
use crate::store::{Originals, StoreError};

/// Why a series of proofs could not be written.
#[derive(Debug, thiserror::Error)]
pub enum SeriesError {
    #[error("the project has no editions; add them under Editions in the window first")]
    None,
    #[error(transparent)]
    Write(#[from] WriteError),
    /// A proof would replace a part of the project.
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error(transparent)]
    Proof(#[from] ProofError),
    #[error("the proofs were stopped; nothing was written")]
    Cancelled,
}

pub(crate) fn file_names(editions: &[Edition]) -> Vec<String> {
    file_name::all_different(editions.iter().map(|e| e.name.as_str()), "edition")
}

pub fn files(editions: &[Edition], folder: &Path) -> Vec<PathBuf> {
    file_names(editions).iter().map(|name| folder.join(format!("{name}.png"))).collect()
}

/// Writes a proof of every edition into a folder, which is made where it is missing; the files written come
/// back. None of the project's originals is ever replaced.
///
/// # Errors
/// At the first that could not be written; the folder is then as it was.
pub fn write(
    printing: &Printing,
    images: &Images,
    options: &ProofOptions,
    folder: &Path,
    originals: &Originals,
    progress: &Progress,
) -> Result<Vec<PathBuf>, SeriesError> {
    if printing.sheet.editions.is_empty() {
        return Err(SeriesError::None);
    }
    let files = files(&printing.sheet.editions, folder);
    for path in &files {
        originals.refuse(path)?;
    }
    let set = FileSet::for_folder(folder)?;
    let count = files.len() as f32;
    for (i, (edition, path)) in printing.sheet.editions.iter().zip(&files).enumerate() {
        progress.set_span(i as f32 / count, (i + 1) as f32 / count);
        let shown = printing.in_edition(edition);
        let name = file_name::last(path);
        match proof::write(&shown, images, options, &set.place(&name), progress) {
            Err(ProofError::Cancelled) => return Err(SeriesError::Cancelled),
            written => written?,
        }
    }
    set.put()?;
    progress.set_span(0.0, 1.0);
    progress.set_fraction(1.0);
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::units::{Dpi, SheetFormat};
    use slipsheet_document::ids::EditionId;
    use slipsheet_document::shelf::Shelf;

    fn printing(names: &[&str]) -> Printing {
        let stocks = Shelf::starter().unwrap().stocks;
        let mut p = Printing::new("Invented", SheetFormat::A5, stocks[0].clone());
        for (name, stock) in names.iter().zip(&stocks) {
            p.sheet.stock = stock.clone();
            let (id, colours) = (EditionId::new(p.sheet.editions.len() as u32), p.sheet.colours());
            p.sheet.editions.push(Edition::new(id, (*name).to_owned(), colours));
        }
        p
    }

    #[test]
    fn names_become_files_that_differ() {
        let p = printing(&["Spring", "a/b", "a:b", " "]);
        let files = files(&p.sheet.editions, Path::new("out"));
        let names: Vec<_> = files.iter().map(|f| f.to_str().unwrap()).collect();
        assert_eq!(names, ["out/Spring.png", "out/a-b.png", "out/a-b 2.png", "out/edition.png"]);
    }

    #[test]
    fn every_edition_gets_its_own_proof() {
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("series");
        let p = printing(&["Spring", "Autumn"]);
        let originals = Originals::scans_of([], None);
        let options = ProofOptions { dpi: Dpi::new(30.0).unwrap(), ..ProofOptions::default() };
        let written = write(&p, &Images::default(), &options, &folder, &originals, &Progress::new()).unwrap();
        let bytes: Vec<Vec<u8>> = written.iter().map(|f| std::fs::read(f).unwrap()).collect();
        assert_eq!(bytes.len(), 2);
        assert_ne!(bytes[0], bytes[1]);
        let none = write(&printing(&[]), &Images::default(), &options, &folder, &originals, &Progress::new());
        assert!(none.unwrap_err().to_string().contains("no editions"));
        let stopped = Progress::new();
        stopped.cancel();
        let other = dir.path().join("stopped");
        let stopped = write(&p, &Images::default(), &options, &other, &originals, &stopped).unwrap_err();
        assert!(matches!(stopped, SeriesError::Cancelled) && !other.exists(), "{stopped}");
    }
}
