//! The separated pictures of a sheet, and how they and their plates are kept together.

use super::Sheet;
use crate::ids::{ArtId, LayerId, SourceId};
use crate::layer::{Art, Layer, ScanRef};
use crate::source::{Recipe, Source};
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_paper::fold::Face;

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
