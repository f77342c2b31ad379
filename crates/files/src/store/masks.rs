//! Masks of scans: small PNG files in a folder beside the project, named by their contents, so that one is never
//! written over and undo finds each of them again.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rayon::prelude::*;
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::retouch::AS_IT_IS;
use slipsheet_document::layer::MaskId;
use slipsheet_document::project::Project;

use crate::atomic::{self, WriteError};
use crate::png_out::{self, PngMeta};
use crate::scan::{self, Progress, ScanOptions, fingerprint_bytes};

/// The folder of masks beside a project.
const FOLDER: &str = "masks";
/// How much of its name a mask's file has.
const NAME: usize = 16;
/// A mask compresses well: what is larger than this is none of ours, in bytes.
const MOST: u64 = 64 << 20;

/// The masks that a session has made or read, by their contents.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Masks(BTreeMap<MaskId, Arc<[u8]>>);

impl Masks {
    /// A mask as its file holds it, and its name.
    ///
    /// # Errors
    /// When it is too large to be written as PNG.
    pub fn encoded(mask: &GrayRaster) -> io::Result<(MaskId, Arc<[u8]>)> {
        let mut bytes = Vec::new();
        png_out::write_gray(&mut bytes, mask.width(), mask.height(), mask.pixels(), &PngMeta::default())?;
        let id = MaskId::try_from(fingerprint_bytes(&bytes).sha256).map_err(io::Error::other)?;
        Ok((id, bytes.into()))
    }

    /// Takes in masks as their files have them.
    pub fn extend(&mut self, masks: impl IntoIterator<Item = (MaskId, Arc<[u8]>)>) {
        self.0.extend(masks);
    }

    /// A mask, from here or from the folder beside a project; `None` where it is in neither, or is another one by now.
    pub fn find(&self, id: &MaskId, project_path: Option<&Path>) -> Option<Arc<[u8]>> {
        if let Some(bytes) = self.0.get(id) {
            return Some(Arc::clone(bytes));
        }
        beside(project_path?, id).iter().find_map(|path| read(path, id))
    }

    /// Every mask that a project uses, as far as it is found.
    #[must_use]
    pub fn used(&self, project: &Project, project_path: Option<&Path>) -> Self {
        let ids = project.every_art().filter_map(|a| a.scan.key.mask.as_ref());
        Self(ids.filter_map(|id| Some((id.clone(), self.find(id, project_path)?))).collect())
    }

    /// Writes each of them into the folder beside a project, where it is not there yet.
    ///
    /// # Errors
    /// When one cannot be written.
    pub fn write_beside(&self, project_path: &Path) -> Result<(), WriteError> {
        for (id, bytes) in &self.0 {
            let places = beside(project_path, id);
            if places.iter().any(|path| read(path, id).is_some()) {
                continue;
            }
            // A file of its short name that holds something else is left alone.
            let taken = || io::Error::from(io::ErrorKind::AlreadyExists);
            let first = places.first().cloned().unwrap_or_default();
            let free = places.into_iter().find(|path| !path.exists());
            let path = free.ok_or_else(|| WriteError::from_io(&first, taken()))?;
            if let Some(folder) = path.parent() {
                std::fs::create_dir_all(folder).map_err(|e| WriteError::from_io(&path, e))?;
            }
            atomic::write_bytes(&path, bytes)?;
        }
        Ok(())
    }
}

/// The pixels of a mask; `None` where its file is none.
pub fn decoded(bytes: &[u8]) -> Option<GrayRaster> {
    let read = scan::read_bytes("mask", bytes, &ScanOptions::default(), &Progress::new());
    read.ok().map(|scan| scan.raster)
}

/// A mask of a picture of another size or shape, from where each of that's pixels was in the mask's own.
pub fn carried(
    mask: &GrayRaster,
    (width, height): (u32, u32),
    before: impl Fn(Point) -> Option<Point> + Sync,
) -> GrayRaster {
    let Ok(mut now) = GrayRaster::filled(width, height, AS_IT_IS) else { return mask.clone() };
    now.pixels_mut().par_chunks_mut((width as usize).max(1)).enumerate().for_each(|(y, row)| {
        for (x, code) in row.iter_mut().enumerate() {
            let was = before(Point::new(x as f64 + 0.5, y as f64 + 0.5));
            let was = was.filter(|p| p.x >= 0.0 && p.y >= 0.0);
            let kept = was.and_then(|p| mask.row(p.y as u32).get(p.x as usize));
            *code = kept.copied().unwrap_or(AS_IT_IS);
        }
    });
    now
}

/// The files of a project's masks, as far as they are there.
pub(super) fn files(project: &Project, project_path: Option<&Path>) -> Vec<PathBuf> {
    let ids = project.every_art().filter_map(|a| a.scan.key.mask.as_ref());
    let places = ids.zip(std::iter::repeat(project_path)).filter_map(|(id, path)| Some((id, path?)));
    places.flat_map(|(id, path)| beside(path, id)).filter(|path| path.exists()).collect()
}

/// Where a mask lies: under the start of its name, or under all of it.
fn beside(project_path: &Path, id: &MaskId) -> Vec<PathBuf> {
    let folder = project_path.parent().map(|folder| folder.join(FOLDER));
    let names = [id.as_str().get(..NAME), Some(id.as_str())].into_iter().flatten();
    folder.into_iter().flat_map(|f| names.clone().map(move |name| f.join(format!("{name}.png")))).collect()
}

/// A mask's file, where it is the one of this name.
fn read(path: &Path, id: &MaskId) -> Option<Arc<[u8]>> {
    if std::fs::metadata(path).ok()?.len() > MOST {
        return None;
    }
    let bytes = std::fs::read(path).ok()?;
    (fingerprint_bytes(&bytes).sha256 == id.as_str()).then(|| bytes.into())
}
