//! Why a scan could not be read. Every sentence says what to do, and the file's name comes last.

use std::io;

use super::ScanFormat;

/// Why a scan could not be read.
#[derive(Debug, thiserror::Error)]
pub enum ScanError {
    /// No file has this name.
    #[error("there is no such file; see whether it was moved or renamed: {name}")]
    Missing {
        /// The file.
        name: String,
    },
    /// The path leads to a folder or a device.
    #[error("this is not a file; choose the scan itself: {name}")]
    NotAFile {
        /// The path.
        name: String,
    },
    /// The system does not let us read it.
    #[error("you may not read this file; change its permissions or copy it elsewhere: {name}")]
    Denied {
        /// The file.
        name: String,
    },
    /// The disk or the network failed.
    #[error("the file could not be read ({source}); try again or copy it to this machine: {name}")]
    Io {
        /// The file.
        name: String,
        /// What the system said.
        source: io::Error,
    },
    /// The file has no bytes.
    #[error("the file is empty; save or copy the scan again: {name}")]
    Empty {
        /// The file.
        name: String,
    },
    /// The content is of no kind that can be read.
    #[error(
        "this is no PNG, JPEG, TIFF, WebP, BMP, PDF or OpenRaster file; save the scan as one of these: {name}"
    )]
    UnknownFormat {
        /// The file.
        name: String,
    },
    /// The file stops in the middle of the picture.
    #[error("the {format} file ends too early; copy or save the scan again: {name}")]
    Truncated {
        /// The file.
        name: String,
        /// What it looked like.
        format: ScanFormat,
    },
    /// The file breaks its own format's rules.
    #[error("the {format} file is damaged ({detail}); copy or save the scan again: {name}")]
    Damaged {
        /// The file.
        name: String,
        /// What it looked like.
        format: ScanFormat,
        /// What the decoder said.
        detail: String,
    },
    /// The file is sound, but of a kind that is not read here.
    #[error("this {format} file has {what}; save it as 8 or 16 bit gray or RGB: {name}")]
    Unsupported {
        /// The file.
        name: String,
        /// Its format.
        format: ScanFormat,
        /// What is not read, as a noun phrase.
        what: String,
    },
    /// Four inks instead of gray or RGB.
    #[error("this {format} file is CMYK; save it as gray or RGB: {name}")]
    Cmyk {
        /// The file.
        name: String,
        /// Its format.
        format: ScanFormat,
    },
    /// A password keeps it shut.
    #[error("this {format} file is locked with a password; save it without one: {name}")]
    Encrypted {
        /// The file.
        name: String,
        /// Its format.
        format: ScanFormat,
    },
    /// Something that the page shows is not whole.
    #[error("{what} in the PDF file is damaged or incomplete; place it again and save the PDF again: {name}")]
    BrokenPart {
        /// The file.
        name: String,
        /// What it is, as a noun phrase.
        what: &'static str,
    },
    /// The page has more parts than can be drawn in reasonable time.
    #[error(
        "the page has too many parts to be drawn; save it as a PNG or TIFF picture and bring that in: {name}"
    )]
    TooComplex {
        /// The file.
        name: String,
    },
    /// Drawing the page took longer than is waited.
    #[error(
        "the page took longer than {minutes} minutes to draw; save it as a PNG or TIFF picture and bring that in: {name}"
    )]
    TooSlow {
        /// The file.
        name: String,
        /// How long was waited.
        minutes: u64,
    },
    /// A bitmap with a longer side than its decoder takes.
    #[error("the bitmap has a side of more than 65535 pixels; save it as PNG or TIFF: {name}")]
    LongBitmap {
        /// The file.
        name: String,
    },
    /// Wider than a page can be rasterised.
    #[error("the page would be {width} pixels wide, more than 65535; choose a lower resolution: {name}")]
    TooWide {
        /// The file.
        name: String,
        /// Width in pixels.
        width: u32,
    },
    /// Several pictures that move.
    #[error("this {format} file is an animation; save one picture of it: {name}")]
    Animated {
        /// The file.
        name: String,
        /// Its format.
        format: ScanFormat,
    },
    /// More pixels than a raster may have.
    #[error(
        "the image has {width} x {height} pixels, more than a gigapixel; scan it at a lower resolution: {name}"
    )]
    TooLarge {
        /// The file.
        name: String,
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
    },
    /// Reading would take more memory than is allowed or there is.
    #[error(
        "the image needs more memory than there is; save it at a lower resolution or as 8 bit gray: {name}"
    )]
    TooMuchMemory {
        /// The file.
        name: String,
    },
    /// The file has fewer pages.
    #[error("there is no page {} (the file has {pages}); choose a page from 1 to {pages}: {name}", u64::from(*page) + 1)]
    NoSuchPage {
        /// The file.
        name: String,
        /// The page asked for, from 0.
        page: u32,
        /// How many there are.
        pages: u32,
    },
    /// The name is no text, so a project could not refer to the file.
    #[error("the file's name has characters that a project cannot keep; rename the file: {name}")]
    BadName {
        /// The file, as far as it can be shown.
        name: String,
    },
    /// The reading was stopped on request.
    #[error("the reading was stopped")]
    Cancelled,
}

impl ScanError {
    /// The sentence for what the system said about a file.
    pub(crate) fn from_io(name: &str, source: io::Error) -> Self {
        let name = name.to_owned();
        match source.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => Self::Missing { name },
            io::ErrorKind::IsADirectory => Self::NotAFile { name },
            io::ErrorKind::PermissionDenied => Self::Denied { name },
            _ => Self::Io { name, source },
        }
    }
}
