//! The pixels beside a project: the scans as they were read, and what readings make of them.

use std::collections::{BTreeMap, BTreeSet};
use std::mem::{Discriminant, discriminant};
use std::sync::Arc;

use slipsheet_base::cache::{Bytes as _, Cache};
use slipsheet_core::moire::{self, Texture};
use slipsheet_core::raster::Pyramid;
use slipsheet_core::reading::{BarePaper, Mode, Prepared, Reading, Whole};
use slipsheet_core::scan_quality::ScanQuality;
use slipsheet_core::screen::Screen;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::{Art, Layer, Region, ScanKey};
use slipsheet_document::project::Project;
use slipsheet_paper::fold::Scheme;

use crate::regions;

/// The most bytes of scans as readings see them, of parts that are ready to be read, and of plates with remedies.
const TONED_BYTES: usize = 512 << 20;
const PARTS_BYTES: usize = 256 << 20;
const REMEDIED_BYTES: usize = 1 << 30;
/// The most bytes of each kind of what is small.
const SMALL_BYTES: usize = 16 << 20;

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
    derived: Arc<Derived>,
}

type Scan = (ScanKey, Dpi);

/// Things that follow from scans and readings alone, kept by what they depend on and never edited.
#[derive(Default, Debug)]
struct Derived {
    toned: Cache<(Scan, Reading), Pyramid, TONED_BYTES>,
    wholes: Cache<(Scan, Discriminant<Mode>), Whole, SMALL_BYTES>,
    parts: Cache<(Scan, Discriminant<Mode>, Part), Prepared, PARTS_BYTES>,
    screens: Cache<(Reading, Dpi, usize), Screen, SMALL_BYTES>,
    textures: Cache<Scan, Vec<Texture>, SMALL_BYTES>,
    qualities: Cache<Scan, ScanQuality, SMALL_BYTES>,
    papers: Cache<Scan, Vec<BarePaper>, SMALL_BYTES>,
    arts: Cache<Scan, Pyramid, TONED_BYTES>,
    regions: Cache<(Scan, Reading, Vec<Region>), Pyramid, TONED_BYTES>,
    remedied: Cache<RemediedKey, Pyramid, REMEDIED_BYTES>,
}

impl Derived {
    /// Lets go what was made of scans that are not wanted.
    fn retain(&self, wanted: impl Fn(&ScanKey) -> bool) {
        self.toned.retain(|(scan, _)| wanted(&scan.0));
        self.wholes.retain(|(scan, _)| wanted(&scan.0));
        self.parts.retain(|(scan, ..)| wanted(&scan.0));
        self.textures.retain(|scan| wanted(&scan.0));
        self.qualities.retain(|scan| wanted(&scan.0));
        self.papers.retain(|scan| wanted(&scan.0));
        self.arts.retain(|scan| wanted(&scan.0));
        self.regions.retain(|(scan, ..)| wanted(&scan.0));
        self.remedied.retain(|key| key.scans().all(&wanted));
    }
}

/// A scan whose paper is looked for when someone asks.
#[derive(Debug, Clone)]
pub(crate) struct Scanned {
    scan: Scan,
    pixels: Arc<Pyramid>,
    derived: Arc<Derived>,
}

impl Scanned {
    /// Its bare paper, found once; `None` where there is none to clean.
    fn paper(&self) -> Option<BarePaper> {
        let find = || Some(BarePaper::of(self.pixels.full(), self.scan.1).into_iter().collect());
        self.derived.papers.get_or_make(self.scan.clone(), find)?.first().copied()
    }

    /// The scan with its bare paper white, made once; the scan itself where that was done when it was read, or where
    /// there is none to clean.
    pub fn art(&self) -> Arc<Pyramid> {
        if self.scan.0.clean || self.paper().is_none() {
            return Arc::clone(&self.pixels);
        }
        let make = || {
            let mut cleaned = self.pixels.full().clone();
            BarePaper::clean(&mut cleaned, self.scan.1);
            Some(Pyramid::new(cleaned, self.pixels.dpi()))
        };
        let made = self.derived.arts.get_or_make(self.scan.clone(), make);
        made.unwrap_or_else(|| Arc::clone(&self.pixels))
    }
}

/// What a layer's plate with its remedies depends on.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RemediedKey {
    /// The layer, and those that its remedies look at, with everything left out that does not count.
    pub layers: Vec<Layer>,
    /// Which of their scans were there: a plate made without one is no plate of the layer.
    pub loaded: Vec<bool>,
    pub sheet: Size,
    pub fold: Option<Scheme>,
    pub dpi: Dpi,
}

impl RemediedKey {
    fn scans(&self) -> impl Iterator<Item = &ScanKey> {
        self.layers.iter().flat_map(|l| &l.art).map(|a| &a.scan.key)
    }
}

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
        if self.scans.get(&key).is_some_and(|old| !Arc::ptr_eq(old, &pixels)) {
            self.derived.retain(|k| *k != key);
        }
        self.scans.insert(key, pixels);
    }

    /// A scan as a reading sees it. Readings that are one table for all grays leave the scan as it is (see
    /// [`Reading::gray_table`]); the others are worked out once, which takes a while for a large scan.
    pub fn toned(&self, key: &ScanKey, dpi: Dpi, reading: &Reading) -> Option<Arc<Pyramid>> {
        let scan = self.scans.get(key)?;
        if reading.gray_table().is_some() {
            return Some(Arc::clone(scan));
        }
        let reading = reading.tones_only();
        let make = || Some(Pyramid::new(reading.tones(scan.full(), dpi), scan.dpi()));
        self.derived.toned.get_or_make(((key.clone(), dpi), reading), make)
    }

    /// A piece of artwork as its layer reads it, with the parts that are read otherwise. Where the layer's reading is one
    /// table of grays for all of it ([`Layer::gray_table`]) the scan is left as it is.
    pub fn read(&self, layer: &Layer, art: &Art) -> Option<Arc<Pyramid>> {
        let (key, dpi) = (&art.scan.key, art.scan.dpi);
        // Where another piece has regions, the table is not applied later, and so it is applied here.
        let left = layer.gray_table().is_some() || layer.reading.gray_table().is_none();
        if art.regions.is_empty() && left {
            return self.toned(key, dpi, &layer.reading);
        }
        let scan = self.scans.get(key)?;
        let of = ((key.clone(), dpi), layer.reading.tones_only(), art.regions.clone());
        let make =
            || Some(Pyramid::new(regions::tones(scan.full(), dpi, &layer.reading, &art.regions), scan.dpi()));
        self.derived.regions.get_or_make(of, make)
    }

    /// A part of a scan prepared for a mode, so that each setting of it is read quickly. `dpi` is the scan's.
    /// What depends on the whole scan is looked for once.
    pub fn prepared(&self, key: &ScanKey, dpi: Dpi, reading: &Reading, part: Part) -> Option<Arc<Prepared>> {
        let scan = self.scans.get(key)?;
        let (of, mode) = ((key.clone(), dpi), discriminant(&reading.mode));
        self.derived.parts.get_or_make((of.clone(), mode, part), || {
            let learn = || Some(reading.learn(scan.full(), dpi));
            let whole = self.derived.wholes.get_or_make((of, mode), learn)?;
            let pixels = scan.level(part.level).part(part.x, part.y, part.width, part.height)?;
            let part_dpi = Dpi::new(dpi.get() / (1_u64 << part.level.min(32)) as f64).ok()?;
            Some(reading.prepare(pixels, part_dpi, (part.x, part.y), &whole))
        })
    }

    pub fn screen(&self, reading: &Reading, press: Dpi, layer: usize) -> Arc<Screen> {
        let reading = Reading::of(reading.mode);
        let make = || reading.screen(press, layer);
        let known = self.derived.screens.get_or_make((reading, press, layer), || Some(make()));
        known.unwrap_or_else(|| Arc::new(make()))
    }

    /// A layer's plate with its remedies, made once.
    pub(crate) fn remedied(
        &self,
        key: RemediedKey,
        make: impl FnOnce() -> Option<Pyramid>,
    ) -> Option<Arc<Pyramid>> {
        self.derived.remedied.get_or_make(key, make)
    }

    pub(crate) fn scanned(&self, key: &ScanKey, dpi: Dpi) -> Option<Scanned> {
        let (pixels, derived) = (Arc::clone(self.scans.get(key)?), Arc::clone(&self.derived));
        Some(Scanned { scan: (key.clone(), dpi), pixels, derived })
    }

    /// The bare paper of a scan, where it has any that is not white; looked for once.
    pub fn paper(&self, key: &ScanKey, dpi: Dpi) -> Option<BarePaper> {
        self.scanned(key, dpi)?.paper()
    }

    /// What is drawn on a scan: its pixels with the bare paper white ([`BarePaper::clean`]).
    pub fn art(&self, key: &ScanKey, dpi: Dpi) -> Option<Arc<Pyramid>> {
        Some(self.scanned(key, dpi)?.art())
    }

    pub fn textures(&self, key: &ScanKey, dpi: Dpi) -> Option<Arc<Vec<Texture>>> {
        let scan = self.scans.get(key)?;
        self.derived.textures.get_or_make((key.clone(), dpi), || Some(moire::textures(scan.full(), dpi)))
    }

    /// What was measured of a scan at its resolution, once.
    pub fn quality(&self, key: &ScanKey, dpi: Dpi) -> Option<Arc<ScanQuality>> {
        let scan = self.scans.get(key)?;
        self.derived.qualities.get_or_make((key.clone(), dpi), || Some(ScanQuality::of(scan.full(), dpi)))
    }

    /// Forgets the pixels that no listed project uses.
    pub fn keep_used<'a>(&mut self, projects: impl Iterator<Item = &'a Project>) {
        let used: BTreeSet<&ScanKey> = projects.flat_map(Project::every_art).map(|a| &a.scan.key).collect();
        self.scans.retain(|key, _| used.contains(key));
        self.derived.retain(|key| used.contains(key));
    }

    /// Bytes held by the scans, halvings included.
    pub fn bytes(&self) -> usize {
        self.scans.values().map(|p| p.bytes()).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::raster::GrayRaster;

    #[test]
    fn a_scan_is_measured_once_and_again_when_its_pixels_are_others() {
        let (key, dpi) = (ScanKey::new("a"), Dpi::new(300.0).unwrap());
        let with = |images: &mut Images, gray: u8| {
            let raster = GrayRaster::filled(300, 300, gray).unwrap();
            images.insert(key.clone(), Arc::new(Pyramid::new(raster, dpi)));
        };
        let mut images = Images::default();
        assert!(images.quality(&key, dpi).is_none());
        with(&mut images, 200);
        let first = images.quality(&key, dpi).unwrap();
        assert!(Arc::ptr_eq(&first, &images.clone().quality(&key, dpi).unwrap()));
        with(&mut images, 100);
        let second = images.quality(&key, dpi).unwrap();
        assert_eq!((first.lightest, second.lightest), (200.0, 100.0));
    }
}
