//! From a project to pixels.
//!
//! A [`Scene`] holds what one face of a project needs to be drawn at any zoom; it
//! is a pure function of the project and its images, and drawing it is a pure function of the [`View`].

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod behind;
pub mod colourway;
pub mod compare;
mod dots;
mod drag;
mod drawn;
pub mod dummy;
mod hatch;
pub mod images;
mod quick;
mod regions;
mod remedied;
pub mod remedies;
mod sample;
mod view;

use std::sync::Arc;

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

use crate::images::Images;
pub use drag::DragCache;
pub use drawn::Drawn;
pub use sample::Sampler;
pub use slipsheet_base::picture::Picture;
use slipsheet_core::geometry::{Affine, Rect};
use slipsheet_core::overprint::{Kernel, Overprint, OverprintError};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::screen::Screen;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
pub use view::{Show, View};

/// One piece of artwork as the scene draws it.
#[derive(Debug, Clone)]
struct Piece {
    pixels: Arc<Pyramid>,
    scan_from_face: Affine,
    clip: Rect,
    /// The part of the scan that may print, in its pixels, where it is cropped.
    part: Option<Rect>,
}

#[derive(Debug, Clone)]
struct SceneLayer {
    index: usize,
    pieces: Vec<Piece>,
    /// The pieces without the layer's remedies, where it has any.
    plain: Option<Vec<Piece>>,
    /// What they were made of.
    originals: Vec<drawn::Original>,
    /// From where the face's points lie to where they were meant to lie.
    meant_from_slipped: Affine,
    screen: Arc<Screen>,
    /// What becomes of its grays.
    check: hatch::Check,
}

/// One face of a project, ready to be drawn.
#[derive(Clone)]
pub struct Scene {
    sheet: Size,
    layers: Vec<SceneLayer>,
    kernel: Kernel,
    model: Overprint,
    tables: Vec<[f32; 256]>,
    press_dpi: Dpi,
    dots: bool,
    behind: Option<behind::Behind>,
}

impl Bytes for Scene {
    /// With the pixels that it is drawn from, which others may hold as well.
    fn bytes(&self) -> usize {
        let pieces = self.layers.iter().flat_map(|l| &l.pieces);
        let behind = self.behind.as_ref().map_or(0, |behind| behind.scene.bytes());
        pieces.map(|p| p.pixels.bytes()).sum::<usize>() + behind
    }
}

impl Scene {
    /// Gathers what drawing needs. Artwork whose scan is not loaded, or whose page the fold scheme does not
    /// have, is left out.
    ///
    /// # Errors
    /// When the face has more inks than can be predicted.
    pub fn new(printing: &Printing, images: &Images, show: Show) -> Result<Self, OverprintError> {
        Self::gather(printing, images, show, |_, _, _| None)
    }

    /// The same, but for the pieces that `instead` gives, from a layer's index, its piece and the way from what is
    /// drawn to where that was meant to lie.
    fn gather(
        printing: &Printing,
        images: &Images,
        show: Show,
        instead: impl Fn(usize, &slipsheet_document::layer::Art, Affine) -> Option<Vec<Piece>>,
    ) -> Result<Self, OverprintError> {
        let one = printing.number(show.sheet);
        let printing = one.as_ref();
        let sheet = printing.sheet.size();
        let wanted = |i: usize, visible: bool| show.solo.map_or(visible, |solo| solo == i);
        let shown: Vec<_> = printing.sheet.on(show.face).filter(|(i, l)| wanted(*i, l.visible)).collect();
        let inks: Vec<_> = shown.iter().map(|(_, l)| &l.ink).collect();
        let model = Overprint::of(&printing.sheet.stock, &inks, &printing.overprints)?;
        let tables: Vec<_> = shown.iter().map(|(_, l)| coverage_table(l)).collect();
        let layers = shown
            .iter()
            .map(|&(index, layer)| {
                let slipped_from_meant = match (show.perfect, show.face) {
                    (true, _) => Affine::IDENTITY,
                    (false, Face::Front) => layer.slip.slipped_from_meant(sheet),
                    // All layers of the back move together besides.
                    (false, Face::Back) => {
                        printing.sheet.back_slip.slipped_from_meant(sheet)
                            * layer.slip.slipped_from_meant(sheet)
                    }
                };
                let meant_from_slipped = slipped_from_meant.inverse().unwrap_or(Affine::IDENTITY);
                let plain = |art| -> Vec<Piece> {
                    remedied::piece(printing, images, layer, art).into_iter().collect()
                };
                // Remedies look at a whole plate, so nothing less can take its place.
                let plain_pieces = || layer.art.iter().flat_map(plain).collect();
                let pieces = if layer.remedies.is_empty() {
                    let pieces = layer.art.iter().flat_map(|art| {
                        instead(index, art, meant_from_slipped).unwrap_or_else(|| plain(art))
                    });
                    pieces.collect()
                } else {
                    remedied::pieces(printing, images, index, layer)
                };
                SceneLayer {
                    index,
                    pieces,
                    plain: (!layer.remedies.is_empty()).then(plain_pieces),
                    originals: remedied::originals(printing, images, layer),
                    meant_from_slipped,
                    screen: if show.dots {
                        images.screen(&layer.screened_by(), printing.press_dpi, index)
                    } else {
                        Arc::new(Screen::None)
                    },
                    check: hatch::Check::of(layer),
                }
            })
            .collect();
        let kernel = Kernel::new(&model, &tables);
        let behind = if show.show_through {
            behind::Behind::of(printing, images, Show { sheet: 0, ..show })?
        } else {
            None
        };
        let press_dpi = printing.press_dpi;
        Ok(Self { sheet, layers, kernel, model, tables, press_dpi, dots: show.dots, behind })
    }

    /// The sheet in mm.
    pub fn sheet(&self) -> Size {
        self.sheet
    }

    pub fn render(&self, view: &View) -> Picture {
        let mut picture = Picture::default();
        self.render_into(view, &mut picture);
        picture
    }

    /// Draws a view into a picture whose memory is used again.
    pub fn render_into(&self, view: &View, picture: &mut Picture) {
        match self.dotted(view) {
            Some(dotted) => dotted.print_into(view, picture),
            None => self.print_into(view, picture),
        }
        if let Some(behind) = &self.behind {
            behind.dim(view, picture);
        }
    }

    /// What this face prints, without what shows through.
    fn print_into(&self, view: &View, picture: &mut Picture) {
        picture.resize(view.width, view.height);
        let samplers = self.samplers(view);
        let rows = picture.pixels.par_chunks_mut(view.width.max(1)).enumerate();
        rows.for_each_init(
            || vec![vec![255_u8; view.width]; samplers.len()],
            |grays, (y, out)| {
                let Some((x0, x1)) = self.on_sheet(view, y, out) else { return };
                for (gray, layer) in grays.iter_mut().zip(&samplers) {
                    sample_layer(layer, y, x0, &mut gray[..x1 - x0]);
                }
                let mut lent: [&[u8]; slipsheet_core::overprint::MAX_INKS] =
                    [&[]; slipsheet_core::overprint::MAX_INKS];
                for (slot, gray) in lent.iter_mut().zip(grays.iter()) {
                    *slot = &gray[..x1 - x0];
                }
                self.kernel.row(&lent[..samplers.len()], &mut out[x0..x1]);
            },
        );
    }

    /// One layer (by its index in the project) as a gray plate: 0 full ink, 255 none, opaque on the sheet.
    /// `None` when this scene does not show that layer.
    pub fn plate(&self, layer: usize, view: &View) -> Option<GrayRaster> {
        let layer = self.layers.iter().find(|l| l.index == layer)?;
        plate_of(&layer.samplers(view), view)
    }

    /// The model of the inks that this scene shows, in printing order.
    pub fn model(&self) -> &Overprint {
        &self.model
    }

    /// The kernel of the inks that this scene shows.
    pub fn kernel(&self) -> &Kernel {
        &self.kernel
    }

    /// The same scene with its layers elsewhere: for each layer (by its index in the project) from where a
    /// point was meant to lie to where it lies, on the face in mm.
    #[must_use]
    pub fn moved(&self, slipped_from_meant: impl Fn(usize) -> Affine) -> Self {
        let mut moved = self.clone();
        for layer in &mut moved.layers {
            let map = slipped_from_meant(layer.index);
            layer.meant_from_slipped = map.inverse().unwrap_or(Affine::IDENTITY);
        }
        moved
    }

    /// Mean effective coverage of one layer over the sheet, 0..=1, from a small picture of it.
    pub fn coverage(&self, layer: usize) -> f64 {
        let plate = self.plate(layer, &View::sheet(self.sheet, self.sheet.dpi_for(900.0)));
        plate.map_or(0.0, |plate| self.coverage_of(layer, &plate))
    }

    /// Effective coverage of a layer for each gray of its plate, 0..=1; `None` for a layer that is not drawn.
    pub fn coverage_of_grays(&self, layer: usize) -> Option<&[f32; 256]> {
        let at = self.layers.iter().position(|l| l.index == layer)?;
        self.tables.get(at)
    }

    /// The same from a plate of the layer that is there already.
    pub fn coverage_of(&self, layer: usize, plate: &GrayRaster) -> f64 {
        let Some(table) = self.coverage_of_grays(layer) else { return 0.0 };
        let counts = slipsheet_core::reading::histogram(plate.pixels());
        let sum: f64 = counts.iter().zip(table).map(|(n, a)| *n as f64 * f64::from(*a)).sum();
        sum / plate.pixels().len() as f64
    }

    fn samplers(&self, view: &View) -> Vec<Vec<Sampler>> {
        self.layers.iter().map(|l| l.samplers(view)).collect()
    }

    /// The pixels of a row whose middles lie on the sheet; the others are made transparent.
    fn on_sheet(&self, view: &View, y: usize, out: &mut [[u8; 4]]) -> Option<(usize, usize)> {
        let sheet = Rect { x: 0.0, y: 0.0, width: self.sheet.width.get(), height: self.sheet.height.get() };
        let span = sample::span(&view.face_from_view, sheet, y, out.len());
        match span {
            Some((x0, x1)) => {
                out[..x0].fill([0; 4]);
                out[x1..].fill([0; 4]);
            }
            None => out.fill([0; 4]),
        }
        span
    }
}

impl SceneLayer {
    fn samplers(&self, view: &View) -> Vec<Sampler> {
        samplers_of(&self.pieces, self.meant_from_slipped * view.face_from_view)
    }
}

/// What samplers draw in a view, 0 full ink.
fn plate_of(samplers: &[Sampler], view: &View) -> Option<GrayRaster> {
    let (width, height) = (u32::try_from(view.width).ok()?, u32::try_from(view.height).ok()?);
    let mut plate = GrayRaster::filled(width, height, 255).ok()?;
    let rows = plate.pixels_mut().par_chunks_mut(view.width.max(1)).enumerate();
    rows.for_each(|(y, out)| sample_layer(samplers, y, 0, out));
    Some(plate)
}

fn samplers_of(pieces: &[Piece], meant_from_view: Affine) -> Vec<Sampler> {
    let sampler = |p: &Piece| {
        Sampler::new(Arc::clone(&p.pixels), p.scan_from_face * meant_from_view, meant_from_view, p.clip)
            .cropped(p.part)
    };
    pieces.iter().map(sampler).collect()
}

/// Effective coverage by gray of the scan: the reading's table where it has one, then the ink's curve.
fn coverage_table(layer: &Layer) -> [f32; 256] {
    let curve = layer.ink.curve.table();
    match layer.gray_table() {
        Some(grays) => std::array::from_fn(|g| curve[usize::from(grays[g])]),
        None => curve,
    }
}

fn sample_layer(samplers: &[Sampler], y: usize, x0: usize, gray: &mut [u8]) {
    gray.fill(255);
    for sampler in samplers {
        sampler.darken_row(y, x0, gray);
    }
}
