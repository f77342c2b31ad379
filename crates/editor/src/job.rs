//! Jobs: slow work beside the window. A job gets an immutable snapshot and a cancel flag, reports progress, and comes
//! back as a request; the front never waits. [`Job`] is what is to be done and [`Done`] what comes of it; the modules
//! below do it, and [`crate::Tasks`] runs them.

mod lineup;
mod measure;
mod picture;
mod project;
mod scans;

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::calibrate::Recognised;
use slipsheet_core::cgats::Measurements;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::SheetFormat;
use slipsheet_core::words::count;
use slipsheet_document::ids::{ArtId, SourceId};
use slipsheet_document::layer::{Art, DustSize, MaskId, Placement, ScanKey, ScanRef};
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_files::store::{AddedScan, LoadedScan, Masks, Recipes, ScanState};
use slipsheet_files::{Progress, ScanError, ScanOptions};
use slipsheet_registration::register::FitChoice;
use slipsheet_registration::slip::JobRegister;
use slipsheet_registration::slip::spread::SpreadEstimate;

use crate::calibration::{Calibrated, CalibrationOrder};
use crate::export::{Export, Source};
use crate::landing::Landing;
use crate::separating::ToSeparate;
pub use lineup::{MarksToShow, Original, OriginalLinedUp, Placed, Reviewed, ToMend};
pub use picture::{ApartOrder, PictureOrder};
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
        landing: Landing,
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
        /// Those that may not be beside the project yet.
        masks: Masks,
        /// How its pictures are separated.
        recipes: Recipes,
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
    /// Lines originals up from beginning to end.
    LineUpOriginals(Vec<Original>),
    /// Finds the marks on an original, to be looked over.
    LookOverMarks(Box<Original>),
    /// Places an original by marks that were looked over.
    PlaceByMarks(Box<Reviewed>),
    /// Reads a scan as it is before it is mended.
    ReadToMend(Box<Original>),
    /// Mends a scan: up to which size dust is removed, and what is mended by hand.
    Mend {
        at: ArtId,
        art: Box<Art>,
        dust: Option<DustSize>,
        mask: Option<Arc<GrayRaster>>,
    },
    /// Reads a colour picture that is to be separated.
    ReadPicture(Box<PictureOrder>),
    /// Writes plates into a folder beside the project.
    TakeApart(Box<ApartOrder>),
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

/// A mask by its name and as its file has it.
pub type MaskFile = (MaskId, Arc<[u8]>);

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
        landing: Landing,
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
    /// Originals were lined up, each as it was; or why one was not.
    LinedUp(Vec<(ArtId, Art, Result<OriginalLinedUp, String>)>),
    /// An original was placed by marks that were looked over; or why not.
    Reviewed(ArtId, Box<Art>, Result<Placed, String>),
    /// A scan as it is before it is mended; or why it could not be read.
    ToMend(ArtId, Result<Box<ToMend>, String>),
    /// A scan is to be mended so; or why not.
    Mended { at: ArtId, was: Box<Art>, dust: Option<DustSize>, mask: Result<Option<MaskFile>, String> },
    /// A colour picture was read; or why not.
    Picture(Result<Box<ToSeparate>, String>),
    /// Plates were written, each with its scan; or why not.
    TakenApart(SourceId, Result<Vec<(ArtId, ScanRef)>, String>),
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
            Self::LineUpOriginals(originals) => format!("Lining up {}", many(originals.len())),
            Self::LookOverMarks(_) => "Looking for marks".to_owned(),
            Self::PlaceByMarks(_) => "Placing artwork".to_owned(),
            Self::ReadToMend(_) => "Reading a scan".to_owned(),
            Self::Mend { .. } => "Mending a scan".to_owned(),
            Self::ReadPicture(_) => "Reading the picture".to_owned(),
            Self::TakeApart(_) => "Writing the plates".to_owned(),
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
            Self::AddScans { files, landing, sheets } => {
                let Added { scans, names, sheets } = scans::add(&files, &sheets, progress);
                Done::Added { scans, landing, names, sheets }
            }
            Self::LoadScans { scans, base, masks, recipes } => {
                scans::load(scans, base.as_deref(), (&masks, &recipes), progress)
            }
            Self::LookAtScans { scans, base } => scans::look(scans, base.as_deref(), progress),
            Self::FindScans { scans, folder } => scans::find(scans, &folder, progress),
            Self::ReadPicture(order) => Done::Picture(picture::read(&order, progress).map(Box::new)),
            Self::TakeApart(order) => Done::TakenApart(order.source, picture::take_apart(&order, progress)),
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
            Self::LineUpOriginals(originals) => {
                let of = |original: Original| {
                    let outcome = original.line_up(FitChoice::Auto, progress);
                    (original.at, original.art, outcome)
                };
                Done::LinedUp(
                    originals.into_iter().take_while(|_| !progress.is_cancelled()).map(of).collect(),
                )
            }
            Self::LookOverMarks(original) => original.look(progress),
            Self::PlaceByMarks(reviewed) => reviewed.place(progress),
            Self::ReadToMend(original) => {
                let at = original.at;
                Done::ToMend(at, original.read_to_mend(progress).map(Box::new))
            }
            Self::Mend { at, art, dust, mask } => {
                let mask = mask.map(|mask| Masks::encoded(&mask)).transpose().map_err(|e| e.to_string());
                Done::Mended { at, was: art, dust, mask }
            }
        }
    }
}

/// What a person reads while a calibration is read.
pub const CALIBRATING: &str = "Reading the calibration";
