//! Commands in, effects out.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::press::Press;
use slipsheet_core::reading::Reading;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, Mm, SheetFormat};
use slipsheet_document::accepted::Accepted;
use slipsheet_document::edition::Edition;
use slipsheet_document::layer::{Crop, GrayFrom, Placement, Slip, Target};
use slipsheet_document::project::Project;
use slipsheet_document::remedy::Remedy;
use slipsheet_document::terms::{JobTerms, PriceList};
use slipsheet_document::wrap::WrapOrder;
use slipsheet_files::dummy_picture::DummyShot;
use slipsheet_files::dummy_sheet::DummySheetOptions;
use slipsheet_files::proof::ProofOptions;
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{Face, Scheme};
use slipsheet_paper::turning::Turning;
use slipsheet_registration::slip::spread::SpreadEstimate;

use crate::calibration::{Calibrated, CalibrationOffer, CalibrationOrder};
use crate::job::{Done, Job, MarksToShow};
use crate::notice::Cause;

/// What a path is wanted for.
#[derive(Debug, Clone, PartialEq)]
pub enum Pick {
    /// A project to open.
    OpenProject,
    /// Where to save the project.
    SaveProject,
    /// Scans to add, into this layer or each into a new one.
    AddScans(Option<usize>),
    /// Where to write the proof.
    ExportProof,
    /// The folder for a proof of every edition.
    ExportProofs,
    /// Where to write this picture of the dummy.
    ExportDummy(Box<DummyShot>),
    /// Where to write the guide to draw originals on.
    ExportGuide,
    /// Where to write the printed dummy, and how.
    ExportDummySheet(DummySheetOptions),
    /// Where to write the calibration sheet.
    ExportWedge,
    /// Where to write the sheet of a wrap.
    ExportWrap(Box<WrapOrder>),
    /// The scan of a printed calibration sheet.
    ReadWedge,
    /// An instrument's table.
    ImportMeasured,
    /// The folder for the plates of a mark sheet.
    ExportMarks,
    /// Scans of printed mark sheets.
    ReadMarks,
    /// The folder that the booking pack is made in.
    MakePack,
    /// A shelf to take over.
    ImportShelf,
    /// Where to write the shelf.
    ExportShelf,
    /// The file or folder in which missing scans are looked for.
    FindScans,
}

/// A change to one layer.
#[derive(Debug, Clone, PartialEq)]
pub enum LayerChange {
    /// Another name.
    Name(String),
    /// Another ink.
    Ink(Ink),
    /// Shown or not.
    Visible(bool),
    /// The other face.
    Face(Face),
    /// A slip.
    Slip(Slip),
    /// How the original becomes a master.
    Reading(Reading),
    /// Steps against slips.
    Remedies(Vec<Remedy>),
    /// Placement of one piece of artwork.
    Placement(usize, Placement),
    /// The part of one piece's scan that may print.
    Crop(usize, Option<Crop>),
    /// Placement and crop of one piece of artwork, as its marks have it.
    LinedUp(usize, Placement, Option<Crop>),
    /// What one piece of artwork is laid on.
    Target(usize, Target),
    /// Resolution of one piece's scan.
    Dpi(usize, Dpi),
    /// How finely one piece's page without pixels of its own (PDF) is read; it keeps its size.
    Rasterise(usize, Dpi),
    /// How one piece's scan becomes gray, and whether its white is lifted.
    Gray(usize, GrayFrom, bool),
    /// Another page of one piece's file, from 0.
    ScanPage(usize, u32),
    /// Takes one piece away.
    RemoveArt(usize),
    /// Moves one piece to another layer, by that layer's index.
    MoveArt(usize, usize),
}

/// A change to the project's editions.
#[derive(Debug, Clone, PartialEq)]
pub enum EditionChange {
    /// Adds one of this name from the present inks and stock.
    Add(String),
    /// Adds a colourway as one.
    Keep(Box<Edition>),
    /// Another name.
    Rename(usize, String),
    /// Removes one.
    Remove(usize),
    /// Takes the present inks and stock into one.
    Update(usize),
    /// Prints in the inks and on the stock of one.
    TakeOver(usize),
    /// The same for a colourway.
    Apply(Box<Edition>),
}

/// A change to the project's wrap.
#[derive(Debug, Clone, PartialEq)]
pub enum WrapChange {
    /// Gives it a sheet, or changes what it has; its layers stay.
    Give(Box<WrapOrder>),
    /// Takes it away with its layers.
    Remove,
}

/// A change to the person's shelf.
#[derive(Debug, Clone, PartialEq)]
pub enum ShelfChange {
    /// Puts an ink at an index, or at the end.
    Ink(Option<usize>, Ink),
    /// Copies an ink.
    CopyInk(usize),
    /// Removes an ink.
    RemoveInk(usize),
    /// Puts a stock at an index, or at the end.
    Stock(Option<usize>, Stock),
    /// Copies a stock.
    CopyStock(usize),
    /// Removes a stock.
    RemoveStock(usize),
    /// Puts a measured overprint at an index, or at the end.
    Overprint(Option<usize>, OverprintSwatch),
    /// Removes a measured overprint.
    RemoveOverprint(usize),
    /// Puts a shop's prices on the shelf, in place of those of the same name.
    Prices(PriceList),
    /// Puts a fold scheme on the shelf, in place of the one with its id.
    Fold(Box<Scheme>),
    /// Removes the fold scheme with this id.
    RemoveFold(String),
    /// Takes over everything in a file.
    Import(PathBuf),
    /// Writes everything to a file.
    Export(PathBuf),
}

/// Everything that can be asked of a session.
#[derive(Debug, Clone)]
pub enum Command {
    /// Starts an empty project.
    New,
    /// Asks for a project and opens it.
    AskOpen,
    /// Opens a project file.
    Open(PathBuf),
    /// Takes over a recovery copy.
    Recover(Box<slipsheet_files::home::Recovered>),
    /// Saves, asking for a path when there is none.
    Save,
    /// Saves over a file that something else has changed, as the person has said.
    SaveOver,
    /// Takes what the file of the project holds now in place of the work, as one step of history.
    TakeTheirs,
    /// Asks for another path in place of a file that something else has changed.
    SaveElsewhere,
    /// Saves, then does what was asked for.
    SaveThen(Box<Self>),
    /// A path that was asked for did not come.
    PathCancelled,
    /// Asks for a path and saves there.
    AskSaveAs,
    /// Saves to a file.
    SaveAs(PathBuf),
    /// Copies the scans beside the project.
    Collect,
    /// Asks for scans, into this layer or each into a new one.
    AskScans(Option<usize>),
    /// Adds scans: each becomes a layer of its own, or a piece of a layer when one is given.
    AddScans {
        /// The files.
        files: Vec<PathBuf>,
        /// Into this layer, or each into a new one.
        layer: Option<usize>,
        /// Laid on this.
        target: Target,
    },
    /// The same without a look whether a scan is a calibration sheet.
    AddAsLayers {
        /// The files.
        files: Vec<PathBuf>,
        /// Into this layer, or each into a new one.
        layer: Option<usize>,
        /// Laid on this.
        target: Target,
    },
    /// Asks where missing scans may be.
    AskFindScans,
    /// Looks for missing scans in a folder.
    FindScans(PathBuf),
    /// Takes changed scans as they are now.
    AcceptChanged,
    /// Looks at scans whose files seem to have changed or gone.
    LookAtScans(Vec<PathBuf>),
    /// Asks where to write the proof.
    AskProof(Box<ProofOptions>),
    /// Writes the proof.
    ExportProof(PathBuf, Box<ProofOptions>),
    /// Asks for a folder for a proof of every edition.
    AskProofs(Box<ProofOptions>),
    /// Writes a proof of every edition into a folder.
    ExportProofs(PathBuf, Box<ProofOptions>),
    /// Asks where to write a picture of the dummy.
    AskDummy(Box<DummyShot>),
    /// Writes a picture of the dummy.
    ExportDummy(PathBuf, Box<DummyShot>),
    /// Asks where to write the page guide or the calibration sheet.
    AskExport(Pick),
    /// Writes the guide to draw originals on: a PDF, or a PNG when the name says so.
    ExportGuide(PathBuf),
    /// Writes the printed dummy as a PDF.
    ExportDummySheet(PathBuf, DummySheetOptions),
    /// Writes a calibration sheet of the project's inks as a PDF.
    ExportWedge(PathBuf),
    /// Asks about the scan of a printed calibration sheet.
    OfferWedge(PathBuf),
    /// Reads an instrument's table and asks about it.
    OfferMeasured(PathBuf),
    /// Reads a calibration; nothing changes.
    Calibrate(Box<CalibrationOrder>),
    /// Takes a calibration over into the shelf and the project.
    TakeCalibration(Arc<Calibrated>),
    /// Writes the plates of a mark sheet into a folder.
    ExportMarks(PathBuf),
    /// Reads scans of printed mark sheets; nothing changes.
    ReadMarks(Vec<PathBuf>),
    /// Makes the booking pack in a folder.
    MakePack(PathBuf),
    /// Lays one piece of artwork on the layer printed before it, by what both show.
    LineUp(usize, usize),
    /// Places one piece of artwork by the marks drawn on its original.
    PlaceByMarks(usize, usize),
    /// Looks for the marks of one piece of artwork and shows them, to be looked over before it is placed.
    LookOverMarks(usize, usize),
    /// Selects a layer, and a piece of it.
    Select(Option<usize>, usize),
    /// Changes a layer.
    Layer(usize, LayerChange),
    /// Adds a layer without artwork.
    AddLayer,
    /// Removes a layer.
    RemoveLayer(usize),
    /// Moves a layer in the printing order.
    MoveLayer {
        /// From this index.
        from: usize,
        /// To this one.
        to: usize,
    },
    /// Puts every layer back where it is meant to lie.
    ResetSlips,
    /// Another title.
    Title(String),
    /// Another sheet.
    Sheet(SheetFormat),
    /// Lying or standing.
    Lying(bool),
    /// Another stock.
    Stock(Stock),
    /// Another fold.
    Fold(Option<Scheme>),
    /// A booklet of several sheets in place of a fold, or none.
    Booklet(Option<Booklet>),
    /// Another trim.
    Trim(Mm),
    /// Another way of turning the sheet between its faces.
    Turning(Turning),
    /// A slip of the whole back against the front.
    BackSlip(Slip),
    /// Another resolution of the press's masters.
    PressDpi(Dpi),
    /// Changes the editions.
    Edition(EditionChange),
    /// Another press, or other figures of it.
    Press(Box<Press>),
    /// The layers of a face in other passes, in printing order.
    Passes(Face, Vec<Vec<usize>>),
    /// Other terms of the job.
    Terms(Box<JobTerms>),
    /// Takes a finding as it is, with a note.
    Accept(Accepted),
    /// Lists an accepted finding again: its kind and place.
    Reopen(String, String),
    /// Changes the wrap.
    Wrap(WrapChange),
    /// Takes the wrap's sheet in hand (true) or the booklet's; every command is about the sheet in hand.
    TurnTo(bool),
    /// Writes the sheet of a wrap, to be cut and scored: a PDF, or an SVG when the name says so.
    ExportWrap(PathBuf, Box<WrapOrder>),
    /// Opens a gesture: what follows until it closes is one step of history.
    BeginGesture(&'static str),
    /// Closes the gesture.
    EndGesture,
    /// Takes the last step back.
    Undo,
    /// Brings it back.
    Redo,
    /// Changes the person's shelf.
    Shelf(ShelfChange),
    /// Removes a notice.
    Dismiss(usize),
    /// Asks to leave.
    Quit,
    /// The person has said that unsaved changes may be lost; carries on with what was asked for.
    Discard(Box<Self>),
    /// A job of an epoch has come back; one of an earlier project is dropped.
    JobDone(u64, Arc<Done>),
}

/// What a front has to do for a session.
#[derive(Debug, Clone)]
pub enum Effect {
    /// Ask the person for one or more paths; for the proof, these are its options.
    AskPath(Pick, Option<Box<ProofOptions>>),
    /// Ask whether unsaved changes may be lost; if so, hand back [`Command::Discard`] with this.
    AskDiscard(Box<Command>),
    /// Say that something else changed the project's file since it was opened, and ask which version is kept:
    /// hand back [`Command::SaveOver`], [`Command::TakeTheirs`], [`Command::SaveElsewhere`] or
    /// [`Command::PathCancelled`].
    AskChangedProject(PathBuf),
    /// Ask what is to be known before a calibration is read.
    AskCalibration(Box<CalibrationOffer>),
    /// Show what a calibration says, or why it could not be read.
    ShowCalibration(Result<Arc<Calibrated>, String>),
    /// Show what printed mark sheets say of the press, or why they could not be read;
    /// [`Command::Press`] takes it over.
    ShowSpread(Result<Arc<SpreadEstimate>, String>),
    /// Run a job.
    Start(Job),
    /// Show the marks of a piece of artwork; [`LayerChange::LinedUp`] hands back what comes of them.
    ShowMarks(Box<MarksToShow>),
    /// The settings or the recent list changed; write them.
    SaveSettings,
    /// The shelf changed; write it.
    SaveShelf,
    /// Leave.
    Quit,
}

/// Why a command was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CommandError {
    /// No such layer.
    #[error("there is no layer {0}")]
    NoLayer(usize),
    /// No such piece of artwork.
    #[error("layer {layer} has no artwork {art}")]
    NoArt {
        /// The layer, from 1.
        layer: usize,
        /// The piece, from 1.
        art: usize,
    },
    /// No such edition.
    #[error("there is no edition {0}")]
    NoEdition(usize),
    /// The face is full.
    #[error("a face holds {MAX_INKS} layers at most: remove one first, or put this one on the other face")]
    Full,
    /// Nothing to undo or redo.
    #[error("there is nothing to {0}")]
    Nothing(&'static str),
    /// A name is empty or taken.
    #[error("{0}")]
    BadName(String),
    /// The project could not be saved.
    #[error("{0}")]
    NotSaved(String),
    /// A file could not be read or written.
    #[error("{0}")]
    File(String),
}

impl CommandError {
    /// What cures it, where something does.
    pub fn cause(&self) -> Option<Cause> {
        matches!(self, Self::NotSaved(_)).then_some(Cause::Save)
    }
}

impl Command {
    /// Adding scans as layers of their own.
    pub fn add_scans(files: Vec<PathBuf>) -> Self {
        Self::AddScans { files, layer: None, target: Target::Sheet }
    }
}

/// A convenience for fronts: the project a dialog is about.
pub(crate) fn title_or_untitled(project: &Project) -> &str {
    if project.title.trim().is_empty() { "Untitled" } else { &project.title }
}
