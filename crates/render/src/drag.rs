//! One layer dragged over the others: its coverage interpolates between two pictures that stand still.

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

use super::{Picture, Scene, View, sample_layer};
use slipsheet_core::overprint::Power;

/// The two pictures between which one layer's coverage interpolates, for a view that stands still.
#[derive(Debug, Clone)]
pub struct DragCache {
    layer: usize,
    view: View,
    absent: Power,
    full: Power,
}

impl Bytes for DragCache {
    fn bytes(&self) -> usize {
        self.absent.channels.iter().chain(&self.full.channels).map(Bytes::bytes).sum()
    }
}

impl Scene {
    /// The two pictures for dragging one layer (by its index in the project) in a view.
    pub fn drag_cache(&self, layer: usize, view: &View) -> Option<DragCache> {
        let ink = self.layers.iter().position(|l| l.index == layer)?;
        let samplers = self.samplers(view);
        let make = |cover: f32| {
            let mut power = Power::zeroed(view.width * view.height);
            let [r, g, b] = &mut power.channels;
            let w = view.width.max(1);
            let rows = r.par_chunks_mut(w).zip(g.par_chunks_mut(w)).zip(b.par_chunks_mut(w)).enumerate();
            rows.for_each_init(
                || vec![vec![255_u8; view.width]; samplers.len()],
                |grays, (y, ((r, g), b))| {
                    for (k, (gray, layer)) in grays.iter_mut().zip(&samplers).enumerate() {
                        if k != ink {
                            sample_layer(layer, y, 0, gray);
                        }
                    }
                    let lent: Vec<&[u8]> = grays.iter().map(Vec::as_slice).collect();
                    self.kernel.power_row(&lent, Some((ink, cover)), [r, g, b]);
                },
            );
            power
        };
        Some(DragCache { layer, view: *view, absent: make(0.0), full: make(1.0) })
    }

    /// Draws the view of a drag cache with the dragged layer where this scene has it; every other layer is
    /// as it was when the cache was made. Nothing is drawn when the scene does not show the layer.
    pub fn render_drag(&self, cache: &DragCache, picture: &mut Picture) {
        let view = &cache.view;
        picture.resize(view.width, view.height);
        let Some(ink) = self.layers.iter().position(|l| l.index == cache.layer) else { return };
        let samplers = self.layers.get(ink).map(|l| l.samplers(view)).unwrap_or_default();
        let rows = picture.pixels.par_chunks_mut(view.width.max(1)).enumerate();
        rows.for_each_init(
            || vec![255_u8; view.width],
            |gray, (y, out)| {
                let Some((x0, x1)) = self.on_sheet(view, y, out) else { return };
                sample_layer(&samplers, y, x0, &mut gray[..x1 - x0]);
                let span = y * view.width + x0..y * view.width + x1;
                let [ar, ag, ab] = &cache.absent.channels;
                let [fr, fg, fb] = &cache.full.channels;
                let s = || span.clone();
                self.kernel.between_row(
                    ink,
                    &gray[..x1 - x0],
                    [&ar[s()], &ag[s()], &ab[s()]],
                    [&fr[s()], &fg[s()], &fb[s()]],
                    &mut out[x0..x1],
                );
            },
        );
        if let Some(behind) = &self.behind {
            behind.dim(view, picture);
        }
    }
}
