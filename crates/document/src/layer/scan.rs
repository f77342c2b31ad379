//! Which scan a layer uses, and how it is read.

use serde::{Deserialize, Serialize};

use slipsheet_core::units::Dpi;

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
}

impl ScanKey {
    /// The first page of a file as it is, in luminance.
    pub fn new(sha256: impl Into<String>) -> Self {
        Self { sha256: sha256.into(), page: 0, gray: GrayFrom::default(), clean: false, resolution: None }
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
        let finer = ScanKey { resolution: Dpi::new(1200.0).ok(), ..key.clone() };
        let again: ScanKey = ron::from_str(&ron::to_string(&finer).unwrap()).unwrap();
        assert!(again == finer && again != key);
    }
}
