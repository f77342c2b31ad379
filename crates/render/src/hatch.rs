//! Hatches over a picture that show what of a layer vanishes, its reading's losses among it, and what clogs, at the view's own resolution.

use rayon::prelude::*;

use super::{Drawn, Picture, Scene, View};
use slipsheet_core::gray_check::{Fate, PAPER, Stroke, fates};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::Mode;
use slipsheet_document::layer::Layer;

/// Grays between the two sides of a pixel from which on it lies on an edge.
const EDGE: u8 = 96;

/// What becomes of a layer's grays as they are sampled.
#[derive(Debug, Clone)]
pub(super) struct Check {
    /// From gray of the scan to gray that is asked for.
    pub asked: [u8; 256],
    /// What becomes of what is asked for.
    fates: [Fate; 256],
}

impl Check {
    pub fn of(layer: &Layer) -> Self {
        let asked = layer.gray_table().unwrap_or_else(|| std::array::from_fn(|g| g as u8));
        // A line reading asks for ink or none, so that no tone is lost.
        let line = matches!(layer.reading.mode, Mode::Line) && !layer.has_regions();
        let fates = if line { [Fate::Prints; 256] } else { fates(&layer.ink.curve) };
        Self { asked, fates }
    }
}

impl Scene {
    /// Draws hatches over a picture of the view where one layer (by its index in the project) asks for less than the
    /// lightest printable tone or its reading has removed what was drawn, and where it asks for more than the fill-in
    /// shadow; see [`Fate::hatch`]. Bare paper has none. Nothing is drawn when this scene does not show the layer.
    pub fn hatch(&self, layer: usize, view: &View, picture: &mut Picture) {
        let Some(found) = self.layers.iter().find(|l| l.index == layer) else { return };
        let Some(grays) = self.plate(layer, view).map(|p| p.mapped(&found.check.asked)) else { return };
        let Some(drawn) = self.drawn(layer, view) else { return };
        if picture.width != view.width {
            return;
        }
        let fates = found.check.fates_of(&grays, &drawn);
        let rows = picture.pixels.par_chunks_mut(view.width.max(1)).enumerate();
        rows.for_each(|(y, out)| {
            for (x, pixel) in out.iter_mut().enumerate() {
                let Some(fate) = fates.at(x, y) else { continue };
                let Some(stroke) = fate.hatch(x, y).filter(|_| pixel[3] != 0) else { continue };
                if on_edge(&grays, x, y) || fates.alone(x, y) {
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

impl Check {
    /// What becomes of every pixel of a view: of what is asked for, and of what was drawn and is not asked for.
    fn fates_of(&self, grays: &GrayRaster, drawn: &Drawn) -> Fates {
        let art = drawn.art.pixels().par_iter().zip(drawn.removed());
        let fates = grays.pixels().par_iter().zip(art).map(|(gray, (art, removed))| {
            if removed {
                return Fate::Vanishes;
            }
            match self.fates[usize::from(*gray)] {
                // Paper is no tone, however little of it is left.
                Fate::Vanishes if *art >= PAPER => Fate::Blank,
                fate @ (Fate::Blank | Fate::Vanishes | Fate::Prints | Fate::Clogs) => fate,
            }
        });
        Fates { width: grays.width() as usize, fates: fates.collect() }
    }
}

/// What becomes of the pixels of a view, row by row.
struct Fates {
    width: usize,
    fates: Vec<Fate>,
}

impl Fates {
    fn at(&self, x: usize, y: usize) -> Option<Fate> {
        if x < self.width { self.fates.get(y * self.width + x).copied() } else { None }
    }

    /// Whether a pixel is a speck: fewer than two of the eight around it share its fate, where even a thin line has two.
    fn alone(&self, x: usize, y: usize) -> bool {
        let own = self.at(x, y);
        let rows = y.saturating_sub(1)..=y + 1;
        let alike = rows.flat_map(|v| (x.saturating_sub(1)..=x + 1).map(move |u| self.at(u, v)));
        alike.filter(|f| *f == own).count() < 3
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Show;
    use crate::drawn::tests::pencil;
    use crate::images::Images;
    use slipsheet_core::reading::{DropOut, Reading, Ruling};
    use slipsheet_core::units::Degrees;
    use slipsheet_document::printing::Printing;

    /// How many pixels of a view the hatch of what vanishes has, above its middle and below.
    fn marked(printing: &Printing, images: &Images, view: &View) -> (usize, usize) {
        let scene = Scene::new(printing, images, Show::default()).unwrap();
        let mut picture = scene.render(view);
        scene.hatch(0, view, &mut picture);
        let [r, g, b] = Fate::Vanishes.colour();
        let hatched = |part: &[[u8; 4]]| part.iter().filter(|p| **p == [r, g, b, 255]).count();
        let (above, below) = picture.pixels.split_at(picture.pixels.len() / 2);
        (hatched(above), hatched(below))
    }

    #[test]
    fn what_a_reading_removes_is_hatched_in_every_mode_and_bare_paper_in_none() {
        let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
        let (screened, mixed) = (Mode::Screened { ruling, angle }, Mode::Mixed { ruling, angle });
        for (mode, drop, gone) in [
            (Mode::Continuous, 0.0, false),
            (screened, 0.0, false),
            (screened, 0.35, true),
            (Mode::Line, 0.0, true),
            (mixed, 0.0, false),
            (mixed, 0.35, true),
            (Mode::Faint, 0.0, false),
            (Mode::Faint, 0.5, true),
        ] {
            let (mut printing, images, view) = pencil(0.12);
            printing.sheet.layers[0].reading =
                Reading { background: DropOut::new(drop), ..Reading::of(mode) };
            let (stroke, drawing) = marked(&printing, &images, &view);
            assert!(stroke < 20, "{mode:?} {drop}: {stroke} pixels are hatched on paper and a full stroke");
            assert!(if gone { drawing > 400 } else { drawing < 40 }, "{mode:?} {drop}: {drawing}");
        }
    }
}
