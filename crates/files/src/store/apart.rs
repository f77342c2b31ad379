//! Plates of a separated picture written beside their project, so that they can be artwork like any other.

use std::path::{Path, PathBuf};

use slipsheet_core::raster::Pyramid;
use slipsheet_document::layer::{ScanKey, ScanRef};

use super::paths::relative;
use crate::atomic::{self, WriteError};
use crate::file_name;
use crate::png_out::{self, PngMeta};
use crate::scan::fingerprint_bytes;

/// Writes a plate into the folder of plates beside a project, under a name that nothing has.
///
/// # Errors
/// When the folder cannot be made or the plate cannot be written.
pub fn write_plate_beside(project: &Path, name: &str, pixels: &Pyramid) -> Result<ScanRef, WriteError> {
    let folder = project.with_file_name(format!("{} plates", file_name::stem(project)));
    std::fs::create_dir_all(&folder).map_err(|e| WriteError::from_io(&folder, e))?;
    let plate = pixels.full();
    let meta = PngMeta { dpi: pixels.dpi(), text: vec![("Title".to_owned(), name.to_owned())] };
    let mut bytes = Vec::new();
    png_out::write_gray(&mut bytes, plate.width(), plate.height(), plate.pixels(), &meta)
        .map_err(|e| WriteError::from_io(&folder, std::io::Error::other(e.to_string())))?;
    let path = free(&folder, name);
    atomic::write_bytes(&path, &bytes)?;
    let print = fingerprint_bytes(&bytes);
    Ok(ScanRef {
        path: relative(Some(project), &path),
        size: print.size,
        key: ScanKey::new(print.sha256),
        dpi: pixels.dpi(),
    })
}

/// A file of about this name that is not there yet.
fn free(folder: &Path, name: &str) -> PathBuf {
    let plain = |c: char| if c.is_alphanumeric() || c == ' ' || c == '-' { c } else { '-' };
    let safe: String = name.chars().map(plain).collect();
    let numbered =
        |n: u32| folder.join(if n == 1 { format!("{safe}.png") } else { format!("{safe} {n}.png") });
    (1..u32::MAX).map(numbered).find(|path| !path.exists()).unwrap_or_else(|| numbered(u32::MAX))
}
