//! Lining artwork up, by what two pictures share or by the marks on an original.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::projective::Flatten;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::retouch;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::edit::LinedUp;
use slipsheet_document::ids::ArtId;
use slipsheet_document::layer::{Area, Art, Flat, Placement, Region, ScanKey, ScanRef};
use slipsheet_document::printing::Printing;
use slipsheet_files::Progress;
use slipsheet_files::guide::{self, GuideOptions};
use slipsheet_files::store::{self, Masks};
use slipsheet_paper::fold::Face;
use slipsheet_registration::register::{
    self, Chosen, FitChoice, FoundBy, LayoutMark, LineUpLimits, MarkLayout, MarkTable, OriginalFit, Seen,
    TableFit,
};

use super::{Done, MaskFile};

/// Below this confidence a line-up is not taken over: unrelated pictures stay under it in the tests.
const SURE: f64 = 0.25;

/// An original that is to be lined up, with what it is drawn for.
#[derive(Debug, Clone)]
pub struct Original {
    pub at: ArtId,
    /// As it was when it was asked for: a change meanwhile makes the answer stale.
    pub art: Art,
    pub face: Face,
    pub printing: Arc<Printing>,
    /// The project's file, which the paths of scans are seen from.
    pub base: Option<PathBuf>,
    pub masks: Masks,
    /// Its pixels as it was scanned, where they are at hand.
    pub pixels: Option<Arc<Pyramid>>,
}

/// The marks of one piece of artwork, to be looked over.
#[derive(Debug, Clone)]
pub struct MarksToShow {
    pub original: Original,
    /// The whole scan as its file has it.
    pub pixels: Arc<Pyramid>,
    pub table: MarkTable,
    pub kind: Chosen,
    /// Why they cannot be trusted as they are.
    pub why: Option<String>,
}

/// An original lined up: what changes in the project, and what a person should hear of it.
#[derive(Debug, Clone)]
pub struct OriginalLinedUp {
    pub lined_up: LinedUp,
    /// The file of its mask, where that is a new one.
    pub mask: Option<MaskFile>,
    pub found: OriginalFit,
    pub sentence: String,
}

/// Where a picture lies on another one (its pixels, where it lies, its name), with a sentence about it; or why not.
pub(super) fn by_picture(
    (fixed, lies, name): &(Arc<Pyramid>, Placement, String),
    moved: &Pyramid,
) -> Result<(Placement, String), String> {
    let found = register::line_up(fixed, moved, LineUpLimits::default());
    let sure = found.confidence * 100.0;
    if found.confidence < SURE {
        return Err(format!(
            "nothing in it matches “{name}” well enough ({sure:.0} % sure); line it up by its marks or by hand"
        ));
    }
    Ok((found.placement_on(lies), format!("Lined up on “{name}”, {sure:.0} % sure.")))
}

impl Original {
    /// Lines it up from beginning to end.
    ///
    /// # Errors
    /// One sentence that says what to do, where it cannot be read or trusted.
    pub fn line_up(&self, choice: FitChoice, progress: &Progress) -> Result<OriginalLinedUp, String> {
        let (pixels, dpi) = self.as_scanned(progress)?;
        let (layout, paper) = self.layout()?;
        let found = register::line_up_original(pixels.full(), dpi, &layout, paper, choice);
        let found = found.map_err(|e| e.to_string())?;
        let (lined_up, mask) = self.placed(&pixels, &layout, (&found.table, &found.fit), true)?;
        let sentence = sentence(&found);
        Ok(OriginalLinedUp { lined_up, mask, found, sentence })
    }

    /// The marks on it, to be looked over.
    pub(super) fn look(self: Box<Self>, progress: &Progress) -> Done {
        let look = || {
            let (pixels, dpi) = self.as_scanned(progress)?;
            let (layout, paper) = self.layout()?;
            let mapping = self.mapping(&pixels);
            let (table, kind, why) = MarkTable::look(pixels.full(), dpi, &layout, paper, mapping);
            Ok::<_, String>((pixels, table, kind, why.map(|e| e.to_string())))
        };
        match look() {
            Ok((pixels, table, kind, why)) => {
                Done::Marks(Box::new(MarksToShow { original: *self, pixels, table, kind, why }))
            }
            Err(why) => Done::Placed { at: self.at, was: Box::new(self.art), found: Err(why) },
        }
    }

    /// Where it lies now: from pixels of the scan to mm on its sheet or page.
    fn mapping(&self, pixels: &Pyramid) -> Affine {
        let (full, target) = (pixels.full(), self.printing.sheet.target_size(self.art.target));
        let flat = Art { target: slipsheet_document::layer::Target::Sheet, ..self.art.clone() };
        let size = target.unwrap_or_else(|| self.printing.sheet.size());
        let mapping = flat.mapping(full.width(), full.height(), size, None, self.face);
        mapping.map_or(Affine::IDENTITY, |m| m.face_from_scan)
    }

    fn layout(&self) -> Result<(MarkLayout, Size), String> {
        let options = GuideOptions::default();
        let layout = guide::mark_layout(&self.printing, self.art.target, &options);
        let paper = guide::original_size(&self.printing, self.art.target, &options);
        layout.and_then(|layout| Ok((layout, paper?))).map_err(|e| e.to_string())
    }

    /// Its pixels as its file has them, neither made flat nor mended, and their resolution.
    fn as_scanned(&self, progress: &Progress) -> Result<(Arc<Pyramid>, Dpi), String> {
        let scan = &self.art.scan;
        let key = scan.key.as_scanned();
        if let Some(pixels) = self.pixels.as_ref().filter(|_| key == scan.key) {
            return Ok((Arc::clone(pixels), scan.dpi));
        }
        let was_flat = scan.key.flat.is_some();
        let plain = ScanRef { key, ..scan.clone() };
        let loaded = store::load_scan(self.base.as_deref(), &plain, progress).map_err(|e| e.to_string())?;
        let dpi = if was_flat { loaded.dpi.unwrap_or_default() } else { scan.dpi };
        Ok((loaded.pixels, dpi))
    }

    /// Its pixels before they are mended, and what is mended so far.
    pub(super) fn read_to_mend(self, progress: &Progress) -> Result<ToMend, String> {
        let key = ScanKey { dust: None, mask: None, ..self.art.scan.key.clone() };
        let at_hand = self.pixels.clone().filter(|_| key == self.art.scan.key);
        let pixels = at_hand.map_or_else(
            || {
                let plain = ScanRef { key, ..self.art.scan.clone() };
                let loaded = store::load_scan(self.base.as_deref(), &plain, progress);
                loaded.map(|loaded| loaded.pixels).map_err(|e| e.to_string())
            },
            Ok,
        )?;
        let kept = self.art.scan.key.mask.as_ref().and_then(|id| self.masks.find(id, self.base.as_deref()));
        let full = pixels.full();
        let same = |mask: &GrayRaster| (mask.width(), mask.height()) == (full.width(), full.height());
        let mask = kept.and_then(|bytes| store::decoded_mask(&bytes)).filter(same);
        Ok(ToMend { mask: mask.unwrap_or_else(|| empty(full)), art: self.art, pixels })
    }

    /// The change to the project, with a mask that takes out the marks and the guide's own printing.
    fn placed(
        &self,
        pixels: &Pyramid,
        layout: &MarkLayout,
        (table, fit): (&MarkTable, &TableFit),
        crop: bool,
    ) -> Result<Placed, String> {
        let flat = fit.flat.map(|flat| store::made_flat(pixels.full(), &flat).ok_or(NOT_FLAT)).transpose()?;
        let picture = flat.as_ref().unwrap_or_else(|| pixels.full());
        let carry = Carry::of(&self.art, fit, pixels.full());
        let mut mask = self.mask_so_far(picture, &carry)?.unwrap_or_else(|| empty(picture));
        let seen = |m: &(&LayoutMark, Seen)| m.1 != Seen::Missing;
        let marks = layout.marks.iter().zip(table.marks.iter().map(|m| m.seen)).filter(seen).map(|(m, _)| m);
        register::take_out(&mut mask, picture, fit.picture_from_sheet, marks);
        let of = (&*self.printing, self.art.target, self.face);
        guide::take_out_printing(&mut mask, picture, fit.picture_from_sheet, of)
            .map_err(|e| e.to_string())?;

        let mended = mask.pixels().iter().any(|code| *code != retouch::AS_IT_IS);
        let mask = if mended { Some(Masks::encoded(&mask).map_err(|e| e.to_string())?) } else { None };
        let kept = self.art.crop.filter(|_| fit.flat == self.art.scan.key.flat);
        let lined_up = LinedUp {
            placement: fit.placement,
            crop: if crop { Some(fit.crop) } else { kept },
            dpi: fit.dpi,
            flat: fit.flat,
            area: area_of(fit, pixels.full()),
            mask: mask.as_ref().map(|(id, _)| id.clone()),
            regions: self.art.regions.iter().map(|region| carry.region(region)).collect(),
        };
        Ok((lined_up, mask))
    }

    /// What was mended by hand before, on the picture that it is now; marks are found anew.
    fn mask_so_far(&self, picture: &GrayRaster, carry: &Carry) -> Result<Option<GrayRaster>, String> {
        let Some(id) = &self.art.scan.key.mask else { return Ok(None) };
        let bytes = self.masks.find(id, self.base.as_deref());
        let mask = bytes.and_then(|bytes| store::decoded_mask(&bytes)).ok_or(MASK_GONE)?;
        let size = (picture.width(), picture.height());
        let mut now = store::carried_mask(&mask, size, |p| carry.before(p));
        now.pixels_mut()
            .iter_mut()
            .filter(|c| matches!(**c, retouch::MARK | retouch::ASIDE))
            .for_each(|c| *c = retouch::AS_IT_IS);
        Ok(Some(now))
    }
}

/// From the picture that an original was to the one that it is now: as scanned, or made flat in one way or another.
struct Carry {
    was: Option<Flatten>,
    now: Option<Flatten>,
    /// The resolutions of the two.
    dpi: (Dpi, Dpi),
}

impl Carry {
    fn of(art: &Art, fit: &TableFit, scan: &GrayRaster) -> Self {
        let (was, now) = (art.scan.key.flat, fit.flat);
        let map = |flat: Option<Flat>| flat.map(|flat| store::flatten_of(scan, &flat));
        // What stays as it is needs no way through the photograph.
        let (was, now) = if was == now { (None, None) } else { (map(was), map(now)) };
        Self { was, now, dpi: (art.scan.dpi, fit.dpi) }
    }

    /// Where a pixel of the picture now was before.
    fn before(&self, now: Point) -> Option<Point> {
        let in_scan = self.now.as_ref().map_or(Some(now), |flat| flat.photo_from_flat(now))?;
        self.was.as_ref().map_or(Some(in_scan), |flat| flat.flat_from_photo(in_scan))
    }

    /// A region where it lies now.
    fn region(&self, region: &Region) -> Region {
        let corner = |p: Point| {
            let in_scan = self.was.as_ref().map_or(Some(p), |flat| flat.photo_from_flat(p))?;
            self.now.as_ref().map_or(Some(in_scan), |flat| flat.flat_from_photo(in_scan))
        };
        let corners: Vec<Point> = region.pixels(self.dpi.0).into_iter().filter_map(corner).collect();
        Region::of_pixels(&corners, region.reading, self.dpi.1)
    }
}

const MASK_GONE: &str = "the mask of what was mended by hand is not there: put the folder “masks” back beside the project, or clear it with Mend scan…, and line it up then";

/// A scan that is to be mended.
#[derive(Debug, Clone)]
pub struct ToMend {
    pub art: Art,
    /// As it is before dust is removed and anything is mended by hand.
    pub pixels: Arc<Pyramid>,
    /// What is mended so far.
    pub mask: GrayRaster,
}

/// Marks that a person has looked over.
#[derive(Debug, Clone)]
pub struct Reviewed {
    pub original: Original,
    pub table: MarkTable,
    pub fit: TableFit,
    /// Whether what lies outside the sheet is cut off.
    pub crop: bool,
}

impl Reviewed {
    pub(super) fn place(self, progress: &Progress) -> Done {
        let placed = || {
            let (pixels, _) = self.original.as_scanned(progress)?;
            let (layout, _) = self.original.layout()?;
            self.original.placed(&pixels, &layout, (&self.table, &self.fit), self.crop)
        };
        let found = placed();
        Done::Reviewed(self.original.at, Box::new(self.original.art), found)
    }
}

/// A change to the project, and the file of a mask where it has one.
pub type Placed = (LinedUp, Option<MaskFile>);

const NOT_FLAT: &str =
    "the photograph is seen too much from the side to be made flat; take it again from above";

/// The part of a scan that shows the sheet; of a flat picture all of it does.
fn area_of(fit: &TableFit, scan: &GrayRaster) -> Option<Area> {
    if fit.flat.is_some() {
        return None;
    }
    let part = fit.crop.pixels(scan.width(), scan.height(), fit.dpi);
    let px = |v: f64| v.max(0.0) as u32;
    Some(Area { x: px(part.x), y: px(part.y), width: px(part.width), height: px(part.height) })
        .filter(|area| area.width > 0 && area.height > 0)
}

/// A mask of a picture that mends nothing.
fn empty(picture: &GrayRaster) -> GrayRaster {
    let mut mask = picture.blank();
    mask.pixels_mut().fill(retouch::AS_IT_IS);
    mask
}

/// What became of an original, for a person.
fn sentence(found: &OriginalFit) -> String {
    let marks = found.table.marks.iter().filter(|m| m.used).count();
    let assumed = if found.table.lead_known { "" } else { " The lead edge was not marked and is assumed." };
    let lens = match &found.fit.map {
        register::SheetMap::Photo(fit) if fit.lens.k != 0.0 => " and its lens",
        register::SheetMap::Photo(_) | register::SheetMap::Plain(_) => "",
    };
    let how = match found.kind {
        Chosen::Similarity => "",
        Chosen::Affine => ", stretched and slanted as the scanner drew it",
        Chosen::Perspective => ", made flat as a photograph",
    };
    match found.by {
        FoundBy::Marks => {
            format!("Placed by {marks} marks, within {:.2} mm{how}{lens}.{assumed}", found.fit.rms_mm)
        }
        FoundBy::Edges => format!(
            "No marks were found: placed by the edges of its paper{how}, which is less exact. See that it stands the right way up."
        ),
    }
}
