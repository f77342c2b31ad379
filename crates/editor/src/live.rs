//! Pictures made beside the window: one named thread draws whatever was asked for last, and drops what
//! was overtaken. What can be kept between two pictures (the scene, the two pictures of a drag, the prints
//! of the faces) is kept by what it depends on.

use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Condvar, Mutex};

use slipsheet_core::dummy::{self, DummyView, Texture};
use slipsheet_core::fold::Face;
use slipsheet_core::gray_check::GrayCheck;
use slipsheet_core::layer::{Art, Slip};
use slipsheet_core::preflight::{self, Finding, ScanTrouble};
use slipsheet_core::project::{Images, Project};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::render::{DragCache, Picture, Scene, Show, View};
use slipsheet_core::units::{Dpi, Size};

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
    /// Mean effective coverage over the sheet, 0..=1.
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
}

/// A place for the latest wish; a new one takes the place of one that was not begun.
struct Slot<T> {
    wish: Mutex<(Option<T>, bool)>,
    bell: Condvar,
}

impl<T> Slot<T> {
    fn new() -> Arc<Self> {
        Arc::new(Self { wish: Mutex::new((None, false)), bell: Condvar::new() })
    }

    fn put(&self, wish: T) {
        let mut slot = self.wish.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        slot.0 = Some(wish);
        self.bell.notify_one();
    }

    fn close(&self) {
        let mut slot = self.wish.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        slot.1 = true;
        self.bell.notify_one();
    }

    /// Waits for a wish; `None` when the slot was closed.
    fn take(&self) -> Option<T> {
        let mut slot = self.wish.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        loop {
            if slot.1 {
                return None;
            }
            if let Some(wish) = slot.0.take() {
                return Some(wish);
            }
            slot = self.bell.wait(slot).unwrap_or_else(std::sync::PoisonError::into_inner);
        }
    }
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
            let mut known = Vec::new();
            while let Some((snapshot, troubles)) = slot.take() {
                let figures = Figures {
                    revision: snapshot.revision,
                    prints: figures(&snapshot, &mut known),
                    findings: preflight::findings(&snapshot.project, &snapshot.images, &troubles),
                };
                if figure_sender.send(figures).is_err() {
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

/// Resolution of the prints on the dummy: about 1800 pixels along the sheet.
fn print_dpi(sheet: Size) -> Dpi {
    let longest = sheet.width.get().max(sheet.height.get()).max(1.0);
    Dpi::new((1800.0 / longest * 25.4).clamp(10.0, 300.0)).unwrap_or_default()
}

#[derive(Default)]
struct Painter {
    scene: Option<(u64, Show, Option<Scene>)>,
    drag: Option<(Project, Show, DragCache)>,
    prints: Option<(u64, bool, [Option<Texture>; 2])>,
}

impl Painter {
    fn paint(&mut self, snapshot: &Snapshot, order: &LiveOrder) -> Picture {
        let mut picture = Picture::default();
        match order {
            LiveOrder::Sheet { show, view, dragged } => {
                self.sheet(snapshot, *show, view, *dragged, &mut picture)
            }
            LiveOrder::Dummy { fold, open, view, perfect } => {
                let project = &snapshot.project;
                let sheet = project.sheet_size();
                let flat;
                let scheme = match &project.fold {
                    Some(scheme) => scheme,
                    None => {
                        flat = flat_scheme(sheet);
                        &flat
                    }
                };
                let pose = scheme.pose(sheet, *fold, *open);
                let paper = project.stock.colour.lab().xyz().shown().rgb;
                let [front, back] = self.prints(snapshot, *perfect);
                dummy::draw(&pose, [front.as_ref(), back.as_ref()], paper, view, &mut picture);
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
        // The two pictures hold as long as nothing but the dragged layer's slip and placement moves.
        let rest = without_position(&snapshot.project, layer);
        let holds = self
            .drag
            .as_ref()
            .is_some_and(|(p, s, cache)| *p == rest && *s == show && cache.fits(layer, view));
        if !holds {
            self.drag = scene.drag_cache(layer, view).map(|cache| (rest, show, cache));
        }
        match &self.drag {
            Some((_, _, cache)) => scene.render_drag(cache, picture),
            None => scene.render_into(view, picture),
        }
    }

    fn prints(&mut self, snapshot: &Snapshot, perfect: bool) -> &[Option<Texture>; 2] {
        let holds = self.prints.as_ref().is_some_and(|(r, p, _)| (*r, *p) == (snapshot.revision, perfect));
        if !holds {
            let dpi = print_dpi(snapshot.project.sheet_size());
            let print = |face| {
                let show = Show { face, solo: None, perfect, sheet: 0, dots: false };
                let scene = Scene::new(&snapshot.project, &snapshot.images, show).ok()?;
                let picture = scene.render(&View::sheet(scene.sheet(), dpi));
                Some(Texture { picture, px_per_mm: dpi.px_per_mm() })
            };
            let back = if snapshot.project.two_sided() { print(Face::Back) } else { None };
            self.prints = Some((snapshot.revision, perfect, [print(Face::Front), back]));
        }
        const NONE: &[Option<Texture>; 2] = &[None, None];
        self.prints.as_ref().map_or(NONE, |(_, _, prints)| prints)
    }
}

/// A sheet without folds, so that the dummy of an unfolded project is the sheet itself.
fn flat_scheme(sheet: Size) -> slipsheet_core::fold::Scheme {
    slipsheet_core::fold::Scheme {
        id: "flat".to_owned(),
        name: "Flat sheet".to_owned(),
        summary: String::new(),
        lying: sheet.width.get() > sheet.height.get(),
        columns: vec![1.0],
        rows: vec![1.0],
        front: vec![slipsheet_core::fold::Panel { page: 1, turn: Default::default() }],
        back: vec![],
        creases: vec![],
        slits: vec![],
        binding: slipsheet_core::fold::Binding::Leaflet,
        order: None,
        shorter: vec![],
    }
}

fn without_position(project: &Project, layer: usize) -> Project {
    let mut rest = project.clone();
    if let Some(layer) = rest.layers.get_mut(layer) {
        layer.slip = Slip::default();
        layer.art.iter_mut().for_each(|a| a.placement = Default::default());
    }
    rest
}

/// What a layer's figures depend on.
#[derive(PartialEq, Clone)]
struct FigureKey {
    art: Vec<Art>,
    loaded: Vec<bool>,
    curve: slipsheet_core::tone::ToneCurve,
    reading: slipsheet_core::reading::Reading,
    sheet: Size,
    fold: Option<slipsheet_core::fold::Scheme>,
    face: Face,
}

/// Thumbnails are this many pixels along the sheet's longer side.
const THUMBNAIL: f64 = 220.0;

fn figures(snapshot: &Snapshot, known: &mut Vec<(FigureKey, FacePrint)>) -> Vec<FacePrint> {
    let project = &snapshot.project;
    let sheet = project.sheet_size();
    let longest = sheet.width.get().max(sheet.height.get()).max(1.0);
    let small =
        View::sheet(sheet, Dpi::new((THUMBNAIL / longest * 25.4).clamp(10.0, 300.0)).unwrap_or_default());
    let medium =
        View::sheet(sheet, Dpi::new((900.0 / longest * 25.4).clamp(10.0, 300.0)).unwrap_or_default());
    let mut fresh: Vec<(FigureKey, FacePrint)> = Vec::new();
    for (i, layer) in project.layers.iter().enumerate() {
        let key = FigureKey {
            art: layer.art.clone(),
            loaded: layer.art.iter().map(|a| snapshot.images.get(&a.scan.key).is_some()).collect(),
            curve: layer.ink.curve.clone(),
            reading: layer.reading,
            sheet,
            fold: project.fold.clone(),
            face: layer.face,
        };
        if let Some(same) = known.iter().find(|(k, _)| *k == key) {
            fresh.push(same.clone());
            continue;
        }
        let show = Show { face: layer.face, solo: Some(i), perfect: true, sheet: 0, dots: false };
        let Ok(scene) = Scene::new(project, &snapshot.images, show) else { continue };
        let Some(thumbnail) = scene.plate(i, &small) else { continue };
        let Some(grays) = scene.plate(i, &medium) else { continue };
        let coverage = scene.coverage_of(i, &grays);
        let grays = match layer.reading.gray_table() {
            Some(table) => grays.mapped(&table),
            None => grays,
        };
        let check = GrayCheck::of(&grays, &layer.ink.curve);
        let pale = check.drawn_pale(&layer.ink);
        fresh.push((key, FacePrint { coverage, thumbnail, check, pale }));
    }
    *known = fresh;
    known.iter().map(|(_, print)| print.clone()).collect()
}
