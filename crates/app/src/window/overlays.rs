//! The one overlay that is open and the one question over it, each with its state. A question hides the overlay,
//! which is there again once it is answered.

use std::collections::VecDeque;
use std::mem::discriminant;
use std::path::PathBuf;

use egui::{Id, Modal, ModalResponse, Ui};
use slipsheet_document::layer::ScanKey;
use slipsheet_editor::{Leave, PreviewOrder, Request, Worker};
use slipsheet_files::dummy_sheet::DummySheetOptions;
use slipsheet_files::home::Recovered;
use slipsheet_files::pack::PackChoices;
use slipsheet_files::proof::ProofOptions;

use super::booking::enlarged;
use super::calibrate::{Form, Shown};
use super::context::Context;
use super::dialogs::{
    self, Next, changed, findings, help, landing, licences, path, proof, resolution, unsaved,
};
use super::dummy::PictureForm;
use super::editions::{Series, SeriesPage};
use super::lineup::LineUp;
use super::mending::Mending;
use super::overlay::Overlay;
use super::parts::PartReadings;
use super::paths::AskedPath;
use super::schemes::Schemes;
use super::separating::Separating;
use super::shelf::ShelfWindow;
use super::strip::Readings;
use super::wrap::WrapForm;
use super::{UiCommand, folding, theme};

/// An overlay with its state.
pub(crate) enum OpenOverlay {
    /// How a proof is written, and whether one of every edition is.
    Proof(Box<ProofOptions>, bool),
    Pack(PackChoices),
    DummyPicture(Box<PictureForm>),
    PrintedDummy(DummySheetOptions),
    FoldingSteps,
    Help,
    /// Which notice is shown.
    Licences(usize),
    Findings,
    /// Whether many scans are layers or pages.
    Landing(landing::Form),
    Separating(Box<Separating>),
    Mending(Box<Mending>),
    Parts(Box<PartReadings>),
    /// What is asked before a calibration is read.
    CalibrationForm(Box<Form>),
    /// What was read.
    CalibrationResult(Shown),
    LineUp(Box<LineUp>),
    Shelf(Box<ShelfWindow>),
    FoldSchemes(Box<Schemes>),
    /// Editions or colourways.
    Series(Box<Series>),
    Wrap(Box<WrapForm>),
    Readings(Box<Readings>),
    /// The page of the pack that is shown large.
    PackPage(usize),
}

/// A question that must be answered, or called off, before anything else goes on.
pub(crate) enum Question {
    /// Whether unsaved changes may be lost, and what waits for it.
    Discard(Leave),
    /// Which version is kept of a project whose file something else has changed.
    ChangedProject(PathBuf),
    /// A path, typed.
    Path {
        asked: AskedPath,
        text: String,
        trouble: Option<String>,
        /// A file that the person has been told would be replaced.
        replaces: Option<PathBuf>,
    },
    /// Whether work from before a crash is recovered.
    Recover(Box<Recovered>),
    /// The resolution of a scan that does not say it.
    Resolution { key: ScanKey, dpi: f64 },
}

/// At most one overlay, and at most one question over it.
#[derive(Default)]
pub(crate) struct Overlays {
    open: Option<OpenOverlay>,
    question: Option<Question>,
    /// What came by itself while something else was open.
    waiting: VecDeque<OpenOverlay>,
    /// What a person finds again as they left it.
    closed: Vec<OpenOverlay>,
}

impl Overlays {
    /// What lies over the views; a question before what it hides.
    pub fn shown(&self) -> Option<Overlay> {
        self.question.as_ref().map(Question::kind).or_else(|| self.open.as_ref().map(OpenOverlay::kind))
    }

    /// Opens an overlay in place of the one that is open.
    pub fn open(&mut self, overlay: OpenOverlay) {
        self.put_aside();
        self.open = Some(overlay);
    }

    /// Opens what came by itself, once nothing else is open.
    pub fn arrive(&mut self, overlay: OpenOverlay) {
        if self.open.is_none() {
            self.open = Some(overlay);
        } else {
            self.waiting.push_back(overlay);
        }
    }

    /// Opens one of its kind as it was left, or else this one.
    pub fn reopen(&mut self, anew: OpenOverlay) {
        self.put_aside();
        let known = |closed: &OpenOverlay| discriminant(closed) == discriminant(&anew);
        let left = self.closed.iter().position(known).map(|at| self.closed.swap_remove(at));
        self.open = Some(left.unwrap_or(anew));
    }

    /// Asks something in place of what was asked before.
    pub fn ask(&mut self, question: Question) {
        self.question = Some(question);
    }

    /// Ends the open overlay; what is found again later is kept.
    fn put_aside(&mut self) {
        self.closed.extend(self.open.take().filter(|left| {
            matches!(left, OpenOverlay::Shelf(_) | OpenOverlay::FoldSchemes(_) | OpenOverlay::Series(_))
        }));
    }

    fn close(&mut self) {
        self.put_aside();
        self.open = self.waiting.pop_front();
    }

    /// Scans that belong to a sheet which is no longer the open one are looked over no more.
    pub fn drop_line_ups(&mut self) {
        self.waiting.retain(|o| {
            !matches!(
                o,
                OpenOverlay::LineUp(_)
                    | OpenOverlay::Mending(_)
                    | OpenOverlay::Parts(_)
                    | OpenOverlay::Separating(_)
            )
        });
        if matches!(self.open, Some(OpenOverlay::LineUp(_) | OpenOverlay::Mending(_) | OpenOverlay::Parts(_)))
        {
            self.close();
        }
    }

    /// Opens the editions, or in their place the colourways.
    pub fn open_series(&mut self, page: SeriesPage) {
        self.reopen(OpenOverlay::Series(Box::default()));
        if let Some(series) = self.series() {
            series.begin(page);
        }
    }

    pub fn open_schemes(&mut self) {
        self.reopen(OpenOverlay::FoldSchemes(Box::default()));
        if let Some(OpenOverlay::FoldSchemes(schemes)) = &mut self.open {
            schemes.begin();
        }
    }

    pub fn series(&mut self) -> Option<&mut Series> {
        if let Some(OpenOverlay::Series(series)) = &mut self.open { Some(series) } else { None }
    }

    pub fn mending(&mut self) -> Option<&mut Mending> {
        if let Some(OpenOverlay::Mending(mending)) = &mut self.open { Some(mending) } else { None }
    }

    pub fn separating(&mut self) -> Option<&mut Separating> {
        if let Some(OpenOverlay::Separating(separating)) = &mut self.open { Some(separating) } else { None }
    }

    pub fn readings(&mut self) -> Option<&mut Readings> {
        if let Some(OpenOverlay::Readings(readings)) = &mut self.open { Some(readings) } else { None }
    }

    /// Shows what was read of a calibration; why it could not be is said where it was asked.
    pub fn show_calibration(&mut self, outcome: Result<Shown, String>) {
        // Whoever has left the question meanwhile wants no answer.
        let Some(OpenOverlay::CalibrationForm(form)) = &mut self.open else { return };
        match outcome {
            Ok(shown) => self.open = Some(OpenOverlay::CalibrationResult(shown)),
            Err(why) => form.trouble = Some(super::sentence(&why)),
        }
    }

    /// Whether a file let go over the window is a path for what is asked.
    pub fn takes_paths(&self) -> bool {
        self.question.as_ref().is_some_and(Question::takes_paths)
    }

    /// Takes files let go over the window for a path that is asked; whether they are of use here.
    pub fn take_dropped(&mut self, files: &[PathBuf]) -> bool {
        self.question.as_mut().is_some_and(|question| question.take_dropped(files))
    }

    /// Whether every picture and figure that the open overlay asked for has come.
    pub fn is_settled(&self, revision: u64, previews: &Worker<PreviewOrder>) -> bool {
        if let Some(OpenOverlay::Series(series)) = &self.open {
            series.is_settled(revision) && !previews.is_busy()
        } else if let Some(OpenOverlay::Readings(readings)) = &self.open {
            readings.is_settled(revision)
        } else if let Some(OpenOverlay::Separating(separating)) = &self.open {
            separating.is_settled()
        } else {
            true
        }
    }

    /// Draws the question, or else the overlay.
    pub fn ui(&mut self, ctx: &egui::Context, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        if self.question.is_none()
            && let Some(key) = cx.session.unsized_scans().first()
        {
            self.ask(Question::Resolution { key: key.clone(), dpi: 300.0 });
        }
        if let Some(question) = &mut self.question {
            // Each kind has a size of its own: one must not take over another's.
            let modal = Modal::new(Id::unique(("question", discriminant(question))));
            let shown = modal.frame(theme::dialog_frame(ctx)).show(ctx, |ui| question.ui(ui, cx, out));
            let must_answer = matches!(question, Question::Resolution { .. } | Question::Recover(_));
            let away = shown.should_close() && !must_answer;
            if away && question.takes_paths() {
                // Escape is Cancel: what waited for the path is off as well.
                out.push(Request::PathCancelled.into());
            }
            if away || shown.inner == Next::Close {
                self.question = None;
            }
        } else if let Some(overlay) = &mut self.open {
            let modal = Modal::new(Id::unique(("overlay", discriminant(overlay))));
            let shown = modal.frame(theme::dialog_frame(ctx)).show(ctx, |ui| overlay.ui(ui, cx, out));
            if shown.inner == Next::Close || overlay.is_left(&shown) {
                // Nobody waits for its pictures any more.
                out.push(UiCommand::Previews(None));
                self.close();
            }
        }
    }
}

impl OpenOverlay {
    fn kind(&self) -> Overlay {
        match self {
            Self::Proof(..) => Overlay::Proof,
            Self::Pack(_) => Overlay::Pack,
            Self::DummyPicture(_) => Overlay::DummyPicture,
            Self::PrintedDummy(_) => Overlay::PrintedDummy,
            Self::FoldingSteps => Overlay::FoldingSteps,
            Self::Help => Overlay::Help,
            Self::Licences(_) => Overlay::Licences,
            Self::Findings => Overlay::Findings,
            Self::Landing(_) => Overlay::Landing,
            Self::Separating(_) => Overlay::Separating,
            Self::Mending(_) => Overlay::Mending,
            Self::Parts(_) => Overlay::Parts,
            Self::CalibrationForm(_) | Self::CalibrationResult(_) => Overlay::Calibration,
            Self::LineUp(_) => Overlay::LineUp,
            Self::Shelf(_) => Overlay::Shelf,
            Self::FoldSchemes(_) => Overlay::FoldSchemes,
            Self::Series(series) => series.kind(),
            Self::Wrap(_) => Overlay::Wrap,
            Self::Readings(_) => Overlay::Readings,
            Self::PackPage(_) => Overlay::PackPage,
        }
    }

    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        match self {
            Self::Proof(options, every) => proof::proof_ui(ui, cx, (options, every), out),
            Self::Pack(choices) => dialogs::pack_ui(ui, cx, choices, out),
            Self::DummyPicture(form) => dialogs::dummy_picture_ui(ui, form, out),
            Self::PrintedDummy(options) => folding::printed_dummy_ui(ui, options, out),
            Self::FoldingSteps => folding::folding_steps_ui(ui, cx),
            Self::Help => help::help_ui(ui, &cx.home.log_file()),
            Self::Licences(chosen) => licences::licences_ui(ui, chosen),
            Self::Findings => findings::findings_ui(ui, cx, out),
            Self::Landing(form) => form.ui(ui, cx, out),
            Self::Separating(separating) => separating.ui(ui, cx, out),
            Self::Mending(mending) => mending.ui(ui, cx, out),
            Self::Parts(parts) => parts.ui(ui, cx, out),
            Self::CalibrationForm(form) => form.ui(ui, cx, out),
            Self::CalibrationResult(shown) => shown.ui(ui, cx, out),
            Self::LineUp(marks) => marks.ui(ui, out),
            Self::Shelf(shelf) => shelf.ui(ui, cx, out),
            Self::FoldSchemes(schemes) => schemes.ui(ui, cx, out),
            Self::Series(series) => series.ui(ui, cx, out),
            Self::Wrap(form) => form.ui(ui, cx, out),
            Self::Readings(readings) => readings.ui(ui, cx, out),
            Self::PackPage(at) => enlarged::ui(ui, cx, at),
        }
    }

    /// Whether Escape or a click beside it closes it. What was set by hand must not go by a click beside it, and
    /// Escape in the editor of fold schemes is the editor's.
    fn is_left(&self, shown: &ModalResponse<Next>) -> bool {
        let beside = shown.backdrop_response.clicked();
        let stays = if let Self::FoldSchemes(schemes) = self {
            schemes.is_drawing()
        } else if let Self::Mending(mending) = self {
            beside || mending.is_changed()
        } else if let Self::Parts(parts) = self {
            beside || parts.is_changed()
        } else {
            matches!(self, Self::LineUp(_) | Self::Separating(_)) && beside
        };
        shown.should_close() && !stays
    }
}

impl Question {
    fn kind(&self) -> Overlay {
        match self {
            Self::Discard(_) => Overlay::Unsaved,
            Self::ChangedProject(_) => Overlay::ChangedProject,
            Self::Path { .. } => Overlay::Path,
            Self::Recover(_) => Overlay::Recover,
            Self::Resolution { .. } => Overlay::Resolution,
        }
    }

    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        ui.set_width(dialogs::WIDTH);
        match self {
            Self::Discard(then) => unsaved::discard_ui(ui, then, out),
            Self::ChangedProject(path) => changed::changed_ui(ui, path, out),
            Self::Path { asked, text, trouble, replaces } => {
                path::path_ui(ui, asked, text, (trouble, replaces), out)
            }
            Self::Recover(recovered) => unsaved::recover_ui(ui, cx, recovered, out),
            Self::Resolution { key, dpi } => resolution::resolution_ui(ui, cx, (key, dpi), out),
        }
    }
}
