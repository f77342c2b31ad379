//! Sources: a colour picture that is separated, and the layers that print its plates.
//!
//! Plates follow the stock, the inks, their order and readings; only the picture's file and how it is separated are kept.

use serde::{Deserialize, Serialize};

use crate::ids::{ArtId, SourceId};
use crate::layer::{Art, Crop, Placement, Plate, RecipeId, ScanKey, ScanRef, Target};
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::reading::Reading;
use slipsheet_core::separation::Separation;
use slipsheet_core::stock::Stock;

/// A colour picture on a sheet. Each of its plates is a piece of artwork on a layer of its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    pub id: SourceId,
    /// The picture's file, as its plates have it.
    pub picture: ScanRef,
    /// How it is separated.
    #[serde(default)]
    pub separation: Separation,
    /// Where it lies, with all of its plates.
    #[serde(default)]
    pub target: Target,
    #[serde(default)]
    pub placement: Placement,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crop: Option<Crop>,
    /// Its plates, in printing order.
    pub plates: Vec<ArtId>,
}

/// Everything that plates depend on besides the picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recipe {
    pub stock: Stock,
    /// In printing order.
    pub inks: Vec<Ink>,
    /// How each ink's layer is read.
    pub readings: Vec<Reading>,
    /// Measured overprints of these inks on this stock.
    pub overprints: Vec<OverprintSwatch>,
    pub separation: Separation,
    /// How fine the picture lies on the sheet, in pixels per mm.
    pub px_per_mm: f64,
}

impl Recipe {
    /// What tells it from others: FNV-1a over its text (Fowler, Noll and Vo; 128 bits).
    pub fn id(&self) -> RecipeId {
        const BASIS: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
        const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
        // Plain numbers and names always have a text.
        let text = ron::to_string(self).unwrap_or_default();
        let hash = text.bytes().fold(BASIS, |hash, byte| (hash ^ u128::from(byte)).wrapping_mul(PRIME));
        RecipeId::new(hash)
    }
}

impl Source {
    /// Whether a plate lies where the picture does, and is of the same file.
    pub(crate) fn is_as(&self, art: &Art) -> bool {
        (art.target, art.placement, art.crop) == (self.target, self.placement, self.crop)
            && art.scan.picture() == self.picture
    }

    /// The key of one of its plates.
    pub(crate) fn key(&self, recipe: &RecipeId, ink: usize) -> ScanKey {
        let ink = u8::try_from(ink).unwrap_or(u8::MAX);
        ScanKey { plate: Some(Box::new(Plate { recipe: recipe.clone(), ink })), ..self.picture.key.clone() }
    }

    /// A piece of artwork that is one of its plates, before its key is known.
    pub(crate) fn plate(&self, id: ArtId) -> Art {
        Art { placement: self.placement, crop: self.crop, ..Art::new(id, self.picture.clone(), self.target) }
    }
}
