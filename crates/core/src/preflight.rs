//! Preflight: what should be looked at before masters are made, each as one sentence.
//!
//! The findings are a pure function of the project, its images and what is known of its scans, so that the
//! window and the command line show the same list.

mod inks;
mod moire;
mod pages;
mod scans;

#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};

use crate::layer::ScanKey;
use crate::project::{Images, Project};

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The print cannot come out as meant.
    Error,
    /// It may not come out as meant.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The name as lists and files show it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// What was found. A list of findings is ordered by severity, and then as the kinds stand here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A face has more inks than can be predicted together.
    TooManyInks,
    /// A scan's file is not there.
    ScanMissing,
    /// A scan's file cannot be read.
    ScanUnreadable,
    /// A scan's file holds something else than what was placed.
    ScanChanged,
    /// Artwork is laid on a page that the fold does not have.
    NoSuchPage,
    /// Artwork is laid on a page that is on the other face.
    WrongFace,
    /// Artwork lies wholly outside the sheet or its page.
    OffTheSheet,
    /// A layer has no artwork.
    EmptyLayer,
    /// A layer's artwork is white all over.
    BlankLayer,
    /// A page that no ink reaches.
    EmptyPage,
    /// Fewer pixels than a master can show.
    LowResolution,
    /// Two screens, or a screen and a texture, beat visibly.
    Beat,
    /// A what-if slip was left in place.
    SlipSet,
    /// A layer is not shown, and so not in the proof.
    HiddenLayer,
    /// Colours that were not measured.
    Estimates,
}

impl Kind {
    /// A short name for scripts; it does not change between versions.
    pub fn id(self) -> &'static str {
        match self {
            Self::TooManyInks => "too-many-inks",
            Self::ScanMissing => "scan-missing",
            Self::ScanUnreadable => "scan-unreadable",
            Self::ScanChanged => "scan-changed",
            Self::NoSuchPage => "no-such-page",
            Self::WrongFace => "wrong-face",
            Self::OffTheSheet => "off-the-sheet",
            Self::EmptyLayer => "empty-layer",
            Self::BlankLayer => "blank-layer",
            Self::EmptyPage => "empty-page",
            Self::LowResolution => "low-resolution",
            Self::Beat => "beat",
            Self::SlipSet => "slip-set",
            Self::HiddenLayer => "hidden-layer",
            Self::Estimates => "estimates",
        }
    }

    /// How much it matters.
    pub fn severity(self) -> Severity {
        match self {
            Self::TooManyInks
            | Self::ScanMissing
            | Self::ScanUnreadable
            | Self::NoSuchPage
            | Self::WrongFace => Severity::Error,
            Self::ScanChanged
            | Self::OffTheSheet
            | Self::EmptyLayer
            | Self::BlankLayer
            | Self::EmptyPage
            | Self::LowResolution
            | Self::Beat
            | Self::SlipSet => Severity::Warning,
            Self::HiddenLayer | Self::Estimates => Severity::Note,
        }
    }
}

/// One thing found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// What it is.
    pub kind: Kind,
    /// One sentence: what was found, and what to do.
    pub sentence: String,
    /// The layer, by its index in the project.
    pub layer: Option<usize>,
    /// The page, from 1.
    pub page: Option<u32>,
}

impl Finding {
    fn new(kind: Kind, sentence: String) -> Self {
        Self { severity: kind.severity(), kind, sentence, layer: None, page: None }
    }

    fn on_layer(self, layer: usize) -> Self {
        Self { layer: Some(layer), ..self }
    }

    fn on_page(self, page: u32) -> Self {
        Self { page: Some(page), ..self }
    }
}

/// A finding that the person has seen and lives with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accepted {
    /// Name of its kind, see [`Kind::id`].
    pub kind: String,
    /// Where it is, see [`Finding::place_key`].
    #[serde(default)]
    pub place: String,
    /// Why it is fine.
    #[serde(default)]
    pub note: String,
}

/// What is wrong with a scan's file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// It is not there.
    Missing,
    /// It holds something else than what was placed.
    Changed,
    /// It cannot be read; the sentence says why.
    Unreadable(String),
}

/// A scan whose file is not as the project knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScanTrouble {
    /// The scan.
    pub key: ScanKey,
    /// What is wrong.
    pub trouble: Trouble,
}

/// Everything that is found in a project, what matters most first.
pub fn findings(project: &Project, images: &Images, trouble: &[ScanTrouble]) -> Vec<Finding> {
    let mut all = inks::findings(project);
    all.extend(scans::findings(project, images, trouble));
    all.extend(pages::findings(project, images));
    all.extend(moire::findings(project, images));
    all.sort_by_key(|f| (f.severity, f.kind, f.layer, f.page));
    all
}

/// A count with its noun: “1 ink”, “3 inks”.
fn count(n: usize, noun: &str) -> String {
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}
