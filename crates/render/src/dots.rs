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
pub(super) mod tests;
