//! The guide: a sheet of registration marks, folds and page numbers at true size.
//!
//! It is printed once and laid under
//! every original on a light table, so that all of them line up. As a PDF, or as a PNG. A booklet has a guide for each
//! side of each of its sheets.
//!
//! **Invariant:** the marks lie where [`MarkLayout::guide`] says, and the same project gives the same bytes.

pub(crate) mod drawing;
pub(crate) mod pdf;
mod picture;
mod printed;
pub(crate) mod sketch;

#[cfg(test)]
mod tests;

use std::io;
use std::path::Path;

use slipsheet_core::raster::MAX_PIXELS;
use slipsheet_core::units::{Dpi, Mm, SheetFormat, Size};
use slipsheet_core::words::count;
use slipsheet_document::layer::Target;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_registration::register::MarkLayout;
use slipsheet_registration::register::layout::{LEAST_MARGIN, usual_original, with_margin};

use crate::atomic::{self, WriteError};
use crate::lettering::FontError;
use crate::png_out::{self, PngMeta};
use drawing::Drawing;
pub use printed::take_out_printing;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GuideOptions {
    /// Resolution of a PNG.
    pub dpi: Dpi,
    /// Paper around the sheet, on every side; `None` for the paper that is usual for such a sheet.
    pub margin: Option<Mm>,
    /// The face whose folds and pages are shown, where not every side is.
    pub face: Face,
    /// The sheet of a booklet, from 0; with `None` a PDF has both sides of every sheet.
    pub sheet: Option<usize>,
    /// Marks and ruler alone, without folds and pages.
    pub marks_only: bool,
    /// A guide for each page in place of those of the sheets, with marks of its own: for originals drawn page by page.
    pub pages: bool,
    /// Everything but the marks in a pale blue, which the blue channel of a scan all but loses.
    pub pale: bool,
    /// What the press cannot print along each edge of the sheet; 0 for no line.
    pub unprintable: Mm,
}

impl Default for GuideOptions {
    fn default() -> Self {
        Self {
            dpi: Dpi::default(),
            margin: None,
            face: Face::Front,
            sheet: None,
            marks_only: false,
            pages: false,
            pale: false,
            // Common practice, no source; the press's own figure is better.
            unprintable: Mm::new(5.0),
        }
    }
}

/// Why a guide could not be made.
#[derive(Debug, thiserror::Error)]
pub enum GuideError {
    #[error("a margin of {got} mm leaves no room for the marks; give at least {LEAST_MARGIN} mm")]
    NarrowMargin {
        /// The margin asked for, in mm.
        got: f64,
    },
    /// More than a gigapixel.
    #[error(
        "the guide would have {width} x {height} pixels, more than a gigapixel; choose a lower resolution"
    )]
    TooLarge { width: u32, height: u32 },
    #[error("the guide needs more memory than there is; choose a lower resolution")]
    TooMuchMemory,
    #[error("the booklet has {}; choose one from 1 to {sheets}", count(*.sheets, "sheet"))]
    NoSheet { sheets: usize },
    #[error("this guide has {sides} sides, and a PNG shows one; write a PDF")]
    ManySides { sides: usize },
    #[error("this sheet has no pages to make guides for; give it a fold or make it a booklet")]
    NoPages,
    #[error("there is no such page to make a guide for; place the artwork on a page that is there")]
    NoSuchPage,
    #[error(transparent)]
    Font(#[from] FontError),
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// The size of the paper that originals for a target are drawn on, in the orientation of the sheet or page.
///
/// # Errors
/// When the margin asked for is too narrow for the marks, or there is no such page.
pub fn original_size(
    printing: &Printing,
    target: Target,
    options: &GuideOptions,
) -> Result<Size, GuideError> {
    let size = printing.sheet.target_size(target).ok_or(GuideError::NoSuchPage)?;
    let format = match target {
        Target::Sheet => printing.sheet.format,
        Target::Page(_) | Target::Spread(_) => SheetFormat::of_size(size),
    };
    match options.margin {
        None => Ok(usual_original(format, size)),
        Some(margin) if margin.get() >= LEAST_MARGIN => Ok(with_margin(size, margin.get())),
        Some(margin) => Err(GuideError::NarrowMargin { got: margin.get() }),
    }
}

/// The marks of the guide for a target, for finding it in scans of what was drawn on it.
pub fn mark_layout(
    printing: &Printing,
    target: Target,
    options: &GuideOptions,
) -> Result<MarkLayout, GuideError> {
    let size = printing.sheet.target_size(target).ok_or(GuideError::NoSuchPage)?;
    Ok(MarkLayout::guide(size, original_size(printing, target, options)?))
}

/// The guides that a project has: one, or of a booklet those of every side, and of marks alone again one.
fn drawings(printing: &Printing, options: &GuideOptions) -> Result<Vec<Drawing>, GuideError> {
    if options.pages {
        let pages = printing.sheet.pages();
        if pages == 0 {
            return Err(GuideError::NoPages);
        }
        return (1..=pages).map(|page| Drawing::of_page(printing, page, options)).collect();
    }
    let sheets = printing.sheet.printed_sheets();
    if options.sheet.is_some_and(|s| s >= sheets) {
        return Err(GuideError::NoSheet { sheets });
    }
    let every_side = printing.sheet.booklet.is_some() && options.sheet.is_none() && !options.marks_only;
    if !every_side {
        return Ok(vec![Drawing::new(printing, options.sheet.unwrap_or_default(), options)?]);
    }
    let side = |sheet| [Face::Front, Face::Back].map(|face| (sheet, GuideOptions { face, ..*options }));
    (0..sheets).flat_map(side).map(|(sheet, options)| Drawing::new(printing, sheet, &options)).collect()
}

/// Writes the guide as a PDF at true size, of one page for each side.
///
/// # Errors
/// When the margin is too narrow, there is no such sheet, or the file cannot be written.
pub fn guide_pdf(printing: &Printing, options: &GuideOptions, path: &Path) -> Result<(), GuideError> {
    Ok(atomic::write_bytes(path, &guide_document(printing, options)?)?)
}

/// The guide as a PDF in memory.
///
/// # Errors
/// When the margin is too narrow or there is no such sheet.
pub fn guide_document(printing: &Printing, options: &GuideOptions) -> Result<Vec<u8>, GuideError> {
    let drawings = drawings(printing, options)?;
    let leaves: Vec<_> = drawings.iter().map(|d| (d.original, d.sketch.items.as_slice())).collect();
    Ok(pdf::pages(&leaves, &format!("{}: guide", printing.title))?)
}

/// Writes the guide as a PNG that carries its resolution.
///
/// # Errors
/// When the margin is too narrow, there is no such sheet or more than one side, the picture would be too large, or the
/// file cannot be written.
pub fn guide_png(printing: &Printing, options: &GuideOptions, path: &Path) -> Result<(), GuideError> {
    let drawings = drawings(printing, options)?;
    let [drawing] = drawings.as_slice() else { return Err(GuideError::ManySides { sides: drawings.len() }) };
    let (width, height) = drawing.original.pixels(options.dpi);
    if u64::from(width) * u64::from(height) > MAX_PIXELS {
        return Err(GuideError::TooLarge { width, height });
    }
    let rgb = picture::rgb(drawing, options.dpi, (width, height))?;
    let text = vec![
        ("Title".to_owned(), format!("{}: guide", printing.title).replace('\0', " ")),
        ("Software".to_owned(), crate::pdf_parts::SOFTWARE.to_owned()),
    ];
    let meta = PngMeta { dpi: options.dpi, text };
    let write = |w: &mut dyn io::Write| png_out::write_rgb(w, width, height, &rgb, &meta);
    Ok(atomic::write(path, write)?)
}
