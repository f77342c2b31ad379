//! The window: a front that reads the session, draws it, and hands it requests.

pub mod actions;
mod arrivals;
mod booking;
mod calibrate;
mod colourways;
mod compare;
mod dialogs;
mod dummy;
mod editions;
mod figures;
mod folding;
mod frame;
mod icon;
mod inspector;
mod lineup;
mod menu;
mod notices;
mod number;
mod opening;
mod overlay;
mod overlays;
mod paths;
mod pickers;
mod ready;
mod recovery;
mod run;
mod schemes;
mod sheet;
mod shelf;
mod showing;
mod stack;
mod strip;
pub mod theme;
mod views;
mod wrap;
mod wrap_draw;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use slipsheet_booking::preflight::Finding;
use slipsheet_editor::{
    Cause, Effect, FacePrint, FiguresOrder, Handover, KnownRegister, Leave, LiveOrder, Notice, Pick,
    PreviewOrder, Request, RunOrder, ScanWatch, Session, Snapshot, StripOrder, Tasks, Worker,
};
use slipsheet_files::WriteError;
use slipsheet_files::home::{Home, Recovered, RecoveryClaim};
use slipsheet_files::pack::PackChoices;

use actions::Action;
pub use opening::{home, open};
pub use overlay::Overlay;
use overlays::{OpenOverlay, Overlays, Question};
pub use paths::{Answer, AskedPath, DesktopDialogs, PathDialogs};
pub(crate) use showing::{MainView, Showing};

/// How often it is looked whether scans have changed.
const LOOK_EVERY: Duration = Duration::from_millis(1500);

/// What the window itself remembers; none of it belongs to the project.
#[derive(Default)]
pub(crate) struct WindowState {
    pub sheet: sheet::SheetState,
    pub dummy: dummy::DummyState,
    pub run: run::RunState,
    /// What keys reach in this frame.
    pub reach: overlay::Reach,
    pub thumbnails: stack::Thumbnails,
    /// Two layers that are held against each other.
    pub compare: Option<compare::CompareState>,
    /// Whether the wrap's sheet was open in the last frame.
    pub shows_wrap: bool,
}

/// The program with its window.
pub struct SlipsheetApp {
    session: Session,
    tasks: Tasks,
    live: Worker<LiveOrder>,
    layer_figures: Worker<FiguresOrder>,
    run_desk: Worker<RunOrder>,
    previews: Worker<PreviewOrder>,
    readings: Worker<StripOrder>,
    scan_watch: ScanWatch,
    /// The revision whose scans are watched.
    watched_revision: u64,
    home: Home,
    paths: Box<dyn PathDialogs>,
    showing: Showing,
    overlays: Overlays,
    state: WindowState,
    booking: booking::BookingState,
    figures: Vec<Option<Arc<FacePrint>>>,
    findings: Vec<Finding>,
    figures_revision: u64,
    /// The revision that the prints of the layers are of.
    prints_revision: u64,
    figures_ordered: u64,
    /// What the tabs of the views rest on.
    known: figures::Known,
    /// The register as it was studied last.
    register: Option<Arc<KnownRegister>>,
    snapshot: Option<Snapshot>,
    ordered: Option<(u64, LiveOrder)>,
    /// Where recovery copies go; none where the home cannot be written.
    recovery: Option<RecoveryClaim>,
    recovered_revision: u64,
    last_recovery: Instant,
    leaving: bool,
}

impl SlipsheetApp {
    /// A window on an empty project, or on the one given.
    ///
    /// # Errors
    /// When the system gives no thread to draw on.
    pub fn new(
        ctx: &egui::Context,
        home: Home,
        paths: Box<dyn PathDialogs>,
        project: Option<PathBuf>,
    ) -> std::io::Result<Self> {
        theme::install(ctx);
        let (shelf, trouble) = home.shelf();
        let (settings, no_settings) = home.settings();
        theme::follow(ctx, settings.theme);
        let mut session = Session::new(shelf, settings);
        for trouble in [no_settings, trouble].into_iter().flatten() {
            session.tell(Notice::error(sentence(&trouble)));
        }
        let wake = || {
            let ctx = ctx.clone();
            move || ctx.request_repaint()
        };
        let mut app = Self {
            session,
            tasks: Tasks::new(wake()),
            live: Worker::start(wake())?,
            layer_figures: Worker::start(wake())?,
            run_desk: Worker::start(wake())?,
            previews: Worker::start(wake())?,
            readings: Worker::start(wake())?,
            scan_watch: ScanWatch::start(LOOK_EVERY, wake())?,
            watched_revision: 0,
            paths,
            showing: Showing::default(),
            overlays: Overlays::default(),
            state: WindowState::default(),
            booking: booking::BookingState::new(Handover::start(wake())?),
            figures: Vec::new(),
            findings: Vec::new(),
            figures_revision: 0,
            prints_revision: 0,
            known: figures::Known::default(),
            register: None,
            figures_ordered: 0,
            snapshot: None,
            ordered: None,
            recovery: None,
            recovered_revision: 0,
            last_recovery: Instant::now(),
            leaving: false,
            home,
        };
        let left = recovery::offered(&app.home, project.as_deref());
        app.recovery = app.home.claim_recovery();
        if app.recovery.is_none() {
            let why = "No recovery copies can be saved in your folder, so save your work often";
            app.session.tell(Notice::warning(format!("{why}: {}", app.home.dir().display())));
        }
        if let Some(path) = project {
            app.run(ctx, Request::Leave(Leave::Open(path)));
        }
        if let Some(left) = left {
            app.overlays.ask(Question::Recover(Box::new(left)));
        }
        Ok(app)
    }

    /// The session, for tests.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// The picture of the Sheet view that came last, for tests.
    pub fn sheet_picture(&self) -> Option<&slipsheet_render::Picture> {
        self.state.sheet.picture()
    }

    /// The layer that is shown alone.
    pub(crate) fn solo(&self) -> Option<usize> {
        self.session.selected_layer().map(|(i, _)| i).filter(|_| self.showing.alone)
    }
    /// Hands a request to the session and carries out what it asks for.
    pub(crate) fn run(&mut self, ctx: &egui::Context, request: Request) {
        match self.session.apply(request) {
            Ok(effects) => effects.into_iter().for_each(|e| self.carry_out(ctx, e)),
            Err(e) => self.session.tell(Notice::error(sentence(&e.to_string())).about(e.cause())),
        }
    }

    fn carry_out(&mut self, ctx: &egui::Context, effect: Effect) {
        match effect {
            Effect::AskPath(pick) => self.ask_path(pick),
            Effect::AskDiscard(to) => self.overlays.ask(Question::Discard(to)),
            Effect::AskChangedProject(path) => self.overlays.ask(Question::ChangedProject(path)),
            Effect::AskCalibration(offer) => self.ask_calibration(*offer),
            Effect::ShowCalibration(outcome) => {
                self.overlays.show_calibration(outcome.map(calibrate::Shown::of));
            }
            Effect::ShowSpread(outcome) => self.show_spread(outcome),
            Effect::Start(job) => {
                let snapshot = self.snapshot();
                let known = self.register.as_ref().filter(|_| !self.session.shows_wrap());
                let job = job.knowing(known.and_then(|r| r.of(&snapshot)));
                self.tasks.start(job, self.session.epoch());
            }
            Effect::ShowMarks(marks) => self.show_marks(*marks),
            Effect::SaveSettings => {
                let kept = self.home.save_settings(self.session.settings());
                self.tell_kept(Cause::Settings, "Your settings could not be saved", kept);
            }
            Effect::SaveShelf => {
                let kept = self.home.save_shelf(self.session.shelf());
                self.tell_kept(Cause::Shelf, "Your shelf could not be saved", kept);
            }
            Effect::Quit => {
                self.leaving = true;
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    /// Says that something of the person's own could not be kept, or takes that back now that it could.
    fn tell_kept(&mut self, cause: Cause, what: &str, kept: Result<(), WriteError>) {
        match kept {
            Ok(()) => self.session.cure(&cause),
            Err(e) => self.session.tell(Notice::warning(format!("{what}: {e}")).about(cause)),
        }
    }

    fn ask_path(&mut self, pick: Pick) {
        let start = self.session.path().map(PathBuf::from);
        let title = self.session.project().title.clone();
        self.paths.ask(AskedPath { pick, start, title });
    }
}

/// What a part of the window asks for; it is done after the frame.
pub(crate) enum UiCommand {
    /// A request to the session.
    Request(Request),
    /// An action of the table.
    Act(Action),
    /// Recovering what a crash left.
    Recover(Box<Recovered>),
    /// Making a pack of this kind, which is remembered.
    Pack(PackChoices),
    /// Opening an overlay.
    Open(Box<OpenOverlay>),
    /// Drawing previews in place of those that were asked for before.
    Previews(Option<PreviewOrder>),
    /// Drawing readings side by side.
    Readings(StripOrder),
}

/// Starts with a capital, for the person.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}
