//! Requests in, effects out.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::press::Press;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::separation::Separation;
use slipsheet_core::stock::Stock;
use slipsheet_document::edit::{Edit, LayerEdit, SheetEdit};
use slipsheet_document::ids::{ArtId, LayerId, SheetId, SourceId};
use slipsheet_document::layer::{DustSize, ScanRef, Target};
use slipsheet_document::project::Project;
use slipsheet_document::terms::PriceList;
use slipsheet_document::wrap::WrapOrder;
use slipsheet_files::home::Recovered;
use slipsheet_paper::fold::Scheme;
use slipsheet_registration::slip::spread::SpreadEstimate;

use crate::calibration::{Calibrated, CalibrationOffer, CalibrationOrder};
use crate::export::Export;
use crate::job::{Done, Job, MarksToShow, Reviewed, ToMend};
use crate::landing::Landing;
use crate::separating::{SeparatedFor, ToSeparate};

/// What a path is wanted for.
#[derive(Debug, Clone)]
pub enum Pick {
    OpenProject,
    SaveProject,
    /// Scans to add, into this layer or each into a new one.
    AddScans(Option<LayerId>),
    /// A colour picture to separate.
    Picture,
    Export(Arc<dyn Export>),
    /// The scan of a printed calibration sheet.
    ReadWedge,
    ImportMeasured,
    /// Scans of printed mark sheets.
    ReadMarks,
    ImportShelf,
    /// A press profile for the project.
    ImportPress,
    /// The file or folder in which missing scans are looked for.
    FindScans,
}

#[derive(Debug, Clone, PartialEq)]
pub enum ShelfChange {
    /// Puts an ink at an index, or at the end.
    Ink(Option<usize>, Ink),
    CopyInk(usize),
    RemoveInk(usize),
    /// Puts a stock at an index, or at the end.
    Stock(Option<usize>, Stock),
    CopyStock(usize),
    RemoveStock(usize),
    /// Puts a measured overprint at an index, or at the end.
    Overprint(Option<usize>, OverprintSwatch),
    RemoveOverprint(usize),
    /// Puts a shop's prices on the shelf, in place of those of the same name.
    Prices(PriceList),
    /// Puts a fold scheme on the shelf, in place of the one with its id.
    Fold(Box<Scheme>),
    /// Removes the fold scheme with this id.
    RemoveFold(String),
    /// Puts a press on the shelf, in place of the one of its name.
    Press(Box<Press>),
    /// Removes the press of this name.
    RemovePress(String),
    /// Takes over everything in a file.
    Import(PathBuf),
}

/// What ends the work on the present project; unsaved changes are asked about first.
#[derive(Debug, Clone)]
pub enum Leave {
    /// An empty project.
    New,
    Open(PathBuf),
    /// Work from before a crash.
    Recover(Box<Recovered>),
    Quit,
}

/// Everything that can be asked of a session.
#[derive(Debug, Clone)]
pub enum Request {
    /// Leaves the present project.
    Leave(Leave),
    /// Saves, asking for a path when there is none.
    Save,
    /// Saves over a file that something else has changed, as the person has said.
    SaveOver,
    /// Takes what the file of the project holds now in place of the work, as one step of history.
    TakeTheirs,
    /// Asks for another path in place of a file that something else has changed.
    SaveElsewhere,
    SaveThen(Leave),
    /// A path that was asked for did not come.
    PathCancelled,
    AskSaveAs,
    SaveAs(PathBuf),
    /// Copies the scans beside the project.
    Collect,
    /// Adds scans: each becomes a layer of its own, or a piece of a layer when one is given.
    AddScans {
        files: Vec<PathBuf>,
        /// Into this layer, or each into a new one.
        layer: Option<LayerId>,
        target: Target,
    },
    /// Adds scans so, without asking whether many of them are pages.
    AddSo(Vec<PathBuf>, Landing),
    /// The same without a look whether a scan is a calibration sheet.
    AddAsLayers(Vec<PathBuf>, Landing),
    FindScans(PathBuf),
    /// Takes changed scans as they are now.
    AcceptChanged,
    /// Looks at scans whose files seem to have changed or gone.
    LookAtScans(Vec<PathBuf>),
    Ask(Pick),
    Export(Arc<dyn Export>, PathBuf),
    /// Asks about the scan of a printed calibration sheet.
    OfferWedge(PathBuf),
    /// Reads an instrument's table and asks about it.
    OfferMeasured(PathBuf),
    /// Reads a calibration; nothing changes.
    Calibrate(Box<CalibrationOrder>),
    /// Takes a calibration over into the shelf and the project.
    TakeCalibration(Arc<Calibrated>),
    /// Reads scans of printed mark sheets; nothing changes.
    ReadMarks(Vec<PathBuf>),
    /// Lays one piece of artwork on the layer printed before it, by what both show.
    LineUp(ArtId),
    /// Places one piece of artwork by the marks drawn on its original.
    PlaceByMarks(ArtId),
    /// Places every piece of artwork on the open sheet by the marks drawn on its original.
    LineUpAll,
    /// Looks for the marks of one piece of artwork and shows them, to be looked over before it is placed.
    LookOverMarks(ArtId),
    /// Places a piece of artwork by marks that were looked over.
    PlaceReviewed(Box<Reviewed>),
    /// Shows the scan of a piece of artwork to be mended.
    LookToMend(ArtId),
    /// Mends the scan of a piece of artwork: up to which size dust is removed, and a mask of what is mended by hand.
    Mend {
        art: ArtId,
        dust: Option<DustSize>,
        mask: Option<Arc<GrayRaster>>,
    },
    /// Reads a colour picture to be separated.
    SeparateFile(PathBuf),
    /// Reads the picture of a scan that is laid in gray, to be separated.
    SeparateArt(ArtId),
    /// Reads a picture that is separated already, to be looked at.
    SeparateAgain(SourceId),
    /// Separates a picture that was looked at: inks in printing order.
    Separate {
        scan: ScanRef,
        purpose: SeparatedFor,
        inks: Vec<Ink>,
        separation: Separation,
    },
    /// Writes the plates of a picture beside the project and makes them artwork like any other.
    TakeApart(SourceId),
    Select(Option<LayerId>, Option<ArtId>),
    /// Changes the document; one step of history.
    Edit(Edit),
    /// Gives the wrap a sheet, or changes what it has, and switches to it.
    GiveWrap(Box<WrapOrder>),
    SwitchTo(SheetId),
    /// Opens a gesture: what follows until it closes is one step of history.
    BeginGesture(&'static str),
    EndGesture,
    /// Takes the last step back.
    Undo,
    /// Brings it back.
    Redo,
    Shelf(ShelfChange),
    /// Makes the press of a profile the project's.
    ImportPress(PathBuf),
    Dismiss(usize),
    /// Leaves, for the person has said that unsaved changes may be lost.
    Discard(Leave),
    /// A job of an epoch has come back; one of an earlier project is dropped.
    JobDone(u64, Arc<Done>),
}

/// What a front has to do for a session.
#[derive(Debug, Clone)]
pub enum Effect {
    AskPath(Pick),
    /// Ask whether unsaved changes may be lost; if so, hand back [`Request::Discard`] with this.
    AskDiscard(Leave),
    /// Say that something else changed the project's file since it was opened, and ask which version is kept:
    /// hand back [`Request::SaveOver`], [`Request::TakeTheirs`], [`Request::SaveElsewhere`] or
    /// [`Request::PathCancelled`].
    AskChangedProject(PathBuf),
    /// Ask whether many scans are layers or pages; hand back [`Request::AddSo`].
    AskLanding(Vec<PathBuf>, Option<LayerId>),
    /// Ask what is to be known before a calibration is read.
    AskCalibration(Box<CalibrationOffer>),
    /// Show what a calibration says, or why it could not be read.
    ShowCalibration(Result<Arc<Calibrated>, String>),
    /// Show what printed mark sheets say of the press, or why they could not be read;
    /// [`slipsheet_document::edit::ProjectEdit::Press`] uses it.
    ShowSpread(Result<Arc<SpreadEstimate>, String>),
    Start(Job),
    /// Show the marks of a piece of artwork; [`Request::PlaceReviewed`] hands back what comes of them.
    ShowMarks(Box<MarksToShow>),
    /// Show a picture to be separated; [`Request::Separate`] hands back what comes of it.
    ShowSeparation(Box<ToSeparate>),
    /// Show a scan to be mended; [`Request::Mend`] hands back what comes of it.
    ShowMending(Box<ToMend>),
    /// The settings or the recent list changed; write them.
    SaveSettings,
    /// The shelf changed; write it.
    SaveShelf,
    Quit,
}

impl From<Edit> for Request {
    fn from(edit: Edit) -> Self {
        Self::Edit(edit)
    }
}

impl Request {
    pub fn layer(id: LayerId, edit: LayerEdit) -> Self {
        Self::Edit(Edit::Layer(id, edit))
    }

    pub fn sheet(id: SheetId, edit: SheetEdit) -> Self {
        Self::Edit(Edit::Sheet(id, edit))
    }

    /// Asks for a path and writes an export there.
    pub fn export(export: impl Export + 'static) -> Self {
        Self::Ask(Pick::Export(Arc::new(export)))
    }
}

/// A convenience for fronts: the project a dialog is about.
pub(crate) fn title_or_untitled(project: &Project) -> &str {
    if project.title.trim().is_empty() { "Untitled" } else { &project.title }
}
