//! Plates: one gray file for each ink at the press's resolution and the sheet's true size, 0 for full ink, in one of
//! three forms ([`PlateForm`]): prepared, as drawn, or the master's dots.
//!
//! **Invariant:** all plates of a job have the same size and the same marks, nothing in a file knows the date,
//! and rows are made and written by bands, so that a large sheet needs little memory.

mod form;
mod marks;
mod pdf;
mod png;
mod rows;
mod tiff;
mod vector;

#[cfg(test)]
pub(crate) mod tests;
#[cfg(test)]
mod tests_form;

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use slipsheet_booking::schedule::press_passes;
use slipsheet_core::overprint::OverprintError;
use slipsheet_core::raster::MAX_PIXELS;
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

use crate::atomic::{self, WriteError};
use crate::file_set::FileSet;
use crate::lettering::FontError;
use crate::scan::{Progress, ScanError};
pub use form::PlateForm;
pub use rows::{Plate, Plates};
pub(crate) use rows::{sheet_name, stem};
pub use vector::with_crisp_vectors;

/// Which kind of file a plate is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum PlateFormat {
    #[default]
    Png,
    Tiff,
    /// PDF of one page at true size.
    Pdf,
}

impl PlateFormat {
    pub const ALL: [Self; 3] = [Self::Png, Self::Tiff, Self::Pdf];

    /// The ending of a file's name, which is also the format's name.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Tiff => "tiff",
            Self::Pdf => "pdf",
        }
    }
}

/// What plates are made.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PlateOptions {
    pub format: PlateFormat,
    /// How much of the reading is in them.
    pub form: PlateForm,
    /// Resolution; the press's own where none is given.
    pub dpi: Option<Dpi>,
}

/// Why plates could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PlateError {
    #[error("no layer is shown, so there is nothing to make plates of; show one or add a scan")]
    Nothing,
    #[error("a plate would have {width} x {height} pixels, more than a gigapixel; choose a lower resolution")]
    TooLarge { width: u32, height: u32 },
    #[error(transparent)]
    Overprint(#[from] OverprintError),
    #[error(transparent)]
    Font(#[from] FontError),
    #[error(transparent)]
    Scan(#[from] ScanError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error("the plates were stopped; nothing was written")]
    Cancelled,
}

#[derive(Debug, Clone, PartialEq)]
pub struct WrittenPlate {
    /// Layer, by its index in the project of its sheet ([`Printing::number`]).
    pub layer: usize,
    /// Sheet of a booklet, from 0.
    pub sheet: usize,
    pub face: Face,
    pub path: PathBuf,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Mean coverage of the file as written, marks included, 0..=1.
    pub coverage: f64,
}

/// Writes the plates of a project into a folder, which is made where it is missing.
///
/// # Errors
/// See [`PlateError`]; the folder is then as it was, so that plates of two ages never lie side by side.
pub fn write(
    printing: &Printing,
    images: &Images,
    options: &PlateOptions,
    folder: &Path,
    progress: &Progress,
) -> Result<Vec<WrittenPlate>, PlateError> {
    let count = press_passes(printing).iter().map(|p| p.layers.len()).sum::<usize>() as f32;
    let mut written: Vec<WrittenPlate> = Vec::new();
    let set = FileSet::for_folder(folder)?;
    // Sheet by sheet, so that a booklet needs no more memory than one of its sheets.
    for sheet in 0..printing.sheet.printed_sheets() {
        let plates = Plates::of_sheet(printing, images, options, sheet)?;
        for plate in &plates.all {
            let name = plate.file_name(options.format);
            let done = written.len() as f32;
            let report = |part: f32| progress.set_fraction((done + part) / count);
            let coverage = write_one(&plates, plate, options.format, &set.place(&name), progress, report)?;
            let (width, height, layer, face) = (plates.width, plates.height, plate.layer, plate.face);
            let path = folder.join(name);
            written.push(WrittenPlate { layer, sheet, face, path, width, height, coverage });
        }
    }
    if written.is_empty() {
        return Err(PlateError::Nothing);
    }
    set.put()?;
    progress.set_fraction(1.0);
    Ok(written)
}

/// Writes one plate and gives its mean coverage.
fn write_one(
    plates: &Plates,
    plate: &Plate,
    format: PlateFormat,
    path: &Path,
    progress: &Progress,
    report: impl Fn(f32),
) -> Result<f64, PlateError> {
    let mut ink = 0_u64;
    let mut stopped = false;
    let bands = plates.bands().map(|(top, rows)| {
        stopped |= progress.is_cancelled();
        report(top as f32 / plates.height as f32);
        if stopped {
            return Err(std::io::Error::other("stopped"));
        }
        let band = plates.rows(plate, top, rows);
        ink += band.iter().map(|g| u64::from(255 - g)).sum::<u64>();
        Ok(band)
    });
    let done = atomic::write(path, |out| match format {
        PlateFormat::Png => png::write(out, plates, plate, bands),
        PlateFormat::Tiff => tiff::write(out, plates, plate, bands),
        PlateFormat::Pdf => pdf::write(out, plates, plate, bands),
    });
    if stopped {
        return Err(PlateError::Cancelled);
    }
    done?;
    Ok(ink as f64 / 255.0 / (f64::from(plates.width) * f64::from(plates.height)))
}

fn check_size((width, height): (u32, u32)) -> Result<(), PlateError> {
    if u64::from(width) * u64::from(height) > MAX_PIXELS {
        return Err(PlateError::TooLarge { width, height });
    }
    Ok(())
}
