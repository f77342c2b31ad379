//! Asking for paths. The desktop's dialog is used where one answers; where none does, the window's own path
//! field takes its place, so that something always happens.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use slipsheet_document::layer::Target;
use slipsheet_editor::{GoesTo, Leave, Pick, Request, ShelfChange, with_ending};
use slipsheet_files::{file_name, logged, press_file};

/// What is asked.
#[derive(Debug, Clone)]
pub struct AskedPath {
    /// What for.
    pub pick: Pick,
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
    match &asked.pick {
        Pick::OpenProject => one(dialog.add_filter(PROJECT.0, PROJECT.1).pick_file()),
        Pick::SaveProject => {
            one(dialog.add_filter(PROJECT.0, PROJECT.1).set_file_name(proposal(asked)).save_file())
        }
        Pick::AddScans(_) => dialog.add_filter("Scans", &[PICTURES, &["pdf", "ora"]].concat()).pick_files(),
        Pick::Picture => {
            one(dialog.add_filter("Pictures", &[PICTURES, &["pdf", "ora"]].concat()).pick_file())
        }
        Pick::ReadMarks => dialog.add_filter("Scans", PICTURES).pick_files(),
        Pick::ReadWedge => one(dialog.add_filter("Scans in colour", PICTURES).pick_file()),
        Pick::ImportMeasured => one(dialog.add_filter("Measurements", &["txt", "cgats"]).pick_file()),
        Pick::ImportShelf => one(dialog.add_filter("Shelf", &["ron"]).pick_file()),
        Pick::ImportPress => one(dialog.add_filter("Press profile", &[press_file::ENDING]).pick_file()),
        Pick::FindScans => one(dialog.pick_folder()),
        Pick::Export(export) => match export.about().goes_to {
            GoesTo::File { kind, endings } => {
                one(dialog.add_filter(kind, endings).set_file_name(proposal(asked)).save_file())
            }
            // A new folder is named as a file would be.
            GoesTo::NewFolder => one(dialog.set_file_name(proposal(asked)).save_file()),
            GoesTo::Folder => one(dialog.pick_folder()),
        },
    }
}

/// What lists of files call a project, and its ending.
const PROJECT: (&str, &[&str]) = ("Slipsheet project", &["slipsheet"]);
/// Endings of pictures.
const PICTURES: &[&str] = &["png", "jpg", "jpeg", "tif", "tiff", "webp", "bmp"];

/// The question in words.
pub(crate) fn question(pick: &Pick) -> &'static str {
    match pick {
        Pick::OpenProject => "Open a project",
        Pick::SaveProject => "Save the project as",
        Pick::AddScans(_) => "Add scans",
        Pick::Picture => "Separate a picture",
        Pick::Export(export) => export.about().question,
        Pick::ReadWedge => "Read the scan of a calibration sheet",
        Pick::ImportMeasured => "Import measured data",
        Pick::ReadMarks => "Read scans of printed mark sheets",
        Pick::ImportShelf => "Import a shelf",
        Pick::ImportPress => "Import a press",
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
        Pick::Export(export) => export.name(name),
        Pick::OpenProject
        | Pick::AddScans(_)
        | Pick::Picture
        | Pick::ImportShelf
        | Pick::ImportPress
        | Pick::ReadWedge
        | Pick::ImportMeasured
        | Pick::ReadMarks
        | Pick::FindScans => String::new(),
    }
}

/// The file that would be written, with its ending.
pub(crate) fn target(asked: &AskedPath, files: &[PathBuf]) -> Option<PathBuf> {
    let first = files.first()?.clone();
    match &asked.pick {
        Pick::SaveProject => Some(with_ending(first, "slipsheet")),
        Pick::Export(export) => match export.about().goes_to {
            file @ GoesTo::File { .. } => Some(file.completed(first)),
            GoesTo::NewFolder | GoesTo::Folder => None,
        },
        Pick::OpenProject
        | Pick::AddScans(_)
        | Pick::Picture
        | Pick::ImportShelf
        | Pick::ImportPress
        | Pick::ReadWedge
        | Pick::ImportMeasured
        | Pick::ReadMarks
        | Pick::FindScans => None,
    }
}

/// A file that would be replaced although the person gave another name, to which the ending was added.
pub(crate) fn replaces_unasked(asked: &AskedPath, files: &[PathBuf]) -> Option<PathBuf> {
    target(asked, files).filter(|t| files.first() != Some(t) && t.exists())
}

/// The request that an answer stands for.
pub(crate) fn request(asked: &AskedPath, files: Vec<PathBuf>) -> Option<Request> {
    let first = files.first()?.clone();
    Some(match &asked.pick {
        Pick::OpenProject => Request::Leave(Leave::Open(first)),
        Pick::SaveProject => Request::SaveAs(first),
        Pick::AddScans(layer) => Request::AddScans { files, layer: *layer, target: Target::Sheet },
        Pick::Export(export) => Request::Export(Arc::clone(export), first),
        Pick::Picture => Request::SeparateFile(first),
        Pick::ReadWedge => Request::OfferWedge(first),
        Pick::ImportMeasured => Request::OfferMeasured(first),
        Pick::ReadMarks => Request::ReadMarks(files),
        Pick::ImportShelf => Request::Shelf(ShelfChange::Import(first)),
        Pick::ImportPress => Request::ImportPress(first),
        Pick::FindScans => Request::FindScans(first),
    })
}
