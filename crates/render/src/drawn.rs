//! What was drawn for a layer, and what its reading makes of it, in a view.
//!
//! Drawn is what a scan has on its bare paper: a scan that was read with its paper cleaned to white shows it as it is,
//! of any other the paper is found first, so that neither its shade nor its grain counts.

use rayon::prelude::*;

use super::{Piece, Scene, View, plate_of, samplers_of};
use crate::images::Scanned;
use slipsheet_core::gray_check::PAPER;
use slipsheet_core::raster::GrayRaster;

/// Pixels around one that prints over which nothing counts as removed: the rim of a stroke is a mean of it and its
/// ground, which a reading may well give to either.
const RIM: usize = 2;

/// One original of a layer, where it lies.
#[derive(Debug, Clone)]
pub(super) struct Original {
    /// Where the scan lies, as it was read.
    pub piece: Piece,
    pub scan: Scanned,
}

/// A layer in a view, pixel by pixel, 0 full ink.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// The originals with their bare paper white.
    pub art: GrayRaster,
    /// What the reading asks for, before any remedy.
    pub asked: GrayRaster,
}

impl Scene {
    /// What was drawn for a layer (by its index in the project) and what is asked for; `None` when this scene does not
    /// show the layer. The first time for a scan, its paper is looked for.
    pub fn drawn(&self, layer: usize, view: &View) -> Option<Drawn> {
        let found = self.layers.iter().find(|l| l.index == layer)?;
        let meant_from_view = found.meant_from_slipped * view.face_from_view;
        let cleaned = |o: &Original| Piece { pixels: o.scan.art(), ..o.piece.clone() };
        let originals: Vec<Piece> = found.originals.iter().map(cleaned).collect();
        let read = found.plain.as_ref().unwrap_or(&found.pieces);
        let asked = plate_of(&samplers_of(read, meant_from_view), view)?;
        Some(Drawn {
            art: plate_of(&samplers_of(&originals, meant_from_view), view)?,
            asked: asked.mapped(&found.check.asked),
        })
    }
}

impl Drawn {
    /// Where the reading has made bare paper of what was drawn.
    pub fn removed(&self) -> Vec<bool> {
        self.lost(&[false; 256])
    }

    /// Where nothing comes of what was drawn: it was removed, or what is asked for is one of the grays that vanish.
    pub fn lost(&self, vanishes: &[bool; 256]) -> Vec<bool> {
        let near = darkest_near(&self.asked, RIM);
        let all = self.art.pixels().par_iter().zip(near.par_iter());
        all.map(|(art, asked)| *art < PAPER && (*asked >= PAPER || vanishes[usize::from(*asked)])).collect()
    }

    /// How many pixels that are.
    pub fn count_removed(&self) -> u64 {
        self.removed().into_iter().map(u64::from).sum()
    }
}

/// The darkest gray within so many pixels, across and down.
fn darkest_near(raster: &GrayRaster, reach: usize) -> Vec<u8> {
    let width = (raster.width() as usize).max(1);
    let mut across = raster.pixels().to_vec();
    across.par_chunks_mut(width).zip(raster.pixels().par_chunks(width)).for_each(|(out, row)| {
        for step in 1..=reach.min(width - 1) {
            out.iter_mut().zip(row.iter().skip(step)).for_each(|(o, g)| *o = (*o).min(*g));
            out.iter_mut().skip(step).zip(row).for_each(|(o, g)| *o = (*o).min(*g));
        }
    });
    let rows: Vec<&[u8]> = across.chunks(width).collect();
    let mut down = across.clone();
    down.par_chunks_mut(width).enumerate().for_each(|(y, out)| {
        let near = y.saturating_sub(reach)..(y + reach + 1).min(rows.len());
        for row in rows.get(near).unwrap_or(&[]) {
            out.iter_mut().zip(*row).for_each(|(o, g)| *o = (*o).min(*g));
        }
    });
    down
}

#[cfg(test)]
pub(crate) mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::Show;
    use crate::dots::tests::job;
    use crate::images::Images;
    use slipsheet_core::geometry::Rect;
    use slipsheet_core::raster::Pyramid;
    use slipsheet_core::reading::{BlackPoint, DropOut, Mode, Reading, Ruling};
    use slipsheet_core::units::Degrees;
    use slipsheet_document::printing::Printing;

    /// Unevenly lit paper with grain; a stroke in full ink above, and pencil of a coverage below.
    pub fn pencil(pale: f64) -> (Printing, Images, View) {
        let (mut printing, mut images) = job(Mode::Continuous);
        let art = &printing.sheet.layers[0].art[0];
        let (key, dpi) = (art.scan.key.clone(), art.scan.dpi);
        let (width, height) = {
            let full = images.get(&key).unwrap().full();
            (full.width(), full.height())
        };
        let pixels = (0..width * height).map(|i| {
            let (x, y) = (i % width, i / width);
            let grain = f64::from((i.wrapping_mul(2_654_435_761) >> 24) % 7) - 3.0;
            let inside = (width / 5..width * 4 / 5).contains(&x);
            let cover = match y * 100 / height {
                20..30 if inside => 0.95,
                60..80 if inside && y % 24 < 12 => pale,
                _ => 0.0,
            };
            ((238.0 - 14.0 * f64::from(x) / f64::from(width)) * (1.0 - cover) + grain) as u8
        });
        let raster = GrayRaster::new(width, height, pixels.collect()).unwrap();
        images.insert(key, Arc::new(Pyramid::new(raster, dpi)));
        printing.sheet.layers[0].slip = Default::default();
        let size = printing.sheet.size();
        let view = View::of_rect(
            Rect { x: 0.0, y: 0.0, width: size.width.get(), height: size.height.get() },
            400,
            (400.0 * size.height.get() / size.width.get()) as u32,
        );
        (printing, images, view)
    }

    fn removed(printing: &Printing, images: &Images, view: &View) -> (u64, u64) {
        let scene = Scene::new(printing, images, Show::default()).unwrap();
        let drawn = scene.drawn(0, view).unwrap();
        let art = drawn.art.pixels().iter().filter(|g| **g < PAPER).count();
        (drawn.count_removed(), art as u64)
    }

    #[test]
    fn bare_paper_is_neither_drawn_nor_removed_however_it_is_read() {
        let (mut printing, images, view) = pencil(0.0);
        let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
        for mode in [Mode::Continuous, Mode::Line, Mode::Mixed { ruling, angle }, Mode::Faint] {
            for drop in [0.0, 0.2] {
                printing.sheet.layers[0].reading =
                    Reading { background: DropOut::new(drop), ..Reading::of(mode) };
                let (lost, art) = removed(&printing, &images, &view);
                // The stroke is a tenth of the artwork's height, three fifths of its width.
                assert!(lost * 100 < art, "{mode:?}, drop-out {drop}: {lost} of {art} are lost");
            }
        }
    }

    #[test]
    fn pencil_that_a_reading_makes_bare_paper_is_removed() {
        let (mut printing, images, view) = pencil(0.12);
        let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
        let screened = Mode::Screened { ruling, angle };
        for (mode, drop, black, gone) in [
            (screened, 0.0, 1.0, false),
            (screened, 0.3, 1.0, true),
            // A black point is taken before the drop-out.
            (screened, 0.3, 0.2, false),
            (Mode::Line, 0.0, 1.0, true),
            (Mode::Mixed { ruling, angle }, 0.0, 1.0, false),
            (Mode::Mixed { ruling, angle }, 0.3, 1.0, true),
            (Mode::Faint, 0.0, 1.0, false),
            (Mode::Faint, 0.5, 1.0, true),
        ] {
            printing.sheet.layers[0].reading = Reading {
                background: DropOut::new(drop),
                black: BlackPoint::new(black),
                ..Reading::of(mode)
            };
            let (lost, art) = removed(&printing, &images, &view);
            let share = lost as f64 / art as f64;
            assert!(if gone { share > 0.3 } else { share < 0.01 }, "{mode:?} {drop} {black}: {share}");
        }
    }

    #[test]
    fn the_darkest_near_is_that_of_the_square_around() {
        let pixels = (0..23 * 17_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
        let raster = GrayRaster::new(23, 17, pixels).unwrap();
        let got = darkest_near(&raster, 2);
        for (y, x) in (0..17_u32).flat_map(|y| (0..23_usize).map(move |x| (y, x))) {
            let rows = y.saturating_sub(2)..(y + 3).min(17);
            let want = rows
                .flat_map(|v| raster.row(v)[x.saturating_sub(2)..(x + 3).min(23)].to_vec())
                .min()
                .unwrap();
            assert_eq!(got[y as usize * 23 + x], want);
        }
        assert_eq!(darkest_near(&GrayRaster::filled(1, 1, 9).unwrap(), 2), [9]);
    }
}
