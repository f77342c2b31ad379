//! The pixels beside a project: the scans as they were read, and what readings make of them.

use std::collections::{BTreeMap, BTreeSet};
use std::mem::{Discriminant, discriminant};
use std::sync::{Arc, Mutex, PoisonError};

use slipsheet_core::moire::{self, Texture};
use slipsheet_core::raster::Pyramid;
use slipsheet_core::reading::{Mode, Prepared, Reading, Whole};
use slipsheet_core::screen::Screen;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::{Layer, ScanKey};
use slipsheet_document::project::Project;
use slipsheet_paper::fold::Scheme;

/// How many derived things are kept; the oldest go first.
const KEPT: usize = 24;
/// The most bytes of scans as readings see them; those used last are kept.
const TONED_BYTES: usize = 512 << 20;
/// How many prepared parts are kept: one for each piece of a layer, or of the readings that are compared.
const PARTS: usize = 8;

/// A part of one halving of a scan, in pixels of that halving (0 is the scan).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// Which halving.
    pub level: usize,
    /// First column.
    pub x: u32,
    /// First row.
    pub y: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

/// The pixels of a project's scans. Copies share them, and what was derived from them.
#[derive(Debug, Clone, Default)]
pub struct Images {
    scans: BTreeMap<ScanKey, Arc<Pyramid>>,
    derived: Arc<Mutex<Derived>>,
}

/// What a part was prepared from, and for which mode.
type KnownPart = (ScanKey, Dpi, Discriminant<Mode>, Part, Arc<Prepared>);

/// Things that follow from scans and readings alone, kept by what they depend on and never edited.
#[derive(Debug, Default)]
struct Derived {
    toned: Vec<(ScanKey, Dpi, Reading, Arc<Pyramid>)>,
    wholes: Vec<(ScanKey, Dpi, Discriminant<Mode>, Whole)>,
    parts: Vec<KnownPart>,
    screens: Vec<(Reading, Dpi, usize, Arc<Screen>)>,
    textures: Vec<(ScanKey, Dpi, Arc<Vec<Texture>>)>,
    remedied: Vec<(RemediedKey, Arc<Pyramid>)>,
}

/// What a layer's plate with its remedies depends on.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RemediedKey {
    /// The layer, and those that its remedies look at, with everything left out that does not count.
    pub layers: Vec<Layer>,
    /// Which of their scans were there: a plate made without one is no plate of the layer.
    pub loaded: Vec<bool>,
    /// The sheet.
    pub sheet: Size,
    /// The fold.
    pub fold: Option<Scheme>,
    /// Resolution of the plate.
    pub dpi: Dpi,
}

/// Plates with remedies that are kept; they are large.
const REMEDIED: usize = 6;
/// The most bytes of them; the one made last is kept in any case.
const REMEDIED_BYTES: usize = 1 << 30;

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

    /// Puts the pixels of a scan in. What was derived from others under its key is forgotten.
    pub fn insert(&mut self, key: ScanKey, pixels: Arc<Pyramid>) {
        let replaced = self.scans.get(&key).is_some_and(|old| !Arc::ptr_eq(old, &pixels));
        let mut derived = self.derived();
        // A plate with remedies was made of the scans that were there.
        derived.remedied.clear();
        if replaced {
            derived.toned.retain(|(k, ..)| *k != key);
            derived.wholes.retain(|(k, ..)| *k != key);
            derived.parts.retain(|(k, ..)| *k != key);
            derived.textures.retain(|(k, ..)| *k != key);
        }
        drop(derived);
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
        let known = |d: &mut Derived| {
            let at = d.toned.iter().position(|(k, r, g, _)| k == key && *r == dpi && *g == reading)?;
            // What was used last is let go last.
            let used = d.toned.remove(at);
            let toned = Arc::clone(&used.3);
            d.toned.push(used);
            Some(toned)
        };
        if let Some(toned) = known(&mut self.derived()) {
            return Some(toned);
        }
        // Worked out without holding the lock, so that other pictures go on; twice the same is no harm.
        let toned = Arc::new(Pyramid::new(reading.tones(scan.full(), dpi), scan.dpi()));
        let mut derived = self.derived();
        derived.toned.push((key.clone(), dpi, reading, Arc::clone(&toned)));
        while derived.toned.len() > 1
            && derived.toned.iter().map(|t| t.3.bytes()).sum::<usize>() > TONED_BYTES
        {
            derived.toned.remove(0);
        }
        Some(toned)
    }

    /// A part of a scan prepared for a mode, so that each setting of it is read quickly. `dpi` is the scan's.
    /// What depends on the whole scan is looked for once.
    pub fn prepared(&self, key: &ScanKey, dpi: Dpi, reading: &Reading, part: Part) -> Option<Arc<Prepared>> {
        let scan = Arc::clone(self.scans.get(key)?);
        let mode = discriminant(&reading.mode);
        let same = |(k, r, m): (&ScanKey, &Dpi, &Discriminant<Mode>)| k == key && *r == dpi && *m == mode;
        if let Some(known) = self.derived().parts.iter().find(|p| same((&p.0, &p.1, &p.2)) && p.3 == part) {
            return Some(Arc::clone(&known.4));
        }
        let known = self.derived().wholes.iter().find(|w| same((&w.0, &w.1, &w.2))).map(|w| w.3.clone());
        let whole = known.clone().unwrap_or_else(|| reading.learn(scan.full(), dpi));
        let pixels = scan.level(part.level).part(part.x, part.y, part.width, part.height)?;
        let part_dpi = Dpi::new(dpi.get() / (1_u64 << part.level.min(32)) as f64).ok()?;
        let prepared = Arc::new(reading.prepare(pixels, part_dpi, (part.x, part.y), &whole));
        let mut derived = self.derived();
        if known.is_none() {
            derived.wholes.push((key.clone(), dpi, mode, whole));
        }
        derived.parts.push((key.clone(), dpi, mode, part, Arc::clone(&prepared)));
        if derived.parts.len() > PARTS {
            derived.parts.remove(0);
        }
        Some(prepared)
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
        let bytes = |kept: &[(RemediedKey, Arc<Pyramid>)]| kept.iter().map(|(_, p)| p.bytes()).sum::<usize>();
        while derived.remedied.len() > 1
            && (derived.remedied.len() > REMEDIED || bytes(&derived.remedied) > REMEDIED_BYTES)
        {
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
        let used: BTreeSet<&ScanKey> = projects.flat_map(Project::every_art).map(|a| &a.scan.key).collect();
        self.scans.retain(|key, _| used.contains(key));
        let mut derived = self.derived();
        derived.toned.retain(|(key, ..)| used.contains(key));
        derived.wholes.retain(|(key, ..)| used.contains(key));
        derived.parts.retain(|(key, ..)| used.contains(key));
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
