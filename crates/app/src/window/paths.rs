//! Asking for paths. The desktop's dialog is used where one answers; where none does, the window's own path
//! field takes its place, so that something always happens.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use slipsheet_document::layer::Target;
use slipsheet_editor::{Command, Pick, ShelfChange, with_ending};
use slipsheet_files::proof::ProofOptions;
use slipsheet_files::{file_name, logged};

/// What is asked.
#[derive(Debug, Clone)]
pub struct AskedPath {
    /// What for.
    pub pick: Pick,
    /// For a proof, how it is to be written.
    pub options: Option<Box<ProofOptions>>,
    /// The project's file, as a place to start from.
    pub start: Option<PathBuf>,
    /// The project's title, as a name to propose.
    pub title: String,
}

/// What came back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// These.
    Paths(Vec<PathBuf>),
    /// The person thought better of it.
    Cancelled,
    /// Nothing could be shown.
    NoDialog,
}

/// Something that asks the person for paths without stopping the window.
pub trait PathDialogs {
    /// Starts to ask. One question at a time: an earlier one is dropped.
    fn ask(&mut self, asked: AskedPath);
    /// The answer, once it is there.
    fn poll(&mut self) -> Option<(AskedPath, Answer)>;
}

/// The desktop's dialogs, on a thread of their own.
#[derive(Default)]
pub struct DesktopDialogs {
    pending: Option<(AskedPath, Receiver<Answer>)>,
}

/// A dialog that is gone sooner than this was never there: nobody cancels that fast.
const TOO_FAST: Duration = Duration::from_millis(350);

impl PathDialogs for DesktopDialogs {
    fn ask(&mut self, asked: AskedPath) {
        let (sender, receiver) = channel();
        self.pending = Some((asked.clone(), receiver));
        if !has_session_bus() {
            // The receiver was stored just above.
            let sent = sender.send(Answer::NoDialog);
            debug_assert!(sent.is_ok());
            return;
        }
        let ask = move || {
            let start = Instant::now();
            let answer = match show(&asked) {
                Some(paths) if !paths.is_empty() => Answer::Paths(paths),
                _ if start.elapsed() < TOO_FAST => Answer::NoDialog,
                _ => Answer::Cancelled,
            };
            // A newer question has replaced this one when nobody listens.
            match sender.send(answer) {
                Ok(()) | Err(_) => {}
            }
        };
        // Without a thread the sender goes, and the path is asked for in the window.
        logged("a file dialog", std::thread::Builder::new().name("file dialog".to_owned()).spawn(ask));
    }

    fn poll(&mut self) -> Option<(AskedPath, Answer)> {
        let answer = match self.pending.as_ref()?.1.try_recv() {
            Ok(answer) => answer,
            Err(std::sync::mpsc::TryRecvError::Empty) => return None,
            Err(std::sync::mpsc::TryRecvError::Disconnected) => Answer::NoDialog,
        };
        self.pending.take().map(|(asked, _)| (asked, answer))
    }
}

/// Without a session bus no portal can answer, and asking one could wait for half a minute.
fn has_session_bus() -> bool {
    if cfg!(not(target_os = "linux")) {
        return true;
    }
    let runtime = std::env::var_os("XDG_RUNTIME_DIR").map(|d| PathBuf::from(d).join("bus"));
    std::env::var_os("DBUS_SESSION_BUS_ADDRESS").is_some() || runtime.is_some_and(|bus| bus.exists())
}

fn show(asked: &AskedPath) -> Option<Vec<PathBuf>> {
    let mut dialog = rfd::FileDialog::new().set_title(question(&asked.pick));
    if let Some(folder) = asked.start.as_ref().and_then(|p| p.parent()) {
        dialog = dialog.set_directory(folder);
    }
    let one = |path: Option<PathBuf>| path.map(|p| vec![p]);
    match asked.pick {
        Pick::OpenProject => one(dialog.add_filter("Slipsheet project", &["slipsheet"]).pick_file()),
        Pick::SaveProject => one(dialog
            .add_filter("Slipsheet project", &["slipsheet"])
            .set_file_name(proposal(asked))
            .save_file()),
        Pick::AddScans(_) => dialog
            .add_filter("Scans", &["png", "jpg", "jpeg", "tif", "tiff", "webp", "bmp", "pdf", "ora"])
            .pick_files(),
        Pick::ExportProof => {
            one(dialog.add_filter("PNG", &["png"]).set_file_name(proposal(asked)).save_file())
        }
        Pick::ExportDummy(_) => {
            one(dialog.add_filter("PNG", &["png"]).set_file_name(proposal(asked)).save_file())
        }
        Pick::ExportGuide => {
            one(dialog.add_filter("PDF or PNG", &["pdf", "png"]).set_file_name(proposal(asked)).save_file())
        }
        Pick::ExportWedge | Pick::ExportDummySheet(_) => {
            one(dialog.add_filter("PDF", &["pdf"]).set_file_name(proposal(asked)).save_file())
        }
        Pick::ExportWrap(_) => {
            one(dialog.add_filter("PDF or SVG", &["pdf", "svg"]).set_file_name(proposal(asked)).save_file())
        }
        Pick::ReadWedge => one(dialog
            .add_filter("Scans in colour", &["png", "jpg", "jpeg", "tif", "tiff", "webp", "bmp"])
            .pick_file()),
        Pick::ImportMeasured => one(dialog.add_filter("Measurements", &["txt", "cgats"]).pick_file()),
        Pick::ReadMarks => {
            dialog.add_filter("Scans", &["png", "jpg", "jpeg", "tif", "tiff", "webp", "bmp"]).pick_files()
        }
        // A new folder is named as a file would be.
        Pick::MakePack | Pick::ExportMarks => one(dialog.set_file_name(proposal(asked)).save_file()),
        Pick::ImportShelf => one(dialog.add_filter("Shelf", &["ron"]).pick_file()),
        Pick::ExportShelf => {
            one(dialog.add_filter("Shelf", &["ron"]).set_file_name(proposal(asked)).save_file())
        }
        Pick::FindScans | Pick::ExportProofs => one(dialog.pick_folder()),
    }
}

/// The question in words.
pub(crate) fn question(pick: &Pick) -> &'static str {
    match pick {
        Pick::OpenProject => "Open a project",
        Pick::SaveProject => "Save the project as",
        Pick::AddScans(_) => "Add scans",
        Pick::ExportProof => "Save the proof as",
        Pick::ExportProofs => "Save a proof of every edition in",
        Pick::ExportDummy(_) => "Save the picture as",
        Pick::ExportGuide => "Save the page guide as",
        Pick::ExportDummySheet(_) => "Save the printed dummy as",
        Pick::ExportWedge => "Save the calibration sheet as",
        Pick::ExportWrap(_) => "Save the wrap as",
        Pick::ReadWedge => "Read the scan of a calibration sheet",
        Pick::ImportMeasured => "Import measured data",
        Pick::ExportMarks => "Save the mark sheet's plates in a new folder",
        Pick::ReadMarks => "Read scans of printed mark sheets",
        Pick::MakePack => "Make the pack in a new folder",
        Pick::ImportShelf => "Import a shelf",
        Pick::ExportShelf => "Save the shelf as",
        Pick::FindScans => "Look for missing scans in",
    }
}

/// A name to start from.
pub(crate) fn proposal(asked: &AskedPath) -> String {
    // What file systems or shells may refuse is left out.
    let plain: String =
        asked.title.chars().map(|c| if c.is_alphanumeric() || "-_".contains(c) { c } else { ' ' }).collect();
    let name = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    let name = if name.is_empty() { "untitled" } else { file_name::short(&name) };
    match &asked.pick {
        Pick::SaveProject => format!("{name}.slipsheet"),
        Pick::ExportProof => format!("{name} proof.png"),
        Pick::ExportProofs => format!("{name} editions"),
        Pick::ExportDummy(_) => format!("{name} dummy.png"),
        Pick::ExportGuide => format!("{name} guide.pdf"),
        Pick::ExportDummySheet(_) => format!("{name} dummy.pdf"),
        Pick::ExportWedge => format!("{name} calibration.pdf"),
        Pick::ExportMarks => format!("{name} marks"),
        Pick::MakePack => format!("{name} pack"),
        Pick::ExportWrap(order) => format!("{name} {}.pdf", order.wrap.kind.name().to_lowercase()),
        Pick::ExportShelf => "shelf.ron".to_owned(),
        Pick::OpenProject
        | Pick::AddScans(_)
        | Pick::ImportShelf
        | Pick::ReadWedge
        | Pick::ImportMeasured
        | Pick::ReadMarks
        | Pick::FindScans => String::new(),
    }
}

/// The file that would be written, with its ending.
pub(crate) fn target(asked: &AskedPath, files: &[PathBuf]) -> Option<PathBuf> {
    let ending = match asked.pick {
        Pick::SaveProject => "slipsheet",
        Pick::ExportProof | Pick::ExportDummy(_) => "png",
        Pick::ExportShelf => "ron",
        Pick::ExportGuide if files.first()?.extension().is_some_and(|e| e.eq_ignore_ascii_case("png")) => {
            "png"
        }
        Pick::ExportWrap(_) if files.first()?.extension().is_some_and(|e| e.eq_ignore_ascii_case("svg")) => {
            "svg"
        }
        Pick::ExportGuide | Pick::ExportWedge | Pick::ExportWrap(_) | Pick::ExportDummySheet(_) => "pdf",
        Pick::OpenProject
        | Pick::AddScans(_)
        | Pick::ImportShelf
        | Pick::ReadWedge
        | Pick::ImportMeasured
        | Pick::ExportProofs
        | Pick::ExportMarks
        | Pick::ReadMarks
        | Pick::MakePack
        | Pick::FindScans => return None,
    };
    files.first().map(|f| with_ending(f.clone(), ending))
}

/// A file that would be replaced although the person gave another name, to which the ending was added.
pub(crate) fn replaces_unasked(asked: &AskedPath, files: &[PathBuf]) -> Option<PathBuf> {
    target(asked, files).filter(|t| files.first() != Some(t) && t.exists())
}

/// The command that an answer stands for.
pub(crate) fn command(asked: &AskedPath, files: Vec<PathBuf>) -> Option<Command> {
    let first = files.first()?.clone();
    Some(match &asked.pick {
        Pick::OpenProject => Command::Open(first),
        Pick::SaveProject => Command::SaveAs(first),
        Pick::AddScans(layer) => Command::AddScans { files, layer: *layer, target: Target::Sheet },
        Pick::ExportProof => Command::ExportProof(first, asked.options.clone()?),
        Pick::ExportProofs => Command::ExportProofs(first, asked.options.clone()?),
        Pick::ExportDummy(shot) => Command::ExportDummy(first, shot.clone()),
        Pick::ExportGuide => Command::ExportGuide(first),
        Pick::ExportDummySheet(options) => Command::ExportDummySheet(first, *options),
        Pick::ExportWedge => Command::ExportWedge(first),
        Pick::ExportWrap(order) => Command::ExportWrap(first, order.clone()),
        Pick::ReadWedge => Command::OfferWedge(first),
        Pick::ImportMeasured => Command::OfferMeasured(first),
        Pick::ExportMarks => Command::ExportMarks(first),
        Pick::ReadMarks => Command::ReadMarks(files),
        Pick::MakePack => Command::MakePack(first),
        Pick::ImportShelf => Command::Shelf(ShelfChange::Import(first)),
        Pick::ExportShelf => Command::Shelf(ShelfChange::Export(first)),
        Pick::FindScans => Command::FindScans(first),
    })
}
