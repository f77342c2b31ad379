//! Pictures made beside the window, and what is known of the layers. What can be kept between two pictures (the scene,
//! the two pictures of a drag, the prints of the faces) is kept by what it depends on.

mod figures;
mod painter;

use std::sync::Arc;

use slipsheet_base::cache::Cache;
use slipsheet_booking::preflight::{self, Finding, ScanTrouble};
use slipsheet_paper::fold::Face;
use slipsheet_render::compare::{Compared, Pair};
use slipsheet_render::dummy::DummyView;
use slipsheet_render::{Picture, Show, View};

use crate::known_register::KnownRegister;
use crate::snapshot::Snapshot;
use crate::study_key::StudyKey;
use crate::worker::{Order, Turn};
pub use figures::FacePrint;
pub(crate) use figures::Prints;
use painter::Painter;

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

/// What is known of a project.
#[derive(Debug, Clone)]
pub struct Figures {
    /// One a layer, but for those that cannot be drawn.
    pub prints: Vec<Option<Arc<FacePrint>>>,
    /// What should be looked at before printing.
    pub findings: Vec<Finding>,
    /// Whether the study of the register is of this revision; otherwise another answer follows.
    pub complete: bool,
    /// The register as it was studied last.
    pub register: Option<Arc<KnownRegister>>,
}

/// Asks for coverage and thumbnails of every layer, and for what should be looked at before printing.
pub struct FiguresOrder {
    /// What is wrong with scans.
    pub troubles: Vec<ScanTrouble>,
}

impl Order for LiveOrder {
    type Reply = LivePicture;
    type Kept = Painter;
    const WORK: &'static str = "Drawing the picture";

    fn work(self, from: &Snapshot, painter: &mut Painter, turn: &Turn<'_, LivePicture>) {
        let picture = painter.paint(from, &self);
        turn.reply(LivePicture { order: self, revision: from.revision, picture });
    }
}

impl Order for FiguresOrder {
    type Reply = Figures;
    type Kept = Looked;
    const WORK: &'static str = "Looking at the layers";

    fn work(self, from: &Snapshot, looked: &mut Looked, turn: &Turn<'_, Figures>) {
        let (printing, images) = (&*from.printing, &from.images);
        let prints: Vec<_> =
            (0..printing.sheet.layers.len()).map(|i| looked.prints.of(printing, images, i)).collect();
        let tell = |register: &Option<Arc<KnownRegister>>, complete: bool| {
            let studied = register.as_ref().map(|r| r.last(from)).unwrap_or_default();
            turn.reply(Figures {
                prints: prints.clone(),
                findings: preflight::findings_with(printing, images, &self.troubles, &studied),
                complete,
                register: register.clone(),
            });
        };
        let key = Arc::new(StudyKey::of(from));
        // The study takes longer than all the rest, so what is known comes first, be it of a moment ago.
        looked.last = looked.studies.get(&key).or(looked.last.take());
        let fresh = looked.last.as_ref().is_some_and(|r| r.is_of(from));
        tell(&looked.last, fresh);
        if !fresh && !turn.is_overtaken() {
            let study = || Some(KnownRegister::study(Arc::clone(&key), from));
            looked.last = looked.studies.get_or_make(Arc::clone(&key), study);
            tell(&looked.last, true);
        }
    }
}

/// The most bytes of studies that are kept.
const STUDY_BYTES: usize = 16 << 20;

/// What is known of the layers from one look to the next.
pub struct Looked {
    prints: Prints,
    studies: Cache<Arc<StudyKey>, KnownRegister>,
    /// The study that was told last.
    last: Option<Arc<KnownRegister>>,
}

impl Default for Looked {
    fn default() -> Self {
        Self { prints: Prints::default(), studies: Cache::new(STUDY_BYTES), last: None }
    }
}
