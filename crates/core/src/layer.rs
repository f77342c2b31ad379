//! Layers: one ink on one face of the sheet, drawn from one or more scanned originals, with where they
//! are meant to lie (placement) and a what-if shift of the whole layer (slip).

use serde::{Deserialize, Serialize};

use crate::bounded::bounded;
use crate::fold::{Face, Scheme};
use crate::geometry::{Affine, Point, Rect};
use crate::ink::Ink;
use crate::reading::Reading;
use crate::units::{Degrees, Dpi, Mm, Size};

/// How a colour scan becomes gray.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub enum GrayFrom {
    /// By luminance.
    #[default]
    Luminance,
    /// The red channel alone.
    Red,
    /// The green channel alone.
    Green,
    /// The blue channel alone, in which blue guide pencil all but disappears.
    Blue,
}

impl GrayFrom {
    /// Every way, in the order that lists show.
    pub const ALL: [Self; 4] = [Self::Luminance, Self::Red, Self::Green, Self::Blue];

    /// The name as lists show it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Luminance => "Luminance",
            Self::Red => "Red channel",
            Self::Green => "Green channel",
            Self::Blue => "Blue channel",
        }
    }
}

/// Which pixels a scan gives: the file by its contents, and how it is read. Pixels are looked up by it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScanKey {
    /// SHA-256 of the file, 64 hexadecimal digits.
    pub sha256: String,
    /// Page of a file of several pages, from 0.
    #[serde(default)]
    pub page: u32,
    /// How colour becomes gray.
    #[serde(default)]
    pub gray: GrayFrom,
    /// Whether the paper's white is lifted to 255.
    #[serde(default)]
    pub lift_white: bool,
    /// The resolution at which a page without pixels of its own is rasterised, where one was chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<Dpi>,
}

/// A scan that a layer uses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScanRef {
    /// Where the file is, relative to the project file where that is possible, with `/` between parts.
    pub path: String,
    /// Size of the file in bytes when it was last read.
    pub size: u64,
    /// Its contents and how they are read.
    pub key: ScanKey,
    /// Resolution, from the file or as the person gave it.
    pub dpi: Dpi,
}

/// What artwork is laid on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Target {
    /// The whole sheet.
    #[default]
    Sheet,
    /// One page; the fold scheme turns and moves it.
    Page(u32),
    /// Two pages that face each other, this one on the left; cut at the spine and placed on both, even where
    /// they lie on different sheets.
    Spread(u32),
}

bounded! {
    /// A scale factor, 0.01 to 100.
    Scale, 0.01..=100.0, default 1.0, "a scale", "from 0.01 to 100"
}

/// Where artwork is meant to lie: its middle against the middle of the sheet or page. Machines line
/// originals up on a centre line, so offsets count from there.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// To the right, in mm.
    #[serde(default)]
    pub dx: Mm,
    /// Downwards, in mm.
    #[serde(default)]
    pub dy: Mm,
    /// Clockwise, about the artwork's middle.
    #[serde(default)]
    pub rotation: Degrees,
    /// Enlargement.
    #[serde(default)]
    pub scale: Scale,
    /// Mirrored left to right, before it is turned.
    #[serde(default)]
    pub flip: bool,
}

/// A what-if shift and skew of a layer against the sheet; never part of the intent.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slip {
    /// To the right, in mm.
    #[serde(default)]
    pub dx: Mm,
    /// Downwards, in mm.
    #[serde(default)]
    pub dy: Mm,
    /// Skew, clockwise about the middle of the sheet.
    #[serde(default)]
    pub skew: Degrees,
}

impl Slip {
    /// Whether the layer lies where it is meant to.
    pub fn is_none(self) -> bool {
        self == Self::default()
    }

    /// Length of the shift in mm.
    pub fn shift(self) -> f64 {
        libm::hypot(self.dx.get(), self.dy.get())
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
    /// The scan.
    pub scan: ScanRef,
    /// What it is laid on.
    #[serde(default)]
    pub target: Target,
    /// Where on that.
    #[serde(default)]
    pub placement: Placement,
}

/// One ink on one face. Where several pieces of artwork overlap, the darkest counts: they end on one master.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// Name as the stack shows it.
    pub name: String,
    /// The ink it is printed in.
    pub ink: Ink,
    /// The face it is printed on.
    #[serde(default)]
    pub face: Face,
    /// The originals.
    #[serde(default)]
    pub art: Vec<Art>,
    /// What-if shift.
    #[serde(default)]
    pub slip: Slip,
    /// Whether it is shown.
    #[serde(default = "shown")]
    pub visible: bool,
    /// How the original becomes a master.
    #[serde(default)]
    pub reading: Reading,
}

fn shown() -> bool {
    true
}

/// Where one piece of artwork lies, without slip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    /// From pixels of the scan (corners at whole numbers) to mm on the face.
    pub face_from_scan: Affine,
    /// The part of the face it may cover: the sheet, or its page.
    pub clip: Rect,
}

impl Art {
    /// Where this artwork lies on the sheet, given the size of its scan in pixels; `None` when it belongs to
    /// a page that the fold scheme does not have on that face.
    pub fn lie(
        &self,
        width: u32,
        height: u32,
        sheet: Size,
        fold: Option<&Scheme>,
        face: Face,
    ) -> Option<Lie> {
        let whole = Rect { x: 0.0, y: 0.0, width: sheet.width.get(), height: sheet.height.get() };
        let (face_from_target, size, clip) = match self.target {
            Target::Sheet => (Affine::IDENTITY, sheet, whole),
            Target::Page(page) => {
                let place = fold?.place(sheet, page).filter(|p| p.face == face)?;
                (place.face_from_page, place.size, place.rect)
            }
            // Its left half; [`crate::project::Project::on_sheet`] makes a piece for each page.
            Target::Spread(page) => {
                let place = fold?.place(sheet, page).filter(|p| p.face == face)?;
                let both = Size::mm(2.0 * place.size.width.get(), place.size.height.get());
                (place.face_from_page, both, place.rect)
            }
        };
        let p = &self.placement;
        let mm_per_px = 1.0 / self.scan.dpi.px_per_mm() * p.scale.get();
        let mirror = if p.flip { -1.0 } else { 1.0 };
        let face_from_scan = face_from_target
            * Affine::shift(size.width.get() / 2.0 + p.dx.get(), size.height.get() / 2.0 + p.dy.get())
            * Affine::turn(p.rotation.get())
            * Affine::scale(mirror * mm_per_px, mm_per_px)
            * Affine::shift(-f64::from(width) / 2.0, -f64::from(height) / 2.0);
        Some(Lie { face_from_scan, clip })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn art(target: Target) -> Art {
        let key = ScanKey {
            sha256: "0".repeat(64),
            page: 0,
            gray: GrayFrom::default(),
            lift_white: false,
            resolution: None,
        };
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi: Dpi::new(254.0).unwrap() };
        Art { scan, target, placement: Placement::default() }
    }

    #[test]
    fn a_key_without_a_resolution_is_written_as_it_always_was() {
        let old = format!("(sha256:\"{}\",page:0,gray:Luminance,lift_white:false)", "0".repeat(64));
        let key = art(Target::Sheet).scan.key;
        assert_eq!(ron::to_string(&key).unwrap(), old);
        assert_eq!(ron::from_str::<ScanKey>(&old).unwrap(), key);
        let finer = ScanKey { resolution: Dpi::new(1200.0).ok(), ..key.clone() };
        let again: ScanKey = ron::from_str(&ron::to_string(&finer).unwrap()).unwrap();
        assert!(again == finer && again != key);
    }

    #[test]
    fn artwork_of_the_sheets_size_covers_it_exactly() {
        let lie = art(Target::Sheet).lie(1000, 500, Size::mm(100.0, 50.0), None, Face::Front).unwrap();
        assert!((lie.face_from_scan * Point::new(0.0, 0.0)).distance(Point::new(0.0, 0.0)) < 1e-9);
        assert!((lie.face_from_scan * Point::new(1000.0, 500.0)).distance(Point::new(100.0, 50.0)) < 1e-9);
    }

    #[test]
    fn a_page_that_stands_on_its_head_turns_its_artwork() {
        let scheme = crate::fold::find("slit8").unwrap();
        let sheet = Size::mm(280.0, 200.0);
        let lie = art(Target::Page(5)).lie(700, 1000, sheet, Some(&scheme), Face::Front).unwrap();
        // Page 5 is the top left panel, upside down: its own top left lands at the panel's bottom right.
        assert!((lie.face_from_scan * Point::new(0.0, 0.0)).distance(Point::new(70.0, 100.0)) < 1e-9);
        assert!(art(Target::Page(9)).lie(7, 7, sheet, Some(&scheme), Face::Front).is_none());
        assert!(art(Target::Page(5)).lie(7, 7, sheet, Some(&scheme), Face::Back).is_none());
    }

    #[test]
    fn a_slip_turns_about_the_middle_and_then_shifts() {
        let slip = Slip { dx: Mm::new(1.0), dy: Mm::new(-0.5), skew: Degrees::new(90.0) };
        let m = slip.slipped_from_meant(Size::mm(100.0, 60.0));
        assert!((m * Point::new(50.0, 30.0)).distance(Point::new(51.0, 29.5)) < 1e-9);
        assert!((m * Point::new(60.0, 30.0)).distance(Point::new(51.0, 39.5)) < 1e-9);
    }
}
