//! Sources: a colour picture that is separated, and the layers that print its plates.
//!
//! Plates follow the stock, the inks, their order and readings; only the picture's file and how it is separated are kept.

use serde::{Deserialize, Serialize};

use crate::ids::{ArtId, LayerId, SourceId};
use crate::layer::{Art, Crop, Layer, Placement, ScanKey, ScanRef, Target};
use crate::sheet::Sheet;
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::reading::Reading;
use slipsheet_core::separation::Separation;
use slipsheet_core::stock::Stock;
use slipsheet_paper::fold::Face;

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

/// The plate of a separated picture: of which inks, and which of them.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plate {
    /// Everything that the plates depend on besides the picture.
    pub recipe: RecipeId,
    /// Which ink of the recipe, from 0.
    pub ink: u8,
}

/// What tells recipes apart: a hash of 32 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct RecipeId(String);

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
        RecipeId(format!("{hash:032x}"))
    }
}

impl Source {
    /// Whether a plate lies where the picture does, and is of the same file.
    fn is_as(&self, art: &Art) -> bool {
        (art.target, art.placement, art.crop) == (self.target, self.placement, self.crop)
            && art.scan.picture() == self.picture
    }

    /// The key of one of its plates.
    fn key(&self, recipe: &RecipeId, ink: usize) -> ScanKey {
        let ink = u8::try_from(ink).unwrap_or(u8::MAX);
        ScanKey { plate: Some(Box::new(Plate { recipe: recipe.clone(), ink })), ..self.picture.key.clone() }
    }

    /// A piece of artwork that is one of its plates, before its key is known.
    pub(crate) fn plate(&self, id: ArtId) -> Art {
        Art { placement: self.placement, crop: self.crop, ..Art::new(id, self.picture.clone(), self.target) }
    }
}

/// A plate that is there, by its layer.
struct There {
    art: ArtId,
    layer: LayerId,
}

impl Sheet {
    /// The source of which a piece of artwork is a plate.
    pub fn source_of(&self, art: ArtId) -> Option<&Source> {
        self.sources.iter().find(|source| source.plates.contains(&art))
    }

    pub fn source(&self, id: SourceId) -> Option<&Source> {
        self.sources.iter().find(|source| source.id == id)
    }

    /// The layers that print the plates of a source, in printing order.
    pub fn layers_of(&self, source: &Source) -> Vec<&Layer> {
        let prints = |layer: &&Layer| layer.art.iter().any(|art| source.plates.contains(&art.id));
        self.layers.iter().filter(prints).collect()
    }

    /// What the plates of a source depend on besides its picture.
    pub fn recipe(&self, source: &Source, overprints: &[OverprintSwatch]) -> Recipe {
        let layers = self.layers_of(source);
        let inks: Vec<Ink> = layers.iter().map(|layer| layer.ink.clone()).collect();
        let concerns = |swatch: &&OverprintSwatch| {
            swatch.stock == self.stock.name
                && swatch.inks.iter().all(|name| inks.iter().any(|ink| ink.name == *name))
        };
        let scale = source.placement.scale.get();
        Recipe {
            overprints: overprints.iter().filter(concerns).cloned().collect(),
            stock: self.stock.clone(),
            readings: layers.iter().map(|layer| layer.reading).collect(),
            inks,
            separation: source.separation,
            // The filter of detail asks for no more.
            px_per_mm: libm::round(source.picture.dpi.px_per_mm() / scale * 10.0) / 10.0,
        }
    }

    /// Brings sources and their plates together after an edit: plates that are gone are forgotten, one that was moved
    /// takes the others along, and every plate is that of the inks as they are now.
    pub(crate) fn settle_sources(&mut self, overprints: &[OverprintSwatch]) {
        let mut sources = std::mem::take(&mut self.sources);
        for source in &mut sources {
            let there = self.plates_there(source);
            if let Some(art) = there.iter().filter_map(|t| self.art_of(t)).find(|art| !source.is_as(art)) {
                (source.target, source.placement, source.crop) = (art.target, art.placement, art.crop);
                source.picture = art.scan.picture();
            }
            source.plates = there.iter().map(|there| there.art).collect();
            let recipe = self.recipe(source, overprints).id();
            for (ink, there) in there.iter().enumerate() {
                let key = source.key(&recipe, ink);
                let layer = self.layers.iter_mut().find(|layer| layer.id == there.layer);
                if let Some(art) = layer.and_then(|l| l.art.iter_mut().find(|art| art.id == there.art)) {
                    (art.target, art.placement, art.crop) = (source.target, source.placement, source.crop);
                    art.scan = ScanRef { key, ..source.picture.clone() };
                    art.regions.clear();
                }
            }
        }
        sources.retain(|source| !source.plates.is_empty());
        self.sources = sources;
    }

    /// The plates of a source that the sheet has, in printing order. A layer prints one plate of a picture: of two that
    /// came onto it the later one goes.
    fn plates_there(&mut self, source: &Source) -> Vec<There> {
        let mut there = Vec::new();
        for layer in &mut self.layers {
            let mut first = true;
            layer.art.retain(|art| !source.plates.contains(&art.id) || std::mem::take(&mut first));
            let plate = layer.art.iter().find(|art| source.plates.contains(&art.id));
            there.extend(plate.map(|art| There { art: art.id, layer: layer.id }));
        }
        there
    }

    fn art_of(&self, there: &There) -> Option<&Art> {
        self.layer(there.layer)?.art.iter().find(|art| art.id == there.art)
    }

    /// The layer of a face that prints this ink already.
    pub(crate) fn layer_in(&self, ink: &Ink, face: Face) -> Option<LayerId> {
        self.layers.iter().find(|layer| layer.face == face && layer.ink == *ink).map(|layer| layer.id)
    }
}
