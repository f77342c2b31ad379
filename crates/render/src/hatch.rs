//! Hatches over a picture that show what of a layer vanishes and what clogs, at the view's own resolution.

use rayon::prelude::*;

use super::{Picture, Scene, View};
use slipsheet_core::gray_check::{Fate, Stroke, fates};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::Mode;
use slipsheet_document::layer::Layer;

/// Grays between the two sides of a pixel from which on it lies on an edge.
const EDGE: u8 = 96;

/// What becomes of a layer's grays as they are sampled.
#[derive(Debug, Clone)]
pub(super) struct Check {
    /// From gray of the scan to gray that is asked for.
    asked: [u8; 256],
    /// What becomes of what is asked for.
    fates: [Fate; 256],
}

impl Check {
    pub fn of(layer: &Layer) -> Self {
        let asked = layer.reading.gray_table().unwrap_or_else(|| std::array::from_fn(|g| g as u8));
        // A line reading asks for ink or none, so that no tone is lost.
        let line = matches!(layer.reading.mode, Mode::Line);
        let fates = if line { [Fate::Prints; 256] } else { fates(&layer.ink.curve) };
        Self { asked, fates }
    }
}

impl Scene {
    /// Draws hatches over a picture of the view where one layer (by its index in the project) asks for less
    /// than the lightest printable tone, and where it asks for more than the fill-in shadow; see
    /// [`Fate::hatch`]. Nothing is drawn when this scene does not show the layer.
    pub fn hatch(&self, layer: usize, view: &View, picture: &mut Picture) {
        let Some(found) = self.layers.iter().find(|l| l.index == layer) else { return };
        let Some(grays) = self.plate(layer, view).map(|p| p.mapped(&found.check.asked)) else { return };
        if picture.width != view.width {
            return;
        }
        let rows = picture.pixels.par_chunks_mut(view.width.max(1)).enumerate();
        rows.for_each(|(y, out)| {
            for (x, (pixel, gray)) in out.iter_mut().zip(grays.row(y as u32)).enumerate() {
                let fate = found.check.fates[usize::from(*gray)];
                let Some(stroke) = fate.hatch(x, y).filter(|_| pixel[3] != 0) else { continue };
                if on_edge(&grays, x, y) || alone(&grays, &found.check.fates, x, y) {
                    continue;
                }
                let [r, g, b] = match stroke {
                    Stroke::Line => fate.colour(),
                    Stroke::Halo => [255; 3],
                };
                *pixel = [r, g, b, 255];
            }
        });
    }
}

/// Whether a pixel is a speck: fewer than two of the eight around it share its fate, where even a thin line has two.
fn alone(grays: &GrayRaster, fates: &[Fate; 256], x: usize, y: usize) -> bool {
    let fate = |x: usize, y: usize| Some(fates[usize::from(*grays.row(u32::try_from(y).ok()?).get(x)?)]);
    let own = fate(x, y);
    let rows = y.saturating_sub(1)..=y + 1;
    let alike = rows.flat_map(|v| (x.saturating_sub(1)..=x + 1).map(move |u| fate(u, v)));
    alike.filter(|f| *f == own).count() < 3
}

/// Whether a pixel lies on a steep edge: what it has is a mean of the two sides, not a tone of its own.
fn on_edge(grays: &GrayRaster, x: usize, y: usize) -> bool {
    let at = |x: Option<usize>, y: Option<usize>| {
        let (x, y) = (x?, u32::try_from(y?).ok()?);
        grays.row(y).get(x).copied()
    };
    let steep = |a: Option<u8>, b: Option<u8>| a.zip(b).is_some_and(|(a, b)| a.abs_diff(b) >= EDGE);
    steep(at(x.checked_sub(1), Some(y)), at(Some(x + 1), Some(y)))
        || steep(at(Some(x), y.checked_sub(1)), at(Some(x), Some(y + 1)))
}
