//! Layers: one ink on one face of the sheet, drawn from one or more scanned originals, with where they
//! are meant to lie (placement) and a what-if shift of the whole layer (slip).

mod crop;
mod flat;
mod placement;
mod plate;
mod region;
mod scan;

use serde::{Deserialize, Serialize};

pub use crop::{Crop, CropMm};
pub use flat::Flat;
pub use placement::{Placement, Scale, Shear, Stretch};
pub use plate::{Plate, RecipeId};
pub use region::Region;
pub use scan::{Area, Dust, DustSize, GrayFrom, MaskId, PAGE_DPI, ScanKey, ScanRef};

use crate::ids::{ArtId, LayerId};
use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::ink::Ink;
use slipsheet_core::reading::{Mode, Reading};
use slipsheet_core::units::{Degrees, Mm, Size};
use slipsheet_paper::fold::{Face, Scheme};

/// What artwork is laid on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Target {
    #[default]
    Sheet,
    /// One page; the fold scheme turns and moves it.
    Page(u32),
    /// Two pages that face each other, this one on the left; cut at the spine and placed on both, even where
    /// they lie on different sheets.
    Spread(u32),
}

/// A what-if shift and skew of a layer against the sheet; never part of the intent.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Slip {
    /// To the right, in mm.
    pub dx: Mm,
    /// Downwards, in mm.
    pub dy: Mm,
    /// Skew, clockwise about the middle of the sheet.
    pub skew: Degrees,
}

impl Slip {
    /// Whether the layer lies where it is meant to.
    pub fn is_none(self) -> bool {
        self == Self::default()
    }

    /// From where a point was meant to lie to where it lies, both on the sheet in mm.
    pub fn slipped_from_meant(self, sheet: Size) -> Affine {
        let centre = Point::new(sheet.width.get() / 2.0, sheet.height.get() / 2.0);
        Affine::shift(self.dx.get(), self.dy.get()) * Affine::turn_about(self.skew.get(), centre)
    }
}

/// One scanned original and where it lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Art {
    pub id: ArtId,
    pub scan: ScanRef,
    #[serde(default)]
    pub target: Target,
    #[serde(default)]
    pub placement: Placement,
    /// The part of the scan that may print; all of it when there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crop: Option<Crop>,
    /// Parts of the scan with a reading of their own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub regions: Vec<Region>,
}

/// One ink on one face. Where several pieces of artwork overlap, the darkest counts: they end on one master.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    pub id: LayerId,
    pub name: String,
    pub ink: Ink,
    #[serde(default)]
    pub face: Face,
    #[serde(default)]
    pub art: Vec<Art>,
    /// What-if shift.
    #[serde(default)]
    pub slip: Slip,
    #[serde(default = "shown")]
    pub visible: bool,
    /// How the original becomes a master.
    #[serde(default)]
    pub reading: Reading,
    /// The first layer of the pass that it prints in, where that is another one. Layers of a face that follow one
    /// another and go with the same one share a pass, as far as the press has drums.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<LayerId>,
    /// Steps against slips, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remedies: Vec<crate::remedy::Remedy>,
}

fn shown() -> bool {
    true
}

/// Where one piece of artwork lies, without slip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mapping {
    /// From pixels of the scan (corners at whole numbers) to mm on the face.
    pub face_from_scan: Affine,
    /// The part of the face it may cover: the sheet, or its page.
    pub clip: Rect,
    /// The part of the scan that may print, in its pixels.
    pub part: Rect,
}

impl Layer {
    /// A layer on the front without artwork, shown, read as it is, in a pass of its own.
    pub fn new(id: LayerId, name: impl Into<String>, ink: Ink) -> Self {
        Self {
            id,
            name: name.into(),
            ink,
            face: Face::Front,
            art: Vec::new(),
            slip: Slip::default(),
            visible: true,
            reading: Reading::default(),
            with: None,
            remedies: Vec::new(),
        }
    }

    /// Its reading as one table of grays; `None` where the scan itself decides, or a part of it is read otherwise.
    pub fn gray_table(&self) -> Option<[u8; 256]> {
        if self.has_regions() { None } else { self.reading.gray_table() }
    }

    /// Whether a part of its artwork has a reading of its own.
    pub fn has_regions(&self) -> bool {
        self.art.iter().any(|a| !a.regions.is_empty())
    }

    /// The reading whose screen draws its dots: its own, or where that makes none the first of its regions that does.
    /// What a line reading gives is ink or none, and so the same under any screen; a continuous one, which has no dots to
    /// begin with, gets those of its parts.
    pub fn screened_by(&self) -> Reading {
        let plain = |r: &Reading| matches!(r.mode, Mode::Line | Mode::Continuous);
        let of_regions = || self.art.iter().flat_map(|a| &a.regions).map(|r| r.reading).find(|r| !plain(r));
        if plain(&self.reading) { of_regions().unwrap_or(self.reading) } else { self.reading }
    }

    /// What the layers of its pass have in common.
    pub fn pass(&self) -> LayerId {
        self.with.unwrap_or(self.id)
    }
}

impl Art {
    /// A whole scan in the middle of what it is laid on.
    pub fn new(id: ArtId, scan: ScanRef, target: Target) -> Self {
        Self { id, scan, target, placement: Placement::default(), crop: None, regions: Vec::new() }
    }

    /// Where this artwork lies on the sheet, given the size of its scan in pixels; `None` when it belongs to
    /// a page that the fold scheme does not have on that face.
    pub fn mapping(
        &self,
        width: u32,
        height: u32,
        sheet: Size,
        fold: Option<&Scheme>,
        face: Face,
    ) -> Option<Mapping> {
        let whole = Rect { x: 0.0, y: 0.0, width: sheet.width.get(), height: sheet.height.get() };
        let (face_from_target, size, clip) = match self.target {
            Target::Sheet => (Affine::IDENTITY, sheet, whole),
            Target::Page(page) => {
                let place = fold?.place(sheet, page).filter(|p| p.face == face)?;
                (place.face_from_page, place.size, place.rect)
            }
            // Its left half; [`crate::sheet::Sheet::number`] makes a piece for each page.
            Target::Spread(page) => {
                let place = fold?.place(sheet, page).filter(|p| p.face == face)?;
                let both = Size::mm(2.0 * place.size.width.get(), place.size.height.get());
                (place.face_from_page, both, place.rect)
            }
        };
        let mm_per_px = 1.0 / self.scan.dpi.px_per_mm();
        let (w, h) = (f64::from(width), f64::from(height));
        let face_from_scan = face_from_target
            * Affine::shift(size.width.get() / 2.0, size.height.get() / 2.0)
            * self.placement.target_from_original()
            * Affine::scale(mm_per_px, mm_per_px)
            * Affine::shift(-w / 2.0, -h / 2.0);
        let all = Rect { x: 0.0, y: 0.0, width: w, height: h };
        let part = self.crop.map_or(all, |crop| crop.pixels(width, height, self.scan.dpi));
        Some(Mapping { face_from_scan, clip, part })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::units::Dpi;

    fn art(target: Target) -> Art {
        let key = ScanKey::new("0".repeat(64));
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi: Dpi::new(254.0).unwrap() };
        Art::new(ArtId::new(0), scan, target)
    }

    #[test]
    fn artwork_of_the_sheets_size_covers_it_exactly() {
        let mapping =
            art(Target::Sheet).mapping(1000, 500, Size::mm(100.0, 50.0), None, Face::Front).unwrap();
        assert!((mapping.face_from_scan * Point::new(0.0, 0.0)).distance(Point::new(0.0, 0.0)) < 1e-9);
        assert!(
            (mapping.face_from_scan * Point::new(1000.0, 500.0)).distance(Point::new(100.0, 50.0)) < 1e-9
        );
    }

    #[test]
    fn a_page_that_is_upside_down_turns_its_artwork() {
        let scheme = slipsheet_paper::fold::find("slit8").unwrap();
        let sheet = Size::mm(280.0, 200.0);
        let mapping = art(Target::Page(5)).mapping(700, 1000, sheet, Some(&scheme), Face::Front).unwrap();
        // Page 5 is the top left panel, upside down: its own top left lands at the panel's bottom right.
        assert!((mapping.face_from_scan * Point::new(0.0, 0.0)).distance(Point::new(70.0, 100.0)) < 1e-9);
        assert!(art(Target::Page(9)).mapping(7, 7, sheet, Some(&scheme), Face::Front).is_none());
        assert!(art(Target::Page(5)).mapping(7, 7, sheet, Some(&scheme), Face::Back).is_none());
    }

    #[test]
    fn artwork_that_is_neither_cropped_nor_stretched_is_written_as_it_always_was() {
        let text = ron::to_string(&art(Target::Sheet)).unwrap();
        assert!(!["crop", "stretch", "shear"].iter().any(|word| text.contains(word)), "{text}");
        let mut cut = art(Target::Sheet);
        cut.crop = Some(Crop { width: CropMm::new(30.0), height: CropMm::new(40.0), ..Crop::default() });
        cut.placement.shear = Shear::new(0.01);
        assert_eq!(ron::from_str::<Art>(&ron::to_string(&cut).unwrap()).unwrap(), cut);
        for (name, value) in [("stretch", "NaN"), ("stretch", "0.0"), ("shear", "NaN")] {
            assert!(ron::from_str::<Placement>(&format!("({name}: {value})")).is_err(), "{name} {value}");
        }
        assert!(ron::from_str::<Crop>("(x: -1.0, y: 0.0, width: 1.0, height: 1.0)").is_err());
    }

    #[test]
    fn a_crop_stays_on_its_pixels_and_within_the_scan() {
        let dpi = |v: f64| Dpi::new(v).unwrap();
        let part = Rect { x: 30.0, y: 40.0, width: 900.0, height: 100.0 };
        let crop = Crop::of_pixels(part, dpi(254.0));
        assert_eq!(crop.x, CropMm::new(3.0));
        let again = crop.at_resolution(dpi(254.0), dpi(127.0)).pixels(500, 500, dpi(127.0));
        assert!((again.x - 30.0).abs() < 1e-9 && (again.width - 470.0).abs() < 1e-9, "{again:?}");
        assert!((again.y + again.height - 140.0).abs() < 1e-9);
        let mut cut = art(Target::Sheet);
        cut.crop = Some(crop);
        let mapping = cut.mapping(1000, 500, Size::mm(100.0, 50.0), None, Face::Front).unwrap();
        assert!((mapping.part.x - 30.0).abs() < 1e-9 && mapping.clip.width == 100.0, "{mapping:?}");
    }

    #[test]
    fn a_slip_turns_about_the_middle_and_then_shifts() {
        let slip = Slip { dx: Mm::new(1.0), dy: Mm::new(-0.5), skew: Degrees::new(90.0) };
        let m = slip.slipped_from_meant(Size::mm(100.0, 60.0));
        assert!((m * Point::new(50.0, 30.0)).distance(Point::new(51.0, 29.5)) < 1e-9);
        assert!((m * Point::new(60.0, 30.0)).distance(Point::new(51.0, 39.5)) < 1e-9);
    }
}
