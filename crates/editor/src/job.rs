//! Jobs: slow work beside the window. A job gets an immutable snapshot and a cancel flag, reports progress, and comes
//! back as a command; the front never waits. [`Job`] is what is to be done and [`Done`] what comes of it; the modules
//! below do it, and [`crate::Tasks`] runs them.

mod exports;
mod lineup;
mod measure;
mod scans;

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::calibrate::Recognised;
use slipsheet_core::cgats::Measurements;
use slipsheet_core::geometry::Affine;
use slipsheet_core::raster::Pyramid;
use slipsheet_core::units::{SheetFormat, Size};
use slipsheet_core::words::count;
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Placement, ScanKey, ScanRef, Target};
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_document::wrap::WrapPlan;
use slipsheet_files::dummy_picture::DummyShot;
use slipsheet_files::dummy_sheet::DummySheetOptions;
use slipsheet_files::pack::PackChoices;
use slipsheet_files::proof::ProofOptions;
use slipsheet_files::store::{AddedScan, LoadedScan, Originals, ScanState};
use slipsheet_files::{Progress, ScanError, ScanOptions};
use slipsheet_registration::register::MarkLayout;
use slipsheet_registration::slip::JobRegister;
use slipsheet_registration::slip::spread::SpreadEstimate;
use slipsheet_render::images::Images;

use crate::calibration::{Calibrated, CalibrationOrder};
pub use lineup::MarksToShow;
use scans::Added;

/// Slow work, with everything it needs.
#[derive(Debug, Clone)]
pub enum Job {
    /// Reads scans that are being added.
    AddScans {
        /// The files, with how to read each.
        files: Vec<(PathBuf, ScanOptions)>,
        /// Into this layer.
        layer: Option<LayerId>,
        /// Laid on this.
        target: Target,
        /// Formats of calibration sheets that a scan may turn out to be; none where that was asked already.
        sheets: Vec<SheetFormat>,
    },
    /// Reads an instrument's table.
    ReadTable(PathBuf),
    /// Reads a calibration.
    Calibrate(Box<CalibrationOrder>),
    /// Reads the scans of a project.
    LoadScans {
        /// The scans.
        scans: Vec<ScanRef>,
        /// The project's file.
        base: Option<PathBuf>,
    },
    /// Looks whether files of scans are what they were, without reading their pixels.
    LookAtScans {
        /// The scans.
        scans: Vec<ScanRef>,
        /// The project's file.
        base: Option<PathBuf>,
    },
    /// Looks for missing scans.
    FindScans {
        /// The missing ones.
        scans: Vec<ScanRef>,
        /// The folder to look in.
        folder: PathBuf,
    },
    /// Writes the proof.
    Proof {
        /// Snapshot.
        printing: Box<Printing>,
        /// Its pixels.
        images: Images,
        /// Where to.
        path: PathBuf,
        /// How.
        options: Box<ProofOptions>,
    },
    /// Writes a proof of every edition.
    Proofs {
        /// Snapshot.
        printing: Box<Printing>,
        /// Its pixels.
        images: Images,
        /// The folder.
        folder: PathBuf,
        /// What must not be replaced.
        originals: Originals,
        /// How.
        options: Box<ProofOptions>,
    },
    /// Writes a picture of the dummy.
    Dummy {
        /// Snapshot.
        printing: Box<Printing>,
        /// Its pixels.
        images: Images,
        /// Where to.
        path: PathBuf,
        /// What is pictured.
        shot: Box<DummyShot>,
    },
    /// Writes the page guide.
    Guide {
        /// Snapshot.
        printing: Box<Printing>,
        /// Where to.
        path: PathBuf,
    },
    /// Writes the printed dummy.
    DummySheet {
        /// Snapshot.
        printing: Box<Printing>,
        /// Where to.
        path: PathBuf,
        /// How.
        options: DummySheetOptions,
    },
    /// Writes a calibration sheet.
    Wedge {
        /// Format of the sheet.
        sheet: Size,
        /// Its inks, in printing order.
        inks: Vec<String>,
        /// Where to.
        path: PathBuf,
    },
    /// Writes the plates of a mark sheet.
    Marks {
        /// Snapshot.
        printing: Box<Printing>,
        /// Where to.
        folder: PathBuf,
        /// What must not be replaced.
        originals: Originals,
    },
    /// Reads scans of printed mark sheets.
    ReadMarks {
        /// Snapshot.
        printing: Box<Printing>,
        /// The scans.
        scans: Vec<PathBuf>,
    },
    /// Makes the booking pack.
    Pack {
        /// Snapshot.
        project: Box<Project>,
        /// Its pixels.
        images: Images,
        /// The project's file.
        base: Option<PathBuf>,
        /// What the person chose.
        choices: PackChoices,
        /// Where to.
        folder: PathBuf,
        /// Its register, where a study of it is known already.
        register: Option<JobRegister>,
    },
    /// Writes the sheet of a wrap.
    Wrap {
        /// The wrap, worked out.
        plan: Box<WrapPlan>,
        /// The project's title.
        title: String,
        /// Where to.
        path: PathBuf,
    },
    /// Finds where a piece of artwork lies on another one.
    LineUp {
        /// The piece that moves.
        at: ArtId,
        /// The scan as it is placed now; a change meanwhile makes the answer stale.
        art: Box<Art>,
        /// What it moves onto, and where that lies.
        fixed: (Arc<Pyramid>, Placement, String),
        /// Its own pixels.
        moved: Arc<Pyramid>,
    },
    /// Finds the marks on an original.
    FindMarks {
        /// The piece.
        at: ArtId,
        /// The scan as it is placed now.
        art: Box<Art>,
        /// Its pixels.
        pixels: Arc<Pyramid>,
        /// Where marks are drawn.
        layout: Box<MarkLayout>,
    },
    /// Finds the marks on an original, to be looked over.
    LookOverMarks {
        /// The piece.
        at: ArtId,
        /// The scan as it is placed now.
        art: Box<Art>,
        /// Its pixels.
        pixels: Arc<Pyramid>,
        /// Where marks are drawn.
        layout: Box<MarkLayout>,
        /// Where the artwork lies now: from pixels of the scan to mm on the sheet.
        lie: Affine,
    },
    /// Copies scans beside the project.
    Collect {
        /// Snapshot.
        project: Box<Project>,
        /// The project's file.
        path: PathBuf,
    },
}

/// A scan that could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lost {
    /// Whether its file is gone, rather than unreadable.
    pub gone: bool,
    /// The sentence.
    pub why: String,
}

impl Lost {
    fn of(error: &ScanError) -> Self {
        Self { gone: matches!(error, ScanError::Missing { .. }), why: error.to_string() }
    }
}

/// What a job brings back.
#[derive(Debug)]
pub enum Done {
    /// Scans that were added, or why one could not be.
    Added {
        /// Each file's outcome.
        scans: Vec<Result<AddedScan, String>>,
        /// Into this layer.
        layer: Option<LayerId>,
        /// Laid on this.
        target: Target,
        /// Names for new layers, one a file.
        names: Vec<String>,
        /// Scans that turned out to be calibration sheets; they are not among the others.
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
    /// A proof, a guide or a calibration sheet was written, or not.
    Proof(Result<PathBuf, String>),
    /// A pack was made, with what should be heard of it besides in sentences without a stop; or why not.
    Pack(Result<(PathBuf, Vec<String>), String>),
    /// The work itself broke down: the sentence, and the scans that were not read.
    Failed(String, Vec<ScanKey>),
    /// A placement was found for a piece of artwork, with a sentence about it; or why not.
    Placed {
        /// The piece.
        at: ArtId,
        /// The piece as it was.
        was: Box<Art>,
        /// The outcome.
        found: Result<(Placement, String), String>,
    },
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
            Self::AddScans { files, .. } => format!("Reading {}", many(files.len())),
            Self::ReadTable(_) => "Reading the measurements".to_owned(),
            Self::Calibrate(_) => CALIBRATING.to_owned(),
            Self::LoadScans { scans, .. } => format!("Loading {}", many(scans.len())),
            Self::LookAtScans { scans, .. } => format!("Looking at {}", many(scans.len())),
            Self::FindScans { scans, .. } => format!("Looking for {}", many(scans.len())),
            Self::Proof { .. } => "Writing the proof".to_owned(),
            Self::Proofs { .. } => "Writing the proofs".to_owned(),
            Self::Dummy { .. } => "Drawing the dummy".to_owned(),
            Self::Guide { .. } => "Writing the page guide".to_owned(),
            Self::DummySheet { .. } => "Writing the dummy".to_owned(),
            Self::Wedge { .. } => "Writing the calibration sheet".to_owned(),
            Self::Marks { .. } => "Writing the mark sheet".to_owned(),
            Self::ReadMarks { scans, .. } => format!("Reading the marks of {}", many(scans.len())),
            Self::Pack { .. } => MAKING_PACK.to_owned(),
            Self::Wrap { .. } => "Writing the wrap".to_owned(),
            Self::LineUp { .. } => "Lining up".to_owned(),
            Self::FindMarks { .. } | Self::LookOverMarks { .. } => "Looking for marks".to_owned(),
            Self::Collect { .. } => "Copying the scans".to_owned(),
        }
    }

    /// The same job with what a front knows of its project's register, so that it is not studied once more.
    #[must_use]
    pub fn knowing(mut self, known: Option<&JobRegister>) -> Self {
        if let Self::Pack { register, .. } = &mut self {
            *register = known.cloned();
        }
        self
    }

    /// The scans that wait for it.
    pub(crate) fn reads(&self) -> Vec<ScanKey> {
        match self {
            Self::LoadScans { scans, .. } => scans.iter().map(|s| s.key.clone()).collect(),
            _ => Vec::new(),
        }
    }

    /// Does the work here and now; [`crate::Tasks`] calls it on a thread of its own.
    pub fn run(self, progress: &Progress) -> Done {
        let reads = self.reads();
        match self.work(progress) {
            // What was written before the word came stands.
            done @ (Done::Proof(Ok(_)) | Done::Pack(Ok(_)) | Done::Collected(_, Ok(_))) => done,
            _ if progress.is_cancelled() => Done::Cancelled(reads),
            done => done,
        }
    }

    /// Hands each kind of work to the function that does it.
    fn work(self, progress: &Progress) -> Done {
        match self {
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
            Self::Proof { printing, images, path, options } => {
                exports::proof(&printing, &images, path, &options, progress)
            }
            Self::Proofs { printing, images, folder, originals, options } => {
                exports::proofs(&printing, &images, (folder, &originals), &options, progress)
            }
            Self::Dummy { printing, images, path, shot } => {
                exports::dummy(&printing, &images, path, &shot, progress)
            }
            Self::Guide { printing, path } => exports::guide(&printing, path),
            Self::DummySheet { printing, path, options } => exports::dummy_sheet(&printing, path, options),
            Self::Wedge { sheet, inks, path } => exports::wedge(sheet, &inks, path),
            Self::Marks { printing, folder, originals } => {
                exports::marks(&printing, folder, &originals, progress)
            }
            Self::Pack { project, images, base, choices, folder, register } => {
                let of = (project.as_ref(), &images, register);
                exports::pack(of, (folder, base.as_deref()), choices, progress)
            }
            Self::Wrap { plan, title, path } => exports::wrap(&plan, &title, path),
            Self::LineUp { at, art, fixed, moved } => {
                Done::Placed { at, was: art, found: lineup::by_picture(&fixed, &moved) }
            }
            Self::FindMarks { at, art, pixels, layout } => {
                let found = lineup::by_marks(&art, &pixels, &layout);
                Done::Placed { at, was: art, found }
            }
            Self::LookOverMarks { at, art, pixels, layout, lie } => {
                lineup::marks(at, *art, &pixels, &layout, lie)
            }
        }
    }
}

/// What a person reads while a pack is made.
pub const MAKING_PACK: &str = "Making the pack";
/// What a person reads while a calibration is read.
pub const CALIBRATING: &str = "Reading the calibration";
