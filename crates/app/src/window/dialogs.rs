//! Questions and short lists that lie over the window until they are answered: which one is open, and where
//! its answer goes. Each longer one has a module of its own.

mod changed;
mod findings;
mod help;
mod licences;
mod path;
mod proof;
mod resolution;
mod unsaved;

use std::path::PathBuf;

use egui::{Modal, Ui};
use slipsheet_document::layer::ScanKey;
use slipsheet_editor::Command;
use slipsheet_files::dummy_sheet::DummySheetOptions;
use slipsheet_files::home::Recovered;
use slipsheet_files::pack::PackChoices;
use slipsheet_files::proof::ProofOptions;

use super::booking::choices;
use super::dummy::{PictureForm, picture_ui};
use super::folding;
use super::overlay::Overlay;
use super::paths::AskedPath;
use super::{SlipsheetApp, UiCommand, theme};

/// What is asked or shown.
pub(crate) enum Dialog {
    /// Whether unsaved changes may be lost.
    Discard(Box<Command>),
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
    /// Whether work from before a crash is taken up.
    Recover(Box<Recovered>),
    /// How a proof is written, and whether one of every edition is.
    Proof(Box<ProofOptions>, bool),
    /// How the booking pack is made.
    Pack(PackChoices),
    /// How a picture of the dummy is written.
    DummyPicture(Box<PictureForm>),
    /// The resolution of a scan that does not say it.
    Resolution { key: ScanKey, dpi: f64 },
    /// How the printed dummy is written.
    PrintedDummy(DummySheetOptions),
    /// How the sheet is folded, step by step.
    FoldingSteps,
    /// Keys, gestures and cautions.
    Help,
    /// What belongs to others in this program, and which notice of it is shown.
    Licences(usize),
    /// What should be looked at before printing.
    Findings,
}

/// What becomes of a dialog after a frame.
pub(super) enum Next {
    Stay,
    Close,
}

impl SlipsheetApp {
    pub(super) fn dialogs_ui(&mut self, ctx: &egui::Context, out: &mut Vec<UiCommand>) {
        // Pictures that come are taken, whichever window is drawn.
        self.state.series.take(ctx);
        match self.state.overlay() {
            Some(Overlay::Shelf) => self.shelf_ui(ctx, out),
            Some(Overlay::FoldSchemes) => self.schemes_ui(ctx, out),
            Some(Overlay::LineUp) => self.lineup_ui(ctx, out),
            Some(Overlay::Calibration) => self.calibration_ui(ctx, out),
            Some(Overlay::Editions | Overlay::Colourways) => self.series_ui(ctx, out),
            Some(Overlay::Wrap) => self.wrap_ui(ctx, out),
            // Drawn with the frame and with the Booking view.
            Some(Overlay::Readings | Overlay::PackPage) => {}
            // Questions, below.
            Some(
                Overlay::Unsaved
                | Overlay::ChangedProject
                | Overlay::Path
                | Overlay::Recover
                | Overlay::Proof
                | Overlay::Pack
                | Overlay::DummyPicture
                | Overlay::Resolution
                | Overlay::PrintedDummy
                | Overlay::FoldingSteps
                | Overlay::Help
                | Overlay::Licences
                | Overlay::Findings,
            )
            | None => {}
        }
        self.question_ui(ctx, out);
    }

    /// The question or the short list that is open.
    fn question_ui(&mut self, ctx: &egui::Context, out: &mut Vec<UiCommand>) {
        if self.state.dialog.is_none()
            && let Some(key) = self.session.unsized_scans().first()
        {
            self.state.dialog = Some(Dialog::Resolution { key: key.clone(), dpi: 300.0 });
        }
        let Some(mut dialog) = self.state.dialog.take() else { return };
        let mut next = Next::Stay;
        let frame = theme::dialog_frame(ctx);
        // Each kind has a size of its own: a dialog must not take over the one before's.
        let id = egui::Id::unique(("dialog", std::mem::discriminant(&dialog)));
        let response = Modal::new(id).frame(frame).show(ctx, |ui| {
            ui.set_width(500.0);
            next = self.dialog_ui(ui, &mut dialog, out);
        });
        let must_answer = matches!(dialog, Dialog::Resolution { .. } | Dialog::Recover(_));
        let away = response.should_close() && !must_answer;
        if away && matches!(dialog, Dialog::Path { .. }) {
            // Escape is Cancel: what waited for the path is off as well.
            out.push(UiCommand::Do(Command::PathCancelled));
        }
        // Something may have opened another dialog meanwhile; the newer one stays.
        if matches!(next, Next::Stay) && !away && self.state.dialog.is_none() {
            self.state.dialog = Some(dialog);
        }
    }

    fn dialog_ui(&self, ui: &mut Ui, dialog: &mut Dialog, out: &mut Vec<UiCommand>) -> Next {
        match dialog {
            Dialog::Discard(then) => unsaved::discard_ui(ui, then, out),
            Dialog::ChangedProject(path) => changed::changed_ui(ui, path, out),
            Dialog::Path { asked, text, trouble, replaces } => {
                path::path_ui(ui, asked, text, (trouble, replaces), out)
            }
            Dialog::Recover(recovered) => self.recover_ui(ui, recovered, out),
            Dialog::Proof(options, every) => self.proof_ui(ui, options, every, out),
            Dialog::Pack(choices) => self.pack_ui(ui, choices, out),
            Dialog::DummyPicture(form) => dummy_picture_ui(ui, form, out),
            Dialog::Resolution { key, dpi } => self.resolution_ui(ui, key, dpi, out),
            Dialog::PrintedDummy(options) => folding::printed_dummy_ui(ui, options, out),
            Dialog::FoldingSteps => self.folding_steps_ui(ui),
            Dialog::Help => help::help_ui(ui, &self.home.log_file()),
            Dialog::Licences(chosen) => licences::licences_ui(ui, chosen),
            Dialog::Findings => self.findings_ui(ui, out),
        }
    }

    fn pack_ui(&self, ui: &mut Ui, choices: &mut PackChoices, out: &mut Vec<UiCommand>) -> Next {
        choices::ui(ui, self.session.printing(), choices);
        buttons(ui, |ui| {
            if ui.button("Choose a folder…").clicked() {
                out.push(UiCommand::Pack(*choices));
                return Next::Close;
            }
            if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
        })
    }
}

fn dummy_picture_ui(ui: &mut Ui, form: &mut PictureForm, out: &mut Vec<UiCommand>) -> Next {
    picture_ui(ui, form);
    buttons(ui, |ui| {
        if ui.button("Export…").clicked() {
            out.push(UiCommand::Do(Command::AskDummy(Box::new(form.shot()))));
            return Next::Close;
        }
        if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
    })
}

/// The buttons at the foot of a dialog, the main one at the right.
pub(super) fn buttons(ui: &mut Ui, add: impl FnOnce(&mut Ui) -> Next) -> Next {
    ui.add_space(theme::GROUP_GAP);
    let row = egui::vec2(ui.available_width(), ui.spacing().interact_size.y);
    ui.allocate_ui_with_layout(row, egui::Layout::right_to_left(egui::Align::Center), add).inner
}
