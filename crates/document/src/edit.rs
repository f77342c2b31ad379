//! Edits: every change that a person can make to a project. [`apply`] is the only door for them.

mod apply;
mod art;
mod edition;
mod layer;
mod sheet;
mod source;

#[cfg(test)]
mod tests;

pub use apply::apply;
use apply::set;

use crate::acceptance::Acceptance;
use crate::accepted::{Accepted, Place};
use crate::answer::Answer;
use crate::edition::Colours;
use crate::ids::{ArtId, EditionId, LayerId, SheetId, SourceId};
use crate::layer::{
    Area, Crop, DustSize, Flat, GrayFrom, MaskId, Placement, Region, ScanKey, ScanRef, Slip, Target,
};
use crate::remedy::Remedy;
use crate::terms::JobTerms;
use crate::wrap::{WrapError, WrapOrder};
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::press::Press;
use slipsheet_core::reading::Reading;
use slipsheet_core::separation::{MOST_INKS, Separation};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, Mm, SheetFormat, UnitError};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{Face, Scheme};
use slipsheet_paper::turning::Turning;

/// A change to a project.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// To what all its sheets share.
    Project(ProjectEdit),
    Sheet(SheetId, SheetEdit),
    Layer(LayerId, LayerEdit),
    Art(ArtId, ArtEdit),
    Edition(EditionId, EditionEdit),
    Source(SourceId, SourceEdit),
}

/// A change to what all sheets share.
#[derive(Debug, Clone, PartialEq)]
pub enum ProjectEdit {
    Title(String),
    /// Another resolution of the press's masters.
    PressDpi(Dpi),
    /// Another press, or other figures of it.
    Press(Box<Press>),
    Terms(Box<JobTerms>),
    /// So many copies of what the piece shows, and so many overs for them ([`crate::project::Project::book`]).
    Book {
        copies: u32,
        overs: u32,
    },
    /// What would still be sold.
    Acceptance(Acceptance),
    /// Gives the wrap a sheet, or changes what it has; its layers stay.
    GiveWrap(Box<WrapOrder>),
    /// Takes the wrap away with its layers.
    RemoveWrap,
    /// Scans that were found or copied: the path of each by the contents of its file.
    ScanPaths(Vec<(String, String)>),
    /// Changed scans as they are now: the key of each, its new size and its new key.
    ScansChanged(Vec<(ScanKey, u64, ScanKey)>),
    /// What was measured of inks and stocks, in the place of estimates, with the shelf's measured overprints.
    Measured(Vec<(LayerId, Ink)>, Vec<(SheetId, Stock)>),
    /// The shelf's measured overprints of its inks in the place of its own.
    TakeOverprints,
    /// Lets go of a measured overprint of these inks on this stock.
    DropOverprint(OverprintSwatch),
}

#[derive(Debug, Clone, PartialEq)]
pub enum SheetEdit {
    Format(SheetFormat),
    /// Landscape or portrait.
    Landscape(bool),
    Stock(Stock),
    /// Another fold, or none.
    Fold(Option<Scheme>),
    /// A booklet of several printed sheets in place of a fold, or none.
    Booklet(Option<Booklet>),
    Trim(Mm),
    /// Another way of turning the sheet between its faces.
    Turning(Turning),
    /// A slip of the whole back against the front.
    BackSlip(Slip),
    /// Puts every layer back where it is meant to lie.
    ResetSlips,
    /// Adds a layer of this name without artwork.
    AddLayer(String),
    /// Adds a layer of this name with a scan laid on this.
    AddScan(String, ScanRef, Target),
    /// Adds a colour picture laid on this, separated into these inks in this order: each on a layer of its own, or on the
    /// one that prints the same ink on that face already.
    AddSource(Box<NewSource>),
    /// Moves a layer in the printing order, to this position.
    MoveLayer(LayerId, usize),
    /// The layers of a face in other passes, in printing order.
    Passes(Face, Vec<Vec<LayerId>>),
    /// Passes and remedies that are put in together.
    Answer(Answer),
    /// Takes a finding as it is, with a note.
    Accept(Accepted),
    /// Lists an accepted finding again: its kind and place.
    Reopen(String, Place),
    /// Adds an edition of this name from the present inks and stock.
    AddEdition(String),
    /// Adds a colourway as an edition, of this name or one like it.
    KeepColourway(String, Box<Colours>),
    /// Prints in the inks and on the stock of a colourway.
    UseColourway(Box<Colours>),
}

#[derive(Debug, Clone, PartialEq)]
pub enum LayerEdit {
    Name(String),
    Ink(Ink),
    Visible(bool),
    Face(Face),
    Slip(Slip),
    /// How the original becomes a master.
    Reading(Reading),
    /// Steps against slips.
    Remedies(Vec<Remedy>),
    /// A scan more, laid on this.
    AddScan(ScanRef, Target),
    Remove,
}

/// A change to one piece of artwork.
#[derive(Debug, Clone, PartialEq)]
pub enum ArtEdit {
    Placement(Placement),
    /// The part of its scan that may print.
    Crop(Option<Crop>),
    /// Where it lies, and what of it, as its marks have it.
    LinedUp(Box<LinedUp>),
    /// Parts of it with a reading of their own.
    Regions(Vec<Region>),
    Target(Target),
    /// Resolution of its scan; the crop stays on its pixels.
    Dpi(Dpi),
    /// How finely a page without pixels of its own (PDF) is read; it keeps its size.
    Rasterise(Dpi),
    /// How its scan becomes gray, and whether the paper's white is cleaned.
    Gray(GrayFrom, bool),
    /// Up to which size dust is removed, and what is mended by hand.
    Mend(Option<DustSize>, Option<MaskId>),
    /// Another page of its file, from 0.
    ScanPage(u32),
    /// Moves it to another layer of its sheet.
    MoveTo(LayerId),
    Remove,
}

/// Where a scan lies on its sheet or page, as its marks or its edges have it.
#[derive(Debug, Clone, PartialEq)]
pub struct LinedUp {
    pub placement: Placement,
    pub crop: Option<Crop>,
    /// The resolution that both are meant at: of the flat picture, or the scan's own.
    pub dpi: Dpi,
    /// The sheet of a photograph made flat; the placement and the crop are of the flat picture then.
    pub flat: Option<Flat>,
    /// Where a scan that is not made flat shows the sheet.
    pub area: Option<Area>,
    /// With the marks in it, which are no artwork.
    pub mask: Option<MaskId>,
    /// The parts with a reading of their own, on the picture that it is now.
    pub regions: Vec<Region>,
}

/// A colour picture that is to be separated.
#[derive(Debug, Clone, PartialEq)]
pub struct NewSource {
    pub picture: ScanRef,
    pub target: Target,
    pub placement: Placement,
    pub crop: Option<Crop>,
    /// In printing order.
    pub inks: Vec<Ink>,
    pub separation: Separation,
}

/// A change to a colour picture that is separated.
#[derive(Debug, Clone, PartialEq)]
pub enum SourceEdit {
    /// How it is separated.
    Separation(Separation),
    /// Another set of inks, in printing order: plates of inks that stay stay.
    Inks(Vec<Ink>),
    /// Its plates become artwork like any other: each with the scan that it was written to.
    TakeApart(Vec<(ArtId, ScanRef)>),
    Remove,
}

#[derive(Debug, Clone, PartialEq)]
pub enum EditionEdit {
    Rename(String),
    /// So many copies of it, or as many as the job has.
    Copies(Option<u32>),
    /// Takes its sheet's present inks and stock into it.
    Update,
    /// Prints its sheet in its inks and on its stock.
    Use,
    Remove,
}

/// What an edit was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    pub label: &'static str,
    /// What it made or moved, which is then to be selected.
    pub made: Option<Made>,
}

/// What an edit made or moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    Layer(LayerId),
    Art(LayerId, ArtId),
}

/// Which thing is not there any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    Sheet,
    Layer,
    Art,
    Edition,
    Source,
}

impl std::fmt::Display for Which {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Sheet => "sheet",
            Self::Layer => "layer",
            Self::Art => "artwork",
            Self::Edition => "edition",
            Self::Source => "picture",
        })
    }
}

/// Why an edit was refused; the project is then as it was.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    #[error("this {0} is not there any more")]
    Gone(Which),
    #[error("a face holds {MAX_INKS} layers at most: remove one first, or put this one on the other face")]
    FaceFull,
    #[error("give the edition a name first")]
    NameEmpty,
    #[error("there is an edition “{0}” already; choose another name")]
    NameTaken(String),
    #[error("the project is not consistent: {0}")]
    Sheet(String),
    #[error(transparent)]
    Wrap(#[from] WrapError),
    /// A press whose steps cannot be told apart would not be read again.
    #[error("the press cannot be used: {0}")]
    Press(String),
    #[error("a wrap is folded and trimmed along its net; switch to the booklet to change its fold")]
    NetHasNoFold,
    #[error("the layers have changed since these passes were planned; plan them again")]
    PassesOutdated,
    #[error("choose 1 to {MOST_INKS} inks, each once")]
    Inks,
    #[error("this is a plate of a separated picture: take the picture apart first")]
    IsPlate,
    #[error(transparent)]
    Dpi(#[from] UnitError),
}
