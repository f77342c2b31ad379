//! Pictures made beside the window: one named thread draws whatever was asked for last, and drops what
//! was overtaken. What can be kept between two pictures (the scene, the two pictures of a drag, the prints
//! of the faces) is kept by what it depends on.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use slipsheet_core::dummy::{self, DummyView, Piece, Prints};
use slipsheet_core::fold::Face;
use slipsheet_core::gray_check::GrayCheck;
use slipsheet_core::layer::{Art, Layer, Slip, Target};
use slipsheet_core::preflight::{self, Finding, ScanTrouble};
use slipsheet_core::project::{Images, Project};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::Mode;
use slipsheet_core::render::compare::{Compared, Comparison, Pair, Plates};
use slipsheet_core::render::{DragCache, Picture, Scene, Show, View};
use slipsheet_core::units::{Dpi, Size};

use crate::known_register::KnownRegister;
use crate::slot::Slot;

/// A snapshot to draw from.
#[derive(Clone)]
pub struct Snapshot {
    /// The project.
    pub project: Arc<Project>,
    /// Its pixels.
    pub images: Images,
    /// The session's revision.
    pub revision: u64,
}

/// What is to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum LiveOrder {
    /// A view of the flat sheet; a layer that is being dragged makes the next pictures quick.
    Sheet {
        /// What is shown.
        show: Show,
        /// The window onto it.
        view: View,
        /// The layer under the pointer.
        dragged: Option<usize>,
        /// The layer whose reading is under a slider: it is read for this view alone, quickly.
        tuned: Option<usize>,
        /// The layer whose lost tones are hatched.
        hatched: Option<usize>,
    },
    /// Two layers held against each other.
    Compare {
        /// The face they are on.
        face: Face,
        /// Which two.
        pair: Pair,
        /// What of them is shown.
        compared: Compared,
        /// The window onto it.
        view: View,
        /// Draw without slips.
        perfect: bool,
    },
    /// The folded thing.
    Dummy {
        /// How far it is folded, 0..=1.
        fold: f64,
        /// How often it is opened.
        open: f64,
        /// Where one looks from.
        view: DummyView,
        /// Draw without slips.
        perfect: bool,
    },
}

/// A picture that was asked for.
#[derive(Debug, Clone)]
pub struct LivePicture {
    /// What was asked for.
    pub order: LiveOrder,
    /// The revision it shows.
    pub revision: u64,
    /// The picture.
    pub picture: Picture,
}

/// What is known of one layer: how much it covers and how it looks in small.
#[derive(Debug, Clone, PartialEq)]
pub struct FacePrint {
    /// Mean effective coverage over the sheet, 0..=1; of a booklet over the sides that have artwork.
    pub coverage: f64,
    /// The plate in small, 0 full ink.
    pub thumbnail: GrayRaster,
    /// Its grays against what its ink can print, from a picture of some 900 pixels.
    pub check: GrayCheck,
    /// Said when a pale ink's original was prepared pale.
    pub pale: Option<String>,
}

/// What is known of a project at a revision.
#[derive(Debug, Clone)]
pub struct Figures {
    /// The session's revision.
    pub revision: u64,
    /// One a layer.
    pub prints: Vec<FacePrint>,
    /// What should be looked at before printing.
    pub findings: Vec<Finding>,
    /// Whether the study of the register is of this revision; otherwise another answer follows.
    pub complete: bool,
    /// The register as it was studied last.
    pub register: Option<Arc<KnownRegister>>,
}

/// The two threads that draw beside the window.
pub struct Live {
    orders: Arc<Slot<(Snapshot, LiveOrder)>>,
    pictures: Receiver<LivePicture>,
    figures_wanted: Arc<Slot<(Snapshot, Vec<ScanTrouble>)>>,
    figures: Receiver<Figures>,
}

impl Live {
    /// Starts the threads; `wake` is called from them when something is ready.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(wake: impl Fn() + Send + Sync + 'static) -> std::io::Result<Self> {
        let wake = Arc::new(wake);
        let orders: Arc<Slot<(Snapshot, LiveOrder)>> = Slot::new();
        let figures_wanted: Arc<Slot<(Snapshot, Vec<ScanTrouble>)>> = Slot::new();
        let (picture_sender, pictures) = channel();
        let (figure_sender, figures_ready) = channel();
        let (slot, bell) = (Arc::clone(&orders), Arc::clone(&wake));
        std::thread::Builder::new().name("live picture".to_owned()).spawn(move || {
            let mut painter = Painter::default();
            while let Some((snapshot, order)) = slot.take() {
                let picture = painter.paint(&snapshot, &order);
                if picture_sender.send(LivePicture { order, revision: snapshot.revision, picture }).is_err() {
                    return;
                }
                bell();
            }
        })?;
        let (slot, bell) = (Arc::clone(&figures_wanted), wake);
        std::thread::Builder::new().name("layer figures".to_owned()).spawn(move || {
            let (mut known, mut register) = (Vec::new(), None::<Arc<KnownRegister>>);
            while let Some((snapshot, troubles)) = slot.take() {
                let prints = figures(&snapshot, &mut known);
                let told = |register: &Option<Arc<KnownRegister>>, complete: bool| {
                    let studied = register.as_ref().map(|r| r.last(&snapshot)).unwrap_or_default();
                    let (project, images) = (&snapshot.project, &snapshot.images);
                    Figures {
                        revision: snapshot.revision,
                        prints: prints.clone(),
                        findings: preflight::findings_with(project, images, &troubles, &studied),
                        complete,
                        register: register.clone(),
                    }
                };
                // The study takes longer than all the rest, so what is known comes first.
                let fresh = register.as_ref().is_some_and(|r| r.is_of(&snapshot));
                if figure_sender.send(told(&register, fresh)).is_err() {
                    return;
                }
                bell();
                if fresh || slot.is_overtaken() {
                    continue;
                }
                register = Some(Arc::new(KnownRegister::study(&snapshot)));
                if figure_sender.send(told(&register, true)).is_err() {
                    return;
                }
                bell();
            }
        })?;
        Ok(Self { orders, pictures, figures_wanted, figures: figures_ready })
    }

    /// Asks for a picture.
    pub fn order(&self, snapshot: Snapshot, order: LiveOrder) {
        self.orders.put((snapshot, order));
    }

    /// The latest picture that is ready.
    pub fn picture(&self) -> Option<LivePicture> {
        self.pictures.try_iter().last()
    }

    /// Asks for coverage and thumbnails of every layer, and for what should be looked at before printing.
    pub fn order_figures(&self, snapshot: Snapshot, troubles: Vec<ScanTrouble>) {
        self.figures_wanted.put((snapshot, troubles));
    }

    /// The latest figures that are ready.
    pub fn figures(&self) -> Option<Figures> {
        self.figures.try_iter().last()
    }
}

impl Drop for Live {
    fn drop(&mut self) {
        self.orders.close();
        self.figures_wanted.close();
    }
}

/// Length of the prints on the dummy along the sheet's longer side, in pixels.
const PRINT: f64 = 2600.0;

/// The two pictures of a drag, and the project and the view they are of.
type Held = (Project, Show, DragCache);

/// What a comparison depends on: revision, face, layers, and whether slips are left away.
type CompareKey = (u64, Face, Pair, bool);

#[derive(Default)]
struct Painter {
    scene: Option<(u64, Show, Option<Scene>)>,
    drag: Option<Held>,
    prints: Option<(u64, bool, Prints)>,
    /// What is compared at a revision, and its plates in the view they were last drawn in: a blink asks for
    /// the same two again and again.
    comparison: Option<(CompareKey, Option<Comparison>)>,
    plates: Option<(View, Plates)>,
}

impl Painter {
    fn paint(&mut self, snapshot: &Snapshot, order: &LiveOrder) -> Picture {
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
                let project = &snapshot.project;
                let folded = Piece::of(project).folded(*fold, *open);
                let paper = dummy::paper_of(project);
                if let Some(prints) = self.prints(snapshot, *perfect) {
                    prints.sharpen(project, &snapshot.images, &folded, view);
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
            let scene = Scene::new(&snapshot.project, &snapshot.images, show).ok();
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
        match held(&mut self.drag, &snapshot.project, show, (layer, view), make) {
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
            let made = Comparison::new(&snapshot.project, &snapshot.images, face, pair, perfect);
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
        let Ok(scene) = Scene::quick(&snapshot.project, &snapshot.images, show, view, layer) else { return };
        let make = || scene.with_dots(view, None).as_ref().unwrap_or(&scene).drag_cache(layer, view);
        match held(&mut self.drag, &snapshot.project, show, (layer, view), make) {
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
            let dpi = snapshot.project.sheet_size().dpi_for(PRINT);
            let prints = Prints::new(&snapshot.project, &snapshot.images, perfect, dpi);
            self.prints = Some((snapshot.revision, perfect, prints));
        }
        self.prints.as_mut().map(|(_, _, prints)| prints)
    }
}

/// The two pictures of a drag: those that are here for as long as nothing but the layer's own slip, placement and
/// reading changes, or else new ones.
fn held<'a>(
    known: &'a mut Option<Held>,
    project: &Project,
    show: Show,
    (layer, view): (usize, &View),
    make: impl FnOnce() -> Option<DragCache>,
) -> Option<&'a DragCache> {
    let rest = without_position(project, layer);
    let holds = |(p, s, cache): &Held| *p == rest && *s == show && cache.fits(layer, view);
    if !known.as_ref().is_some_and(holds) {
        *known = make().map(|cache| (rest, show, cache));
    }
    known.as_ref().map(|(_, _, cache)| cache)
}

/// The project but for what the pictures of a drag do not hold: where a layer lies and how it is read.
fn without_position(project: &Project, layer: usize) -> Project {
    let mut rest = project.clone();
    if let Some(layer) = rest.layers.get_mut(layer) {
        layer.slip = Slip::default();
        layer.reading = Default::default();
        layer.art.iter_mut().for_each(|a| a.placement = Default::default());
    }
    rest
}

/// What a layer's figures depend on.
#[derive(PartialEq, Clone)]
pub(crate) struct FigureKey {
    art: Vec<Art>,
    loaded: Vec<bool>,
    ink: slipsheet_core::ink::Ink,
    reading: slipsheet_core::reading::Reading,
    remedies: Vec<slipsheet_core::remedy::Remedy>,
    under: Vec<Art>,
    sheet: Size,
    fold: Option<slipsheet_core::fold::Scheme>,
    booklet: Option<slipsheet_core::booklet::Booklet>,
    face: Face,
}

/// The artwork of other layers that a layer's remedies look at.
fn looked_at(project: &Project, layer: &Layer) -> Vec<Art> {
    let others = layer.remedies.iter().filter_map(slipsheet_core::remedy::Remedy::other);
    others.filter_map(|i| project.layers.get(i)).flat_map(|l| l.art.clone()).collect()
}

impl FigureKey {
    pub fn of(project: &Project, images: &Images, layer: &Layer) -> Self {
        Self {
            art: layer.art.clone(),
            loaded: layer.art.iter().map(|a| images.get(&a.scan.key).is_some()).collect(),
            ink: layer.ink.clone(),
            reading: layer.reading,
            sheet: project.sheet_size(),
            remedies: layer.remedies.clone(),
            under: looked_at(project, layer),
            fold: project.fold.clone(),
            booklet: project.booklet.clone(),
            face: layer.face,
        }
    }
}

/// Thumbnails are this many pixels along the sheet's longer side, and what figures are taken from.
const THUMBNAIL: f64 = 220.0;
const MEDIUM: f64 = 900.0;

impl FacePrint {
    /// Looks at one layer as it is meant to lie.
    pub(crate) fn of(project: &Project, images: &Images, i: usize) -> Option<Self> {
        let sheet = project.sheet_size();
        let longest = sheet.width.get().max(sheet.height.get()).max(1.0);
        let view = |side: f64| {
            View::sheet(sheet, Dpi::new((side / longest * 25.4).clamp(10.0, 300.0)).unwrap_or_default())
        };
        let layer = project.layers.get(i)?;
        let mut thumbnail = None;
        let (mut coverage, mut counts, mut sides) = (0.0, [0; 256], 0);
        for (sheet, face) in sides_of(project, i) {
            let one = project.on_sheet(sheet);
            // What an ink prints on the other face of a booklet lies on a layer of that sheet alone.
            let there = (0..one.layers.len()).find(|k| {
                project.origin(&one, *k) == i && one.layers.get(*k).is_some_and(|l| l.face == face)
            });
            let Some(k) = there else { continue };
            let show = Show { solo: Some(k), ..Show::meant(face) };
            let scene = Scene::new(&one, images, show).ok()?;
            let grays = scene.plate(k, &view(MEDIUM))?;
            if thumbnail.is_none() {
                thumbnail = scene.plate(k, &view(THUMBNAIL));
            }
            coverage += scene.coverage_of(k, &grays);
            sides += 1;
            let table = layer.reading.gray_table();
            for (gray, n) in slipsheet_core::reading::histogram(grays.pixels()).into_iter().enumerate() {
                let read = table.map_or(gray, |t| usize::from(t[gray]));
                if let Some(count) = counts.get_mut(read) {
                    *count += n;
                }
            }
        }
        let (thumbnail, coverage) = (thumbnail?, coverage / f64::from(sides.max(1)));
        let mut check = GrayCheck::of_histogram(counts, &layer.ink.curve);
        if matches!(layer.reading.mode, Mode::Line) {
            // A line reading asks for no tones; what lies between is the picture's own averaging of edges.
            (check.vanishes, check.clogs) = (0.0, 0.0);
        }
        Some(Self { coverage, thumbnail, check, pale: preflight::drawn_pale(layer, images) })
    }
}

/// The sides of sheets that a layer prints on: its face of a single sheet, and of a booklet those on which it has
/// artwork, or the first side where it has none at all.
fn sides_of(project: &Project, i: usize) -> Vec<(usize, Face)> {
    let Some(layer) = project.layers.get(i) else { return Vec::new() };
    let Some(booklet) = &project.booklet else { return vec![(0, layer.face)] };
    let mut sides: Vec<(usize, Face)> = layer
        .art
        .iter()
        .flat_map(|art| match art.target {
            Target::Sheet => (0..booklet.sheets()).map(|s| (s, layer.face)).collect::<Vec<_>>(),
            Target::Page(page) => booklet.face_of(page).into_iter().collect(),
            Target::Spread(page) => [page, page + 1].into_iter().filter_map(|p| booklet.face_of(p)).collect(),
        })
        .collect();
    sides.sort_unstable();
    sides.dedup();
    if sides.is_empty() { vec![(0, layer.face)] } else { sides }
}

fn figures(snapshot: &Snapshot, known: &mut Vec<(FigureKey, FacePrint)>) -> Vec<FacePrint> {
    let (project, images) = (&snapshot.project, &snapshot.images);
    let mut fresh: Vec<(FigureKey, FacePrint)> = Vec::new();
    for (i, layer) in project.layers.iter().enumerate() {
        let key = FigureKey::of(project, images, layer);
        if let Some(same) = known.iter().find(|(k, _)| *k == key) {
            fresh.push(same.clone());
        } else if let Some(print) = FacePrint::of(project, images, i) {
            fresh.push((key, print));
        }
    }
    *known = fresh;
    known.iter().map(|(_, print)| print.clone()).collect()
}
