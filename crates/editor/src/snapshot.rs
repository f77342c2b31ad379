//! What work beside the window is done on.

use std::sync::{Arc, Weak};

use slipsheet_core::raster::Pyramid;
use slipsheet_document::layer::Art;
use slipsheet_document::project::Project;
use slipsheet_render::images::Images;

/// A snapshot to draw from.
#[derive(Clone)]
pub struct Snapshot {
    /// The project.
    pub project: Arc<Project>,
    /// Its pixels.
    pub images: Images,
    /// The session's revision.
    pub revision: u64,
}

impl Snapshot {
    /// What pictures of it depend on.
    pub(crate) fn shown(&self) -> Shown {
        let mut project = Project::clone(&self.project);
        project.title.clear();
        project.job = Default::default();
        project.accepted.clear();
        project.editions.clear();
        Shown { project, pixels: self.pixels() }
    }

    /// The pixels of the layers' artwork.
    pub(crate) fn pixels(&self) -> Pixels {
        Pixels::of(&self.images, self.project.layers.iter().flat_map(|l| &l.art))
    }
}

/// What pictures depend on: a project without what none of them shows, and its pixels.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shown {
    pub project: Project,
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
    use slipsheet_document::layer::{Layer, ScanKey, ScanRef, Target};
    use slipsheet_document::shelf::Shelf;

    use super::*;

    #[test]
    fn pictures_depend_on_what_shows_and_on_the_very_pixels() {
        let shelf = Shelf::starter().unwrap();
        let key = ScanKey::new("a".repeat(64));
        let scan = ScanRef { path: String::new(), size: 1, key: key.clone(), dpi: Dpi::default() };
        let mut layer = Layer::new("sea".to_owned(), shelf.inks[0].clone());
        layer.art.push(Art::new(scan, Target::Sheet));
        let mut project = Project::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        project.layers.push(layer);
        let pixels = || Arc::new(Pyramid::new(GrayRaster::filled(4, 4, 9).unwrap(), Dpi::default()));
        let shown = |project: &Project, images: &Images| {
            Snapshot { project: Arc::new(project.clone()), images: images.clone(), revision: 1 }.shown()
        };

        let mut images = Images::default();
        let missing = shown(&project, &images);
        assert!(!missing.pixels.is_whole());
        images.insert(key.clone(), pixels());
        let known = shown(&project, &images);
        assert!(known.pixels.is_whole() && known != missing);
        // A job that is done changes none of it, nor does a price.
        project.job.copies = 80;
        assert!(shown(&project, &images.clone()) == known);
        // The same scan, read again: its file may have changed.
        images.insert(key, pixels());
        assert!(shown(&project, &images) != known);
        project.layers[0].visible = false;
        assert!(shown(&project, &images) != known);
    }
}
