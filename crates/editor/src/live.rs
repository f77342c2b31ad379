//! Pictures made beside the window, and what is known of the layers. What can be kept between two pictures (the scene,
//! the two pictures of a drag, the prints of the faces) is kept by what it depends on.

mod figures;
mod painter;

use std::sync::Arc;

use slipsheet_booking::preflight::{self, Finding, ScanTrouble};
use slipsheet_paper::fold::Face;
use slipsheet_render::compare::{Compared, Pair};
use slipsheet_render::dummy::DummyView;
use slipsheet_render::{Picture, Show, View};

use crate::known_register::{KnownRegister, Studies};
use crate::snapshot::Snapshot;
use crate::whole_ink::WholeInk;
use crate::worker::{Order, Turn};
pub use figures::FacePrint;
pub(crate) use figures::Prints;
use painter::Painter;

/// What is to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum LiveOrder {
    /// A view of the flat sheet; a layer that is being dragged makes the next pictures quick, and one whose reading is
    /// under a slider (`tuned`) is read for this view alone, quickly. The lost tones of one layer are hatched.
    Sheet { show: Show, view: View, dragged: Option<usize>, tuned: Option<usize>, hatched: Option<usize> },
    /// Two layers held against each other.
    Compare { face: Face, pair: Pair, compared: Compared, view: View, perfect: bool },
    /// The piece folded so far, 0..=1, and opened so often.
    Dummy { fold: f64, open: f64, view: DummyView, perfect: bool },
}

/// A picture that was asked for.
#[derive(Debug, Clone)]
pub struct LivePicture {
    pub order: LiveOrder,
    pub revision: u64,
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
    /// The ink of all that is printed; none while scans are missing, and until the study has come.
    pub inks: Option<Arc<WholeInk>>,
}

/// Asks for coverage and thumbnails of every layer, and for what should be looked at before printing.
pub struct FiguresOrder {
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
                inks: if complete { looked.studies.inks(from).map(Arc::new) } else { None },
            });
        };
        // The study takes longer than all the rest, so what is known comes first, be it of a moment ago.
        let known = looked.studies.known(from).map(Arc::new);
        let fresh = known.is_some();
        looked.last = known.or(looked.last.take());
        tell(&looked.last, fresh);
        if !fresh && !turn.is_overtaken() {
            let studied = looked.studies.study(from, &|| turn.is_overtaken());
            looked.last = studied.map(Arc::new).or(looked.last.take());
            tell(&looked.last, looked.last.as_ref().is_some_and(|r| r.is_of(from)));
        }
    }
}

/// What is known of the layers from one look to the next.
#[derive(Default)]
pub struct Looked {
    prints: Prints,
    studies: Studies,
    /// The study that was told last.
    last: Option<Arc<KnownRegister>>,
}
