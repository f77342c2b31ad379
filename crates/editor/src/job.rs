//! Jobs: slow work on named threads. A job gets an immutable snapshot and a cancel flag, reports progress,
//! and comes back as a command; the front never waits.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use slipsheet_core::calibrate::{self, Recognised, WedgeSheet};
use slipsheet_core::cgats::Measurements;
use slipsheet_core::geometry::Affine;
use slipsheet_core::layer::{Art, Placement, ScanKey, ScanRef, Target};
use slipsheet_core::project::{Images, Project};
use slipsheet_core::raster::Pyramid;
use slipsheet_core::register::{self, LineUpLimits, MarkLayout, MarkTable};
use slipsheet_core::slip::spread::SpreadEstimate;
use slipsheet_core::units::{SheetFormat, Size};
use slipsheet_core::wrap::WrapPlan;
use slipsheet_files::dummy_picture::{self, DummyShot};
use slipsheet_files::dummy_sheet::{self, DummySheetOptions};
use slipsheet_files::marks;
use slipsheet_files::pack::{self, PackChoices};
use slipsheet_files::plates;
use slipsheet_files::proof::{self, ProofOptions};
use slipsheet_files::proof_series;
use slipsheet_files::store::{self, AddedScan, LoadedScan};
use slipsheet_files::ticket::TicketNotes;
use slipsheet_files::{
    GuideOptions, Progress, ScanError, ScanFormat, ScanOptions, guide_pdf, guide_png, wedge, wrap_pdf,
    wrap_svg,
};

use crate::calibration::{self, Calibrated, CalibrationOrder};
use crate::command::{Command, MarksToShow};

/// Slow work, with everything it needs.
#[derive(Debug, Clone)]
pub enum Job {
    /// Reads scans that are being added.
    AddScans {
        /// The files, with how to read each.
        files: Vec<(PathBuf, ScanOptions)>,
        /// Into this layer.
        layer: Option<usize>,
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
        project: Box<Project>,
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
        project: Box<Project>,
        /// Its pixels.
        images: Images,
        /// The folder.
        folder: PathBuf,
        /// The project's file.
        file: Option<PathBuf>,
        /// How.
        options: Box<ProofOptions>,
    },
    /// Writes a picture of the dummy.
    Dummy {
        /// Snapshot.
        project: Box<Project>,
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
        project: Box<Project>,
        /// Where to.
        path: PathBuf,
    },
    /// Writes the printed dummy.
    DummySheet {
        /// Snapshot.
        project: Box<Project>,
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
        project: Box<Project>,
        /// Where to.
        folder: PathBuf,
    },
    /// Reads scans of printed mark sheets.
    ReadMarks {
        /// Snapshot.
        project: Box<Project>,
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
        /// Layer and piece that move.
        at: (usize, usize),
        /// The scan as it is placed now; a change meanwhile makes the answer stale.
        art: Box<Art>,
        /// What it moves onto, and where that lies.
        fixed: (Arc<Pyramid>, Placement, String),
        /// Its own pixels.
        moved: Arc<Pyramid>,
    },
    /// Finds the marks on an original.
    FindMarks {
        /// Layer and piece.
        at: (usize, usize),
        /// The scan as it is placed now.
        art: Box<Art>,
        /// Its pixels.
        pixels: Arc<Pyramid>,
        /// Where marks are drawn.
        layout: Box<MarkLayout>,
    },
    /// Finds the marks on an original, to be looked over.
    LookOverMarks {
        /// Layer and piece.
        at: (usize, usize),
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
        layer: Option<usize>,
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
    /// Where missing scans were found.
    Found(Vec<(ScanRef, PathBuf)>),
    /// A proof, a guide or a calibration sheet was written, or not.
    Proof(Result<PathBuf, String>),
    /// A placement was found for a piece of artwork, with a sentence about it; or why not.
    Placed {
        /// Layer and piece.
        at: (usize, usize),
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
        let many = |n: usize| if n == 1 { "1 scan".to_owned() } else { format!("{n} scans") };
        match self {
            Self::AddScans { files, .. } => format!("Reading {}", many(files.len())),
            Self::ReadTable(_) => "Reading the measurements".to_owned(),
            Self::Calibrate(_) => CALIBRATING.to_owned(),
            Self::LoadScans { scans, .. } => format!("Loading {}", many(scans.len())),
            Self::FindScans { scans, .. } => format!("Looking for {}", many(scans.len())),
            Self::Proof { .. } => "Writing the proof".to_owned(),
            Self::Proofs { .. } => "Writing the proofs".to_owned(),
            Self::Dummy { .. } => "Picturing the dummy".to_owned(),
            Self::Guide { .. } => "Writing the page guide".to_owned(),
            Self::DummySheet { .. } => "Writing the dummy".to_owned(),
            Self::Wedge { .. } => "Writing the calibration sheet".to_owned(),
            Self::Marks { .. } => "Writing the mark sheet".to_owned(),
            Self::ReadMarks { scans, .. } => format!("Reading the marks of {}", many(scans.len())),
            Self::Pack { .. } => "Making the pack".to_owned(),
            Self::Wrap { .. } => "Writing the wrap".to_owned(),
            Self::LineUp { .. } => "Lining up".to_owned(),
            Self::FindMarks { .. } | Self::LookOverMarks { .. } => "Looking for marks".to_owned(),
            Self::Collect { .. } => "Copying the scans".to_owned(),
        }
    }

    /// Does the work here and now; [`Jobs`] calls it on a thread of its own.
    pub fn run(self, progress: &Progress) -> Done {
        let reads = match &self {
            Self::LoadScans { scans, .. } => scans.iter().map(|s| s.key.clone()).collect(),
            _ => Vec::new(),
        };
        match self.work(progress) {
            // What was written before the word came stands.
            done @ (Done::Proof(Ok(_)) | Done::Collected(_, Ok(_))) => done,
            _ if progress.is_cancelled() => Done::Cancelled(reads),
            done => done,
        }
    }

    fn work(self, progress: &Progress) -> Done {
        match self {
            Self::AddScans { files, layer, target, sheets: formats } => {
                let mut sheets = Vec::new();
                let read = files.iter().flat_map(|(f, o)| added(f, o, progress));
                let (scans, names) = read
                    .filter(|(scan, _)| match calibration_sheet(scan, &formats) {
                        Some(found) => {
                            sheets.push(found);
                            false
                        }
                        None => true,
                    })
                    .unzip();
                Done::Added { scans, layer, target, names, sheets }
            }
            Self::ReadTable(path) => {
                let table = calibration::read_table(&path);
                Done::Table(path, table)
            }
            Self::Calibrate(order) => Done::Calibrated(order.read().map(Arc::new)),
            Self::LoadScans { scans, base } => Done::Loaded(
                scans
                    .into_iter()
                    .map(|scan| {
                        let loaded = store::load_scan(base.as_deref(), &scan, progress);
                        let loaded = loaded.map_err(|e| Lost::of(&e));
                        (scan, loaded)
                    })
                    .collect(),
            ),
            Self::FindScans { scans, folder } => Done::Found(
                scans
                    .into_iter()
                    .filter_map(|scan| store::find_moved(&scan, &folder, progress).map(|found| (scan, found)))
                    .collect(),
            ),
            Self::Proof { project, images, path, options } => Done::Proof(
                proof::write(&project, &images, &options, &path, progress)
                    .map(|()| path)
                    .map_err(|e| e.to_string()),
            ),
            Self::Proofs { project, images, folder, file, options } => Done::Proof(
                proof_series::write(&project, &images, &options, (&folder, file.as_deref()), progress)
                    .map(|_| folder)
                    .map_err(|e| e.to_string()),
            ),
            Self::Dummy { project, images, path, shot } => Done::Proof(
                dummy_picture::write(&project, &images, &shot, &path, progress)
                    .map(|()| path)
                    .map_err(|e| e.to_string()),
            ),
            Self::Guide { project, path } => {
                let options = GuideOptions::default();
                let png = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("png"));
                let write = if png { guide_png } else { guide_pdf };
                Done::Proof(write(&project, &options, &path).map(|()| path).map_err(|e| e.to_string()))
            }
            Self::DummySheet { project, path, options } => {
                let written = dummy_sheet::write(&project, options, &path);
                Done::Proof(written.map(|()| path).map_err(|e| e.to_string()))
            }
            Self::Wedge { sheet, inks, path } => {
                let plan = WedgeSheet::new(sheet, &inks, 0).map_err(|e| e.to_string());
                let written = plan.and_then(|plan| wedge::write_pdf(&plan, &path).map_err(|e| e.to_string()));
                Done::Proof(written.map(|()| path))
            }
            Self::Marks { project, folder } => Done::Proof(
                marks::write_plates(&project, project.press_dpi, &folder, progress)
                    .map(|_| folder)
                    .map_err(|e| e.to_string()),
            ),
            Self::ReadMarks { project, scans } => {
                let read = marks::read_copies(&project, &scans, progress);
                Done::Spread(read.map(Arc::new).map_err(|e| e.to_string()))
            }
            Self::Pack { project, images, base, choices, folder } => {
                let (dpi, base) = (project.press_dpi, base.as_deref());
                let crisp = plates::with_crisp_vectors(&project, &images, base, dpi, progress);
                let made = crisp.map_err(|e| e.to_string()).and_then(|(project, images)| {
                    let options =
                        choices.with(TicketNotes::of(&project, &images).map_err(|e| e.to_string())?);
                    pack::write(&project, &images, &options, &folder, progress).map_err(|e| e.to_string())
                });
                Done::Proof(made.map(|made| made.folder))
            }
            Self::Wrap { plan, title, path } => {
                let svg = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("svg"));
                let write = if svg { wrap_svg } else { wrap_pdf };
                Done::Proof(write(&plan, &title, &path).map(|()| path).map_err(|e| e.to_string()))
            }
            Self::LineUp { at, art, fixed: (fixed, lies, name), moved } => {
                let found = register::line_up(&fixed, &moved, LineUpLimits::default());
                let found = if found.confidence < SURE {
                    Err(format!(
                        "nothing in it matches “{name}” well enough ({:.0} % sure); line it up by its marks or by hand",
                        found.confidence * 100.0
                    ))
                } else {
                    let placement = found.placement_on(&lies);
                    Ok((placement, format!("Lined up on “{name}”, {:.0} % sure.", found.confidence * 100.0)))
                };
                Done::Placed { at, was: art, found }
            }
            Self::FindMarks { at, art, pixels, layout } => {
                let found = register::find_sheet(pixels.full(), art.scan.dpi, &layout);
                let found = found.map_err(|e| e.to_string()).map(|f| {
                    let (marks, rms) = (f.marks.len(), f.fit.rms_mm);
                    let assumed =
                        if f.lead_known { "" } else { " The lead edge was not marked and is assumed." };
                    (f.placement, format!("Placed by {marks} marks, within {rms:.2} mm.{assumed}"))
                });
                Done::Placed { at, was: art, found }
            }
            Self::LookOverMarks { at, art, pixels, layout, lie } => {
                let (table, why) = MarkTable::look(pixels.full(), art.scan.dpi, &layout, lie);
                Done::Marks(Box::new(MarksToShow { at, art: *art, table, why: why.map(|e| e.to_string()) }))
            }
            Self::Collect { mut project, path } => {
                let copied = store::collect(&mut project, &path, progress);
                Done::Collected(path, copied.map(|n| (n, project)).map_err(|e| e.to_string()))
            }
        }
    }
}

/// What a file gives, each with a name for its layer: one scan, or one for each layer of a layered file.
fn added(
    file: &Path,
    options: &ScanOptions,
    progress: &Progress,
) -> Vec<(Result<AddedScan, String>, String)> {
    let read = |page: u32| {
        let options = ScanOptions { page, ..*options };
        let scan = store::add_scan(None, file, &options, None, progress).map_err(|e| e.to_string());
        let layer = scan.as_ref().ok().and_then(AddedScan::layer_name);
        let name = layer.map_or_else(|| name_of(file), str::to_owned);
        (scan, name)
    };
    let first = read(options.page);
    let layered = first.0.as_ref().is_ok_and(|a| a.info.format == ScanFormat::OpenRaster);
    let pages = first.0.as_ref().map_or(0, |a| if layered { a.info.pages } else { 0 });
    let rest = (options.page.saturating_add(1)..pages).take_while(|_| !progress.is_cancelled());
    std::iter::once(first).chain(rest.map(read)).collect()
}

/// A calibration sheet among scans that are being added: only in pictures that can be read again in colour.
fn calibration_sheet(
    scan: &Result<AddedScan, String>,
    formats: &[SheetFormat],
) -> Option<(PathBuf, Recognised)> {
    let added = scan.as_ref().ok().filter(|_| !formats.is_empty())?;
    if matches!(added.info.format, ScanFormat::Pdf | ScanFormat::OpenRaster) {
        return None;
    }
    Some((PathBuf::from(&added.scan.path), calibrate::recognise(&added.pixels, formats)?))
}

/// What a person reads while a calibration is read.
pub const CALIBRATING: &str = "Reading the calibration";

/// Below this confidence a line-up is not taken over: unrelated pictures stay under it in the tests.
const SURE: f64 = 0.25;

/// A file's name without its folder and ending.
pub(crate) fn name_of(file: &std::path::Path) -> String {
    file.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_else(|| "Scan".to_owned())
}

/// A running job as the front shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct JobInfo {
    /// To cancel it by.
    pub id: u64,
    /// What it does.
    pub label: String,
    /// 0..=1.
    pub fraction: f64,
}

struct Running {
    id: u64,
    label: String,
    progress: Arc<Progress>,
    epoch: u64,
    /// Whether it goes on when another project is opened.
    outlives: bool,
}

/// The jobs of one session.
pub struct Jobs {
    running: Vec<Running>,
    next: u64,
    sender: Sender<(u64, u64, Done)>,
    receiver: Receiver<(u64, u64, Done)>,
    wake: Arc<dyn Fn() + Send + Sync>,
}

impl Jobs {
    /// No jobs; `wake` is called from a job's thread when it is done.
    pub fn new(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let (sender, receiver) = channel();
        Self { running: Vec::new(), next: 1, sender, receiver, wake: Arc::new(wake) }
    }

    /// Starts a job on a thread of its own for one epoch of the session (see [`crate::Session::epoch`]).
    /// Where no thread can be had the work is done at once.
    pub fn start(&mut self, job: Job, epoch: u64) -> u64 {
        let (id, label, progress) = (self.next, job.label(), Arc::new(Progress::new()));
        self.next += 1;
        let outlives = matches!(
            job,
            Job::Proof { .. }
                | Job::Proofs { .. }
                | Job::Dummy { .. }
                | Job::Guide { .. }
                | Job::Wedge { .. }
                | Job::Marks { .. }
                | Job::Pack { .. }
        );
        self.running.push(Running {
            id,
            label: label.clone(),
            progress: Arc::clone(&progress),
            epoch,
            outlives,
        });
        let (sender, wake) = (self.sender.clone(), Arc::clone(&self.wake));
        let again = job.clone();
        let thread = std::thread::Builder::new().name(label);
        let spawned = thread.spawn(move || {
            let done = job.run(&progress);
            // A session that is gone wants no answer.
            if sender.send((id, epoch, done)).is_ok() {
                wake();
            }
        });
        if spawned.is_err() {
            let done = again.run(&Progress::new());
            // The receiver is this very struct's, so the send cannot fail.
            let sent = self.sender.send((id, epoch, done));
            debug_assert!(sent.is_ok());
        }
        id
    }

    /// Asks a job to stop.
    pub fn cancel(&self, id: u64) {
        if let Some(job) = self.running.iter().find(|j| j.id == id) {
            job.progress.cancel();
        }
    }

    /// Asks the jobs of earlier projects to stop, but for those that write a file.
    pub fn cancel_older(&self, epoch: u64) {
        self.running.iter().filter(|j| j.epoch != epoch && !j.outlives).for_each(|j| j.progress.cancel());
    }

    /// What is running.
    pub fn running(&self) -> Vec<JobInfo> {
        let info = |j: &Running| JobInfo {
            id: j.id,
            label: j.label.clone(),
            fraction: f64::from(j.progress.fraction()),
        };
        self.running.iter().map(info).collect()
    }

    /// What has come back since the last call.
    pub fn poll(&mut self) -> Vec<Command> {
        let done: Vec<(u64, u64, Done)> = self.receiver.try_iter().collect();
        done.into_iter()
            .map(|(id, epoch, done)| {
                self.running.retain(|j| j.id != id);
                Command::JobDone(epoch, Arc::new(done))
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use super::*;

    /// One black pixel on a canvas of 2 x 1, and a stack of two layers of it.
    fn layered() -> Vec<u8> {
        let mut png = Vec::new();
        let mut encoder = png::Encoder::new(&mut png, 1, 1);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.write_header().unwrap().write_image_data(&[0]).unwrap();
        let xml = "<image w='2' h='1'><stack><layer name='Rosehip' src='a.png' x='1'/><layer src='a.png'/></stack></image>";
        let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let stored =
            zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
        let entries =
            [("mimetype", &b"image/openraster"[..]), ("stack.xml", xml.as_bytes()), ("a.png", &png)];
        for (name, bytes) in entries {
            archive.start_file(name, stored).unwrap();
            archive.write_all(bytes).unwrap();
        }
        archive.finish().unwrap().into_inner()
    }

    #[test]
    fn a_layered_file_gives_an_original_for_each_layer_from_the_bottom() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("poster.ora");
        std::fs::write(&file, layered()).unwrap();
        let files = vec![(file, ScanOptions::default())];
        let job = Job::AddScans { files, layer: None, target: Target::Sheet, sheets: vec![] };
        let Done::Added { scans, names, .. } = job.run(&Progress::new()) else { panic!("not added") };
        assert_eq!(names, ["poster", "Rosehip"]);
        let pages: Vec<u32> = scans.iter().map(|s| s.as_ref().unwrap().scan.key.page).collect();
        assert_eq!(pages, [0, 1]);
    }
}
