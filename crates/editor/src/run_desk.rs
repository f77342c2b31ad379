//! Studies, simulated copies, slip maps and pass plans, worked out beside the window, answered piece by piece and kept
//! by what they depend on. What is accepted is no part of that but for the share of the edges: another gap is counted
//! by whoever asks, from what is known.

mod answers;
mod pictures;

use std::sync::Arc;

use slipsheet_base::cache::Cache;
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;
use slipsheet_document::acceptance::{Acceptance, EdgeShare};
use slipsheet_document::edition::Edition;
use slipsheet_document::printing::Printing;
use slipsheet_document::project::WrapSheet;
use slipsheet_document::sheet::Sheet;
use slipsheet_document::terms::JobTerms;
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::job::seed_of;
use slipsheet_registration::slip::map::SlipMap;
use slipsheet_registration::slip::painter::{Change, Painter};
use slipsheet_registration::slip::run::{COPIES, Slipper, openings, ranked};
use slipsheet_registration::slip::vision::READING_DISTANCE;
use slipsheet_registration::slip::{Opening, RunOptions, SimulatedRun, SlipError, Study, StudyOptions};
use slipsheet_render::Picture;
use slipsheet_render::images::Images;

use crate::snapshot::Snapshot;
use crate::study_key::StudyKey;
use crate::worker::{Order, Turn};
use answers::answers;
pub use answers::{Answers, AnswersWanted, Booked, ShownAnswer};
pub use pictures::{LookWanted, RowWanted};
use pictures::{look, row, starts};

/// What a front wants to know about slips.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOrder {
    pub face: Face,
    /// The sheet of a booklet, from 0.
    pub sheet: usize,
    /// The simulated copies; the study alone without.
    pub copies: bool,
    /// How far each copy differs for the eye.
    pub changes: bool,
    pub row: Option<RowWanted>,
    /// The tightest place at each of the starting points, as large as this in pixels.
    pub starts: Option<u32>,
    pub look: Option<LookWanted>,
    /// The slip map of this layer.
    pub map: Option<usize>,
    pub answers: Option<AnswersWanted>,
}

/// What the desk found out. Everything is about the revision that the order was made at, and is told every time: a
/// front may have forgotten it.
#[derive(Debug, Clone)]
pub enum RunNews {
    /// What it depends on with the face, and the study.
    Study(Arc<StudyKey>, Face, Arc<Study>),
    Copies(Arc<SlippedCopies>),
    /// How far the first copies differ for the eye.
    Changes(Arc<Vec<Change>>),
    Row(RowWanted, Arc<Row>),
    Starts(Arc<Vec<Picture>>),
    Look(LookWanted, Arc<Vec<Picture>>),
    Map(Arc<SlipMap>),
    Answers(Arc<Answers>),
    /// Nothing can be said, and why.
    Failed(String),
}

/// The copies of a face, before they are painted.
#[derive(Debug, Clone, PartialEq)]
pub struct SlippedCopies {
    /// The accepted share of the edges that the openings are of.
    pub share: EdgeShare,
    /// Copy by copy.
    pub openings: Vec<Opening>,
    /// The copies from the best to the worst, by the gap that each needs.
    pub ranked: Vec<usize>,
}

/// Copies side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Middle of the place that is shown, in mm.
    pub place: Point,
    /// The number of each copy from 0, best first, and how it looks there.
    pub copies: Vec<(usize, Picture)>,
}

impl Order for RunOrder {
    type Reply = RunNews;
    type Kept = Desk;
    const WORK: &'static str = "Studying the slips";

    fn work(self, from: &Snapshot, desk: &mut Desk, turn: &Turn<'_, RunNews>) {
        match desk.work(from, &self, turn) {
            Ok(()) | Err(SlipError::Cancelled) => {}
            Err(e) => turn.reply(RunNews::Failed(e.to_string())),
        }
    }
}

type Of = (Arc<StudyKey>, Face);
/// Which copies: their study and their seed.
type RunKey = (Of, u64);

/// What proposals depend on besides: what is accepted and wanted, and for what they cost the whole project, but for its
/// pixels.
#[derive(Clone, PartialEq)]
struct Judged {
    acceptance: Acceptance,
    wanted: AnswersWanted,
    job: JobTerms,
    editions: Vec<Edition>,
    wrap: Option<Box<WrapSheet>>,
    /// Of a wrap in hand: the piece that it is around.
    piece: Option<Box<Sheet>>,
}

impl Judged {
    fn of(from: &Snapshot, wanted: AnswersWanted) -> Self {
        let (project, in_hand) = (&from.project, from.printing.is_wrap());
        Self {
            acceptance: project.acceptance,
            wanted,
            job: project.job.clone(),
            editions: project.main.editions.clone(),
            wrap: project.wrap.clone(),
            piece: in_hand.then(|| Box::new(project.main.clone())),
        }
    }
}

/// The most bytes of studies, of copies, and of pictures that are kept.
const STUDY_BYTES: usize = 64 << 20;
const RUN_BYTES: usize = 16 << 20;
const PICTURE_BYTES: usize = 64 << 20;
/// The most bytes of each kind of what is small.
const SMALL_BYTES: usize = 4 << 20;
/// Copies that are painted before news are told.
const TOGETHER: usize = 50;

/// What was found out.
#[derive(Default)]
pub struct Desk {
    studies: Cache<Of, Study, STUDY_BYTES>,
    copies: Cache<(RunKey, EdgeShare), SlippedCopies, RUN_BYTES>,
    changes: Cache<RunKey, Vec<Change>, RUN_BYTES>,
    /// The copies that were painted when another order came.
    begun: Option<(RunKey, Vec<Change>)>,
    rows: Cache<(RunKey, EdgeShare, RowWanted), Row, PICTURE_BYTES>,
    starts: Cache<(Of, u32), Vec<Picture>, SMALL_BYTES>,
    looks: Cache<(RunKey, LookWanted), Vec<Picture>, PICTURE_BYTES>,
    maps: Cache<(Of, usize), Option<SlipMap>, SMALL_BYTES>,
    answers: Cache<(RunKey, Judged), Answers, PICTURE_BYTES>,
}

/// What an order is worked out from.
struct Case<'a> {
    of: Of,
    seed: u64,
    study: Arc<Study>,
    images: &'a Images,
    /// What is accepted; the key of the study knows nothing of it.
    share: EdgeShare,
    turn: &'a Turn<'a, RunNews>,
}

impl Case<'_> {
    fn printing(&self) -> &Printing {
        self.of.0.printing()
    }

    fn face(&self) -> Face {
        self.of.1
    }

    fn key(&self) -> RunKey {
        (self.of.clone(), self.seed)
    }

    fn slipper(&self) -> Slipper {
        Slipper::of(self.printing(), self.face(), self.seed)
    }

    fn go_on(&self) -> Result<(), SlipError> {
        if self.turn.is_overtaken() { Err(SlipError::Cancelled) } else { Ok(()) }
    }
}

impl Desk {
    fn work(&mut self, from: &Snapshot, order: &RunOrder, turn: &Turn<'_, RunNews>) -> Result<(), SlipError> {
        let of = (Arc::new(StudyKey::of(from)), order.face);
        let (printing, images) = (of.0.printing(), &from.images);
        let options = StudyOptions::of(&printing.press, order.face);
        let study = self.studies.get_or_try(of.clone(), || Study::of(printing, images, &options))?;
        turn.reply(RunNews::Study(Arc::clone(&of.0), of.1, Arc::clone(&study)));
        let (seed, share) = (seed_of(order.sheet), from.printing.acceptance.share);
        self.more(from, order, &Case { of, seed, study, images, share, turn })
    }

    /// What is wanted besides the study, the quickest first.
    fn more(&mut self, from: &Snapshot, order: &RunOrder, case: &Case<'_>) -> Result<(), SlipError> {
        if order.copies {
            let copies = self.slipped(case);
            case.turn.reply(RunNews::Copies(Arc::clone(&copies)));
            if let Some(wanted) = order.row {
                let key = (case.key(), case.share, wanted);
                let row = self.rows.get_or_try(key, || row(case, &copies, &wanted))?;
                case.turn.reply(RunNews::Row(wanted, row));
            }
        }
        if let Some(wanted) = order.look {
            let pictures = self.looks.get_or_try((case.key(), wanted), || look(case, &wanted))?;
            case.turn.reply(RunNews::Look(wanted, pictures));
        }
        if let Some(pixels) = order.starts {
            let pictures = self.starts.get_or_try((case.of.clone(), pixels), || starts(case, pixels))?;
            case.turn.reply(RunNews::Starts(pictures));
        }
        if let Some(layer) = order.map {
            case.go_on()?;
            let map = self.maps.get_or_try((case.of.clone(), layer), || slip_map(case, layer))?;
            if let Some(map) = &*map {
                case.turn.reply(RunNews::Map(Arc::new(map.clone())));
            }
        }
        if let Some(wanted) = order.answers {
            let key = (case.key(), Judged::of(from, wanted));
            let found = self.answers.get_or_try(key, || answers(case, from, &wanted))?;
            case.turn.reply(RunNews::Answers(found));
        }
        if order.changes { self.paint(case) } else { Ok(()) }
    }

    fn slipped(&self, case: &Case<'_>) -> Arc<SlippedCopies> {
        let key = (case.key(), case.share);
        let draw = || {
            let openings = openings(&case.study, case.share, &case.slipper(), COPIES);
            SlippedCopies { share: case.share, ranked: ranked(&openings), openings }
        };
        let Ok(copies) = self.copies.get_or_try(key, || Ok::<_, std::convert::Infallible>(draw()));
        copies
    }

    /// Paints the copies that are still to come; what was painted before another order came is kept.
    fn paint(&mut self, case: &Case<'_>) -> Result<(), SlipError> {
        let key = case.key();
        if let Some(whole) = self.changes.get(&key) {
            case.turn.reply(RunNews::Changes(whole));
            return Ok(());
        }
        let options = RunOptions { face: case.face(), seed: case.seed, ..RunOptions::default() };
        let run = SimulatedRun::new(case.printing(), case.images, Study::clone(&case.study), options)?;
        let begun = self.begun.take().filter(|(of, _)| *of == key).map(|(_, changes)| changes);
        let mut changes = begun.unwrap_or_default();
        let painted = run.groups(changes.len(), TOGETHER, &|| case.turn.is_overtaken(), &mut |fresh| {
            changes.extend(fresh.iter().map(|copy| copy.change));
            case.turn.reply(RunNews::Changes(Arc::new(changes.clone())));
            true
        });
        if let Err(e) = painted {
            self.begun = Some((key, changes));
            return Err(e);
        }
        self.changes.get_or_make(key, || Some(changes));
        Ok(())
    }
}

/// The slip map of a layer; none where it is not printed on the face.
fn slip_map(case: &Case<'_>, layer: usize) -> Result<Option<SlipMap>, SlipError> {
    let dpi = Dpi::nearest(60.0);
    let painter = Painter::new(case.printing(), case.images, case.face(), dpi, READING_DISTANCE)?;
    SlipMap::of(&painter, layer, 1.5, 13, &|| case.turn.is_overtaken())
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
        let order = RunOrder {
            face,
            sheet: 0,
            copies: false,
            changes: false,
            row: None,
            starts: None,
            look: None,
            map: None,
            answers: None,
        };
        worker.order(from.clone(), order);
        let (start, mut news) = (Instant::now(), Vec::new());
        while worker.is_busy() {
            assert!(start.elapsed() < Duration::from_secs(20), "no answer");
            std::thread::sleep(Duration::from_millis(2));
            news.extend(worker.poll());
        }
        let [(_, RunNews::Study(_, _, study))] = &news[..] else { panic!("{news:?}") };
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
