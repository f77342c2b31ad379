//! Lengths, resolutions and sheet sizes. One type per unit, so that millimetres
//! and pixels cannot meet by accident.

use serde::{Deserialize, Serialize};

/// Why a number was refused as a length, a resolution or a size.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} must be {wanted}, not {got}")]
pub struct UnitError {
    /// What the number was meant for.
    pub what: &'static str,
    /// The range allowed.
    pub wanted: &'static str,
    /// The number given.
    pub got: f64,
}

/// Millimetres. Finite, within ten metres either way.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Mm(f64);

/// Pixels per inch, 10 to 9600.
///
/// **Invariant:** never NaN and never zero, so that it can be part of a key.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Dpi(f64);

impl Ord for Dpi {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl PartialOrd for Dpi {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Dpi {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Dpi {}

impl std::hash::Hash for Dpi {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.0.to_bits().hash(state);
    }
}

impl Mm {
    pub const ZERO: Self = Self(0.0);

    /// A length in mm; a value that is not finite becomes 0, and ten metres are the most.
    pub fn new(mm: f64) -> Self {
        Self(if mm.is_finite() { mm.clamp(-10_000.0, 10_000.0) } else { 0.0 })
    }

    pub fn get(self) -> f64 {
        self.0
    }

    /// Pixels that this length covers at a resolution, not rounded.
    pub fn pixels(self, dpi: Dpi) -> f64 {
        self.0 * dpi.px_per_mm()
    }
}

crate::read_within!(Mm, -10_000.0..=10_000.0, "a length in mm", "a number within 10000");

impl std::ops::Add for Mm {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.0 + other.0)
    }
}

impl std::ops::Sub for Mm {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.0 - other.0)
    }
}

impl std::ops::Mul<f64> for Mm {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self::new(self.0 * by)
    }
}

impl Dpi {
    /// A resolution.
    ///
    /// # Errors
    /// When it is not a number from 10 to 9600.
    pub fn new(dpi: f64) -> Result<Self, UnitError> {
        Self::try_from(dpi)
    }

    /// The resolution nearest to a number; what is not a number becomes the default.
    pub fn nearest(dpi: f64) -> Self {
        if dpi.is_nan() { Self::default() } else { Self(dpi.clamp(10.0, 9600.0)) }
    }

    /// The number of pixels per inch.
    pub fn get(self) -> f64 {
        self.0
    }

    /// Pixels per millimetre.
    pub fn px_per_mm(self) -> f64 {
        self.0 / 25.4
    }
}

impl Default for Dpi {
    fn default() -> Self {
        Self(300.0)
    }
}

crate::read_within!(Dpi, 10.0..=9600.0, "a resolution in dpi", "from 10 to 9600");

/// An angle in degrees, clockwise on a page. Finite, within ±360.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Degrees(f64);

impl Degrees {
    /// An angle; what is not finite becomes 0, and a full turn is the most.
    pub fn new(degrees: f64) -> Self {
        Self(if degrees.is_finite() { degrees.clamp(-360.0, 360.0) } else { 0.0 })
    }

    /// The number of degrees.
    pub fn get(self) -> f64 {
        self.0
    }
}

crate::read_within!(Degrees, -360.0..=360.0, "an angle in degrees", "within 360 either way");

/// Width and height of a flat thing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Size {
    /// Width in mm.
    pub width: Mm,
    /// Height in mm.
    pub height: Mm,
}

/// The most bytes that one look at a whole sheet may take: studies, findings, remedies. On a larger sheet the look
/// is coarser, see [`Size::dpi_within`].
pub const WORKING_BYTES: f64 = 3e9;

impl Size {
    /// Bytes that a look at the whole sheet takes at a resolution, where a pixel takes so many.
    pub fn bytes(self, dpi: Dpi, bytes_a_pixel: f64) -> f64 {
        let (width, height) = self.pixels(dpi);
        f64::from(width) * f64::from(height) * bytes_a_pixel
    }

    /// The resolution asked for, or the finest whole one at which a look at the whole sheet stays within
    /// [`WORKING_BYTES`].
    pub fn dpi_within(self, asked: Dpi, bytes_a_pixel: f64) -> Dpi {
        let needed = self.bytes(asked, bytes_a_pixel);
        if needed <= WORKING_BYTES {
            return asked;
        }
        // Rounding to whole pixels must not lead past the limit again.
        let finest = asked.get() * libm::sqrt(WORKING_BYTES / needed) * 0.999;
        Dpi::nearest(finest.floor())
    }

    /// The resolution at which the longer side has so many pixels, 10 to 300 dpi: for pictures to look at.
    pub fn dpi_for(self, pixels: f64) -> Dpi {
        let longest = self.width.get().max(self.height.get()).max(1.0);
        Dpi::nearest((pixels / longest * 25.4).clamp(10.0, 300.0))
    }

    /// A size in mm.
    pub fn mm(width: f64, height: f64) -> Self {
        Self { width: Mm::new(width), height: Mm::new(height) }
    }

    /// Width and height exchanged.
    #[must_use]
    pub fn turned(self) -> Self {
        Self { width: self.height, height: self.width }
    }

    /// Pixels at a resolution, rounded to whole ones, at least 1 each way.
    pub fn pixels(self, dpi: Dpi) -> (u32, u32) {
        let px = |mm: Mm| mm.pixels(dpi).round().max(1.0) as u32;
        (px(self.width), px(self.height))
    }
}

/// The format of a sheet, upright (portrait) unless custom.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum SheetFormat {
    /// 420 x 594 mm, ISO 216.
    A2,
    /// 297 x 420 mm, ISO 216.
    A3,
    /// 210 x 297 mm, ISO 216.
    A4,
    /// 148 x 210 mm, ISO 216.
    A5,
    /// 105 x 148 mm, ISO 216.
    A6,
    /// 250 x 353 mm, ISO 216.
    B4,
    /// 176 x 250 mm, ISO 216.
    B5,
    /// 8.5 x 11 in, ANSI/ASME Y14.1 size A.
    Letter,
    /// 8.5 x 14 in, a customary North American size.
    Legal,
    /// 11 x 17 in, ANSI/ASME Y14.1 size B, portrait.
    Tabloid,
    /// 17 x 11 in, ANSI/ASME Y14.1 size B, landscape.
    Ledger,
    Custom(Size),
}

impl SheetFormat {
    /// Every named format, in the order that lists show.
    pub const NAMED: [Self; 11] = [
        Self::Letter,
        Self::Legal,
        Self::Tabloid,
        Self::Ledger,
        Self::A2,
        Self::A3,
        Self::A4,
        Self::A5,
        Self::A6,
        Self::B4,
        Self::B5,
    ];

    /// The named format of this size within half a millimetre, either way round; else one of its own.
    pub fn of_size(size: Size) -> Self {
        let near = |a: Mm, b: Mm| (a.get() - b.get()).abs() <= 0.5;
        let same = |other: Size| near(size.width, other.width) && near(size.height, other.height);
        let named = Self::NAMED.into_iter().find(|f| same(f.size()) || same(f.size().turned()));
        named.unwrap_or(Self::Custom(size))
    }

    /// The name as lists and files show it.
    pub fn name(self) -> &'static str {
        match self {
            Self::A2 => "A2",
            Self::A3 => "A3",
            Self::A4 => "A4",
            Self::A5 => "A5",
            Self::A6 => "A6",
            Self::B4 => "B4",
            Self::B5 => "B5",
            Self::Letter => "Letter",
            Self::Legal => "Legal",
            Self::Tabloid => "Tabloid",
            Self::Ledger => "Ledger",
            Self::Custom(_) => "Custom",
        }
    }

    /// Whether it is portrait or landscape as one likes; the ledger and custom sizes say themselves which.
    pub fn can_turn(self) -> bool {
        match self {
            Self::Ledger | Self::Custom(_) => false,
            Self::A2
            | Self::A3
            | Self::A4
            | Self::A5
            | Self::A6
            | Self::B4
            | Self::B5
            | Self::Letter
            | Self::Legal
            | Self::Tabloid => true,
        }
    }

    /// The size as the standard gives it: portrait, but for the ledger and custom sizes.
    pub fn size(self) -> Size {
        let inch = |w: f64, h: f64| Size::mm(w * 25.4, h * 25.4);
        match self {
            Self::A2 => Size::mm(420.0, 594.0),
            Self::A3 => Size::mm(297.0, 420.0),
            Self::A4 => Size::mm(210.0, 297.0),
            Self::A5 => Size::mm(148.0, 210.0),
            Self::A6 => Size::mm(105.0, 148.0),
            Self::B4 => Size::mm(250.0, 353.0),
            Self::B5 => Size::mm(176.0, 250.0),
            Self::Letter => inch(8.5, 11.0),
            Self::Legal => inch(8.5, 14.0),
            Self::Tabloid => inch(11.0, 17.0),
            Self::Ledger => inch(17.0, 11.0),
            Self::Custom(size) => size,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_resolution_is_one_that_can_be_had() {
        for (asked, got) in [(f64::NAN, 300.0), (0.0, 10.0), (f64::INFINITY, 9600.0), (72.5, 72.5)] {
            assert_eq!(Dpi::nearest(asked).get(), got);
            assert!(Dpi::new(Dpi::nearest(asked).get()).is_ok());
        }
    }

    #[test]
    fn units_convert_exactly() {
        assert!((Mm::new(25.4).pixels(Dpi::new(72.0).unwrap()) - 72.0).abs() < 1e-12);
        assert_eq!(SheetFormat::Letter.size().pixels(Dpi::new(300.0).unwrap()), (2550, 3300));
    }

    #[test]
    fn nonsense_numbers_are_refused() {
        assert!(Mm::try_from(f64::NAN).is_err());
        assert!(Dpi::new(0.0).is_err());
        assert!(Dpi::new(f64::INFINITY).is_err());
        assert_eq!(Mm::new(f64::NAN), Mm::ZERO);
    }

    #[test]
    fn a_look_at_a_large_sheet_is_coarser_and_at_a_usual_one_as_asked() {
        let fine = Dpi::new(400.0).unwrap();
        assert_eq!(SheetFormat::A2.size().dpi_within(fine, 40.0), fine);
        for side in [20.0, 600.0, 1300.0, 2000.0] {
            for bytes in [1.0, 6.0, 50.0, 400.0] {
                let sheet = Size::mm(side, 2000.0);
                let dpi = sheet.dpi_within(Dpi::new(9600.0).unwrap(), bytes);
                assert!(sheet.bytes(dpi, bytes) <= WORKING_BYTES, "{side} {bytes} {dpi:?}");
                // No coarser than it must be.
                let finer = Dpi::new(dpi.get() * 1.02 + 1.0).unwrap();
                assert!(sheet.bytes(finer, bytes) > WORKING_BYTES, "{side} {bytes} {dpi:?}");
            }
        }
    }

    #[test]
    fn a_format_is_either_turned_or_has_its_own_orientation() {
        for format in SheetFormat::NAMED {
            let size = format.size();
            assert_eq!(format.can_turn(), size.width < size.height, "{format:?}");
        }
        assert!(!SheetFormat::Custom(Size::mm(200.0, 300.0)).can_turn());
        assert_eq!(SheetFormat::of_size(Size::mm(148.5, 105.0)), SheetFormat::A6);
        assert_eq!(SheetFormat::of_size(Size::mm(100.0, 70.0)), SheetFormat::Custom(Size::mm(100.0, 70.0)));
    }
}
