//! Colour pictures: read to be separated, and their plates written out.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::raster::Pyramid;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::ids::{ArtId, SourceId};
use slipsheet_document::layer::ScanRef;
use slipsheet_files::Progress;
use slipsheet_files::scan::PictureOptions;
use slipsheet_files::store::{self, AddedPicture};

use crate::separating::{SMALL, SeparatedFor, ToSeparate};

/// A picture to read.
#[derive(Debug, Clone)]
pub struct PictureOrder {
    pub file: PathBuf,
    pub page: u32,
    pub resolution: Option<Dpi>,
    /// What the person has said; the file says it otherwise.
    pub dpi: Option<Dpi>,
    /// What it is laid on.
    pub room: Size,
    /// The project's file.
    pub base: Option<PathBuf>,
    pub purpose: SeparatedFor,
}

/// Plates to write beside a project.
#[derive(Debug, Clone)]
pub struct ApartOrder {
    pub source: SourceId,
    /// The project's file.
    pub base: PathBuf,
    /// Each with a name for its file and its pixels.
    pub plates: Vec<(ArtId, String, Arc<Pyramid>)>,
}

pub(super) fn read(order: &PictureOrder, progress: &Progress) -> Result<ToSeparate, String> {
    let options = PictureOptions { page: order.page, resolution: order.resolution, srgb_alone: false };
    let added =
        store::add_picture(order.base.as_deref(), &order.file, &options, (order.dpi, order.room), progress);
    let AddedPicture { scan, picture, .. } = added.map_err(|e| e.to_string())?;
    let small = picture.raster.at_most(SMALL);
    let shrunk = f64::from(picture.raster.width()) / f64::from(small.width());
    let profile = picture.profile.clone();
    Ok(ToSeparate { scan, purpose: order.purpose, small: Arc::new(small), shrunk, profile })
}

pub(super) fn take_apart(order: &ApartOrder, progress: &Progress) -> Result<Vec<(ArtId, ScanRef)>, String> {
    let mut written = Vec::new();
    for (art, name, pixels) in &order.plates {
        if progress.is_cancelled() {
            return Err("the plates were not written: it was stopped".to_owned());
        }
        let scan = store::write_plate_beside(&order.base, name, pixels).map_err(|e| e.to_string())?;
        written.push((*art, scan));
    }
    Ok(written)
}
