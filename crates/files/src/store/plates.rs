//! Scans of a project loaded together, among them the plates of separated pictures: those of one picture are worked out
//! at once, from the recipe that the project has for them.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;
use slipsheet_base::cache::{Bytes, Cache};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::reading::Reading;
use slipsheet_core::separation::Inverse;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::{RecipeId, ScanKey, ScanRef};
use slipsheet_document::project::Project;
use slipsheet_document::source::Recipe;

use super::masks::Masks;
use super::paths::{relative, resolve};
use super::scans::{LoadedScan, bytes_of, load_scan_with, state_of};
use crate::scan::{
    Fingerprint, Picture, PictureOptions, Progress, ScanError, fingerprint_bytes, read_picture,
};

/// The recipes of a project's separated pictures, and the pictures that were read lately.
#[derive(Clone, Default)]
pub struct Recipes {
    known: Arc<BTreeMap<RecipeId, Recipe>>,
    pictures: Arc<Cache<PictureKey, Kept, PICTURE_BYTES>>,
}

impl std::fmt::Debug for Recipes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Recipes({})", self.known.len())
    }
}

/// The most bytes of pictures that are kept.
const PICTURE_BYTES: usize = 160 << 20;

/// Which file a picture is of, by path, size and time, and which page how fine.
#[derive(Debug, Clone, PartialEq)]
struct PictureKey {
    sha256: String,
    page: u32,
    resolution: Option<Dpi>,
}

struct Kept(Picture);

impl Bytes for Kept {
    fn bytes(&self) -> usize {
        self.0.raster.bytes()
    }
}

impl Recipes {
    /// Those of a project, with the pictures that are known already.
    #[must_use]
    pub fn of(&self, project: &Project) -> Self {
        let of_sheet = |sheet: &slipsheet_document::sheet::Sheet| {
            let recipe = |source| sheet.recipe(source, &project.overprints);
            sheet.sources.iter().map(recipe).map(|recipe| (recipe.id(), recipe)).collect::<Vec<_>>()
        };
        let known = project.sheets().flat_map(of_sheet).collect();
        Self { known: Arc::new(known), pictures: Arc::clone(&self.pictures) }
    }

    /// A picture in colour, as its file has it.
    ///
    /// # Errors
    /// As [`read_picture`].
    pub fn picture(
        &self,
        project_path: Option<&Path>,
        scan: &ScanRef,
        progress: &Progress,
    ) -> Result<(Arc<Picture>, Fingerprint), ScanError> {
        let path = resolve(project_path, scan);
        let bytes = bytes_of(&path, progress)?;
        let print = fingerprint_bytes(&bytes);
        let (page, resolution) = (scan.key.page, scan.key.resolution);
        let key = PictureKey { sha256: print.sha256.clone(), page, resolution };
        if let Some(kept) = self.pictures.get(&key) {
            return Ok((Arc::new(kept.0.clone()), print));
        }
        let options = PictureOptions { page, resolution, srgb_alone: false };
        let read = read_picture(&path.display().to_string(), &bytes, &options, progress)?;
        self.pictures.get_or_make(key, || Some(Kept(read.clone())));
        Ok((Arc::new(read), print))
    }
}

/// A colour picture that was taken in, to be separated.
#[derive(Debug, Clone)]
pub struct AddedPicture {
    pub scan: ScanRef,
    pub picture: Arc<Picture>,
    /// Whether the resolution is known, from the file or as given; it fits what it is laid on otherwise.
    pub had_resolution: bool,
}

/// Takes a colour picture in. A given `dpi` overrides what its file says; where neither says anything it is such that the
/// picture fits into `room`.
///
/// # Errors
/// As [`read_picture`], and when the file's name cannot be kept as text.
pub fn add_picture(
    project_path: Option<&Path>,
    file: &Path,
    options: &PictureOptions,
    (dpi, room): (Option<Dpi>, Size),
    progress: &Progress,
) -> Result<AddedPicture, ScanError> {
    let name = file.display().to_string();
    if file.to_str().is_none() {
        return Err(ScanError::BadName { name });
    }
    let bytes = bytes_of(file, progress)?;
    let (picture, print) =
        rayon::join(|| read_picture(&name, &bytes, options, progress), || fingerprint_bytes(&bytes));
    let picture = picture?;
    let is_vector = picture.info.format.is_vector();
    let known = if is_vector { picture.dpi } else { dpi.or(picture.dpi) };
    let (width, height) = (f64::from(picture.raster.width()), f64::from(picture.raster.height()));
    let fitting = || {
        let per_mm = (width / room.width.get()).max(height / room.height.get());
        Dpi::nearest((per_mm * 25.4).clamp(10.0, 9600.0))
    };
    let key = ScanKey {
        page: options.page,
        resolution: options.resolution.filter(|_| is_vector),
        ..ScanKey::new(print.sha256)
    };
    let scan = ScanRef {
        path: relative(project_path, file),
        size: print.size,
        key,
        dpi: known.unwrap_or_else(fitting),
    };
    Ok(AddedPicture { scan, picture: Arc::new(picture), had_resolution: known.is_some() })
}

/// Loads scans that a project refers to, as [`super::load_scan_with`] does each.
pub fn load_scans(
    project_path: Option<&Path>,
    scans: Vec<ScanRef>,
    (masks, recipes): (&Masks, &Recipes),
    progress: &Progress,
) -> Vec<(ScanRef, Result<LoadedScan, ScanError>)> {
    let (plates, others): (Vec<_>, Vec<_>) = scans.into_iter().partition(|scan| scan.key.plate.is_some());
    let mut loaded: Vec<_> = others
        .into_par_iter()
        .map(|scan| {
            let loaded = load_scan_with(project_path, &scan, masks, progress);
            (scan, loaded)
        })
        .collect();
    let mut pictures: Vec<Vec<ScanRef>> = Vec::new();
    for plate in plates {
        let same = |other: &ScanRef| {
            let recipe = |scan: &ScanRef| scan.key.plate.as_ref().map(|p| p.recipe.clone());
            other.picture() == plate.picture() && recipe(other) == recipe(&plate)
        };
        match pictures.iter_mut().find(|plates| plates.first().is_some_and(same)) {
            Some(plates) => plates.push(plate),
            None => pictures.push(vec![plate]),
        }
    }
    for plates in pictures {
        match separated(project_path, &plates, recipes, progress) {
            Ok(done) => loaded.extend(plates.into_iter().zip(done.into_iter().map(Ok))),
            Err(e) => {
                let again =
                    |plate: &ScanRef| separated(project_path, std::slice::from_ref(plate), recipes, progress);
                let mut first = Some(e);
                for plate in plates {
                    // An error is told of each; the picture is not read for it again where one is at hand.
                    let told = first.take().map_or_else(|| again(&plate).map(|mut one| one.pop()), Err);
                    let told = told
                        .and_then(|one| one.ok_or_else(|| ScanError::NoPlate { name: plate.path.clone() }));
                    loaded.push((plate, told));
                }
            }
        }
    }
    loaded
}

/// The plates of one picture by one recipe.
fn separated(
    project_path: Option<&Path>,
    plates: &[ScanRef],
    recipes: &Recipes,
    progress: &Progress,
) -> Result<Vec<LoadedScan>, ScanError> {
    let Some(first) = plates.first() else { return Ok(Vec::new()) };
    let name = || first.path.clone();
    let recipe = first.key.plate.as_ref().and_then(|plate| recipes.known.get(&plate.recipe));
    let recipe = recipe.ok_or_else(|| ScanError::NoPlate { name: name() })?;
    let (picture, print) = recipes.picture(project_path, first, progress)?;
    let inks: Vec<_> = recipe.inks.iter().collect();
    let sum = Some(recipe.separation.ink_sum.get());
    let inverse = Inverse::of(&recipe.stock, &inks, &recipe.overprints, sum)
        .map_err(|source| ScanError::Separation { name: name(), source })?;
    let stop = || progress.is_cancelled();
    let made = recipe.separation.plates(&picture.raster, recipe.px_per_mm, &inverse, &stop);
    let made = made.ok_or(ScanError::Cancelled)?;
    let plate = |scan: &ScanRef| {
        let ink = scan.key.plate.as_ref().map_or(0, |plate| usize::from(plate.ink));
        let gray = made.plates.get(ink).ok_or_else(|| ScanError::NoPlate { name: name() })?;
        let gray = match recipe.readings.get(ink) {
            Some(reading) => before_reading(gray, reading),
            None => gray.clone(),
        };
        let key: ScanKey = scan.key.clone();
        Ok(LoadedScan::unmended(key, Arc::new(Pyramid::new(gray, scan.dpi)), state_of(scan, print.clone())))
    };
    plates.iter().map(plate).collect()
}

/// The grays that a reading makes a plate of. A reading that no table tells leaves it as it is.
fn before_reading(plate: &GrayRaster, reading: &Reading) -> GrayRaster {
    let Some(table) = reading.gray_table() else { return plate.clone() };
    let identity: [u8; 256] = std::array::from_fn(|g| g as u8);
    if table == identity {
        return plate.clone();
    }
    let before = |wanted: u8| -> u8 {
        let far = |g: &usize| table[*g].abs_diff(wanted);
        let least = (0..256).map(|g| far(&g)).min().unwrap_or(0);
        // Of several that give the same the one in the middle.
        let same: Vec<usize> = (0..256).filter(|g| far(g) == least).collect();
        same.get(same.len() / 2).copied().unwrap_or(usize::from(wanted)) as u8
    };
    plate.mapped(&std::array::from_fn(|g| before(g as u8)))
}
