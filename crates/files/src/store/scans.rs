//! A project's scans: taking a file in, and loading what a project refers to.

use std::fs;
use std::io::Read as _;
use std::path::Path;
use std::sync::Arc;

use slipsheet_core::raster::Pyramid;
use slipsheet_core::reading::BarePaper;
use slipsheet_core::units::Dpi;
use slipsheet_core::{dust, retouch};
use slipsheet_document::layer::{MaskId, ScanKey, ScanRef};

use super::masks::{Masks, decoded};
use super::paths::{relative, resolve};
use crate::scan::{
    self, Fingerprint, Progress, Scan, ScanError, ScanInfo, ScanNotice, ScanOptions, fingerprint_bytes,
};

/// The most bytes that a scan's file may have, as it is held in memory while it is read.
const MAX_SCAN_BYTES: u64 = 4 << 30;
/// Bytes read between two looks at whether to stop.
const BLOCK: u64 = 8 << 20;

/// A scan that was taken in.
#[derive(Debug, Clone)]
pub struct AddedScan {
    pub scan: ScanRef,
    /// Its pixels.
    pub pixels: Arc<Pyramid>,
    /// What the person should hear about it.
    pub notices: Vec<ScanNotice>,
    /// Whether the resolution is known, from the file or as given; 300 dpi is assumed otherwise.
    pub had_resolution: bool,
    pub info: ScanInfo,
    /// Its paper, where it was cleaned.
    pub paper: Option<BarePaper>,
    /// The colour of that paper, sRGB.
    pub tint: Option<[u8; 3]>,
    /// Whether it is a picture in colour, and no scan of a gray original.
    pub colourful: bool,
}

impl AddedScan {
    /// The name of the layer that was read, where the file is one of layers with names.
    pub fn layer_name(&self) -> Option<&str> {
        let name = self.info.page_names.get(self.scan.key.page as usize)?;
        Some(name.as_str()).filter(|n| !n.is_empty())
    }
}

/// How a scan's file stands to what the project knows of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ScanState {
    /// The file holds what was placed.
    Unchanged,
    /// The file holds something else.
    Changed {
        /// Its size in bytes now.
        size: u64,
        /// Its SHA-256 now, 64 hexadecimal digits.
        sha256: String,
    },
    /// There is no such file.
    Missing,
}

/// A scan that a project refers to, loaded.
#[derive(Debug, Clone)]
pub struct LoadedScan {
    /// The key under which the project looks for it, also when the file has changed.
    pub key: ScanKey,
    /// The pixels as the file has them now.
    pub pixels: Arc<Pyramid>,
    /// [`ScanState::Unchanged`] or [`ScanState::Changed`].
    pub state: ScanState,
    /// Its paper, where it was cleaned.
    pub paper: Option<BarePaper>,
    /// The colour of that paper, sRGB.
    pub tint: Option<[u8; 3]>,
    /// The resolution that its file says, or its flat picture has.
    pub dpi: Option<Dpi>,
    /// How many specks of dust were removed.
    pub specks: usize,
    /// Its mask as its file has it, where it was found.
    pub mask: Option<(MaskId, Arc<[u8]>)>,
    /// Whether its mask is missing or is of another picture, so that nothing was mended by it.
    pub mask_lost: bool,
}

impl LoadedScan {
    /// Pixels that came of a file as it is.
    pub(super) fn unmended(key: ScanKey, pixels: Arc<Pyramid>, state: ScanState) -> Self {
        let dpi = Some(pixels.dpi());
        Self { key, pixels, state, paper: None, tint: None, dpi, specks: 0, mask: None, mask_lost: false }
    }
}

/// Takes a file in. A given `dpi` overrides what a file of pixels says; where neither says anything 300 is assumed.
/// The file is read once, so that pixels and fingerprint are of the same contents.
///
/// # Errors
/// As [`scan::read`], and when the file's name cannot be kept as text.
pub fn add_scan(
    project_path: Option<&Path>,
    file: &Path,
    options: &ScanOptions,
    dpi: Option<Dpi>,
    progress: &Progress,
) -> Result<AddedScan, ScanError> {
    if file.to_str().is_none() {
        return Err(ScanError::BadName { name: file.display().to_string() });
    }
    let (read, print) = read_once(file, options, progress)?;
    // A page that was rasterised has the resolution it was rasterised at, whatever is said.
    let dpi = dpi.filter(|_| !read.info.format.is_vector());
    let known = dpi.or(read.dpi);
    let key = ScanKey {
        page: options.page,
        gray: options.gray,
        clean: options.clean,
        resolution: options.resolution.filter(|_| read.info.format.is_vector()),
        flat: options.flat,
        area: options.area,
        ..ScanKey::new(print.sha256)
    };
    let dpi_used = known.unwrap_or_default();
    let mut notices = read.notices;
    if dpi.is_some() {
        // The person has said it, so the file need not.
        notices.retain(|n| !matches!(n, ScanNotice::NoResolution | ScanNotice::UnevenResolution { .. }));
    }
    Ok(AddedScan {
        scan: ScanRef { path: relative(project_path, file), size: print.size, key, dpi: dpi_used },
        pixels: Arc::new(Pyramid::new(read.raster, dpi_used)),
        notices,
        had_resolution: known.is_some(),
        info: read.info,
        paper: read.paper,
        tint: read.tint,
        colourful: read.colourful,
    })
}

/// Loads a scan that a project refers to. When the file has changed, its new pixels come under the old
/// key, so that the project shows them until the person decides.
///
/// # Errors
/// As [`scan::read`]; [`ScanError::Missing`] when there is no such file.
pub fn load_scan(
    project_path: Option<&Path>,
    scan: &ScanRef,
    progress: &Progress,
) -> Result<LoadedScan, ScanError> {
    load_scan_with(project_path, scan, &Masks::default(), progress)
}

/// The same with masks that may not be beside the project yet.
///
/// # Errors
/// As [`load_scan`].
pub fn load_scan_with(
    project_path: Option<&Path>,
    scan: &ScanRef,
    masks: &Masks,
    progress: &Progress,
) -> Result<LoadedScan, ScanError> {
    let key = scan.key.clone();
    let options = ScanOptions {
        page: key.page,
        gray: key.gray,
        clean: key.clean,
        resolution: key.resolution,
        flat: key.flat,
        area: key.area,
    };
    let (read, print) = read_once(&resolve(project_path, scan), &options, progress)?;

    let mut raster = read.raster;
    let scanned = key.mask.as_ref().filter(|_| key.dust.is_some()).map(|_| raster.clone());
    let specks = key.dust.map_or(0, |d| dust::remove_dust(&mut raster, d.dpi, d.size.mm()));
    let mask = key.mask.clone().and_then(|id| Some((id.clone(), masks.find(&id, project_path)?)));
    let codes = mask.as_ref().and_then(|(_, bytes)| decoded(bytes));
    let mended = codes.is_some_and(|codes| retouch::apply(&mut raster, scanned.as_ref(), &codes));

    Ok(LoadedScan {
        state: state_of(scan, print),
        pixels: Arc::new(Pyramid::new(raster, scan.dpi)),
        paper: read.paper,
        tint: read.tint,
        dpi: read.dpi,
        specks,
        mask_lost: key.mask.is_some() && !mended,
        mask,
        key,
    })
}

/// How the file of a scan stands, without reading its pixels.
///
/// # Errors
/// When the file is there but cannot be read.
pub fn scan_state(
    project_path: Option<&Path>,
    scan: &ScanRef,
    progress: &Progress,
) -> Result<ScanState, ScanError> {
    match bytes_of(&resolve(project_path, scan), progress) {
        Ok(bytes) => Ok(state_of(scan, fingerprint_bytes(&bytes))),
        Err(ScanError::Missing { .. }) => Ok(ScanState::Missing),
        Err(e) => Err(e),
    }
}

pub(super) fn state_of(scan: &ScanRef, now: Fingerprint) -> ScanState {
    if now.sha256 == scan.key.sha256 {
        ScanState::Unchanged
    } else {
        ScanState::Changed { size: now.size, sha256: now.sha256 }
    }
}

fn read_once(
    file: &Path,
    options: &ScanOptions,
    progress: &Progress,
) -> Result<(Scan, Fingerprint), ScanError> {
    let bytes = bytes_of(file, progress)?;
    let name = file.display().to_string();
    let (read, print) =
        rayon::join(|| scan::read_bytes(&name, &bytes, options, progress), || fingerprint_bytes(&bytes));
    Ok((read?, print))
}

pub(super) fn bytes_of(path: &Path, progress: &Progress) -> Result<Vec<u8>, ScanError> {
    let name = path.display().to_string();
    let io = |e| ScanError::from_io(&name, e);
    let meta = fs::metadata(path).map_err(io)?;
    if !meta.is_file() {
        return Err(ScanError::NotAFile { name });
    }
    let mut bytes = Vec::new();
    let room = usize::try_from(meta.len()).ok().filter(|_| meta.len() <= MAX_SCAN_BYTES);
    if room.is_none_or(|room| bytes.try_reserve_exact(room).is_err()) {
        return Err(ScanError::TooMuchMemory { name });
    }
    let mut file = fs::File::open(path).map_err(io)?;
    while (&mut file).take(BLOCK).read_to_end(&mut bytes).map_err(io)? > 0 {
        if progress.is_cancelled() {
            return Err(ScanError::Cancelled);
        }
        if bytes.len() as u64 > MAX_SCAN_BYTES {
            return Err(ScanError::TooMuchMemory { name });
        }
    }
    Ok(bytes)
}
