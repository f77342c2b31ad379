//! Why a scan could not be read. Every sentence says what to do, and the file's name comes last.

use std::io;

use super::ScanFormat;

/// Why a scan could not be read.
#[derive(Debug, thiserror::Error)]
pub enum ScanError {
    #[error("{source}: {name}")]
    Separation { name: String, source: slipsheet_core::separation::SeparationError },
    #[error("this plate belongs to no picture of the project any more; undo, or remove it: {name}")]
    NoPlate { name: String },
    #[error("there is no such file; see whether it was moved or renamed: {name}")]
    Missing { name: String },
    /// The path leads to a folder or a device.
    #[error("this is not a file; choose the scan itself: {name}")]
    NotAFile { name: String },
    #[error("you may not read this file; change its permissions or copy it elsewhere: {name}")]
    Denied { name: String },
    #[error("the file could not be read ({source}); try again or copy it to this machine: {name}")]
    Io { name: String, source: io::Error },
    #[error("the file is empty; save or copy the scan again: {name}")]
    Empty { name: String },
    #[error(
        "this is no PNG, JPEG, TIFF, WebP, BMP, PDF or OpenRaster file; save the scan as one of these: {name}"
    )]
    UnknownFormat { name: String },
    #[error("the {format} file ends too early; copy or save the scan again: {name}")]
    Truncated { name: String, format: ScanFormat },
    #[error("the {format} file is damaged ({detail}); copy or save the scan again: {name}")]
    Damaged { name: String, format: ScanFormat, detail: String },
    #[error("this {format} file has {what}; save it as 8 or 16 bit gray or RGB: {name}")]
    Unsupported { name: String, format: ScanFormat, what: String },
    #[error("this {format} file is CMYK; save it as gray or RGB: {name}")]
    Cmyk { name: String, format: ScanFormat },
    #[error("this {format} file is locked with a password; save it without one: {name}")]
    Encrypted { name: String, format: ScanFormat },
    #[error("{what} in the PDF file is damaged or incomplete; place it again and save the PDF again: {name}")]
    BrokenPart { name: String, what: &'static str },
    #[error(
        "the page has too many parts to be drawn; save it as a PNG or TIFF picture and bring that in: {name}"
    )]
    TooComplex { name: String },
    #[error(
        "the page took longer than {minutes} minutes to draw; save it as a PNG or TIFF picture and bring that in: {name}"
    )]
    TooSlow { name: String, minutes: u64 },
    #[error("the bitmap has a side of more than 65535 pixels; save it as PNG or TIFF: {name}")]
    LongBitmap { name: String },
    #[error("the page would be {width} pixels wide, more than 65535; choose a lower resolution: {name}")]
    TooWide { name: String, width: u32 },
    #[error("this {format} file is an animation; save one picture of it: {name}")]
    Animated { name: String, format: ScanFormat },
    /// More pixels than a raster may have.
    #[error(
        "the image has {width} x {height} pixels, more than a gigapixel; scan it at a lower resolution: {name}"
    )]
    TooLarge { name: String, width: u32, height: u32 },
    #[error(
        "the image needs more memory than there is; save it at a lower resolution or as 8 bit gray: {name}"
    )]
    TooMuchMemory { name: String },
    #[error("there is no page {} (the file has {pages}); choose a page from 1 to {pages}: {name}", u64::from(*page) + 1)]
    NoSuchPage {
        name: String,
        /// The page asked for, from 0.
        page: u32,
        pages: u32,
    },
    #[error("the file's name has characters that a project cannot keep; rename the file: {name}")]
    BadName { name: String },
    #[error("what is kept of how it was made flat allows no picture; line it up once more: {name}")]
    NotFlat { name: String },
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
