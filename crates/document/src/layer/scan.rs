//! Which scan a layer uses, and how it is read.

use serde::{Deserialize, Serialize};

use slipsheet_core::units::{Dpi, UnitError};

use super::flat::Flat;
use super::plate::Plate;

/// How a colour scan becomes gray.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub enum GrayFrom {
    /// By luminance.
    #[default]
    Luminance,
    Red,
    Green,
    /// The blue channel alone, in which blue guide pencil all but disappears.
    Blue,
}

impl GrayFrom {
    /// Every way, in the order that lists show.
    pub const ALL: [Self; 4] = [Self::Luminance, Self::Red, Self::Green, Self::Blue];

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
    #[serde(default)]
    pub gray: GrayFrom,
    /// Whether bare paper is cleaned to white.
    #[serde(default, rename = "lift_white")]
    pub clean: bool,
    /// The resolution at which a page without pixels of its own is rasterised, where one was chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<Dpi>,
    /// A photograph's sheet of paper, where it is made flat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flat: Option<Flat>,
    /// Where a scan that was lined up shows its sheet: its paper is that, and not what lies around it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area: Option<Area>,
    /// Specks and hairs up to this size are removed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dust: Option<Dust>,
    /// What is mended by hand, and the marks that are taken out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mask: Option<MaskId>,
    /// Of a colour picture that is separated, the plate that this is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plate: Option<Box<Plate>>,
}

impl ScanKey {
    /// The first page of a file as it is, in luminance.
    pub fn new(sha256: impl Into<String>) -> Self {
        Self {
            sha256: sha256.into(),
            page: 0,
            gray: GrayFrom::default(),
            clean: false,
            resolution: None,
            flat: None,
            area: None,
            dust: None,
            mask: None,
            plate: None,
        }
    }

    /// The same scan as its file has it: neither made flat nor mended.
    #[must_use]
    pub fn as_scanned(&self) -> Self {
        Self { flat: None, area: None, dust: None, mask: None, plate: None, ..self.clone() }
    }
}

/// A part of a scan, in its pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Area {
    /// First column.
    pub x: u32,
    /// First row.
    pub y: u32,
    pub width: u32,
    pub height: u32,
}

/// Which specks are removed. The resolution belongs to it: the same key means the same pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dust {
    pub size: DustSize,
    /// The scan's resolution, by which the size is measured.
    pub dpi: Dpi,
}

/// The largest speck that counts as dust, in hundredths of a mm: 0.05 to 3 mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct DustSize(u16);

impl DustSize {
    /// The size brought within its range.
    pub fn new(mm: f64) -> Self {
        Self(libm::round(mm.clamp(0.05, 3.0) * 100.0) as u16)
    }

    pub fn mm(self) -> f64 {
        f64::from(self.0) / 100.0
    }
}

impl Default for DustSize {
    /// Half a millimetre: larger than grit on a scanner's glass, smaller than a full stop (common practice, no source).
    fn default() -> Self {
        Self(50)
    }
}

impl From<DustSize> for f64 {
    fn from(size: DustSize) -> Self {
        size.mm()
    }
}

impl TryFrom<f64> for DustSize {
    type Error = UnitError;
    fn try_from(got: f64) -> Result<Self, UnitError> {
        let wrong = UnitError { what: "the size of dust", wanted: "from 0.05 to 3 mm", got };
        if (0.05..=3.0).contains(&got) { Ok(Self::new(got)) } else { Err(wrong) }
    }
}

/// A mask by the SHA-256 of its file, 64 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct MaskId(String);

impl MaskId {
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl From<MaskId> for String {
    fn from(id: MaskId) -> Self {
        id.0
    }
}

impl TryFrom<String> for MaskId {
    type Error = &'static str;
    fn try_from(text: String) -> Result<Self, Self::Error> {
        // It becomes a file's name: nothing else may get in.
        let is_hash = text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
        if is_hash { Ok(Self(text)) } else { Err("a mask is named by 64 hexadecimal digits") }
    }
}

/// The resolution at which a page without pixels of its own is rasterised where none was chosen, in dpi: what the
/// masters of most machines have (common practice, no source).
pub const PAGE_DPI: f64 = 600.0;

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

impl ScanRef {
    /// The picture of which this is a plate; itself otherwise.
    #[must_use]
    pub fn picture(&self) -> Self {
        Self { key: ScanKey { plate: None, ..self.key.clone() }, ..self.clone() }
    }

    /// The last part of its path.
    pub fn file_name(&self) -> &str {
        self.path.rsplit(['/', '\\']).next().unwrap_or(&self.path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_without_a_resolution_is_written_as_it_always_was() {
        let old = format!("(sha256:\"{}\",page:0,gray:Luminance,lift_white:false)", "0".repeat(64));
        let key = ScanKey::new("0".repeat(64));
        assert_eq!(ron::to_string(&key).unwrap(), old);
        assert_eq!(ron::from_str::<ScanKey>(&old).unwrap(), key);
        for wrong in
            ["mask:Some(\"../x\")", "dust:Some((size:NaN,dpi:300.0))", "dust:Some((size:9.0,dpi:300.0))"]
        {
            assert!(ron::from_str::<ScanKey>(&old.replace(')', &format!(",{wrong})"))).is_err(), "{wrong}");
        }
        let mask = MaskId::try_from("a".repeat(64)).ok();
        let mended = ScanKey {
            mask,
            dust: Some(Dust { size: DustSize::new(0.7), dpi: Dpi::default() }),
            ..key.clone()
        };
        assert_eq!(ron::from_str::<ScanKey>(&ron::to_string(&mended).unwrap()).unwrap(), mended);
        assert_eq!(mended.as_scanned(), key);
        let finer = ScanKey { resolution: Dpi::new(1200.0).ok(), ..key.clone() };
        let again: ScanKey = ron::from_str(&ron::to_string(&finer).unwrap()).unwrap();
        assert!(again == finer && again != key);
    }
}
