//! Studies, runs, slip maps and pass plans, worked out beside the window, answered piece by piece and kept by what they
//! depend on.

use std::sync::Arc;

use slipsheet_base::cache::Cache;
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::units::Dpi;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_registration::plan::{self, Figures, PassPlan, Weights};
use slipsheet_registration::propose::{Proposals, ProposeOptions, propose};
use slipsheet_registration::slip::map::SlipMap;
use slipsheet_registration::slip::painter::Painter;
use slipsheet_registration::slip::run::{ContactSheet, LayerSlip, Slipper, contact_sheet, extremes, summary};
use slipsheet_registration::slip::vision::READING_DISTANCE;
use slipsheet_registration::slip::{
    Copied, Covers, RunOptions, RunSummary, SimulatedRun, SlipError, Study, StudyOptions,
};
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

use crate::snapshot::Snapshot;
use crate::study_key::StudyKey;
use crate::worker::{Order, Turn};

/// What a front wants to know about slips.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOrder {
    pub face: Face,
    /// A simulated run, with a contact sheet; the study alone without.
    pub run: Option<RunWanted>,
    pub copy: Option<CopyWanted>,
    /// The slip map of this layer.
    pub map: Option<usize>,
    pub plans: bool,
    /// Answers with which this share of copies would sell, 0..=1.
    pub propose: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunWanted {
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

/// What the desk found out. Everything is about the revision that the order was made at.
#[derive(Debug, Clone)]
pub enum RunNews {
    Study(Arc<Study>),
    /// Copies, in order; the first ones begin a new run.
    Copies(Vec<Copied>),
    /// The run is complete; what it is a run of is said besides.
    Summary(RunSummary, Face, Arc<StudyKey>),
    /// The first copies side by side, and which place they show.
    Contact(Picture, Point),
    Copy(CopyWanted, Picture),
    Map(SlipMap),
    /// The best pass plans, and what the present passes come to.
    Plans(Vec<PassPlan>, PassPlan),
    Proposed(Proposals),
    /// Nothing can be said, and why.
    Failed(String),
}

impl Order for RunOrder {
    type Reply = RunNews;
    type Kept = Desk;
    const WORK: &'static str = "Studying the slips";

    fn work(self, from: &Snapshot, desk: &mut Desk, turn: &Turn<'_, RunNews>) {
        match desk.work(from, &self, turn) {
            Ok(()) | Err(SlipError::Cancelled) => {}
            Err(e) => {
                desk.reported = None;
                turn.reply(RunNews::Failed(e.to_string()));
            }
        }
    }
}

type Of = (Arc<StudyKey>, Face);
/// Which run: its study, seed and number of copies.
type RunKey = (Of, u64, usize);

/// The most bytes of studies, and of copies of whole runs.
const STUDY_BYTES: usize = 64 << 20;
const RUN_BYTES: usize = 16 << 20;
/// The most bytes of each kind of what is small.
const SMALL_BYTES: usize = 4 << 20;

/// What was found out, and what of it the front has been told.
#[derive(Default)]
pub struct Desk {
    studies: Cache<Of, Study, STUDY_BYTES>,
    runs: Cache<RunKey, Vec<Copied>, RUN_BYTES>,
    maps: Cache<(Of, usize), Option<SlipMap>, SMALL_BYTES>,
    /// The best pass plans, and last what the present passes come to.
    plans: Cache<(Of, u64), Vec<PassPlan>, SMALL_BYTES>,
    /// The copies of a run that another order broke off.
    begun: Option<(RunKey, Vec<Copied>)>,
    reported: Option<Reported>,
}

/// What the front knows of a study.
struct Reported {
    of: Of,
    map: Option<usize>,
    plans: Option<u64>,
    run: Option<RunWanted>,
}

/// What an order is worked out from.
struct Case<'a> {
    of: Of,
    study: Arc<Study>,
    images: &'a Images,
    turn: &'a Turn<'a, RunNews>,
}

impl Case<'_> {
    fn printing(&self) -> &Printing {
        self.of.0.printing()
    }

    fn face(&self) -> Face {
        self.of.1
    }
}

impl Desk {
    fn work(&mut self, from: &Snapshot, order: &RunOrder, turn: &Turn<'_, RunNews>) -> Result<(), SlipError> {
        let of = (Arc::new(StudyKey::of(from)), order.face);
        let (printing, images) = (of.0.printing(), &from.images);
        let options = StudyOptions::of(&printing.press, order.face);
        let study = self.studies.get_or_try(of.clone(), || Study::of(printing, images, &options))?;
        // Told every time: a front may have looked at another face meanwhile.
        turn.reply(RunNews::Study(Arc::clone(&study)));
        let fresh = Reported { of: of.clone(), map: None, plans: None, run: None };
        let mut reported = self.reported.take().filter(|reported| reported.of == of).unwrap_or(fresh);
        let done = self.more(order, &Case { of, study, images, turn }, &mut reported);
        self.reported = Some(reported);
        done
    }

    /// What is wanted besides the study, the quickest first.
    fn more(&mut self, order: &RunOrder, case: &Case<'_>, reported: &mut Reported) -> Result<(), SlipError> {
        if let Some(copy) = order.copy {
            case.turn.reply(RunNews::Copy(copy, near(case, copy)?));
        }
        if let Some(layer) = order.map.filter(|l| reported.map != Some(*l)) {
            let map = self.maps.get_or_try((case.of.clone(), layer), || slip_map(case, layer))?;
            if let Some(map) = &*map {
                case.turn.reply(RunNews::Map(map.clone()));
            }
            reported.map = Some(layer);
        }
        let wanted = order.run.map_or(Weights::default().wanted, |r| r.wanted);
        if order.plans && reported.plans != Some(wanted) {
            let plans = self.plans.get_or_try((case.of.clone(), wanted), || plans(case, wanted))?;
            if let Some((present, best)) = plans.split_last() {
                case.turn.reply(RunNews::Plans(best.to_vec(), present.clone()));
            }
            reported.plans = Some(wanted);
        }
        if let Some(wanted_share) = order.propose {
            let stop = || case.turn.is_overtaken();
            let defaults = ProposeOptions::of(order.face);
            let options = ProposeOptions {
                wanted_share,
                weights: Weights { wanted, ..Weights::default() },
                seed: order.run.map_or(defaults.seed, |r| r.seed),
                ..defaults
            };
            case.turn.reply(RunNews::Proposed(propose(case.printing(), case.images, &options, &stop)?));
        }
        match order.run {
            Some(wanted) if reported.run != Some(wanted) => {
                self.run(case, wanted)?;
                reported.run = Some(wanted);
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// Draws the copies that are still to come; what was drawn before another order came is kept.
    fn run(&mut self, case: &Case<'_>, wanted: RunWanted) -> Result<(), SlipError> {
        let (face, turn) = (case.face(), case.turn);
        let options = RunOptions { face, copies: wanted.copies, seed: wanted.seed, ..RunOptions::default() };
        let run = SimulatedRun::new(case.printing(), case.images, Study::clone(&case.study), options)?;
        let key = (case.of.clone(), wanted.seed, wanted.copies);
        let begun = self.begun.take().filter(|(of, _)| *of == key).map(|(_, copies)| copies);
        let known = self.runs.get(&key).map(|copies| copies.to_vec()).or(begun);
        let mut copies = known.unwrap_or_default();
        // From the first on, for a front that has begun anew.
        if !copies.is_empty() {
            turn.reply(RunNews::Copies(copies.clone()));
        }

        let drawn = run.groups(copies.len(), TOGETHER, &|| turn.is_overtaken(), &mut |fresh| {
            copies.extend(fresh.iter().cloned());
            turn.reply(RunNews::Copies(fresh));
            true
        });
        if let Err(e) = drawn {
            self.begun = Some((key, copies));
            return Err(e);
        }
        turn.reply(RunNews::Summary(
            summary(&copies, &case.printing().acceptance),
            face,
            Arc::clone(&case.of.0),
        ));
        let place = middle_of(&case.study, wanted.place);
        let shown = copies.get(..SHOWN.min(copies.len())).unwrap_or(&[]);
        turn.reply(RunNews::Contact(
            contact_sheet(
                &run,
                shown,
                &case.printing().acceptance,
                &ContactSheet {
                    place,
                    side: PLACE,
                    columns: wanted.cells.0,
                    cell: wanted.cells.1,
                    colours: wanted.colours,
                },
            ),
            place,
        ));
        self.runs.get_or_make(key, || Some(copies));
        Ok(())
    }
}

fn near(case: &Case<'_>, copy: CopyWanted) -> Result<Picture, SlipError> {
    let scene = Scene::new(case.printing(), case.images, Show::meant(case.face()))?;
    let slipper = Slipper::of(case.printing(), case.face(), copy.seed);
    let shown = copy.extremes.map_or(copy.index..copy.index + 1, |copies| 0..copies);
    let slips: Vec<Vec<LayerSlip>> = shown.map(|i| slipper.slips(i as u64)).collect();
    let view = place_view(&case.study, copy.place, copy.side, copy.pixels);
    // The extremes of one copy are that copy.
    Ok(extremes(&scene, case.study.sheet, &slips, &view))
}

/// The slip map of a layer; none where it is not printed on the face.
fn slip_map(case: &Case<'_>, layer: usize) -> Result<Option<SlipMap>, SlipError> {
    let dpi = Dpi::nearest(60.0);
    let painter = Painter::new(case.printing(), case.images, case.face(), dpi, READING_DISTANCE)?;
    SlipMap::of(&painter, layer, 1.5, 13, &|| case.turn.is_overtaken())
}

/// The best pass plans, and last what the present passes come to.
fn plans(case: &Case<'_>, wanted: u64) -> Result<Vec<PassPlan>, SlipError> {
    let (printing, face) = (case.printing(), case.face());
    let covers = Covers::of(printing, case.images, face, Dpi::nearest(50.0))?;
    let weights = Weights { wanted, ..Weights::default() };
    let figures = Figures::new(printing, &covers, &case.study, face, weights);
    let shown = figures.layers();
    let present: Vec<Vec<usize>> = passes::passes(printing, face)
        .into_iter()
        .map(|p| p.into_iter().filter(|l| shown.contains(l)).collect::<Vec<_>>())
        .filter(|p| !p.is_empty())
        .collect();
    let mut plans = plan::best(&figures);
    plans.push(plan::evaluate(&figures, &present));
    Ok(plans)
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

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use slipsheet_core::units::{Mm, SheetFormat};
    use slipsheet_document::shelf::Shelf;

    use super::*;
    use crate::worker::Worker;

    /// The study of a face, once the order is done.
    fn study(worker: &mut Worker<RunOrder>, from: &Snapshot, face: Face) -> Arc<Study> {
        let order = RunOrder { face, run: None, copy: None, map: None, plans: false, propose: None };
        worker.order(from.clone(), order);
        let (start, mut news) = (Instant::now(), Vec::new());
        while worker.is_busy() {
            assert!(start.elapsed() < Duration::from_secs(20), "no answer");
            std::thread::sleep(Duration::from_millis(2));
            news.extend(worker.poll());
        }
        let [(_, RunNews::Study(study))] = &news[..] else { panic!("{news:?}") };
        Arc::clone(study)
    }

    #[test]
    fn a_study_is_kept_while_another_face_is_looked_at_and_over_a_job_that_ends() {
        let shelf = Shelf::starter().unwrap();
        let printing = Printing::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        let mut from = Snapshot::of(&printing);
        let mut worker = Worker::start(|| ()).unwrap();
        let front = study(&mut worker, &from, Face::Front);
        let back = study(&mut worker, &from, Face::Back);
        assert!(!Arc::ptr_eq(&front, &back));
        from.revision += 1;
        assert!(Arc::ptr_eq(&front, &study(&mut worker, &from, Face::Front)));
        Arc::make_mut(&mut from.printing).sheet.trim = Mm::new(4.0);
        assert!(!Arc::ptr_eq(&front, &study(&mut worker, &from, Face::Front)));
    }
}
