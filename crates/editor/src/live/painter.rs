//! Draws what is asked for, and keeps what the next picture can use.

use slipsheet_document::layer::Slip;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::compare::{Compared, Comparison, Pair, Plates};
use slipsheet_render::dummy::{self, Piece, Prints};
use slipsheet_render::{DragCache, Picture, Scene, Show, View};

use super::LiveOrder;
use crate::snapshot::Snapshot;

/// Length of the prints on the dummy along the sheet's longer side, in pixels.
const PRINT: f64 = 2600.0;

/// The two pictures of a drag, and the project and the view they are of.
type Held = (Printing, Show, DragCache);

/// What a comparison depends on: revision, face, layers, and whether slips are left away.
type CompareKey = (u64, Face, Pair, bool);

#[derive(Default)]
pub(super) struct Painter {
    scene: Option<(u64, Show, Option<Scene>)>,
    drag: Option<Held>,
    prints: Option<(u64, bool, Prints)>,
    /// What is compared at a revision, and its plates in the view they were last drawn in: a blink asks for
    /// the same two again and again.
    comparison: Option<(CompareKey, Option<Comparison>)>,
    plates: Option<(View, Plates)>,
}

impl Painter {
    pub fn paint(&mut self, snapshot: &Snapshot, order: &LiveOrder) -> Picture {
        let mut picture = Picture::default();
        match order {
            LiveOrder::Sheet { show, view, dragged: _, tuned: Some(layer), hatched } => {
                self.tune(snapshot, *show, view, (*layer, *hatched), &mut picture);
            }
            LiveOrder::Sheet { show, view, dragged, tuned: None, hatched } => {
                self.sheet(snapshot, *show, view, *dragged, &mut picture);
                if let (Some(layer), Some((_, _, Some(scene)))) = (hatched, &self.scene) {
                    scene.hatch(*layer, view, &mut picture);
                }
            }
            LiveOrder::Compare { face, pair, compared, view, perfect } => self.compare(
                snapshot,
                (snapshot.revision, *face, *pair, *perfect),
                *compared,
                view,
                &mut picture,
            ),
            LiveOrder::Dummy { fold, open, view, perfect } => {
                let printing = &snapshot.printing;
                let folded = Piece::of(&printing.sheet.construction()).folded(*fold, *open);
                let paper = dummy::paper_of(printing);
                if let Some(prints) = self.prints(snapshot, *perfect) {
                    prints.sharpen(printing, &snapshot.images, &folded, view);
                    dummy::draw_sheets(
                        &folded,
                        |sheet, face| prints.of(sheet, face),
                        paper,
                        view,
                        &mut picture,
                    );
                }
            }
        }
        picture
    }

    fn sheet(
        &mut self,
        snapshot: &Snapshot,
        show: Show,
        view: &View,
        dragged: Option<usize>,
        picture: &mut Picture,
    ) {
        let key = (snapshot.revision, show);
        if self.scene.as_ref().is_none_or(|(revision, shown, _)| (*revision, *shown) != key) {
            let scene = Scene::new(&snapshot.printing, &snapshot.images, show).ok();
            self.scene = Some((key.0, key.1, scene));
        }
        let Some((_, _, Some(scene))) = &self.scene else { return };
        // Dots are drawn anew with every move; the two pictures only hold tones.
        let Some(layer) = dragged.filter(|_| !scene.shows_dots(view)) else {
            self.drag = None;
            scene.render_into(view, picture);
            return;
        };
        let make = || scene.drag_cache(layer, view);
        match held(&mut self.drag, &snapshot.printing, show, (layer, view), make) {
            Some(cache) => scene.render_drag(cache, picture),
            None => scene.render_into(view, picture),
        }
    }

    fn compare(
        &mut self,
        snapshot: &Snapshot,
        key: CompareKey,
        compared: Compared,
        view: &View,
        picture: &mut Picture,
    ) {
        if self.comparison.as_ref().is_none_or(|(known, _)| *known != key) {
            let (_, face, pair, perfect) = key;
            let made = Comparison::new(&snapshot.printing, &snapshot.images, face, pair, perfect);
            self.comparison = Some((key, made.ok().flatten()));
            self.plates = None;
        }
        let Some((_, Some(comparison))) = &self.comparison else { return };
        if self.plates.as_ref().is_none_or(|(known, _)| known != view) {
            self.plates = comparison.plates(view).map(|plates| (*view, plates));
        }
        if let Some((_, plates)) = &self.plates {
            comparison.draw(plates, compared, view, picture);
        }
    }

    /// One layer's reading follows a slider: the others stand still in two pictures, and it is read anew.
    fn tune(
        &mut self,
        snapshot: &Snapshot,
        show: Show,
        view: &View,
        (layer, hatched): (usize, Option<usize>),
        picture: &mut Picture,
    ) {
        let Ok(scene) = Scene::quick(&snapshot.printing, &snapshot.images, show, view, layer) else { return };
        let make = || scene.with_dots(view, None).as_ref().unwrap_or(&scene).drag_cache(layer, view);
        match held(&mut self.drag, &snapshot.printing, show, (layer, view), make) {
            Some(cache) => {
                let near = scene.with_dots(view, Some(layer));
                near.as_ref().unwrap_or(&scene).render_drag(cache, picture);
            }
            // The layer is not shown.
            None => scene.render_into(view, picture),
        }
        if let Some(hatched) = hatched {
            scene.hatch(hatched, view, picture);
        }
    }

    fn prints(&mut self, snapshot: &Snapshot, perfect: bool) -> Option<&mut Prints> {
        let holds = self.prints.as_ref().is_some_and(|(r, p, _)| (*r, *p) == (snapshot.revision, perfect));
        if !holds {
            let dpi = snapshot.printing.sheet.size().dpi_for(PRINT);
            let prints = Prints::new(&snapshot.printing, &snapshot.images, perfect, dpi);
            self.prints = Some((snapshot.revision, perfect, prints));
        }
        self.prints.as_mut().map(|(_, _, prints)| prints)
    }
}

/// The two pictures of a drag: those that are here for as long as nothing but the layer's own slip, placement and
/// reading changes, or else new ones.
fn held<'a>(
    known: &'a mut Option<Held>,
    printing: &Printing,
    show: Show,
    (layer, view): (usize, &View),
    make: impl FnOnce() -> Option<DragCache>,
) -> Option<&'a DragCache> {
    let rest = without_position(printing, layer);
    let holds = |(p, s, cache): &Held| *p == rest && *s == show && cache.fits(layer, view);
    if !known.as_ref().is_some_and(holds) {
        *known = make().map(|cache| (rest, show, cache));
    }
    known.as_ref().map(|(_, _, cache)| cache)
}

/// The project but for what the pictures of a drag do not hold: where a layer lies and how it is read.
fn without_position(printing: &Printing, layer: usize) -> Printing {
    let mut rest = printing.clone();
    if let Some(layer) = rest.sheet.layers.get_mut(layer) {
        layer.slip = Slip::default();
        layer.reading = Default::default();
        layer.art.iter_mut().for_each(|a| a.placement = Default::default());
    }
    rest
}
