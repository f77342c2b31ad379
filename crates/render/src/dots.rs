//! The true dots of the masters, for views that are near enough to see them.
//!
//! Each layer is screened at the press's resolution where it is meant to lie, then slips as a whole, as a
//! master does. Dots are drawn at the size that they print with: the ink's tone curve, which holds the spread
//! of the ink, is applied before the screen, so that dots and tones cover the same on the mean.

use std::sync::Arc;

use super::{Piece, Scene, SceneLayer, View, sample_layer};
use slipsheet_core::geometry::{Affine, Rect};
use slipsheet_core::overprint::Kernel;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::screen::{Screen, Window};

/// Dots are drawn from this many pixels of the view for a pixel of the master.
const NEAR: f64 = 0.7;

impl Scene {
    /// Whether a view shows dots.
    pub fn shows_dots(&self, view: &View) -> bool {
        let view_px_per_mm = 1.0 / view.face_from_view.growth().max(1e-12);
        self.dots
            && view_px_per_mm >= NEAR * self.press_dpi.px_per_mm()
            && self.layers.iter().any(|l| *l.screen != Screen::None)
    }

    /// This scene with every screened layer replaced by its master around the view.
    pub(super) fn dotted(&self, view: &View) -> Option<Self> {
        self.with_dots(view, None)
    }

    /// The same with the dots of one layer alone, by its index in the project: for [`Scene::render_drag`], which
    /// draws no other.
    pub fn with_dots(&self, view: &View, only: Option<usize>) -> Option<Self> {
        if !self.shows_dots(view) {
            return None;
        }
        let wanted = |l: &SceneLayer| only.is_none_or(|only| only == l.index);
        let layers: Vec<SceneLayer> = self
            .layers
            .iter()
            .enumerate()
            .map(|(k, l)| {
                let master = if wanted(l) { self.master_layer(k, l, view) } else { None };
                master.unwrap_or_else(|| l.clone())
            })
            .collect();
        let inked: [f32; 256] = std::array::from_fn(|g| 1.0 - g as f32 / 255.0);
        let tables: Vec<[f32; 256]> = self
            .layers
            .iter()
            .zip(&self.tables)
            .map(|(l, table)| if *l.screen == Screen::None { *table } else { inked })
            .collect();
        let kernel = Kernel::new(&self.model, &tables);
        let (sheet, model, press_dpi) = (self.sheet, self.model.clone(), self.press_dpi);
        let behind = self.behind.clone();
        Some(Self { sheet, layers, kernel, model, tables, press_dpi, dots: false, behind })
    }

    /// One layer as its master; `None` when it has no screen.
    fn master_layer(&self, k: usize, layer: &SceneLayer, view: &View) -> Option<SceneLayer> {
        if *layer.screen == Screen::None {
            return None;
        }
        let px = self.press_dpi.px_per_mm();
        let meant_from_view = layer.meant_from_slipped * view.face_from_view;
        let all = Rect { x: 0.0, y: 0.0, width: view.width as f64, height: view.height as f64 };
        let seen = meant_from_view.bounds(all);
        let (width, height) = self.sheet.pixels(self.press_dpi);
        let from = |v: f64, most: u32| (libm::floor(v * px) - 2.0).clamp(0.0, f64::from(most)) as u32;
        let to = |v: f64, most: u32| (libm::ceil(v * px) + 2.0).clamp(0.0, f64::from(most)) as u32;
        let (x, y) = (from(seen.x, width), from(seen.y, height));
        let (x1, y1) = (to(seen.x + seen.width, width), to(seen.y + seen.height, height));
        let window = Window { x, y, width: x1.saturating_sub(x).max(1), height: y1.saturating_sub(y).max(1) };
        // The press's own pixels are a view of where the layer is meant to lie.
        let press = View {
            width: width as usize,
            height: height as usize,
            face_from_view: Affine::scale(1.0 / px, 1.0 / px),
        };
        let still = SceneLayer { meant_from_slipped: Affine::IDENTITY, ..layer.clone() };
        let samplers = still.samplers(&press);
        let table = self.tables.get(k)?;
        let printed: [u8; 256] =
            std::array::from_fn(|g| libm::roundf(255.0 * (1.0 - table[g])).clamp(0.0, 255.0) as u8);
        let dots = layer.screen.draw(width, window, |y, x0, row| {
            sample_layer(&samplers, y as usize, x0 as usize, row);
            for g in row {
                *g = printed[usize::from(*g)];
            }
        });
        let raster = GrayRaster::new(window.width, window.height, dots).ok()?;
        let scan_from_face = Affine::shift(-f64::from(x), -f64::from(y)) * Affine::scale(px, px);
        let clip = Rect { x: 0.0, y: 0.0, width: self.sheet.width.get(), height: self.sheet.height.get() };
        let pixels = Arc::new(Pyramid::new(raster, self.press_dpi));
        Some(SceneLayer { pieces: vec![Piece { pixels, scan_from_face, clip, part: None }], ..layer.clone() })
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::Show;
    use crate::images::Images;
    use slipsheet_core::colour::Lab;
    use slipsheet_core::ink::{Ink, Swatch};
    use slipsheet_core::reading::{Mode, Reading, Ruling, Scatter};
    use slipsheet_core::stock::Stock;
    use slipsheet_core::units::{Degrees, Dpi, Mm, SheetFormat, Size};
    use slipsheet_document::ids::{ArtId, LayerId};
    use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Slip, Target};
    use slipsheet_document::printing::Printing;
    use slipsheet_paper::fold::Face;

    /// A ramp on a small sheet, slipped and skewed a little.
    pub fn job(mode: Mode) -> (Printing, Images) {
        let stock = Stock::new("White", Swatch::Estimated { lab: Lab::new(95.0, 0.0, 0.0).unwrap() });
        let mut printing = Printing::new("dots", SheetFormat::Custom(Size::mm(40.0, 30.0)), stock);
        let dpi = Dpi::new(300.0).unwrap();
        let (w, h) = Size::mm(40.0, 30.0).pixels(dpi);
        // A ramp from white to black.
        let pixels = (0..w * h).map(|i| 255 - (i % w * 255 / w) as u8).collect();
        let key = ScanKey::new("0".repeat(64));
        let mut images = Images::default();
        images.insert(key.clone(), Arc::new(Pyramid::new(GrayRaster::new(w, h, pixels).unwrap(), dpi)));
        let scan = ScanRef { path: "ramp.png".to_owned(), size: 1, key, dpi };
        printing.sheet.layers.push(Layer {
            id: LayerId::new(0),
            name: "ramp".to_owned(),
            ink: Ink::estimated("Black", Lab::new(17.0, 0.0, 0.0).unwrap()),
            face: Face::Front,
            art: vec![Art::new(ArtId::new(1), scan, Target::Sheet)],
            slip: Slip { dx: Mm::new(0.3), skew: Degrees::new(0.4), ..Slip::default() },
            visible: true,
            reading: Reading::of(mode),
            with: None,
            remedies: vec![],
        });
        (printing, images)
    }

    fn modes() -> [Mode; 3] {
        [
            Mode::Screened { ruling: Ruling::default(), angle: Degrees::new(45.0) },
            Mode::Stochastic { scatter: Scatter::Tile },
            Mode::Stochastic { scatter: Scatter::Diffusion },
        ]
    }

    /// Mean effective coverage of blocks of 64 x 64 master pixels, from dots and from tones.
    #[test]
    fn dots_cover_what_the_tone_model_says() {
        for mode in modes() {
            let (printing, images) = job(mode);
            let scene = Scene::new(&printing, &images, Show { dots: true, perfect: true, ..Show::default() })
                .unwrap();
            let view = View::sheet(printing.sheet.size(), printing.press_dpi);
            let dotted = scene.dotted(&view).expect("the view is near enough");
            let dots = dotted.plate(0, &view).unwrap();
            let tones = scene.plate(0, &view).unwrap();
            let (w, h) = (dots.width() as usize, dots.height() as usize);
            for (bx, by) in [(1, 1), (3, 2), (5, 4), (7, 3), (9, 6), (11, 5), (13, 8)] {
                let mean = |r: &GrayRaster, table: &[f32; 256]| {
                    let block =
                        (by * 64..by * 64 + 64).flat_map(|y| (bx * 64..bx * 64 + 64).map(move |x| (x, y)));
                    block.map(|(x, y)| f64::from(table[usize::from(r.pixels()[y * w + x])])).sum::<f64>()
                        / 4096.0
                };
                assert!(bx * 64 + 64 <= w && by * 64 + 64 <= h);
                let (a, b) = (mean(&dots, &dotted.tables[0]), mean(&tones, &scene.tables[0]));
                assert!((a - b).abs() < 0.02, "{mode:?}, block {bx},{by}: dots {a:.3}, tones {b:.3}");
            }
        }
    }

    #[test]
    fn dots_are_seen_from_near_only_and_slip_with_their_layer() {
        let (printing, images) = job(modes()[0]);
        let scene = Scene::new(&printing, &images, Show { dots: true, ..Show::default() }).unwrap();
        let far = View::sheet(printing.sheet.size(), Dpi::new(150.0).unwrap());
        assert!(!scene.shows_dots(&far));
        let near = View::of_rect(Rect { x: 10.0, y: 10.0, width: 4.0, height: 3.0 }, 400, 300);
        assert!(scene.shows_dots(&near));
        let slipped = scene.render(&near);
        let perfect = Scene::new(&printing, &images, Show { dots: true, perfect: true, ..Show::default() })
            .unwrap()
            .render(&near);
        assert!(slipped != perfect);
        // Inside dots the ink is solid, between them the paper is bare.
        let darkest = slipped.pixels.iter().map(|p| p[0]).min().unwrap();
        let lightest = slipped.pixels.iter().map(|p| p[0]).max().unwrap();
        assert!(lightest - darkest > 150, "{darkest} {lightest}");
    }
}
