//! Where work beside the window is ordered and what came of it lies: jobs, pictures, figures, runs and the pages of
//! the pack.

use std::sync::Arc;

use slipsheet_booking::preflight::Finding;
use slipsheet_editor::{
    DustOrder, FacePrint, FiguresOrder, Handover, KnownRegister, LiveOrder, LivePicture, PreviewOrder,
    RunOrder, SeparateOrder, Session, Snapshot, StripOrder, StudyKey, Tasks, WholeInk, Worker,
};

use super::Showing;
use super::booking::Pages;
use super::context::Wanted;
use super::figures::Known;
use super::run::RunKnown;

/// Tasks and workers, with what they have answered.
pub(crate) struct Desk {
    pub tasks: Tasks,
    live: Worker<LiveOrder>,
    /// The revision and the order of the picture that was asked for last.
    ordered: Option<(u64, LiveOrder)>,
    layer_figures: Worker<FiguresOrder>,
    figures_ordered: u64,
    pub run_desk: Worker<RunOrder>,
    run_ordered: Option<(u64, RunOrder)>,
    pub previews: Worker<PreviewOrder>,
    pub readings: Worker<StripOrder>,
    pub dust: Worker<DustOrder>,
    pub separating: Worker<SeparateOrder>,
    pub pages: Pages,
    /// The prints of the layers, and the revision they are of.
    pub prints: Vec<Option<Arc<FacePrint>>>,
    pub prints_revision: u64,
    /// What should be looked at before printing, and the revision it is of.
    pub findings: Vec<Finding>,
    pub figures_revision: u64,
    /// The register as it was studied last.
    pub register: Option<Arc<KnownRegister>>,
    /// The ink of all that is printed, as it was measured last.
    pub inks: Option<Arc<WholeInk>>,
    /// What the tabs of the views rest on.
    pub known: Known,
    /// What studies and runs have found.
    pub run: RunKnown,
    snapshot: Option<Snapshot>,
}

impl Desk {
    /// Starts the threads.
    ///
    /// # Errors
    /// When the system gives none.
    pub fn start(ctx: &egui::Context) -> std::io::Result<Self> {
        let wake = || {
            let ctx = ctx.clone();
            move || ctx.request_repaint()
        };
        Ok(Self {
            tasks: Tasks::new(wake()),
            live: Worker::start(wake())?,
            ordered: None,
            layer_figures: Worker::start(wake())?,
            figures_ordered: 0,
            run_desk: Worker::start(wake())?,
            run_ordered: None,
            previews: Worker::start(wake())?,
            readings: Worker::start(wake())?,
            dust: Worker::start(wake())?,
            separating: Worker::start(wake())?,
            pages: Pages::new(Handover::start(wake())?),
            prints: Vec::new(),
            prints_revision: 0,
            findings: Vec::new(),
            figures_revision: 0,
            register: None,
            inks: None,
            known: Known::default(),
            run: RunKnown::default(),
            snapshot: None,
        })
    }

    /// The project as it is now, for threads.
    pub fn snapshot(&mut self, session: &Session) -> Snapshot {
        let revision = session.revision();
        if let Some(snapshot) = self.snapshot.as_ref().filter(|s| s.revision == revision) {
            return snapshot.clone();
        }
        let snapshot = Snapshot {
            project: Arc::new(session.project().clone()),
            printing: Arc::clone(session.printing()),
            images: session.images().clone(),
            revision,
        };
        self.snapshot = Some(snapshot.clone());
        snapshot
    }

    /// The same with the sheet in view alone: of a booklet that sheet is studied.
    pub fn sheet_in_view(&mut self, session: &Session, showing: &Showing) -> Snapshot {
        let mut snapshot = self.snapshot(session);
        if snapshot.printing.sheet.booklet.is_some() {
            snapshot.printing = Arc::new(snapshot.printing.number(showing.booklet_sheet).into_owned());
        }
        snapshot
    }

    /// Orders what a part of the window wants, unless that was ordered last.
    pub fn order(&mut self, session: &Session, showing: &Showing, wanted: Wanted) {
        let revision = session.revision();
        match wanted {
            Wanted::Live(order) => {
                let order = (revision, order);
                if self.ordered.as_ref() != Some(&order) {
                    let snapshot = self.snapshot(session);
                    self.live.order(snapshot, order.1.clone());
                    self.ordered = Some(order);
                }
            }
            Wanted::Played(order, (layer, slip), time) => {
                let mut snapshot = self.snapshot(session);
                let mut printing = (*snapshot.printing).clone();
                let Some(layer) = printing.sheet.layers.get_mut(layer) else { return };
                layer.slip = slip;
                snapshot.printing = Arc::new(printing);
                // A revision of its own, which no change of the project ever reaches.
                snapshot.revision = u64::MAX - (time * 1000.0) as u64;
                self.live.order(snapshot, order);
                self.ordered = None;
            }
            Wanted::Run(order) => {
                self.run.follow(session, showing);
                let order = (revision, order);
                if self.run_ordered.as_ref() != Some(&order) {
                    let snapshot = self.sheet_in_view(session, showing);
                    self.run.expect(StudyKey::of(&snapshot), order.1.face);
                    self.run_desk.order(snapshot, order.1.clone());
                    self.run_ordered = Some(order);
                }
            }
            Wanted::NoRun => {
                self.run.forget_all();
                // Whatever was asked for before is asked for anew once everything is there.
                if self.run_ordered.take().is_some() {
                    self.run_desk.cancel();
                }
            }
            Wanted::Pages(form) => {
                let snapshot = self.snapshot(session);
                self.pages.follow(&snapshot, form, self.register.as_ref());
            }
        }
    }

    /// Orders the figures of a revision that they were not ordered of.
    pub fn order_figures(&mut self, session: &Session) {
        if self.figures_ordered != session.revision() {
            self.figures_ordered = session.revision();
            let snapshot = self.snapshot(session);
            self.layer_figures.order(snapshot, FiguresOrder { troubles: session.scan_troubles() });
        }
    }

    /// Takes the figures that have come.
    pub fn take_figures(&mut self) {
        let Some((revision, figures)) = self.layer_figures.poll().pop() else { return };
        (self.prints, self.findings, self.register) = (figures.prints, figures.findings, figures.register);
        self.inks = figures.inks.or(self.inks.take());
        self.prints_revision = revision;
        if figures.complete {
            self.figures_revision = revision;
        }
    }

    /// The last picture that has come.
    pub fn picture(&mut self) -> Option<LivePicture> {
        self.live.poll().pop().map(|(_, picture)| picture)
    }

    /// What broke down; the Run view says it of its own work.
    pub fn faults(&mut self) -> impl Iterator<Item = String> {
        let faults = [
            self.live.fault(),
            self.layer_figures.fault(),
            self.readings.fault(),
            self.dust.fault(),
            self.separating.fault(),
            self.previews.fault(),
            self.pages.fault(),
        ];
        faults.into_iter().flatten()
    }

    /// Whether every job and figure that was asked for has come, and the picture as well, which `shows` knows.
    pub fn is_settled(&self, revision: u64, shows: impl FnOnce(u64, &LiveOrder) -> bool) -> bool {
        self.tasks.running().is_empty()
            && self.pages.is_settled()
            && self.figures_revision == revision
            && !self.run_desk.is_busy()
            && !self.dust.is_busy()
            && !self.separating.is_busy()
            && self.ordered.as_ref().is_none_or(|(revision, order)| shows(*revision, order))
    }
}
