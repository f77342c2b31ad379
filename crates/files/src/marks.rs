//! Mark sheets of a press: an ink's marks to a plate, out as PNG; and scans of printed ones in, as the press's
//! spread.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use slipsheet_core::raster::RasterError;
use slipsheet_core::units::Dpi;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::spread::{
    Misalignment, SpreadError, SpreadEstimate, SpreadSheet, estimate, station_plate,
};

use crate::atomic::{self, WriteError};
use crate::file_set::FileSet;
use crate::png_out::{self, PngMeta};
use crate::scan::{self, Progress, ScanError, ScanOptions};
use crate::store::{Originals, StoreError};

/// Why a mark sheet could not be written, or told nothing.
#[derive(Debug, thiserror::Error)]
pub enum MarkSheetError {
    #[error("one ink alone has nothing to slip against; add a second layer first")]
    OneInk,
    /// A plate would replace a part of the project.
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error("the mark sheets were stopped; nothing was changed")]
    Cancelled,
    #[error("the plates would be too large; choose fewer dpi ({0})")]
    TooLarge(RasterError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error(transparent)]
    Scan(#[from] ScanError),
    #[error("the scan does not say its resolution; scan it again and keep that in the file: {}", .0.display())]
    NoResolution(PathBuf),
    /// One copy counted twice would make the press look steadier than it is.
    #[error("these two scans are the same file; scan several copies and give each once: {} and {}", .0.display(), .1.display())]
    Same(PathBuf, PathBuf),
    #[error("{source}: {}", path.display())]
    Marks { path: PathBuf, source: SpreadError },
    #[error(transparent)]
    Spread(#[from] SpreadError),
}

/// Writes one plate for each ink of the front, in printing order, into a folder that is made where it is missing.
///
/// The plates' paths come back. None of the project's originals is ever replaced.
///
/// # Errors
/// See [`MarkSheetError`]; the folder is then as it was.
pub fn write_plates(
    printing: &Printing,
    dpi: Dpi,
    folder: &Path,
    originals: &Originals,
    progress: &Progress,
) -> Result<Vec<PathBuf>, MarkSheetError> {
    let sheet = printing.sheet.size();
    let names: Vec<&str> = printing.sheet.on(Face::Front).map(|(_, l)| l.ink.name.as_str()).collect();
    if names.len() < 2 {
        return Err(MarkSheetError::OneInk);
    }
    let marks = SpreadSheet::new(sheet, names.len());
    let plate_name = |i: usize| format!("marks-{}.png", i + 1);
    for i in 0..names.len() {
        originals.refuse(&folder.join(plate_name(i)))?;
    }
    let set = FileSet::for_folder(folder)?;
    for (i, (of_ink, name)) in marks.marks.iter().zip(&names).enumerate() {
        if progress.is_cancelled() {
            return Err(MarkSheetError::Cancelled);
        }
        let plate = station_plate(sheet, of_ink, dpi, |p| p).map_err(MarkSheetError::TooLarge)?;
        let meta = PngMeta { dpi, text: vec![("Title".to_owned(), format!("Marks, {name}"))] };
        atomic::write(&set.place(&plate_name(i)), |w| {
            png_out::write_gray(w, plate.width(), plate.height(), plate.pixels(), &meta)
        })?;
        progress.set_fraction((i + 1) as f32 / names.len() as f32);
    }
    Ok(set.put()?)
}

/// The spread of the press, from scans of copies that were printed in the project's passes.
pub fn read_copies(
    printing: &Printing,
    scans: &[PathBuf],
    progress: &Progress,
) -> Result<SpreadEstimate, MarkSheetError> {
    refuse_twins(scans)?;
    // Inks in printing order; passes by their place among them.
    let layers: Vec<usize> = printing.sheet.on(Face::Front).map(|(i, _)| i).collect();
    let place = |layer: &usize| layers.iter().position(|l| l == layer);
    let passes: Vec<Vec<usize>> =
        passes::passes(printing, Face::Front).iter().map(|p| p.iter().filter_map(place).collect()).collect();
    let marks = SpreadSheet::new(printing.sheet.size(), layers.len());
    let read = |path: &PathBuf| -> Result<Vec<Misalignment>, MarkSheetError> {
        let scan = scan::read(path, &ScanOptions::default(), &Progress::new())?;
        let dpi = scan.dpi.ok_or_else(|| MarkSheetError::NoResolution(path.clone()))?;
        marks.read(&scan.raster, dpi).map_err(|source| MarkSheetError::Marks { path: path.clone(), source })
    };
    // A few at a time, so that it can be stopped.
    let mut copies = Vec::with_capacity(scans.len());
    for some in scans.chunks(rayon::current_num_threads().max(1)) {
        if progress.is_cancelled() {
            return Err(MarkSheetError::Cancelled);
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

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::units::SheetFormat;

    #[test]
    fn plates_that_were_stopped_are_an_error_and_leave_the_folder_as_it_was() {
        let (printing, _) = crate::plates::tests::job(SheetFormat::A6, &["Hip-berry red", "Warm black"], 0.0);
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("marks");
        let dpi = Dpi::new(72.0).unwrap();
        let originals = Originals::scans_of([], None);
        let stopped = Progress::new();
        stopped.cancel();
        let error = write_plates(&printing, dpi, &folder, &originals, &stopped).unwrap_err();
        assert!(matches!(error, MarkSheetError::Cancelled), "{error}");
        assert!(!folder.exists());
        let written = write_plates(&printing, dpi, &folder, &originals, &Progress::new()).unwrap();
        assert_eq!(written, [folder.join("marks-1.png"), folder.join("marks-2.png")]);
        assert!(written.iter().all(|w| w.is_file()));
    }
}
