//! Everything as it will be handed over, page by page, drawn small beside the window.

use std::io;
use std::sync::Arc;

use slipsheet_base::cache::{Bytes, Cache};
use slipsheet_booking::ink_use::{InkUse, ink_use};
use slipsheet_document::project::Project;
use slipsheet_document::terms::JobTerms;
use slipsheet_files::logged;
use slipsheet_files::pack::{self, PackPage};
use slipsheet_files::plates::PlateForm;
use slipsheet_files::ticket::{Ticket, TicketNotes};

use crate::known_register::KnownRegister;
use crate::snapshot::{Pixels, Snapshot};
use crate::worker::{Order, Turn, Worker};

/// Longest side of a picture in pixels.
const SIDE: u16 = 900;
/// The most bytes of pages that are kept.
const PAGE_BYTES: usize = 256 << 20;

/// What pages are drawn of.
#[derive(Clone, PartialEq)]
struct Drawing {
    /// The project without what does not show.
    project: Project,
    pixels: Pixels,
    form: PlateForm,
}

impl Drawing {
    /// What all pages depend on: not on what-ifs and opinions.
    fn of(from: &Snapshot, form: PlateForm) -> Self {
        let mut project = Project::clone(&from.project);
        for sheet in project.sheets_mut() {
            sheet.accepted.clear();
            sheet.layers.iter_mut().for_each(|l| l.slip = Default::default());
        }
        let pixels = Pixels::of(&from.images, from.project.every_art());
        Self { project, pixels, form }
    }

    /// What the inked pages depend on: not on the terms either.
    fn on_paper(&self) -> Self {
        let mut paper = self.clone();
        paper.project.job = JobTerms::default();
        paper
    }
}

/// What lies on paper, drawn once for as long as no ink changes.
pub struct OnPaper {
    pub pages: Vec<PackPage>,
    inks: Vec<InkUse>,
    notes: TicketNotes,
}

impl Bytes for OnPaper {
    fn bytes(&self) -> usize {
        self.pages.iter().map(|p| p.picture.pixels.bytes()).sum()
    }
}

pub struct HandoverPages {
    /// Those with ink on them; the same one as long as none of them changes.
    pub paper: Arc<OnPaper>,
    /// The ticket's, which follow.
    pub ticket: Vec<PackPage>,
}

/// Pages that are wanted.
pub struct HandoverOrder {
    drawing: Drawing,
    register: Arc<KnownRegister>,
}

/// Pages that were drawn.
#[derive(Default)]
pub struct Drawn(Cache<Drawing, OnPaper, PAGE_BYTES>);

impl Order for HandoverOrder {
    type Reply = HandoverPages;
    type Kept = Drawn;
    const WORK: &'static str = "Drawing the pages of the pack";

    fn work(self, from: &Snapshot, drawn: &mut Drawn, turn: &Turn<'_, HandoverPages>) {
        let (printing, images, form) = (&*from.printing, &from.images, self.drawing.form);
        let inked = || {
            let notes = match self.register.of(from) {
                Some(register) => TicketNotes::from_register(printing, register),
                None => {
                    logged("the notes of a ticket", TicketNotes::of(printing, images)).unwrap_or_default()
                }
            };
            let pages = pack::pages(&from.project, images, &notes, form, SIDE);
            Some(OnPaper { pages, inks: ink_use(printing, images), notes })
        };
        let Some(paper) = drawn.0.get_or_make(self.drawing.on_paper(), inked) else { return };
        let ticket = Ticket::with_inks(printing, &paper.inks, &paper.notes, form);
        turn.reply(HandoverPages { ticket: pack::ticket_pages(printing, images, &ticket, SIDE), paper });
    }
}

/// The pages of the pack, asked for when they change.
pub struct Handover {
    worker: Worker<HandoverOrder>,
    /// What was drawn, or is being drawn.
    drawing: Option<Drawing>,
    /// Whether the register of what is to be drawn is still being studied.
    waits: bool,
}

impl Handover {
    /// Starts the thread that draws; `wake` is called from it when pages are ready.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(wake: impl Fn() + Send + Sync + 'static) -> io::Result<Self> {
        Ok(Self { worker: Worker::start(wake)?, drawing: None, waits: false })
    }

    /// Whether everything that was asked for has come.
    pub fn is_settled(&self) -> bool {
        !self.worker.is_busy() && !self.waits
    }

    /// Asks for what has changed, once the register of that was studied for the findings.
    pub fn follow(&mut self, from: &Snapshot, form: PlateForm, register: Option<&Arc<KnownRegister>>) {
        let drawing = Drawing::of(from, form);
        let same = self.drawing.as_ref() == Some(&drawing);
        let register = register.filter(|r| !same && r.is_of(from)).cloned();
        self.waits = !same && register.is_none();
        let Some(register) = register else { return };
        self.drawing = Some(drawing.clone());
        self.worker.order(from.clone(), HandoverOrder { drawing, register });
    }

    /// The pages that came last since the last call.
    pub fn poll(&mut self) -> Option<HandoverPages> {
        self.worker.poll().pop().map(|(_, pages)| pages)
    }

    /// See [`Worker::fault`].
    pub fn fault(&mut self) -> Option<String> {
        self.worker.fault()
    }
}
