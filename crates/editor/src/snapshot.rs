//! What work beside the window is done on.

use std::sync::{Arc, Weak};

use slipsheet_core::raster::Pyramid;
use slipsheet_document::layer::Art;
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_render::images::Images;

#[derive(Clone)]
pub struct Snapshot {
    pub project: Arc<Project>,
    pub printing: Arc<Printing>,
    /// Its pixels.
    pub images: Images,
    pub revision: u64,
}

impl Snapshot {
    /// What pictures of it depend on.
    pub(crate) fn shown(&self) -> Shown {
        let mut printing = Printing::clone(&self.printing);
        printing.title.clear();
        printing.job = Default::default();
        printing.sheet.accepted.clear();
        printing.sheet.editions.clear();
        Shown { printing, pixels: self.pixels() }
    }

    /// The pixels of the artwork.
    pub(crate) fn pixels(&self) -> Pixels {
        Pixels::of(&self.images, self.printing.sheet.art())
    }
}

/// What pictures depend on: a project without what none of them shows, and its pixels.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shown {
    pub printing: Printing,
    pub pixels: Pixels,
}

/// Which pixels artwork has: what is made of it is of these and no others. They are told apart without being kept.
#[derive(Debug, Clone)]
pub(crate) struct Pixels(Vec<Option<Weak<Pyramid>>>);

impl Pixels {
    /// Those of some artwork, piece by piece.
    pub fn of<'a>(images: &Images, art: impl Iterator<Item = &'a Art>) -> Self {
        Self(art.map(|a| images.get(&a.scan.key).map(Arc::downgrade)).collect())
    }

    /// Whether all of its scans are there.
    pub fn is_whole(&self) -> bool {
        self.0.iter().all(Option::is_some)
    }
}

impl PartialEq for Pixels {
    fn eq(&self, other: &Self) -> bool {
        let same = |a: &Option<Weak<Pyramid>>, b: &Option<Weak<Pyramid>>| match (a, b) {
            (Some(a), Some(b)) => Weak::ptr_eq(a, b),
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => false,
        };
        self.0.len() == other.0.len() && self.0.iter().zip(&other.0).all(|(a, b)| same(a, b))
    }
}

#[cfg(test)]
mod tests {
    use slipsheet_core::raster::GrayRaster;
    use slipsheet_core::units::{Dpi, SheetFormat};
    use slipsheet_document::ids::{ArtId, LayerId};
    use slipsheet_document::layer::{Layer, ScanKey, ScanRef, Target};
    use slipsheet_document::shelf::Shelf;

    use super::*;

    impl Snapshot {
        /// A snapshot of what is printed, without pixels and without the project that it is of.
        pub(crate) fn of(printing: &Printing) -> Self {
            let sheet = &printing.sheet;
            Self {
                project: Arc::new(Project::new("", sheet.format, sheet.stock.clone())),
                printing: Arc::new(printing.clone()),
                images: Images::default(),
                revision: 1,
            }
        }
    }

    #[test]
    fn pictures_depend_on_what_shows_and_on_the_very_pixels() {
        let shelf = Shelf::starter().unwrap();
        let key = ScanKey::new("a".repeat(64));
        let scan = ScanRef { path: String::new(), size: 1, key: key.clone(), dpi: Dpi::default() };
        let mut layer = Layer::new(LayerId::new(0), "sea", shelf.inks[0].clone());
        layer.art.push(Art::new(ArtId::new(0), scan, Target::Sheet));
        let mut printing = Printing::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        printing.sheet.layers.push(layer);
        let pixels = || Arc::new(Pyramid::new(GrayRaster::filled(4, 4, 9).unwrap(), Dpi::default()));
        let shown = |printing: &Printing, images: &Images| {
            Snapshot { images: images.clone(), ..Snapshot::of(printing) }.shown()
        };

        let mut images = Images::default();
        let missing = shown(&printing, &images);
        assert!(!missing.pixels.is_whole());
        images.insert(key.clone(), pixels());
        let known = shown(&printing, &images);
        assert!(known.pixels.is_whole() && known != missing);
        // A job that is done changes none of it, nor does a price.
        printing.job.copies = 80;
        assert!(shown(&printing, &images.clone()) == known);
        // The same scan, read again: its file may have changed.
        images.insert(key, pixels());
        assert!(shown(&printing, &images) != known);
        printing.sheet.layers[0].visible = false;
        assert!(shown(&printing, &images) != known);
    }
}
