//! Pictures made beside the window: one named thread draws whatever was asked for last, and drops what
//! was overtaken. What can be kept between two pictures (the scene, the two pictures of a drag, the prints
//! of the faces) is kept by what it depends on.

mod figures;
mod painter;

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use slipsheet_booking::preflight::{self, Finding, ScanTrouble};
use slipsheet_paper::fold::Face;
use slipsheet_render::compare::{Compared, Pair};
use slipsheet_render::dummy::DummyView;
use slipsheet_render::{Picture, Show, View};

use crate::known_register::KnownRegister;
use crate::slot::Slot;
use crate::snapshot::Snapshot;
pub use figures::FacePrint;
pub(crate) use figures::FigureKey;
use figures::figures;
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
                    let (printing, images) = (&snapshot.printing, &snapshot.images);
                    Figures {
                        revision: snapshot.revision,
                        prints: prints.clone(),
                        findings: preflight::findings_with(printing, images, &troubles, &studied),
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
