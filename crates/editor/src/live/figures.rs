//! What is known of the layers: how much each covers and how it looks in small, kept by what it depends on.

use std::sync::Arc;

use slipsheet_base::cache::{Bytes, Cache};
use slipsheet_booking::preflight;
use slipsheet_core::gray_check::GrayCheck;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::Mode;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::{Art, Layer, Target};
use slipsheet_document::printing::Printing;
use slipsheet_files::logged;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

use crate::snapshot::Pixels;

/// What is known of one layer: how much it covers and how it looks in small.
#[derive(Debug, Clone, PartialEq)]
pub struct FacePrint {
    /// Mean effective coverage over the sheet, 0..=1; of a booklet over the sides that have artwork.
    pub coverage: f64,
    /// The plate in small, 0 full ink.
    pub thumbnail: GrayRaster,
    /// Its grays against what its ink can print, from a picture of some 900 pixels.
    pub check: GrayCheck,
    /// Said when a pale ink's original was prepared pale.
    pub pale: Option<String>,
}

/// What a layer's figures depend on.
#[derive(PartialEq, Clone)]
struct FigureKey {
    art: Vec<Art>,
    pixels: Pixels,
    ink: slipsheet_core::ink::Ink,
    reading: slipsheet_core::reading::Reading,
    remedies: Vec<slipsheet_document::remedy::Remedy>,
    under: Vec<Art>,
    sheet: Size,
    fold: Option<slipsheet_paper::fold::Scheme>,
    booklet: Option<slipsheet_paper::booklet::Booklet>,
    face: Face,
}

/// The artwork of other layers that a layer's remedies look at.
fn looked_at(printing: &Printing, layer: &Layer) -> Vec<Art> {
    let others = layer.remedies.iter().filter_map(slipsheet_document::remedy::Remedy::other);
    others.filter_map(|id| printing.sheet.layer(id)).flat_map(|l| l.art.clone()).collect()
}

impl FigureKey {
    fn of(printing: &Printing, images: &Images, layer: &Layer) -> Self {
        let under = looked_at(printing, layer);
        Self {
            art: layer.art.clone(),
            pixels: Pixels::of(images, layer.art.iter().chain(&under)),
            ink: layer.ink.clone(),
            reading: layer.reading,
            sheet: printing.sheet.size(),
            remedies: layer.remedies.clone(),
            under,
            fold: printing.sheet.fold.clone(),
            booklet: printing.sheet.booklet.clone(),
            face: layer.face,
        }
    }
}

/// Thumbnails are this many pixels along the sheet's longer side, and what figures are taken from.
const THUMBNAIL: f64 = 220.0;
const MEDIUM: f64 = 900.0;
/// The most bytes that are kept of layers that are not as they were.
const PRINT_BYTES: usize = 32 << 20;

impl Bytes for FacePrint {
    fn bytes(&self) -> usize {
        self.thumbnail.pixels().len() + self.pale.as_ref().map_or(0, String::len)
    }
}

impl FacePrint {
    /// Looks at one layer as it is meant to lie.
    fn of(printing: &Printing, images: &Images, i: usize) -> Option<Self> {
        let sheet = printing.sheet.size();
        let longest = sheet.width.get().max(sheet.height.get()).max(1.0);
        let view = |side: f64| View::sheet(sheet, Dpi::nearest((side / longest * 25.4).clamp(10.0, 300.0)));
        let layer = printing.sheet.layers.get(i)?;
        let mut thumbnail = None;
        let (mut coverage, mut counts, mut removed, mut sides) = (0.0, [0; 256], 0, 0);
        for (sheet, face) in sides_of(printing, i) {
            let one = printing.number(sheet);
            // What an ink prints on the other face of a booklet lies on a layer of that sheet alone.
            let there = (0..one.sheet.layers.len())
                .find(|k| one.sheet.layers.get(*k).is_some_and(|l| (l.id, l.face) == (layer.id, face)));
            let Some(k) = there else { continue };
            let show = Show { solo: Some(k), ..Show::meant(face) };
            let scene = logged("a layer's figures", Scene::new(&one, images, show))?;
            let grays = scene.plate(k, &view(MEDIUM))?;
            if thumbnail.is_none() {
                thumbnail = scene.plate(k, &view(THUMBNAIL));
            }
            coverage += scene.coverage_of(k, &grays);
            removed += scene.drawn(k, &view(MEDIUM)).map_or(0, |d| d.count_removed());
            sides += 1;
            let table = layer.gray_table();
            for (gray, n) in slipsheet_core::reading::histogram(grays.pixels()).into_iter().enumerate() {
                let read = table.map_or(gray, |t| usize::from(t[gray]));
                if let Some(count) = counts.get_mut(read) {
                    *count += n;
                }
            }
        }
        let (thumbnail, coverage) = (thumbnail?, coverage / f64::from(sides.max(1)));
        let mut check = GrayCheck::of_histogram(counts, &layer.ink.curve);
        if matches!(layer.reading.mode, Mode::Line) && !layer.has_regions() {
            // A line reading asks for no tones; what lies between is the picture's own averaging of edges.
            (check.vanishes, check.clogs) = (0.0, 0.0);
        }
        let check = check.with_removed(removed);
        Some(Self { coverage, thumbnail, check, pale: preflight::drawn_pale(layer, images) })
    }
}

/// The sides of sheets that a layer prints on: its face of a single sheet, and of a booklet those on which it has
/// artwork, or the first side where it has none at all.
fn sides_of(printing: &Printing, i: usize) -> Vec<(usize, Face)> {
    let Some(layer) = printing.sheet.layers.get(i) else { return Vec::new() };
    let Some(booklet) = &printing.sheet.booklet else { return vec![(0, layer.face)] };
    let mut sides: Vec<(usize, Face)> = layer
        .art
        .iter()
        .flat_map(|art| match art.target {
            Target::Sheet => (0..booklet.sheets()).map(|s| (s, layer.face)).collect::<Vec<_>>(),
            Target::Page(page) => booklet.face_of(page).into_iter().collect(),
            Target::Spread(page) => [page, page + 1].into_iter().filter_map(|p| booklet.face_of(p)).collect(),
        })
        .collect();
    sides.sort_unstable();
    sides.dedup();
    if sides.is_empty() { vec![(0, layer.face)] } else { sides }
}

/// What is known of layers, kept by what it depends on.
#[derive(Default)]
pub struct Prints(Cache<FigureKey, FacePrint, PRINT_BYTES>);

impl Prints {
    /// What is known of one layer; nothing where it cannot be drawn.
    pub(crate) fn of(&self, printing: &Printing, images: &Images, i: usize) -> Option<Arc<FacePrint>> {
        let key = FigureKey::of(printing, images, printing.sheet.layers.get(i)?);
        self.0.get_or_make(key, || FacePrint::of(printing, images, i))
    }
}
