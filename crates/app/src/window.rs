//! The window: a front that reads the session, draws it, and hands it requests.

pub mod actions;
mod arrivals;
mod booking;
mod calibrate;
mod colourways;
mod compare;
mod context;
mod desk;
mod dialogs;
mod dummy;
mod editions;
mod figures;
mod fold;
mod folding;
mod frame;
mod icon;
mod inspector;
mod lineup;
mod mending;
mod menu;
mod notices;
mod number;
mod opening;
mod overlay;
mod overlays;
mod parts;
mod paths;
mod pickers;
mod plot;
mod ready;
mod recovery;
mod run;
mod schemes;
mod separating;
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
use std::time::{Duration, Instant};

use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::edit::Edit;
use slipsheet_editor::{
    Cause, DustOrder, Effect, Leave, Notice, Pick, PreviewOrder, Request, ScanWatch, SeparateOrder, Session,
    StripOrder,
};
use slipsheet_files::WriteError;
use slipsheet_files::home::{Home, Recovered, RecoveryClaim};
use slipsheet_files::pack::PackChoices;

use actions::Action;
use context::{Component, Context};
use desk::Desk;
pub use opening::{home, open};
pub use overlay::Overlay;
use overlays::{OpenOverlay, Overlays, Question};
pub use paths::{Answer, AskedPath, DesktopDialogs, PathDialogs};
pub(crate) use showing::{Compare, MainView, Showing, Spot};

/// How often it is looked whether scans have changed.
const LOOK_EVERY: Duration = Duration::from_millis(500);

/// The parts of the window that have a state of their own; none of it belongs to the project.
#[derive(Default)]
pub(crate) struct Parts {
    stack: stack::Stack,
    views: Views,
    overlays: Overlays,
}

/// The four views.
#[derive(Default)]
struct Views {
    sheet: sheet::SheetView,
    dummy: dummy::DummyView,
    run: run::RunView,
    booking: booking::BookingView,
}

impl Views {
    fn of(&mut self, view: MainView) -> &mut dyn Component {
        match view {
            MainView::Sheet => &mut self.sheet,
            MainView::Dummy => &mut self.dummy,
            MainView::Run => &mut self.run,
            MainView::Booking => &mut self.booking,
        }
    }
}

/// The program with its window.
pub struct SlipsheetApp {
    session: Session,
    desk: Desk,
    showing: Showing,
    parts: Parts,
    /// What keys reach in this frame.
    reach: overlay::Reach,
    /// Whether the wrap's sheet was open in the last frame.
    shows_wrap: bool,
    scan_watch: ScanWatch,
    /// The revision whose scans are watched.
    watched_revision: u64,
    home: Home,
    paths: Box<dyn PathDialogs>,
    /// Where recovery copies go; none where the home cannot be written.
    recovery: Option<RecoveryClaim>,
    recovered_revision: u64,
    last_recovery: Instant,
    /// The revision that was seen last, and since when.
    last_change: (u64, Instant),
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
        let wake = ctx.clone();
        let mut app = Self {
            session,
            desk: Desk::start(ctx)?,
            showing: Showing::default(),
            parts: Parts::default(),
            reach: overlay::Reach::default(),
            shows_wrap: false,
            scan_watch: ScanWatch::start(LOOK_EVERY, move || wake.request_repaint())?,
            watched_revision: 0,
            paths,
            recovery: None,
            recovered_revision: 0,
            last_recovery: Instant::now(),
            last_change: (0, Instant::now()),
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
            app.parts.overlays.ask(Question::Recover(Box::new(left)));
        }
        Ok(app)
    }

    /// The session, for tests.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// The picture of the Sheet view that came last, for tests.
    pub fn sheet_picture(&self) -> Option<&slipsheet_render::Picture> {
        self.parts.views.sheet.picture()
    }

    /// What lies over the views, for tests.
    pub fn overlay(&self) -> Option<Overlay> {
        self.parts.overlays.shown()
    }

    /// What the parts read, and the parts.
    fn split(&mut self) -> (Context<'_>, &mut Parts) {
        let Self { session, desk, showing, reach, home, parts, .. } = self;
        (Context { session, desk, showing, reach: *reach, home }, parts)
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
            Effect::AskDiscard(to) => self.parts.overlays.ask(Question::Discard(to)),
            Effect::AskChangedProject(path) => self.parts.overlays.ask(Question::ChangedProject(path)),
            Effect::AskLanding(files, layer) => {
                let form = dialogs::landing::Form::new(files, layer);
                self.parts.overlays.arrive(OpenOverlay::Landing(form));
            }
            Effect::AskCalibration(offer) => {
                let form = calibrate::Form::new(*offer, &self.session);
                self.parts.overlays.arrive(OpenOverlay::CalibrationForm(Box::new(form)));
            }
            Effect::ShowCalibration(outcome) => {
                self.parts.overlays.show_calibration(outcome.map(calibrate::Shown::of));
            }
            Effect::ShowSpread(outcome) => {
                self.parts.views.run.show_spread(outcome);
                self.showing.view = MainView::Run;
            }
            Effect::Start(job) => {
                let snapshot = self.desk.snapshot(&self.session);
                let known = self.desk.register.as_ref().filter(|_| !self.session.shows_wrap());
                let job = job.knowing(known.and_then(|r| r.of(&snapshot)));
                self.desk.tasks.start(job, self.session.epoch());
            }
            Effect::ShowMarks(marks) => {
                let line_up = lineup::LineUp::new(*marks);
                self.parts.overlays.arrive(OpenOverlay::LineUp(Box::new(line_up)));
            }
            Effect::ShowSeparation(read) => {
                let separating = separating::Separating::new(*read, &self.session);
                self.parts.overlays.arrive(OpenOverlay::Separating(Box::new(separating)));
            }
            Effect::ShowMending(read) => {
                let mending = mending::Mending::new(*read);
                self.parts.overlays.arrive(OpenOverlay::Mending(Box::new(mending)));
            }
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
    /// Accepting this in new projects, which is remembered.
    AcceptFromNow(Acceptance),
    /// Looking at a place of the sheet.
    LookAt(Spot),
    /// Comparing two layers, or no more.
    Compare(Option<Compare>),
    /// Opening an overlay.
    Open(Box<OpenOverlay>),
    /// Drawing previews in place of those that were asked for before.
    Previews(Option<PreviewOrder>),
    /// Drawing readings side by side.
    Readings(StripOrder),
    /// Looking for dust.
    Dust(DustOrder),
    /// Drawing a picture that is being separated, or no more.
    Separating(Option<SeparateOrder>),
}

impl From<Request> for UiCommand {
    fn from(request: Request) -> Self {
        Self::Request(request)
    }
}

impl From<Edit> for UiCommand {
    fn from(edit: Edit) -> Self {
        Self::Request(edit.into())
    }
}

impl From<Action> for UiCommand {
    fn from(action: Action) -> Self {
        Self::Act(action)
    }
}

/// Starts with a capital, for the person.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}
