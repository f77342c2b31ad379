//! The kinds of findings: their names, how much they matter, and what helps.

use super::Severity;

/// What was found. A list of findings is ordered by severity, and then as the kinds stand here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A face has more inks than can be predicted together.
    TooManyInks,
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
    EmptyLayer,
    /// A layer's artwork is white all over.
    BlankLayer,
    /// A page that no ink reaches.
    EmptyPage,
    /// Artwork on a page is turned by a quarter or a half.
    PageTurned,
    /// Originals of a sheet that were never lined up.
    NotLinedUp,
    /// Fewer pixels than a master can show.
    LowResolution,
    /// A pale ink\'s original was prepared pale.
    PaleOriginal,
    /// Ink where the press cannot print.
    InMargin,
    /// Artwork should bleed off a trimmed edge that the press cannot print to.
    BleedLost,
    LargeSolid,
    /// More ink on one place than the stock takes.
    HeavyCoverage,
    /// Strokes too thin to print.
    Hairline,
    /// Type or strokes in a tint, thinner than the screen holds.
    SmallType,
    /// Most of what a layer has is too light to print.
    TooLight,
    /// Two inks meet without room for slip.
    Tight,
    /// Two screens, or a screen and a texture, beat visibly.
    Beat,
    /// The press does not take the stock.
    StockWeight,
    /// The main fold runs across the grain.
    AgainstGrain,
    /// Heavy stock is folded without a score.
    ScoreMissing,
    /// Ink dries slowly on coated stock.
    CoatedDrying,
    /// Printing takes longer than is booked.
    SlotTooShort,
    NoMarks,
    NoCopies,
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
            Self::PageTurned => "page-turned",
            Self::NotLinedUp => "not-lined-up",
            Self::LowResolution => "low-resolution",
            Self::PaleOriginal => "pale-original",
            Self::InMargin => "in-margin",
            Self::BleedLost => "bleed-lost",
            Self::LargeSolid => "large-solid",
            Self::HeavyCoverage => "heavy-coverage",
            Self::Hairline => "hairline",
            Self::SmallType => "small-type",
            Self::TooLight => "too-light",
            Self::Tight => "tight",
            Self::Beat => "beat",
            Self::StockWeight => "stock-weight",
            Self::AgainstGrain => "against-grain",
            Self::ScoreMissing => "score-missing",
            Self::CoatedDrying => "coated-drying",
            Self::SlotTooShort => "slot-too-short",
            Self::NoMarks => "no-marks",
            Self::NoCopies => "no-copies",
            Self::SlipSet => "slip-set",
            Self::HiddenLayer => "hidden-layer",
            Self::Estimates => "estimates",
        }
    }

    pub fn severity(self) -> Severity {
        match self {
            Self::TooManyInks
            | Self::ScanMissing
            | Self::ScanUnreadable
            | Self::NoSuchPage
            | Self::WrongFace => Severity::Error,
            Self::NoMarks | Self::NoCopies | Self::HiddenLayer | Self::Estimates => Severity::Note,
            Self::ScanChanged
            | Self::OffTheSheet
            | Self::EmptyLayer
            | Self::BlankLayer
            | Self::EmptyPage
            | Self::PageTurned
            | Self::NotLinedUp
            | Self::LowResolution
            | Self::PaleOriginal
            | Self::InMargin
            | Self::BleedLost
            | Self::LargeSolid
            | Self::HeavyCoverage
            | Self::Hairline
            | Self::SmallType
            | Self::TooLight
            | Self::Tight
            | Self::Beat
            | Self::StockWeight
            | Self::AgainstGrain
            | Self::ScoreMissing
            | Self::CoatedDrying
            | Self::SlotTooShort
            | Self::SlipSet => Severity::Warning,
        }
    }

    /// What helps, where something does.
    pub fn remedy(self) -> &'static str {
        match self {
            Self::TooManyInks => "Merge layers or remove some.",
            Self::ScanMissing => "Put the file back, or choose Find missing scans.",
            Self::ScanUnreadable => "Save the scan again as PNG or TIFF.",
            Self::ScanChanged => "Check that it still fits, then choose Accept changed scans.",
            Self::NoSuchPage => "Place it on a page that exists, or choose another fold.",
            Self::WrongFace => "Move it to a layer of that face.",
            Self::OffTheSheet => "Set its placement back to the middle.",
            Self::EmptyLayer => "Add a scan, or remove the layer.",
            Self::BlankLayer => "Check its scan.",
            Self::EmptyPage => "Place a scan on it, or accept it as blank.",
            Self::PageTurned => "Check that it is not upside down: the fold turns pages by itself.",
            Self::NotLinedUp => "Line it up by its marks or on the layer below, or crop it.",
            Self::LowResolution => "Scan it finer or print it smaller.",
            Self::PaleOriginal => "Prepare the original in black and let the ink be pale by itself.",
            Self::InMargin => "Keep artwork out of the margin, or plan to trim it off.",
            Self::BleedLost => "Trim at least what the press cannot print, or let the artwork end inside.",
            Self::LargeSolid => "Break it with a texture or a screen, print it last and let it dry longer.",
            Self::HeavyCoverage => "Lighten one of the inks there, or knock it out.",
            Self::Hairline => "Draw them thicker, or use the line reading at full strength.",
            Self::SmallType => "Print type in a solid ink, set it larger, or read it as line or mixed.",
            Self::TooLight => "Raise the reading's density or darken the original.",
            Self::Tight => "Give them a trap, or print them in one pass.",
            Self::Beat => "Choose other angles.",
            Self::StockWeight => "Choose a stock between its limits, or ask the shop.",
            Self::AgainstGrain => "Cut the stock the other way, or score the fold.",
            Self::ScoreMissing => "Plan to score it before folding.",
            Self::CoatedDrying => "Take uncoated stock, or leave it to dry overnight and keep hands off.",
            Self::SlotTooShort => "Book longer, or print fewer copies.",
            Self::NoMarks => "Trim more than the press leaves blank, where the design allows it.",
            Self::NoCopies => "Enter them in the Booking view.",
            Self::SlipSet => "Set it back to none, or choose Reset all slips.",
            Self::HiddenLayer => "Show it if it is to be printed.",
            Self::Estimates => "Replace estimates with swatches from your shop to trust the proof.",
        }
    }
}
