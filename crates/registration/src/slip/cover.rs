//! The screen-free coverage of every visible ink over the sheet: what the study and the run look at.

use rayon::prelude::*;

use slipsheet_core::overprint::Overprint;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

use super::SlipError;
use super::distance::MAX_SIDE;

/// Bytes that a study takes for a pixel of each ink: its coverage, and the nearest edge of every place.
const BYTES_AN_INK: f64 = 6.0;
/// Bytes that it takes for a pixel besides.
const BYTES_BESIDES: f64 = 4.0;

/// The coverages of one face, every layer where it is meant to lie.
#[derive(Debug, Clone)]
pub struct Covers {
    /// The sheet in mm.
    pub sheet: Size,
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Pixels per mm.
    pub px_per_mm: f64,
    /// The inks in printing order.
    pub inks: Vec<InkCover>,
    /// What their overprints look like.
    pub model: Overprint,
}

#[derive(Debug, Clone, PartialEq)]
pub struct InkCover {
    /// Index of its layer in the project.
    pub layer: usize,
    pub name: String,
    /// Coverage as asked for, 0 none to 255 full, row by row. Edges are looked for here: the ink's curve would
    /// move them by the blur of the scan.
    pub plane: Vec<u8>,
    /// Effective coverage, 0..=1, by the coverage asked for.
    pub curve: Vec<f32>,
}

impl Covers {
    /// The visible layers of a face at a resolution, which is lowered where the sheet is too large for it.
    ///
    /// # Errors
    /// When there are more inks than can be predicted, or memory for a plate is not to be had.
    pub fn of(printing: &Printing, images: &Images, face: Face, dpi: Dpi) -> Result<Self, SlipError> {
        let show = Show::meant(face);
        let scene = Scene::new(printing, images, show)?;
        let sheet = printing.sheet.size();
        let shown: Vec<(usize, &Layer)> = printing.sheet.on(face).filter(|(_, l)| l.visible).collect();
        let (view, dpi) = view_of(sheet, dpi, shown.len());
        let inks = shown
            .into_iter()
            .map(|(layer, l)| InkCover::of(&scene, &view, layer, l))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            sheet,
            width: view.width,
            height: view.height,
            px_per_mm: dpi.px_per_mm(),
            inks,
            model: scene.model().clone(),
        })
    }

    /// Draws one layer anew after its plate alone has changed; `dpi` is what these coverages were drawn at.
    pub(crate) fn renew(
        &mut self,
        printing: &Printing,
        images: &Images,
        layer: usize,
        dpi: Dpi,
    ) -> Result<(), SlipError> {
        let (view, _) = view_of(self.sheet, dpi, self.inks.len());
        let known = self.inks.iter_mut().find(|i| i.layer == layer);
        let Some((ink, l)) = known.zip(printing.sheet.layers.get(layer)) else { return Ok(()) };
        let scene = Scene::new(printing, images, Show { solo: Some(layer), ..Show::meant(l.face) })?;
        *ink = InkCover::of(&scene, &view, layer, l)?;
        Ok(())
    }

    /// Effective coverage of an ink (by its place in `inks`) at a pixel, 0..=1; none outside.
    pub fn at(&self, ink: usize, x: f64, y: f64) -> f64 {
        if x < 0.0 || y < 0.0 || x >= self.width as f64 || y >= self.height as f64 {
            return 0.0;
        }
        let at = y as usize * self.width + x as usize;
        self.inks.get(ink).map_or(0.0, |i| i.plane.get(at).map_or(0.0, |v| i.effective(*v)))
    }

    /// All effective coverages at a pixel.
    pub fn all(&self, x: f64, y: f64) -> Vec<f64> {
        (0..self.inks.len()).map(|k| self.at(k, x, y)).collect()
    }
}

/// The resolution that a sheet of so many inks is studied at: the one asked for, or the finest one that the study
/// has room and memory for.
pub fn study_dpi(sheet: Size, asked: Dpi, inks: usize) -> Dpi {
    let longest = sheet.width.get().max(sheet.height.get()).max(1.0);
    let most = (MAX_SIDE - 1) as f64 / longest * 25.4;
    let dpi = Dpi::nearest(asked.get().min(most));
    sheet.dpi_within(dpi, BYTES_BESIDES + BYTES_AN_INK * inks as f64)
}

fn view_of(sheet: Size, asked: Dpi, inks: usize) -> (View, Dpi) {
    let dpi = study_dpi(sheet, asked, inks);
    (View::sheet(sheet, dpi), dpi)
}

impl InkCover {
    fn of(scene: &Scene, view: &View, layer: usize, l: &Layer) -> Result<Self, SlipError> {
        let plate = scene.plate(layer, view).ok_or(SlipError::TooLarge)?;
        let table = l.gray_table().unwrap_or_else(|| std::array::from_fn(|g| g as u8));
        let mut plane = plate.into_pixels();
        plane.par_chunks_mut(1 << 16).for_each(|part| {
            part.iter_mut().for_each(|v| *v = 255 - table[usize::from(*v)]);
        });
        let curve = l.ink.curve.table().iter().rev().copied().collect();
        Ok(Self { layer, name: l.name.clone(), plane, curve })
    }

    /// The effective coverage of a coverage asked for, 0..=1.
    pub fn effective(&self, asked: u8) -> f64 {
        self.curve.get(usize::from(asked)).map_or(0.0, |a| f64::from(*a))
    }
}
