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

impl ScanKey {
    /// The first page of a file as it is, in luminance.
    pub fn new(sha256: impl Into<String>) -> Self {
        Self {
            sha256: sha256.into(),
            page: 0,
            gray: GrayFrom::default(),
            lift_white: false,
            resolution: None,
        }
    }
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

bounded! {
    /// How much more the width is enlarged than the height, as a factor: 0.5 to 2.
    Stretch, 0.5..=2.0, default 1.0, "a stretch", "from 0.5 to 2"
}

bounded! {
    /// How far a point moves sideways for each mm that it lies lower: -1 to 1.
    Shear, -1.0..=1.0, default 0.0, "a shear", "from -1 to 1"
}

bounded! {
    /// An edge or a side of a crop in mm, 0 to 10000.
    CropMm, 0.0..=10_000.0, default 0.0, "an edge of a crop in mm", "from 0 to 10000"
}

impl Stretch {
    fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

impl Shear {
    fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

/// The part of a scan that may print; it belongs to the original and moves with it.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crop {
    /// From the left edge of the scan, in mm at the scan's own resolution.
    pub x: CropMm,
    /// From its top edge, in mm.
    pub y: CropMm,
    /// Width in mm.
    pub width: CropMm,
    /// Height in mm.
    pub height: CropMm,
}

impl Crop {
    /// A part of a scan given in its pixels.
    pub fn of_pixels(part: Rect, dpi: Dpi) -> Self {
        let mm = |px: f64| CropMm::new(px / dpi.px_per_mm());
        Self { x: mm(part.x), y: mm(part.y), width: mm(part.width), height: mm(part.height) }
    }

    /// The part in pixels of a scan of this size, no larger than the scan.
    pub fn pixels(self, width: u32, height: u32, dpi: Dpi) -> Rect {
        let px = |mm: CropMm| mm.get() * dpi.px_per_mm();
        let (w, h) = (f64::from(width), f64::from(height));
        let (x, y) = (px(self.x).min(w), px(self.y).min(h));
        Rect { x, y, width: px(self.width).min(w - x), height: px(self.height).min(h - y) }
    }

    /// The same pixels where the scan turns out to have another resolution.
    #[must_use]
    pub fn at_resolution(self, was: Dpi, now: Dpi) -> Self {
        let mm = |v: CropMm| CropMm::new(v.get() * was.get() / now.get());
        Self { x: mm(self.x), y: mm(self.y), width: mm(self.width), height: mm(self.height) }
    }
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
    /// How much more the width is enlarged than the height; the scale is their geometric mean.
    #[serde(default, skip_serializing_if = "Stretch::is_none")]
    pub stretch: Stretch,
    /// Sideways slant, before it is turned: an original that was fed crookedly past a scanner's line.
    #[serde(default, skip_serializing_if = "Shear::is_none")]
    pub shear: Shear,
}

impl Placement {
    /// From mm on the original to mm on the sheet or page, both from their middles.
    pub fn target_from_original(&self) -> Affine {
        let mirror = if self.flip { -1.0 } else { 1.0 };
        let (scale, side) = (self.scale.get(), libm::sqrt(self.stretch.get()));
        Affine::shift(self.dx.get(), self.dy.get())
            * Affine::turn(self.rotation.get())
            * Affine { c: self.shear.get(), ..Affine::IDENTITY }
            * Affine::scale(mirror * scale * side, scale / side)
    }

    /// The placement that such a map amounts to; what a placement cannot hold is brought within its range.
    pub fn of_map(target_from_original: Affine) -> Self {
        let map = target_from_original;
        let flip = map.a * map.d - map.b * map.c < 0.0;
        // Without the mirror the map is a turn after a slant after an enlargement: its first column is turned alone.
        let (a, b) = if flip { (-map.a, -map.b) } else { (map.a, map.b) };
        let across = libm::hypot(a, b).max(1e-9);
        let (cos, sin) = (a / across, b / across);
        let (sideways, down) = (cos * map.c + sin * map.d, (cos * map.d - sin * map.c).max(1e-9));
        // What is only the noise of the arithmetic is no stretch and no shear.
        let tidy = |v: f64, plain: f64| if (v - plain).abs() < 1e-9 { plain } else { v };
        Self {
            dx: Mm::new(map.e),
            dy: Mm::new(map.f),
            rotation: Degrees::new(libm::atan2(b, a).to_degrees()),
            scale: Scale::new(libm::sqrt(across * down)),
            flip,
            stretch: Stretch::new(tidy(across / down, 1.0)),
            shear: Shear::new(tidy(sideways / down, 0.0)),
        }
    }
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
    /// The part of the scan that may print; all of it when there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crop: Option<Crop>,
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
    /// Whether it prints in one pass with the layer before it, where the press has a drum free.
    #[serde(default)]
    pub with_previous: bool,
    /// Steps against slips, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remedies: Vec<crate::remedy::Remedy>,
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
    /// The part of the scan that may print, in its pixels.
    pub part: Rect,
}

impl Layer {
    /// A layer on the front without artwork, shown, read as it is, in a pass of its own.
    pub fn new(name: impl Into<String>, ink: Ink) -> Self {
        Self {
            name: name.into(),
            ink,
            face: Face::Front,
            art: Vec::new(),
            slip: Slip::default(),
            visible: true,
            reading: Reading::default(),
            with_previous: false,
            remedies: Vec::new(),
        }
    }
}

impl Art {
    /// A whole scan in the middle of what it is laid on.
    pub fn new(scan: ScanRef, target: Target) -> Self {
        Self { scan, target, placement: Placement::default(), crop: None }
    }

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
        let mm_per_px = 1.0 / self.scan.dpi.px_per_mm();
        let (w, h) = (f64::from(width), f64::from(height));
        let face_from_scan = face_from_target
            * Affine::shift(size.width.get() / 2.0, size.height.get() / 2.0)
            * self.placement.target_from_original()
            * Affine::scale(mm_per_px, mm_per_px)
            * Affine::shift(-w / 2.0, -h / 2.0);
        let all = Rect { x: 0.0, y: 0.0, width: w, height: h };
        let part = self.crop.map_or(all, |crop| crop.pixels(width, height, self.scan.dpi));
        Some(Lie { face_from_scan, clip, part })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn art(target: Target) -> Art {
        let key = ScanKey::new("0".repeat(64));
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi: Dpi::new(254.0).unwrap() };
        Art::new(scan, target)
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
    fn a_map_becomes_the_placement_that_gives_it_back() {
        let map = Affine { a: -0.98, b: 0.11, c: 0.07, d: 1.03, e: 4.0, f: -2.5 };
        for map in [map, Affine { a: 0.98, ..map }, Affine::turn(30.0) * Affine::scale(1.1, 1.1)] {
            let placement = Placement::of_map(map);
            let back = placement.target_from_original();
            for p in [(0.0, 0.0), (100.0, 0.0), (0.0, 100.0)].map(|(x, y)| Point::new(x, y)) {
                assert!((back * p).distance(map * p) < 1e-9, "{placement:?}");
            }
        }
        let plain = Placement::of_map(Affine::turn(30.0) * Affine::scale(1.1, 1.1));
        assert!(!plain.flip && plain.stretch.is_none() && plain.shear.is_none(), "{plain:?}");
        assert!(Placement::of_map(map).flip);
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
        let lie = cut.lie(1000, 500, Size::mm(100.0, 50.0), None, Face::Front).unwrap();
        assert!((lie.part.x - 30.0).abs() < 1e-9 && lie.clip.width == 100.0, "{lie:?}");
    }

    #[test]
    fn a_slip_turns_about_the_middle_and_then_shifts() {
        let slip = Slip { dx: Mm::new(1.0), dy: Mm::new(-0.5), skew: Degrees::new(90.0) };
        let m = slip.slipped_from_meant(Size::mm(100.0, 60.0));
        assert!((m * Point::new(50.0, 30.0)).distance(Point::new(51.0, 29.5)) < 1e-9);
        assert!((m * Point::new(60.0, 30.0)).distance(Point::new(51.0, 39.5)) < 1e-9);
    }
}
