//! PDF pages among the originals, rasterised again at the plate's own resolution, so that type which came in
//! as outlines stays crisp however coarse or fine the project looks at it.

use std::path::Path;

use slipsheet_core::units::Dpi;
use slipsheet_document::layer::PAGE_DPI;
use slipsheet_document::project::Project;
use slipsheet_render::images::Images;

use super::PlateError;
use crate::scan::{Progress, ScanError};
use crate::store;

/// A copy of a project and its images whose PDF pages have a pixel for every pixel of a plate. What is there
/// already is kept; a PDF that is missing stays as the images have it.
///
/// # Errors
/// When a PDF is there but cannot be rasterised, or the work was stopped.
pub fn with_crisp_vectors(
    project: &Project,
    images: &Images,
    project_path: Option<&Path>,
    dpi: Dpi,
    progress: &Progress,
) -> Result<(Project, Images), PlateError> {
    let (mut crisp, mut pixels) = (project.clone(), images.clone());
    for art in crisp.every_art_mut() {
        let is_pdf = Path::new(&art.scan.path).extension().is_some_and(|e| e.eq_ignore_ascii_case("pdf"));
        let Ok(wanted) = Dpi::new((dpi.get() * art.placement.scale.get()).clamp(10.0, 9600.0)) else {
            continue;
        };
        // A mask, a flat picture and a plate are of the pixels that were looked at.
        let mended =
            art.scan.key.mask.is_some() || art.scan.key.flat.is_some() || art.scan.key.plate.is_some();
        if !is_pdf || mended || (wanted.get() / art.scan.dpi.get() - 1.0).abs() < 1e-6 {
            continue;
        }
        let mut scan = art.scan.clone();
        // A resolution that the person gave besides scales the page: its share is kept.
        let read = scan.key.resolution.map_or(PAGE_DPI, Dpi::get);
        let share = scan.dpi.get() / read;
        (scan.dpi, scan.key.resolution) = (wanted, Dpi::new(wanted.get() / share).ok());
        match store::load_scan(project_path, &scan, progress) {
            Ok(loaded) => {
                pixels.insert(loaded.key, loaded.pixels);
                art.scan = scan;
            }
            Err(ScanError::Missing { .. }) => {}
            Err(ScanError::Cancelled) => return Err(PlateError::Cancelled),
            Err(e) => return Err(e.into()),
        }
    }
    Ok((crisp, pixels))
}
