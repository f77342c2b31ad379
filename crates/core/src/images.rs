//! The pixels beside a project: the scans as they were read, and what readings make of them.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use crate::fold::Scheme;
use crate::layer::{Layer, ScanKey};
use crate::moire::{self, Texture};
use crate::project::Project;
use crate::raster::Pyramid;
use crate::reading::Reading;
use crate::screen::Screen;
use crate::units::{Dpi, Size};

/// How many derived things are kept; the oldest go first.
const KEPT: usize = 24;

/// The pixels of a project's scans. Copies share them, and what was derived from them.
#[derive(Debug, Clone, Default)]
pub struct Images {
    scans: BTreeMap<ScanKey, Arc<Pyramid>>,
    derived: Arc<Mutex<Derived>>,
}

/// Things that follow from scans and readings alone, kept by what they depend on and never edited.
#[derive(Debug, Default)]
struct Derived {
    toned: Vec<(ScanKey, Dpi, Reading, Arc<Pyramid>)>,
    screens: Vec<(Reading, Dpi, usize, Arc<Screen>)>,
    textures: Vec<(ScanKey, Dpi, Arc<Vec<Texture>>)>,
    remedied: Vec<(RemediedKey, Arc<Pyramid>)>,
}

/// What a layer's plate with its remedies depends on.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RemediedKey {
    /// The layer, and those that its remedies look at, with everything left out that does not count.
    pub layers: Vec<Layer>,
    /// The sheet.
    pub sheet: Size,
    /// The fold.
    pub fold: Option<Scheme>,
    /// Resolution of the plate.
    pub dpi: Dpi,
}

/// Plates with remedies that are kept; they are large.
const REMEDIED: usize = 6;

impl PartialEq for Images {
    fn eq(&self, other: &Self) -> bool {
        self.scans == other.scans
    }
}

impl Images {
    /// The pixels of a scan, when they are loaded.
    pub fn get(&self, key: &ScanKey) -> Option<&Arc<Pyramid>> {
        self.scans.get(key)
    }

    /// Puts the pixels of a scan in.
    pub fn insert(&mut self, key: ScanKey, pixels: Arc<Pyramid>) {
        // A plate with remedies was made of the scans that were there.
        self.derived().remedied.clear();
        self.scans.insert(key, pixels);
    }

    /// A scan as a reading sees it. Readings that are one table for all grays leave the scan as it is (see
    /// [`Reading::gray_table`]); the others are worked out once, which takes a while for a large scan.
    pub fn toned(&self, key: &ScanKey, dpi: Dpi, reading: &Reading) -> Option<Arc<Pyramid>> {
        let scan = Arc::clone(self.scans.get(key)?);
        if reading.gray_table().is_some() {
            return Some(scan);
        }
        let reading = reading.tones_only();
        let known = |d: &Derived| {
            d.toned
                .iter()
                .find(|(k, r, g, _)| k == key && *r == dpi && *g == reading)
                .map(|t| Arc::clone(&t.3))
        };
        if let Some(toned) = known(&self.derived()) {
            return Some(toned);
        }
        // Worked out without holding the lock, so that other pictures go on; twice the same is no harm.
        let toned = Arc::new(Pyramid::new(reading.tones(scan.full(), dpi), scan.dpi()));
        let mut derived = self.derived();
        derived.toned.push((key.clone(), dpi, reading, Arc::clone(&toned)));
        if derived.toned.len() > KEPT {
            derived.toned.remove(0);
        }
        Some(toned)
    }

    /// The screen of a reading for a layer.
    pub fn screen(&self, reading: &Reading, press: Dpi, layer: usize) -> Arc<Screen> {
        let reading = Reading::of(reading.mode);
        let same = |s: &&(Reading, Dpi, usize, Arc<Screen>)| (s.0, s.1, s.2) == (reading, press, layer);
        if let Some(known) = self.derived().screens.iter().find(same) {
            return Arc::clone(&known.3);
        }
        let screen = Arc::new(reading.screen(press, layer));
        let mut derived = self.derived();
        derived.screens.push((reading, press, layer, Arc::clone(&screen)));
        if derived.screens.len() > KEPT {
            derived.screens.remove(0);
        }
        screen
    }

    /// A layer's plate with its remedies, made once.
    pub(crate) fn remedied(
        &self,
        key: RemediedKey,
        make: impl FnOnce() -> Option<Pyramid>,
    ) -> Option<Arc<Pyramid>> {
        if let Some(known) = self.derived().remedied.iter().find(|(k, _)| *k == key) {
            return Some(Arc::clone(&known.1));
        }
        let made = Arc::new(make()?);
        let mut derived = self.derived();
        derived.remedied.push((key, Arc::clone(&made)));
        if derived.remedied.len() > REMEDIED {
            derived.remedied.remove(0);
        }
        Some(made)
    }

    /// What repeats in a scan.
    pub fn textures(&self, key: &ScanKey, dpi: Dpi) -> Option<Arc<Vec<Texture>>> {
        let scan = Arc::clone(self.scans.get(key)?);
        if let Some(known) = self.derived().textures.iter().find(|(k, r, _)| k == key && *r == dpi) {
            return Some(Arc::clone(&known.2));
        }
        let textures = Arc::new(moire::textures(scan.full(), dpi));
        let mut derived = self.derived();
        derived.textures.push((key.clone(), dpi, Arc::clone(&textures)));
        if derived.textures.len() > KEPT {
            derived.textures.remove(0);
        }
        Some(textures)
    }

    /// Forgets the pixels that no listed project uses.
    pub fn keep_used<'a>(&mut self, projects: impl Iterator<Item = &'a Project>) {
        let used: BTreeSet<&ScanKey> =
            projects.flat_map(|p| &p.layers).flat_map(|l| &l.art).map(|a| &a.scan.key).collect();
        self.scans.retain(|key, _| used.contains(key));
        let mut derived = self.derived();
        derived.toned.retain(|(key, ..)| used.contains(key));
        derived.textures.retain(|(key, ..)| used.contains(key));
        derived.remedied.clear();
    }

    /// Bytes held by the scans, halvings included.
    pub fn bytes(&self) -> usize {
        self.scans.values().map(|p| p.bytes()).sum()
    }

    fn derived(&self) -> std::sync::MutexGuard<'_, Derived> {
        self.derived.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
