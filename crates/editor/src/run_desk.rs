//! Studies, runs, slip maps and pass plans, worked out beside the window: one named thread takes the latest
//! wish, answers piece by piece, and leaves what was overtaken.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::units::Dpi;
use slipsheet_document::passes;
use slipsheet_paper::fold::Face;
use slipsheet_registration::plan::{self, Figures, PassPlan, Weights};
use slipsheet_registration::slip::map::SlipMap;
use slipsheet_registration::slip::painter::Painter;
use slipsheet_registration::slip::run::{LayerSlip, Slipper, contact_sheet, extremes, summary};
use slipsheet_registration::slip::{
    Copied, Covers, RunOptions, RunSummary, SimulatedRun, SlipError, Study, StudyOptions,
};
use slipsheet_registration::suggest::{Suggestion, suggest};
use slipsheet_render::{Picture, Scene, Show, View};

use crate::slot::Slot;
use crate::snapshot::Snapshot;
use crate::study_key::StudyKey;

/// What a front wants to know about slips.
#[derive(Debug, Clone, PartialEq)]
pub struct RunWish {
    /// Which face.
    pub face: Face,
    /// A simulated run, with a contact sheet; the study alone without.
    pub run: Option<RunWanted>,
    /// One copy of the run from near.
    pub copy: Option<CopyWanted>,
    /// The slip map of this layer.
    pub map: Option<usize>,
    /// The best pass plans.
    pub plans: bool,
    /// A remedy that brings the tolerance to so many mm.
    pub suggest: Option<f64>,
}

/// How a run is to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunWanted {
    /// Copies.
    pub copies: usize,
    /// Seed of their slips.
    pub seed: u64,
    /// Good copies wanted.
    pub wanted: u64,
    /// Middle of the place that the contact sheet shows, in mm; without it the tightest place.
    pub place: Option<Point>,
    /// Columns of the contact sheet, and pixels a cell.
    pub cells: (usize, usize),
    /// Colours of the rule under good copies, under others, and of the ground.
    pub colours: [[u8; 4]; 3],
}

/// One copy from near, or the extremes of the run over one another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CopyWanted {
    /// Its number, from 0.
    pub index: usize,
    /// The farthest of so many copies in place of one.
    pub extremes: Option<usize>,
    /// Seed of the run's slips.
    pub seed: u64,
    /// Middle of the place, in mm; without it the tightest place.
    pub place: Option<Point>,
    /// Side of the place in mm.
    pub side: f64,
    /// Side of the picture in pixels.
    pub pixels: u32,
}

/// Copies that are drawn before news are told.
const TOGETHER: usize = 8;
/// Side in mm of the place that a contact sheet shows.
pub const PLACE: f64 = 22.0;
/// Copies on a contact sheet.
pub const SHOWN: usize = 48;

/// What the desk found out. Everything is about the revision that the wish was made at.
#[derive(Debug, Clone)]
pub enum RunNews {
    /// The study.
    Study(Arc<Study>),
    /// Copies, in order; the first ones begin a new run.
    Copies(Vec<Copied>),
    /// The run is complete; what it is a run of is said besides.
    Summary(RunSummary, Face, Arc<StudyKey>),
    /// The first copies side by side, and which place they show.
    Contact(Picture, Point),
    /// One copy from near.
    Copy(CopyWanted, Picture),
    /// A slip map.
    Map(SlipMap),
    /// The best pass plans, and what the present passes come to.
    Plans(Vec<PassPlan>, PassPlan),
    /// A remedy, or none that helps.
    Suggested(Option<Suggestion>),
    /// Nothing can be said, and why.
    Failed(String),
    /// The wish of this revision is fulfilled.
    Done(u64, Box<RunWish>),
}

/// The desk: a thread that waits for wishes.
pub struct RunDesk {
    wishes: Arc<Slot<(Snapshot, RunWish)>>,
    news: Receiver<RunNews>,
}

impl RunDesk {
    /// Starts the thread; `wake` is called from it when there are news.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(wake: impl Fn() + Send + 'static) -> std::io::Result<Self> {
        let wishes: Arc<Slot<(Snapshot, RunWish)>> = Slot::new();
        let (sender, news) = channel();
        let slot = Arc::clone(&wishes);
        std::thread::Builder::new().name("run desk".to_owned()).spawn(move || {
            let mut desk = Desk { known: None, sender, wake, slot: Arc::clone(&slot) };
            while let Some((snapshot, wish)) = slot.take() {
                if desk.fulfil(&snapshot, &wish).is_none() {
                    return;
                }
            }
        })?;
        Ok(Self { wishes, news })
    }

    /// Asks for something; what was asked for before and is not done is left.
    pub fn wish(&self, snapshot: Snapshot, wish: RunWish) {
        self.wishes.put((snapshot, wish));
    }

    /// What has come since it was last asked.
    pub fn news(&self) -> impl Iterator<Item = RunNews> + '_ {
        self.news.try_iter()
    }
}

impl Drop for RunDesk {
    fn drop(&mut self) {
        self.wishes.close();
    }
}

/// What is known about the last project looked at.
struct Known {
    key: Arc<StudyKey>,
    face: Face,
    study: Arc<Study>,
    ran: Option<RunWanted>,
    /// Seed and number of the copies that are here.
    ran_as: Option<(u64, usize)>,
    copies: Vec<Copied>,
    map: Option<usize>,
    plans: Option<u64>,
}

struct Desk<W> {
    known: Option<Known>,
    sender: Sender<RunNews>,
    wake: W,
    slot: Arc<Slot<(Snapshot, RunWish)>>,
}

impl<W: Fn()> Desk<W> {
    fn tell(&self, news: RunNews) -> Option<()> {
        self.sender.send(news).ok()?;
        (self.wake)();
        Some(())
    }

    /// `None` when nobody listens any more.
    fn fulfil(&mut self, snapshot: &Snapshot, wish: &RunWish) -> Option<()> {
        match self.work(snapshot, wish) {
            Err(SlipError::Cancelled) => Some(()),
            Err(e) => {
                self.known = None;
                self.tell(RunNews::Failed(e.to_string()))?;
                self.tell(RunNews::Done(snapshot.revision, Box::new(wish.clone())))
            }
            Ok(gone) => {
                gone?;
                self.tell(RunNews::Done(snapshot.revision, Box::new(wish.clone())))
            }
        }
    }

    fn work(&mut self, snapshot: &Snapshot, wish: &RunWish) -> Result<Option<()>, SlipError> {
        let key = Arc::new(StudyKey::of(snapshot));
        let known = self.known.take().filter(|k| k.key == key && k.face == wish.face);
        let mut known = match known {
            Some(known) => known,
            None => {
                let options = StudyOptions::of(&key.printing().press, wish.face);
                let study = Arc::new(Study::of(key.printing(), &snapshot.images, &options)?);
                Known {
                    key,
                    face: wish.face,
                    study,
                    ran: None,
                    ran_as: None,
                    copies: Vec::new(),
                    map: None,
                    plans: None,
                }
            }
        };
        // Told every time: a front may have looked at another face meanwhile.
        let told = self.tell(RunNews::Study(Arc::clone(&known.study)));
        let done = told.map(|()| self.more(snapshot, wish, &mut known)).transpose();
        self.known = Some(known);
        done.map(Option::flatten)
    }

    fn more(&self, snapshot: &Snapshot, wish: &RunWish, known: &mut Known) -> Result<Option<()>, SlipError> {
        let images = &snapshot.images;
        let face = wish.face;
        let overtaken = || self.slot.is_overtaken();
        if let Some(copy) = wish.copy {
            let show = Show::meant(face);
            let scene = Scene::new(known.key.printing(), images, show)?;
            let slipper = Slipper::of(known.key.printing(), face, copy.seed);
            let shown = copy.extremes.map_or(copy.index..copy.index + 1, |copies| 0..copies);
            let slips: Vec<Vec<LayerSlip>> = shown.map(|i| slipper.slips(i as u64)).collect();
            let view = place_view(&known.study, copy.place, copy.side, copy.pixels);
            // The extremes of one copy are that copy.
            let picture = extremes(&scene, known.study.sheet, &slips, &view);
            if self.tell(RunNews::Copy(copy, picture)).is_none() {
                return Ok(None);
            }
        }
        if let Some(layer) = wish.map.filter(|l| known.map != Some(*l)) {
            let dpi = Dpi::new(60.0).unwrap_or_default();
            let distance = slipsheet_registration::slip::vision::READING_DISTANCE;
            let painter = Painter::new(known.key.printing(), images, face, dpi, distance)?;
            let slot = &self.slot;
            let stop = || slot.is_overtaken();
            if let Some(map) = SlipMap::of(&painter, layer, 1.5, 13, &stop)?
                && self.tell(RunNews::Map(map)).is_none()
            {
                return Ok(None);
            }
            known.map = Some(layer);
        }
        let wanted = wish.run.map_or(Weights::default().wanted, |r| r.wanted);
        if wish.plans && known.plans != Some(wanted) {
            let dpi = Dpi::new(50.0).unwrap_or_default();
            let covers = Covers::of(known.key.printing(), images, face, dpi)?;
            let weights = Weights { wanted, ..Weights::default() };
            let figures = Figures::new(known.key.printing(), &covers, &known.study, face, weights);
            let plans = plan::best(&figures);
            let shown = figures.layers();
            let present: Vec<Vec<usize>> = passes::passes(known.key.printing(), face)
                .into_iter()
                .map(|p| p.into_iter().filter(|l| shown.contains(l)).collect::<Vec<_>>())
                .filter(|p| !p.is_empty())
                .collect();
            if self.tell(RunNews::Plans(plans, plan::evaluate(&figures, &present))).is_none() {
                return Ok(None);
            }
            known.plans = Some(wanted);
        }
        if let Some(wanted) = wish.suggest {
            let found = suggest(known.key.printing(), images, &known.study.options, wanted, &overtaken)?;
            if self.tell(RunNews::Suggested(found)).is_none() {
                return Ok(None);
            }
        }
        match wish.run {
            Some(wanted) if known.ran != Some(wanted) => self.run(snapshot, wish.face, wanted, known),
            _ => Ok(Some(())),
        }
    }

    /// Draws the copies that are still to come; what was drawn before another wish came is kept.
    fn run(
        &self,
        snapshot: &Snapshot,
        face: Face,
        wanted: RunWanted,
        known: &mut Known,
    ) -> Result<Option<()>, SlipError> {
        let options = RunOptions { face, copies: wanted.copies, seed: wanted.seed, ..RunOptions::default() };
        let run =
            SimulatedRun::new(known.key.printing(), &snapshot.images, Study::clone(&known.study), options)?;
        let same = known.ran_as == Some((wanted.seed, wanted.copies));
        if !same {
            known.copies.clear();
            known.ran_as = Some((wanted.seed, wanted.copies));
        }
        // From the first on, for a front that has begun anew.
        if !known.copies.is_empty() && self.tell(RunNews::Copies(known.copies.clone())).is_none() {
            return Ok(None);
        }
        let overtaken = || self.slot.is_overtaken();
        let all = run.groups(known.copies.len(), TOGETHER, &overtaken, &mut |fresh| {
            known.copies.extend(fresh.iter().cloned());
            self.tell(RunNews::Copies(fresh)).is_some()
        })?;
        if !all {
            return Ok(None);
        }
        if self.tell(RunNews::Summary(summary(&known.copies), face, Arc::clone(&known.key))).is_none() {
            return Ok(None);
        }
        let place = middle_of(&known.study, wanted.place);
        let shown = known.copies.get(..SHOWN.min(known.copies.len())).unwrap_or(&[]);
        let picture = contact_sheet(&run, shown, (place, PLACE), wanted.cells, wanted.colours);
        known.ran = Some(wanted);
        Ok(self.tell(RunNews::Contact(picture, place)))
    }
}

/// The place asked for, the tightest one, or the middle of the sheet.
fn middle_of(study: &Study, place: Option<Point>) -> Point {
    let middle = Point::new(study.sheet.width.get() / 2.0, study.sheet.height.get() / 2.0);
    place.or_else(|| study.worst(1).first().map(|w| w.tight.at)).unwrap_or(middle)
}

/// A square around a place, moved onto the sheet where it would hang over.
fn place_view(study: &Study, place: Option<Point>, side: f64, pixels: u32) -> View {
    let place = middle_of(study, place);
    let within =
        |c: f64, most: f64| if side < most { c.clamp(side / 2.0, most - side / 2.0) } else { most / 2.0 };
    let x = within(place.x, study.sheet.width.get()) - side / 2.0;
    let y = within(place.y, study.sheet.height.get()) - side / 2.0;
    View::of_rect(Rect { x, y, width: side, height: side }, pixels, pixels)
}
