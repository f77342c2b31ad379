//! Mark sheets of a press: an ink's marks to a plate, out as PNG; and scans of printed ones in, as the press's
//! spread.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use slipsheet_core::fold::Face;
use slipsheet_core::plan;
use slipsheet_core::project::Project;
use slipsheet_core::raster::RasterError;
use slipsheet_core::slip::spread::{
    Lying, SpreadError, SpreadEstimate, SpreadSheet, estimate, station_plate,
};
use slipsheet_core::units::Dpi;

use crate::atomic::{self, WriteError};
use crate::png_out::{self, PngMeta};
use crate::scan::{self, Progress, ScanError, ScanOptions};

/// Why a mark sheet could not be written, or told nothing.
#[derive(Debug, thiserror::Error)]
pub enum MarkSheetError {
    /// There is one ink.
    #[error("one ink alone has nothing to slip against; add a second layer first")]
    OneInk,
    /// The folder cannot be made.
    #[error("the folder cannot be made ({source}); choose another folder: {}", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A plate would be too large.
    #[error("the plates would be too large; choose fewer dpi ({0})")]
    TooLarge(RasterError),
    /// A file could not be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// A scan could not be read.
    #[error(transparent)]
    Scan(#[from] ScanError),
    /// A scan has no resolution.
    #[error("the scan does not say its resolution; scan it again and keep that in the file: {}", .0.display())]
    NoResolution(PathBuf),
    /// One copy counted twice would make the press look steadier than it is.
    #[error("these two scans are the same file; scan several copies and give each once: {} and {}", .0.display(), .1.display())]
    Same(PathBuf, PathBuf),
    /// The marks of one scan.
    #[error("{source}: {}", path.display())]
    Marks {
        /// The scan.
        path: PathBuf,
        /// What is wrong with it.
        source: SpreadError,
    },
    /// All scans together.
    #[error(transparent)]
    Spread(#[from] SpreadError),
}

/// Writes one plate for each ink of the front, in printing order, into a folder that is made where it is missing.
/// The plates' paths come back.
///
/// # Errors
/// See [`MarkSheetError`].
pub fn write_plates(
    project: &Project,
    dpi: Dpi,
    folder: &Path,
    progress: &Progress,
) -> Result<Vec<PathBuf>, MarkSheetError> {
    let sheet = project.sheet_size();
    let names: Vec<&str> = project.on(Face::Front).map(|(_, l)| l.ink.name.as_str()).collect();
    if names.len() < 2 {
        return Err(MarkSheetError::OneInk);
    }
    let marks = SpreadSheet::new(sheet, names.len());
    std::fs::create_dir_all(folder)
        .map_err(|source| MarkSheetError::Folder { path: folder.to_owned(), source })?;
    let mut written = Vec::new();
    for (i, (of_ink, name)) in marks.marks.iter().zip(&names).enumerate() {
        if progress.is_cancelled() {
            break;
        }
        let plate = station_plate(sheet, of_ink, dpi, |p| p).map_err(MarkSheetError::TooLarge)?;
        let path = folder.join(format!("marks-{}.png", i + 1));
        let meta = PngMeta { dpi, text: vec![("Title".to_owned(), format!("Marks, {name}"))] };
        atomic::write(&path, |w| {
            png_out::write_gray(w, plate.width(), plate.height(), plate.pixels(), &meta)
        })?;
        written.push(path);
        progress.set_fraction((i + 1) as f32 / names.len() as f32);
    }
    Ok(written)
}

/// The spread of the press, from scans of copies that were printed in the project's passes.
///
/// # Errors
/// See [`MarkSheetError`].
pub fn read_copies(
    project: &Project,
    scans: &[PathBuf],
    progress: &Progress,
) -> Result<SpreadEstimate, MarkSheetError> {
    refuse_twins(scans)?;
    // Inks in printing order; passes by their place among them.
    let layers: Vec<usize> = project.on(Face::Front).map(|(i, _)| i).collect();
    let place = |layer: &usize| layers.iter().position(|l| l == layer);
    let passes: Vec<Vec<usize>> =
        plan::passes(project, Face::Front).iter().map(|p| p.iter().filter_map(place).collect()).collect();
    let marks = SpreadSheet::new(project.sheet_size(), layers.len());
    let read = |path: &PathBuf| -> Result<Vec<Lying>, MarkSheetError> {
        let scan = scan::read(path, &ScanOptions::default(), &Progress::new())?;
        let dpi = scan.dpi.ok_or_else(|| MarkSheetError::NoResolution(path.clone()))?;
        marks.read(&scan.raster, dpi).map_err(|source| MarkSheetError::Marks { path: path.clone(), source })
    };
    // A few at a time, so that it can be stopped.
    let mut copies = Vec::with_capacity(scans.len());
    for some in scans.chunks(rayon::current_num_threads().max(1)) {
        if progress.is_cancelled() {
            break;
        }
        copies.extend(some.par_iter().map(read).collect::<Result<Vec<_>, _>>()?);
        progress.set_fraction(copies.len() as f32 / scans.len().max(1) as f32);
    }
    Ok(estimate(&copies, &passes)?)
}

/// Refuses scans with the same contents, under whatever name; what cannot be read is said when it is read.
fn refuse_twins(scans: &[PathBuf]) -> Result<(), MarkSheetError> {
    let prints: Vec<_> = scans.par_iter().map(|path| scan::fingerprint(path).ok()).collect();
    let mut known = BTreeMap::new();
    for (path, print) in scans.iter().zip(prints) {
        let first = print.and_then(|print| known.insert(print.sha256, path));
        if let Some(first) = first {
            return Err(MarkSheetError::Same(first.clone(), path.clone()));
        }
    }
    Ok(())
}
