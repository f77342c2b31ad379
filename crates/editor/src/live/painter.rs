//! Draws what is asked for, and keeps what the next picture can use.

use std::sync::{Arc, Mutex, PoisonError};

use slipsheet_base::cache::{Bytes, Cache};
use slipsheet_document::layer::Slip;
use slipsheet_files::logged;
use slipsheet_paper::fold::Face;
use slipsheet_render::compare::{Compared, Comparison, Pair, Plates};
use slipsheet_render::dummy::{Piece, Prints};
use slipsheet_render::{DragCache, Picture, Scene, Show, View};

use super::LiveOrder;
use crate::snapshot::{Shown, Snapshot};

/// Length of the prints on the dummy along the sheet's longer side, in pixels.
const PRINT: f64 = 2600.0;

/// The most bytes of what is drawn from, of each kind; what was used last is kept in any case.
const SCENE_BYTES: usize = 64 << 20;
const DRAG_BYTES: usize = 64 << 20;
const PLATE_BYTES: usize = 64 << 20;
const PRINT_BYTES: usize = 256 << 20;

/// What a comparison depends on: what is shown, face, layers, and whether slips are left away.
type CompareKey = (Shown, Face, Pair, bool);

/// What is dragged: what is shown, the layer, the view, and whether a slider of its reading is.
type Drag = (Show, usize, View, bool);

/// What is kept from one picture to the next.
#[derive(Default)]
pub struct Painter {
    scenes: Cache<(Shown, Show), Scene, SCENE_BYTES>,
    /// The two pictures of a drag, by the project without its layer's position.
    drags: Cache<(Shown, Drag), DragCache, DRAG_BYTES>,
    comparisons: Cache<CompareKey, Comparison, SCENE_BYTES>,
    /// The plates of a comparison in a view: a blink asks for the same two again and again.
    plates: Cache<(CompareKey, View), Plates, PLATE_BYTES>,
    prints: Cache<(Shown, bool), Sharpened, PRINT_BYTES>,
}

/// Prints that grow sharper where they are seen.
struct Sharpened(Mutex<Prints>);

impl Bytes for Sharpened {
    fn bytes(&self) -> usize {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).bytes()
    }
}

impl Painter {
    pub(super) fn paint(&self, snapshot: &Snapshot, order: &LiveOrder) -> Picture {
        let mut picture = Picture::default();
        match order {
            LiveOrder::Sheet { show, view, dragged: _, tuned: Some(layer), hatched } => {
                self.tune(snapshot, *show, view, (*layer, *hatched), &mut picture);
            }
            LiveOrder::Sheet { show, view, dragged, tuned: None, hatched } => {
                let make = || logged("a picture", Scene::new(&snapshot.printing, &snapshot.images, *show));
                let Some(scene) = self.scenes.get_or_make((snapshot.shown(), *show), make) else {
                    return picture;
                };
                // Dots are drawn anew with every move; the two pictures only hold tones.
                let dragged = dragged.filter(|_| !scene.shows_dots(view));
                let held = dragged.and_then(|layer| {
                    let make = || scene.drag_cache(layer, view);
                    self.held(snapshot, (*show, layer, *view, false), make)
                });
                match held {
                    Some(cache) => scene.render_drag(&cache, &mut picture),
                    None => scene.render_into(view, &mut picture),
                }
                if let Some(layer) = hatched {
                    scene.hatch(*layer, view, &mut picture);
                }
            }
            LiveOrder::Compare { face, pair, compared, view, perfect } => {
                let key = (snapshot.shown(), *face, *pair, *perfect);
                self.compare(snapshot, key, *compared, view, &mut picture);
            }
            LiveOrder::Dummy { fold, open, view, perfect } => {
                let printing = &snapshot.printing;
                let folded = Piece::of(&printing.sheet.construction()).folded(*fold, *open);
                let make = || {
                    let dpi = printing.sheet.size().dpi_for(PRINT);
                    Some(Sharpened(Mutex::new(Prints::new(printing, &snapshot.images, *perfect, dpi))))
                };
                if let Some(prints) = self.prints.get_or_make((snapshot.shown(), *perfect), make) {
                    let mut prints = prints.0.lock().unwrap_or_else(PoisonError::into_inner);
                    prints.draw(printing, &snapshot.images, &folded, view, &mut picture);
                }
            }
        }
        picture
    }

    fn compare(
        &self,
        snapshot: &Snapshot,
        key: CompareKey,
        compared: Compared,
        view: &View,
        picture: &mut Picture,
    ) {
        let (_, face, pair, perfect) = key;
        let make = || {
            logged("a picture", Comparison::new(&snapshot.printing, &snapshot.images, face, pair, perfect))
                .flatten()
        };
        let Some(comparison) = self.comparisons.get_or_make(key.clone(), make) else { return };
        if let Some(plates) = self.plates.get_or_make((key, *view), || comparison.plates(view)) {
            comparison.draw(&plates, compared, view, picture);
        }
    }

    /// One layer's reading follows a slider: the others stand still in two pictures, and it is read anew.
    fn tune(
        &self,
        snapshot: &Snapshot,
        show: Show,
        view: &View,
        (layer, hatched): (usize, Option<usize>),
        picture: &mut Picture,
    ) {
        let scene = Scene::quick(&snapshot.printing, &snapshot.images, show, view, layer);
        let Some(scene) = logged("a picture", scene) else { return };
        let make = || scene.with_dots(view, None).as_ref().unwrap_or(&scene).drag_cache(layer, view);
        match self.held(snapshot, (show, layer, *view, true), make) {
            Some(cache) => {
                let near = scene.with_dots(view, Some(layer));
                near.as_ref().unwrap_or(&scene).render_drag(&cache, picture);
            }
            // The layer is not shown.
            None => scene.render_into(view, picture),
        }
        if let Some(hatched) = hatched {
            scene.hatch(hatched, view, picture);
        }
    }

    /// The two pictures of a drag, which hold for as long as nothing but the layer's own slip, placement and reading
    /// changes.
    fn held(
        &self,
        snapshot: &Snapshot,
        drag: Drag,
        make: impl FnOnce() -> Option<DragCache>,
    ) -> Option<Arc<DragCache>> {
        let mut rest = snapshot.shown();
        if let Some(layer) = rest.printing.sheet.layers.get_mut(drag.1) {
            layer.slip = Slip::default();
            layer.reading = Default::default();
            layer.art.iter_mut().for_each(|a| a.placement = Default::default());
        }
        self.drags.get_or_make((rest, drag), make)
    }
}
