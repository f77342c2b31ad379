//! Jobs: slow work beside the window. A job gets an immutable snapshot and a cancel flag, reports progress, and comes
//! back as a request; the front never waits. [`Job`] is what is to be done and [`Done`] what comes of it; the modules
//! below do it, and [`crate::Tasks`] runs them.

mod lineup;
mod measure;
mod project;
mod scans;

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::calibrate::Recognised;
use slipsheet_core::cgats::Measurements;
use slipsheet_core::geometry::Affine;
use slipsheet_core::raster::Pyramid;
use slipsheet_core::units::SheetFormat;
use slipsheet_core::words::count;
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Placement, ScanKey, ScanRef, Target};
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_files::store::{AddedScan, LoadedScan, ScanState};
use slipsheet_files::{Progress, ScanError, ScanOptions};
use slipsheet_registration::register::MarkLayout;
use slipsheet_registration::slip::JobRegister;
use slipsheet_registration::slip::spread::SpreadEstimate;

use crate::calibration::{Calibrated, CalibrationOrder};
use crate::export::{Export, Source};
pub use lineup::MarksToShow;
pub use project::{Opening, SaveOrder, SaveOver, Saving};
use scans::Added;

/// Slow work, with everything it needs.
#[derive(Debug, Clone)]
pub enum Job {
    /// Reads a project that is to be opened; what is done meanwhile to the work in whose place it comes is not to be lost.
    Open {
        path: PathBuf,
        instead_of: Box<Project>,
    },
    /// Reads the project's file again, whose version is to be taken.
    ReadAgain(PathBuf),
    /// Saves the project.
    Save(Box<SaveOrder>),
    /// Reads scans that are being added; `sheets` are formats of calibration sheets that one may turn out to be, none
    /// where that was asked already.
    AddScans {
        files: Vec<(PathBuf, ScanOptions)>,
        layer: Option<LayerId>,
        target: Target,
        sheets: Vec<SheetFormat>,
    },
    /// Reads an instrument's table.
    ReadTable(PathBuf),
    /// Reads a calibration.
    Calibrate(Box<CalibrationOrder>),
    /// Reads the scans of a project whose file is `base`.
    LoadScans {
        scans: Vec<ScanRef>,
        base: Option<PathBuf>,
    },
    /// Looks whether files of scans are what they were, without reading their pixels.
    LookAtScans {
        scans: Vec<ScanRef>,
        base: Option<PathBuf>,
    },
    /// Looks for missing scans.
    FindScans {
        scans: Vec<ScanRef>,
        folder: PathBuf,
    },
    /// Writes an export.
    Export {
        export: Arc<dyn Export>,
        from: Box<Source>,
        to: PathBuf,
    },
    ReadMarks {
        printing: Arc<Printing>,
        scans: Vec<PathBuf>,
    },
    /// Finds where a piece of artwork lies on another one, `fixed`, whose pixels, place and name these are. A change of
    /// `art` meanwhile makes the answer stale.
    LineUp {
        at: ArtId,
        art: Box<Art>,
        fixed: (Arc<Pyramid>, Placement, String),
        /// Its own pixels.
        moved: Arc<Pyramid>,
    },
    /// Finds the marks on an original.
    FindMarks {
        at: ArtId,
        art: Box<Art>,
        pixels: Arc<Pyramid>,
        layout: Box<MarkLayout>,
    },
    /// Finds the marks on an original, to be looked over; `mapping` is where it lies now, from pixels of the scan to mm
    /// on the sheet.
    LookOverMarks {
        at: ArtId,
        art: Box<Art>,
        pixels: Arc<Pyramid>,
        layout: Box<MarkLayout>,
        /// Where the artwork lies now: from pixels of the scan to mm on the sheet.
        mapping: Affine,
    },
    /// Copies scans beside the project.
    Collect {
        project: Box<Project>,
        path: PathBuf,
    },
}

/// A scan that could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lost {
    /// Whether its file is gone, rather than unreadable.
    pub gone: bool,
    pub why: String,
}

impl Lost {
    fn of(error: &ScanError) -> Self {
        Self { gone: matches!(error, ScanError::Missing { .. }), why: error.to_string() }
    }
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Waiting {
    pub scans: Vec<ScanKey>,
    /// Whether the project is not saved again before it is done.
    pub save: bool,
}

/// What a job brings back.
#[derive(Debug)]
pub enum Done {
    /// A project was read, or why not.
    Opened { path: PathBuf, instead_of: Box<Project>, read: Opening },
    /// The project's file was read again, or why not.
    ReadAgain(Opening),
    /// What became of saving the project.
    Saved(Box<SaveOrder>, Saving),
    /// Scans that were added, or why one could not be, with names for new layers, one a file; and those that turned out
    /// to be calibration sheets, which are not among the others.
    Added {
        scans: Vec<Result<AddedScan, String>>,
        layer: Option<LayerId>,
        target: Target,
        names: Vec<String>,
        sheets: Vec<(PathBuf, Recognised)>,
    },
    /// An instrument's table was read, or not.
    Table(PathBuf, Result<Arc<Measurements>, String>),
    /// A calibration was read, or why not.
    Calibrated(Result<Arc<Calibrated>, String>),
    /// Printed mark sheets were read, or why not.
    Spread(Result<Arc<SpreadEstimate>, String>),
    /// Scans of a project, or why one could not be read.
    Loaded(Vec<(ScanRef, Result<LoadedScan, Lost>)>),
    /// How the files of scans are now, or why one could not be read.
    Looked(Vec<(ScanRef, Result<ScanState, Lost>)>),
    /// Where missing scans were found.
    Found(Vec<(ScanRef, PathBuf)>),
    /// An export was written, with what should be heard of it besides in sentences without a stop; or why not.
    Written(Result<(PathBuf, Vec<String>), String>),
    /// The work itself broke down: the sentence, and what waited for it.
    Failed(String, Waiting),
    /// A placement was found for a piece of artwork, with a sentence about it; or why not.
    Placed { at: ArtId, was: Box<Art>, found: Result<(Placement, String), String> },
    /// Marks of an original, to be looked over.
    Marks(Box<MarksToShow>),
    /// Scans were copied: the project's file, how many, and the paths as seen from that file; or why not.
    Collected(PathBuf, Result<(usize, Box<Project>), String>),
    /// The person stopped it; these scans were not read.
    Cancelled(Vec<ScanKey>),
}

impl Job {
    /// What the person reads while it runs.
    pub fn label(&self) -> String {
        let many = |n: usize| count(n, "scan");
        match self {
            Self::Open { .. } | Self::ReadAgain(_) => "Opening the project".to_owned(),
            Self::Save(_) => "Saving the project".to_owned(),
            Self::AddScans { files, .. } => format!("Reading {}", many(files.len())),
            Self::ReadTable(_) => "Reading the measurements".to_owned(),
            Self::Calibrate(_) => CALIBRATING.to_owned(),
            Self::LoadScans { scans, .. } => format!("Loading {}", many(scans.len())),
            Self::LookAtScans { scans, .. } => format!("Looking at {}", many(scans.len())),
            Self::FindScans { scans, .. } => format!("Looking for {}", many(scans.len())),
            Self::Export { export, .. } => export.about().label.to_owned(),
            Self::ReadMarks { scans, .. } => format!("Reading the marks of {}", many(scans.len())),
            Self::LineUp { .. } => "Lining up".to_owned(),
            Self::FindMarks { .. } | Self::LookOverMarks { .. } => "Looking for marks".to_owned(),
            Self::Collect { .. } => "Copying the scans".to_owned(),
        }
    }

    /// The same job with the registration study that a front knows, so that it is not made once more.
    #[must_use]
    pub fn knowing(mut self, known: Option<&JobRegister>) -> Self {
        if let Self::Export { from, .. } = &mut self {
            from.register = known.cloned();
        }
        self
    }

    pub(crate) fn waiting(&self) -> Waiting {
        let scans = if let Self::LoadScans { scans, .. } = self { &scans[..] } else { &[] };
        Waiting { scans: scans.iter().map(|s| s.key.clone()).collect(), save: matches!(self, Self::Save(_)) }
    }

    /// Does the work here and now; [`crate::Tasks`] calls it on a thread of its own.
    pub fn run(self, progress: &Progress) -> Done {
        let waiting = self.waiting();
        let done = self.work(progress);
        // What was written before the word came stands.
        let stands = matches!(done, Done::Written(Ok(_)) | Done::Collected(_, Ok(_)) | Done::Saved(..));
        if progress.is_cancelled() && !stands { Done::Cancelled(waiting.scans) } else { done }
    }

    /// Hands each kind of work to the function that does it.
    fn work(self, progress: &Progress) -> Done {
        match self {
            Self::Open { path, instead_of } => {
                let read = project::open(&path);
                Done::Opened { path, instead_of, read }
            }
            Self::ReadAgain(path) => Done::ReadAgain(project::open(&path)),
            Self::Save(order) => {
                let outcome = project::save(&order);
                Done::Saved(order, outcome)
            }
            Self::AddScans { files, layer, target, sheets } => {
                let Added { scans, names, sheets } = scans::add(&files, &sheets, progress);
                Done::Added { scans, layer, target, names, sheets }
            }
            Self::LoadScans { scans, base } => scans::load(scans, base.as_deref(), progress),
            Self::LookAtScans { scans, base } => scans::look(scans, base.as_deref(), progress),
            Self::FindScans { scans, folder } => scans::find(scans, &folder, progress),
            Self::Collect { project, path } => scans::collect(project, path, progress),
            Self::ReadTable(path) => measure::table(path),
            Self::Calibrate(order) => measure::calibration(*order),
            Self::ReadMarks { printing, scans } => measure::spread(&printing, &scans, progress),
            Self::Export { export, from, to } => {
                let written = export.write(&from, &to, progress);
                Done::Written(written.map(|notes| (to, notes)).map_err(|e| e.to_string()))
            }
            Self::LineUp { at, art, fixed, moved } => {
                Done::Placed { at, was: art, found: lineup::by_picture(&fixed, &moved) }
            }
            Self::FindMarks { at, art, pixels, layout } => {
                let found = lineup::by_marks(&art, &pixels, &layout);
                Done::Placed { at, was: art, found }
            }
            Self::LookOverMarks { at, art, pixels, layout, mapping } => {
                lineup::marks(at, *art, &pixels, &layout, mapping)
            }
        }
    }
}

/// What a person reads while a calibration is read.
pub const CALIBRATING: &str = "Reading the calibration";
