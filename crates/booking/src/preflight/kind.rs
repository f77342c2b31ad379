//! The kinds of findings: their names, how much they matter, and what helps.

use super::Severity;

/// One row a kind: its name here and for scripts, how much it matters, and what helps.
macro_rules! kinds {
    ($($(#[$about:meta])* $kind:ident $id:literal $severity:ident $remedy:literal;)+) => {
        /// What was found. A list of findings is ordered by severity, and then as the kinds stand here.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Kind {
            $($(#[$about])* $kind,)+
        }

        impl Kind {
            /// A short name for scripts; it does not change between versions.
            pub fn id(self) -> &'static str {
                match self {
                    $(Self::$kind => $id,)+
                }
            }

            pub fn severity(self) -> Severity {
                match self {
                    $(Self::$kind => Severity::$severity,)+
                }
            }

            /// What helps, where something does.
            pub fn remedy(self) -> &'static str {
                match self {
                    $(Self::$kind => $remedy,)+
                }
            }
        }
    };
}

kinds! {
    /// A face has more inks than can be predicted together.
    TooManyInks "too-many-inks" Error "Merge layers or remove some.";
    ScanMissing "scan-missing" Error "Put the file back, or choose Find missing scans.";
    /// A scan's file cannot be read.
    ScanUnreadable "scan-unreadable" Error "Save the scan again as PNG or TIFF.";
    /// A scan's file holds something else than what was placed.
    ScanChanged "scan-changed" Warning "Check that it still fits, then choose Accept changed scans.";
    /// The mask of a scan is missing, or of another picture.
    MaskLost "mask-lost" Warning
        "Put the folder masks back beside the project and open it again, or mend the scan anew.";
    /// Artwork is laid on a page that the fold does not have.
    NoSuchPage "no-such-page" Error "Place it on a page that exists, or choose another fold.";
    /// Artwork is laid on a page that is on the other face.
    WrongFace "wrong-face" Error "Move it to a layer of that face.";
    /// Artwork lies wholly outside the sheet or its page.
    OffTheSheet "off-the-sheet" Warning "Set its placement back to the middle.";
    EmptyLayer "empty-layer" Warning "Add a scan, or remove the layer.";
    /// A layer's artwork is white all over.
    BlankLayer "blank-layer" Warning "Check its scan.";
    /// A page that no ink reaches.
    EmptyPage "empty-page" Warning "Place a scan on it, or accept it as blank.";
    /// Artwork on a page is turned by a quarter or a half.
    PageTurned "page-turned" Warning "Check that it is not upside down: the fold turns pages by itself.";
    /// Originals of a sheet that were never lined up.
    NotLinedUp "not-lined-up" Warning "Line it up by its marks or on the layer below, or crop it.";
    /// Fewer pixels than a master can show, or than the finest strokes need.
    LowResolution "low-resolution" Warning "Scan it finer or print it smaller.";
    /// A scan's tones span little of the scale.
    LowContrast "low-contrast" Warning "Scan it with more contrast, or read it as Faint.";
    /// Even the sharpest edges of a scan are wide.
    BlurredScan "blurred-scan" Warning "Clean the glass, press the original flat and scan it again.";
    /// Tones at an end of the scale were cut off.
    ClippedTones "clipped-tones" Warning "Scan it again with less contrast.";
    /// Tones show the blocks of a JPEG file.
    JpegBlocks "jpeg-blocks" Warning "Scan it again and save it as PNG or TIFF.";
    /// Art that prints far from full ink, or that its reading takes away.
    PaleArt "pale-art" Warning
        "Set the layer's black point, draw it darker, or accept it where it is meant to be pale.";
    /// The bare paper of a scan is gray and would print.
    PaperPrints "paper-prints" Warning "Clean its paper to white.";
    /// A pale ink's original was prepared pale.
    PaleOriginal "pale-original" Warning "Prepare the original in black and let the ink be pale by itself.";
    /// Ink where the press cannot print.
    InMargin "in-margin" Warning "Keep artwork out of the margin, or plan to trim it off.";
    /// Artwork should bleed off a trimmed edge that the press cannot print to.
    BleedLost "bleed-lost" Warning
        "Trim at least what the press cannot print, or let the artwork end inside.";
    LargeSolid "large-solid" Warning
        "Break it with a texture or a screen, print it last and let it dry longer.";
    /// More ink on one place than the stock takes.
    HeavyCoverage "heavy-coverage" Warning "Lighten one of the inks there, or knock it out.";
    /// Strokes too thin to print.
    Hairline "hairline" Warning "Draw them thicker, or use the line reading at full strength.";
    /// Type or strokes in a tint, thinner than the screen holds.
    SmallType "small-type" Warning "Print type in a solid ink, set it larger, or read it as line or mixed.";
    /// Most of what a layer has is too light to print.
    TooLight "too-light" Warning "Raise the reading's density or darken the original.";
    /// Two inks meet without room for slip.
    Tight "tight" Warning "Give them a trap, or print them in one pass.";
    /// Two screens, or a screen and a texture, beat visibly.
    Beat "beat" Warning "Choose other angles.";
    /// The press does not take the stock.
    StockWeight "stock-weight" Warning "Choose a stock between its limits, or ask the shop.";
    /// The main fold runs across the grain.
    AgainstGrain "against-grain" Warning "Cut the stock the other way, or score the fold.";
    /// Heavy stock is folded without a score.
    ScoreMissing "score-missing" Warning "Plan to score it before folding.";
    /// Ink dries slowly on coated stock.
    CoatedDrying "coated-drying" Warning
        "Take uncoated stock, or leave it to dry overnight and keep hands off.";
    /// Printing takes longer than is booked.
    SlotTooShort "slot-too-short" Warning "Book longer, or print fewer copies.";
    NoMarks "no-marks" Note "Trim more than the press leaves blank, where the design allows it.";
    NoCopies "no-copies" Note "Enter them in the Booking view.";
    /// A what-if slip was left in place.
    SlipSet "slip-set" Warning "Set it back to none, or choose Reset all slips.";
    /// A layer is not shown, and so not in the proof.
    HiddenLayer "hidden-layer" Note "Show it if it is to be printed.";
    /// Colours that were not measured.
    Estimates "estimates" Note "Replace estimates with swatches from your shop to trust the proof.";
}
