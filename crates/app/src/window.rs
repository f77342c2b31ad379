//! The window: a front that reads the session, draws it, and hands it commands.

pub mod actions;
mod booking;
mod calibrate;
mod colourways;
mod compare;
mod dialogs;
mod dummy;
mod editions;
mod figures;
mod folding;
mod icon;
mod inspector;
mod lineup;
mod menu;
mod opening;
mod paths;
mod pickers;
mod recovery;
mod run;
mod schemes;
mod sheet;
mod shelf;
mod stack;
mod strip;
pub mod theme;
mod wrap;
mod wrap_draw;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

use slipsheet_core::fold::Face;
use slipsheet_core::layer::Target;
use slipsheet_core::preflight::Finding;
use slipsheet_editor::{
    Command, Effect, FacePrint, Jobs, Live, LiveOrder, Notice, Pick, RunDesk, Session, Snapshot,
};
use slipsheet_files::home::{Home, Recovered, RecoveryClaim};
use slipsheet_files::pack::PackChoices;
use slipsheet_files::proof::ProofOptions;

use actions::Action;
pub use opening::open;
pub use paths::{Answer, AskedPath, DesktopDialogs, PathDialogs};

/// Which view is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum MainView {
    Sheet,
    Dummy,
    Run,
    Booking,
}

/// What the window itself remembers; none of it belongs to the project.
pub(crate) struct WindowState {
    pub view: MainView,
    pub face: Face,
    /// Whether the selected layer is shown alone.
    pub alone: bool,
    /// Whether the key that shows the perfect print is held.
    pub perfect: bool,
    pub fold_guides: bool,
    pub page_marks: bool,
    /// The sheet of a booklet that is shown, from 0.
    pub booklet_sheet: usize,
    pub rulers: bool,
    /// Whether the other face shows through.
    pub show_through: bool,
    /// Whether lost tones of the selected layer are hatched.
    pub lost_tones: bool,
    pub strip: strip::StripState,
    pub sheet: sheet::SheetState,
    pub dummy: dummy::DummyState,
    pub run: run::RunState,
    pub booking: booking::BookingState,
    pub dialog: Option<dialogs::Dialog>,
    pub shelf: shelf::ShelfState,
    /// Fold schemes and their editor.
    pub schemes: schemes::SchemesState,
    pub series: editions::SeriesState,
    pub thumbnails: stack::Thumbnails,
    /// The marks that are being looked over.
    pub lineup: Option<lineup::LineUpState>,
    /// Two layers that are held against each other.
    pub compare: Option<compare::CompareState>,
    pub calibration: calibrate::CalibrationState,
    pub wrap: wrap::WrapState,
}

/// The program with its window.
pub struct SlipsheetApp {
    session: Session,
    jobs: Jobs,
    live: Live,
    run_desk: RunDesk,
    home: Home,
    paths: Box<dyn PathDialogs>,
    state: WindowState,
    figures: Vec<FacePrint>,
    findings: Vec<Finding>,
    figures_revision: u64,
    figures_ordered: u64,
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
        let settings = home.settings();
        theme::follow(ctx, settings.theme);
        let mut session = Session::new(shelf, settings);
        if let Some(trouble) = trouble {
            session.tell(Notice::error(sentence(&trouble)));
        }
        let (for_jobs, for_live) = (ctx.clone(), ctx.clone());
        let (for_previews, for_runs) = (ctx.clone(), ctx.clone());
        let mut app = Self {
            session,
            jobs: Jobs::new(move || for_jobs.request_repaint()),
            live: Live::start(move || for_live.request_repaint())?,
            run_desk: RunDesk::start(move || for_runs.request_repaint())?,
            paths,
            state: WindowState {
                view: MainView::Sheet,
                face: Face::Front,
                alone: false,
                perfect: false,
                fold_guides: true,
                page_marks: true,
                booklet_sheet: 0,
                rulers: true,
                show_through: false,
                lost_tones: false,
                strip: strip::StripState::default(),
                sheet: sheet::SheetState::default(),
                dummy: dummy::DummyState::default(),
                run: run::RunState::default(),
                booking: booking::BookingState::default(),
                dialog: None,
                shelf: shelf::ShelfState::default(),
                schemes: schemes::SchemesState::default(),
                series: editions::SeriesState::new(for_previews)?,
                thumbnails: stack::Thumbnails::default(),
                lineup: None,
                compare: None,
                calibration: calibrate::CalibrationState::default(),
                wrap: wrap::WrapState::default(),
            },
            figures: Vec::new(),
            findings: Vec::new(),
            figures_revision: 0,
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
        if let Some(path) = project {
            app.run(ctx, Command::Open(path));
        }
        app.state.dialog = left.map(|left| dialogs::Dialog::Recover(Box::new(left)));
        Ok(app)
    }

    /// The session, for tests.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// The picture of the Sheet view that came last, for tests.
    pub fn sheet_picture(&self) -> Option<&slipsheet_core::render::Picture> {
        self.state.sheet.picture()
    }

    /// The layer that is shown alone.
    pub(crate) fn solo(&self) -> Option<usize> {
        self.session.selection().layer.filter(|_| self.state.alone)
    }

    /// Whether every picture and job that was asked for has come.
    pub fn is_settled(&self) -> bool {
        self.jobs.running().is_empty()
            && self.state.series.is_settled(self.session.revision())
            && self.state.booking.is_settled()
            && self.figures_revision == self.session.revision()
            && self.state.strip.is_settled(self.session.revision())
            && self.state.run.is_settled()
            && self.ordered.as_ref().is_none_or(|(revision, order)| match order {
                LiveOrder::Sheet { .. } | LiveOrder::Compare { .. } => {
                    self.state.sheet.shows(*revision, order)
                }
                LiveOrder::Dummy { .. } => self.state.dummy.shows(*revision, order),
            })
    }

    /// Hands a command to the session and carries out what it asks for.
    pub(crate) fn run(&mut self, ctx: &egui::Context, command: Command) {
        match self.session.apply(command) {
            Ok(effects) => effects.into_iter().for_each(|e| self.carry_out(ctx, e)),
            Err(e) => self.session.tell(Notice::error(sentence(&e.to_string()))),
        }
    }

    fn carry_out(&mut self, ctx: &egui::Context, effect: Effect) {
        match effect {
            Effect::AskPath(pick, options) => self.ask_path(pick, options),
            Effect::AskDiscard(command) => self.state.dialog = Some(dialogs::Dialog::Discard(command)),
            Effect::AskCalibration(offer) => self.ask_calibration(*offer),
            Effect::ShowCalibration(outcome) => self.state.calibration.show(outcome),
            Effect::ShowSpread(outcome) => self.show_spread(outcome),
            Effect::Start(job) => {
                self.jobs.start(job, self.session.epoch());
            }
            Effect::ShowMarks(marks) => self.show_marks(*marks),
            Effect::SaveSettings => {
                if let Err(e) = self.home.save_settings(self.session.settings()) {
                    self.session.tell(Notice::warning(format!("Your settings could not be kept: {e}")));
                }
            }
            Effect::SaveShelf => {
                if let Err(e) = self.home.save_shelf(self.session.shelf()) {
                    self.session.tell(Notice::warning(format!("Your shelf could not be kept: {e}")));
                }
            }
            Effect::Quit => {
                self.leaving = true;
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    fn ask_path(&mut self, pick: Pick, options: Option<Box<ProofOptions>>) {
        let start = self.session.path().map(PathBuf::from);
        let title = self.session.project().title.clone();
        self.paths.ask(AskedPath { pick, options, start, title });
    }

    fn snapshot(&mut self) -> Snapshot {
        let revision = self.session.revision();
        if let Some(snapshot) = self.snapshot.as_ref().filter(|s| s.revision == revision) {
            return snapshot.clone();
        }
        let snapshot = Snapshot {
            project: Arc::new(self.session.project().clone()),
            images: self.session.images().clone(),
            revision,
        };
        self.snapshot = Some(snapshot.clone());
        snapshot
    }

    /// Asks for a picture unless it was the last one asked for.
    pub(crate) fn order(&mut self, order: LiveOrder) {
        let wish = (self.session.revision(), order);
        if self.ordered.as_ref() != Some(&wish) {
            let snapshot = self.snapshot();
            self.live.order(snapshot, wish.1.clone());
            self.ordered = Some(wish);
        }
    }

    /// What came back from threads and dialogs.
    fn poll(&mut self, ctx: &egui::Context) {
        self.jobs.cancel_older(self.session.epoch());
        for command in self.jobs.poll() {
            self.run(ctx, command);
        }
        if let Some(figures) = self.live.figures() {
            self.figures = figures.prints;
            self.findings = figures.findings;
            if figures.complete {
                self.figures_revision = figures.revision;
            }
        }
        // Figures are for reading; while something is dragged the picture comes first.
        let still = !self.state.sheet.is_dragging() && strip::tuned(ctx).is_none();
        if still && self.figures_ordered != self.session.revision() {
            self.figures_ordered = self.session.revision();
            let snapshot = self.snapshot();
            self.live.order_figures(snapshot, self.session.scan_troubles());
        }
        if let Some(picture) = self.live.picture() {
            match &picture.order {
                LiveOrder::Sheet { .. } | LiveOrder::Compare { .. } => self.state.sheet.take(ctx, picture),
                LiveOrder::Dummy { .. } => self.state.dummy.take(ctx, picture),
            }
        }
        self.poll_strip(ctx);
        self.take_run_news(ctx);
        if let Some((asked, answer)) = self.paths.poll() {
            self.answered(ctx, asked, answer);
        }
    }

    fn answered(&mut self, ctx: &egui::Context, asked: AskedPath, answer: Answer) {
        match answer {
            Answer::Paths(files) => match paths::replaces_unasked(&asked, &files) {
                // The desktop asked about the name it was given, not about the one with its ending.
                Some(path) => self.state.dialog = Some(dialogs::Dialog::replace(asked, &path)),
                None => {
                    if let Some(command) = paths::command(&asked, files) {
                        self.run(ctx, command);
                    }
                }
            },
            Answer::Cancelled => self.run(ctx, Command::PathCancelled),
            Answer::NoDialog => self.state.dialog = Some(dialogs::Dialog::typed_path(asked)),
        }
    }

    fn dropped(&mut self, ctx: &egui::Context) {
        let files: Vec<PathBuf> =
            ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_owned()).collect());
        if files.is_empty() {
            return;
        }
        // One scan let go while an empty layer is selected is meant for that layer.
        let empty = self.session.selected_layer().filter(|(_, l)| l.art.is_empty() && files.len() == 1);
        let layer = empty.map(|(i, _)| i);
        self.run(ctx, Command::AddScans { files, layer, target: Target::Sheet });
    }

    /// The window's own closing button asks as Quit does.
    fn closing(&mut self, ctx: &egui::Context) {
        if !ctx.input(|i| i.viewport().close_requested()) {
            return;
        }
        if self.leaving || !self.session.is_dirty() {
            self.drop_recovery();
            return;
        }
        ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
        self.run(ctx, Command::Quit);
    }
}

impl eframe::App for SlipsheetApp {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.poll(ctx);
        self.dropped(ctx);
        self.closing(ctx);
        self.keep_recovery(ctx);
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        self.window_ui(ui);
    }
}

impl SlipsheetApp {
    /// The whole window.
    pub fn window_ui(&mut self, ui: &mut egui::Ui) {
        let ctx = ui.ctx().clone();
        self.follow_sheet();
        if !self.session.project().two_sided() {
            self.state.face = Face::Front;
        }
        let p = theme::of(ui);
        let title = format!("{} · Slipsheet", self.session.title());
        ctx.send_viewport_cmd_if_changed(title);
        self.state.perfect = !ctx.egui_wants_keyboard_input() && ctx.input(|i| i.key_down(egui::Key::P));
        let mut wanted = self.keys(&ctx);
        // A drag whose end was not seen, because the view changed under it, ends here.
        if self.state.sheet.lost_its_drag(&ctx) {
            wanted.push(Wish::Do(Command::EndGesture));
        }
        let bar =
            egui::Frame::new().fill(p.panel).inner_margin(egui::Margin::symmetric(theme::PANEL_MARGIN, 5));
        egui::Panel::top("menu bar").frame(bar).show(ui, |ui| self.menu_ui(ui, &mut wanted));
        let line =
            egui::Frame::new().fill(p.strip).inner_margin(egui::Margin::symmetric(theme::PANEL_MARGIN, 4));
        egui::Panel::bottom("figures").frame(line).show(ui, |ui| self.figures_ui(ui, &mut wanted));
        let side = egui::Frame::new().fill(p.panel).inner_margin(egui::Margin::same(theme::PANEL_MARGIN));
        egui::Panel::left("stack")
            .frame(side)
            .resizable(false)
            .exact_size(theme::STACK_WIDTH)
            .show(ui, |ui| self.stack_ui(ui, &mut wanted));
        egui::Panel::right("inspector").frame(side).resizable(false).exact_size(theme::INSPECTOR_WIDTH).show(
            ui,
            |ui| match self.state.view {
                MainView::Booking => self.terms_ui(ui, &mut wanted),
                MainView::Sheet | MainView::Dummy | MainView::Run => self.inspector_ui(ui, &mut wanted),
            },
        );
        let canvas = egui::Frame::new().fill(p.canvas);
        egui::CentralPanel::default().frame(canvas).show(ui, |ui| match self.state.view {
            MainView::Sheet => self.sheet_ui(ui, &mut wanted),
            MainView::Dummy => self.dummy_ui(ui, &mut wanted),
            MainView::Run => self.run_ui(ui, &mut wanted),
            MainView::Booking => self.booking_ui(ui, &mut wanted),
        });
        self.drop_hint(&ctx);
        self.strip_ui(&ctx, &mut wanted);
        self.dialogs_ui(&ctx, &mut wanted);
        for wish in wanted {
            match wish {
                Wish::Do(command) => self.run(&ctx, command),
                Wish::Act(action) => self.act(&ctx, action),
                Wish::TakeUp(left) => self.take_up(&ctx, *left),
                Wish::Pack(choices) => self.ask_pack(&ctx, choices),
            }
        }
        self.wish_for_runs(&ctx);
    }

    /// Says that files may be let go.
    fn drop_hint(&self, ctx: &egui::Context) {
        if ctx.input(|i| i.raw.hovered_files.is_empty()) {
            return;
        }
        let area = egui::Area::new(egui::Id::unique("drop hint"))
            .anchor(egui::Align2::CENTER_CENTER, egui::Vec2::ZERO);
        area.order(egui::Order::Tooltip).show(ctx, |ui| {
            egui::Frame::popup(ui.style()).inner_margin(18).show(ui, |ui| {
                ui.label(theme::heading("Let go to add scans, or to open a project"));
            });
        });
    }
}

/// What a part of the window wants done after the frame.
#[expect(
    clippy::large_enum_variant,
    reason = "a handful live for one frame; boxing each would only add noise"
)]
pub(crate) enum Wish {
    /// A command of the session.
    Do(Command),
    /// An action of the table.
    Act(Action),
    /// Taking up what a crash left.
    TakeUp(Box<Recovered>),
    /// Making a pack of this kind, which is remembered.
    Pack(PackChoices),
}

/// The wishes of a frame.
pub(crate) type Wishes = Vec<Wish>;

trait TitleIfChanged {
    fn send_viewport_cmd_if_changed(&self, title: String);
}

impl TitleIfChanged for egui::Context {
    /// Sets the window's title when it is another one than before.
    fn send_viewport_cmd_if_changed(&self, title: String) {
        let id = egui::Id::unique("window title");
        let known = self.data(|d| d.get_temp::<String>(id));
        if known.as_ref() != Some(&title) {
            self.data_mut(|d| d.insert_temp(id, title.clone()));
            self.send_viewport_cmd(egui::ViewportCommand::Title(title));
        }
    }
}

/// Starts with a capital, for the person.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}
