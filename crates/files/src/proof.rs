//! The proof: one face of the sheet, or one page, as it should come off the press, in a PNG that carries
//! its recipe, with marks and a legend in the margin.
//!
//! **Invariant:** without guides, the sheet in a proof is what [`Scene::render`] draws at that resolution,
//! pixel for pixel; and the same project gives the same file, as nothing in it knows the date.

pub(crate) mod canvas;
pub(crate) mod guides;
mod legend;
mod marks;
mod page;
mod primaries;
mod text;

#[cfg(test)]
mod tests;

use std::path::Path;

use slipsheet_booking::schedule::plate_order;
use slipsheet_core::overprint::OverprintError;
use slipsheet_core::raster::MAX_PIXELS;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::{Face, PagePlace};
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

use crate::atomic::{self, WriteError};
use crate::lettering::FontError;
use crate::png_out::{self, PngMeta};
use crate::scan::Progress;
use canvas::{Canvas, PxRect};
pub use page::{ProofPageOptions, page, write_page};
pub use primaries::{Occurring, primaries};

/// Rows that are drawn at a time.
const BAND: usize = 256;
/// White around the print when there are marks, in mm.
const MARK_MARGIN: f64 = 12.0;
/// White around the print when there is a legend and no marks, in mm.
const BARE_MARGIN: f64 = 8.0;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProofOptions {
    pub dpi: Dpi,
    /// One page, standing upright, in place of the whole face.
    pub page: Option<u32>,
    /// The face; a page brings its own.
    pub face: Face,
    /// Which sheet of a booklet, from 0; a page brings its own.
    pub sheet: usize,
    /// Whether every layer lies where it is meant to, without slips.
    pub perfect: bool,
    /// Creases and slits over the print.
    pub fold_guides: bool,
    /// What is trimmed off, over the print.
    pub trim_guides: bool,
    /// Registration marks, corner ticks and the lead edge, in the margin.
    pub marks: bool,
    /// Title, inks and overprints, below the print.
    pub legend: bool,
    /// What shows through from the other face, by an estimate.
    pub show_through: bool,
}

impl Default for ProofOptions {
    fn default() -> Self {
        Self {
            dpi: Dpi::default(),
            page: None,
            face: Face::Front,
            sheet: 0,
            perfect: false,
            fold_guides: false,
            trim_guides: false,
            marks: true,
            legend: true,
            show_through: false,
        }
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct ProofPicture {
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// sRGB, three bytes a pixel, top row first.
    pub rgb: Vec<u8>,
    /// Where the sheet, or the page, lies in it.
    pub print: PxRect,
    /// Resolution and the words that the file carries.
    pub meta: PngMeta,
}

/// Why a proof could not be made.
#[derive(Debug, thiserror::Error)]
pub enum ProofError {
    /// More than a gigapixel.
    #[error(
        "the proof would have {width} x {height} pixels, more than a gigapixel; choose a lower resolution"
    )]
    TooLarge { width: u64, height: u64 },
    #[error("the proof needs more memory than there is; choose a lower resolution")]
    TooMuchMemory,
    #[error("there is no page {page}; choose one from 1 to {pages}")]
    NoSuchPage { page: u32, pages: u32 },
    #[error("the sheet is not folded, so it has no pages; leave the page out to proof the whole sheet")]
    NoPages,
    #[error(transparent)]
    Overprint(#[from] OverprintError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error(transparent)]
    Font(#[from] FontError),
    #[error("there is no sheet {sheet}; the booklet has {sheets}")]
    NoSuchSheet {
        /// The sheet, from 1.
        sheet: usize,
        sheets: usize,
    },
    #[error("the proof was stopped")]
    Cancelled,
}

/// What every part of a proof is drawn from.
struct Sheet<'a> {
    printing: &'a Printing,
    options: &'a ProofOptions,
    face: Face,
    /// Layers in the order in which plates are counted.
    order: Vec<usize>,
    place: Option<PagePlace>,
    scene: Scene,
    view: View,
}

impl Sheet<'_> {
    /// What is proofed, in mm.
    fn size(&self) -> Size {
        self.place.map_or(self.scene.sheet(), |p| p.size)
    }
}

/// Draws a proof.
///
/// # Errors
/// See [`ProofError`]. Artwork whose scan is not among the images is left out.
pub fn render(
    printing: &Printing,
    images: &Images,
    options: &ProofOptions,
    progress: &Progress,
) -> Result<ProofPicture, ProofError> {
    let sheet = match (&printing.sheet.booklet, options.page) {
        (Some(booklet), Some(page)) => booklet.face_of(page).map_or(options.sheet, |(sheet, _)| sheet),
        _ => options.sheet,
    };
    if sheet >= printing.sheet.printed_sheets() {
        return Err(ProofError::NoSuchSheet { sheet: sheet + 1, sheets: printing.sheet.printed_sheets() });
    }
    let order = plate_order(printing, sheet);
    let (one, pages) = (printing.number(sheet), printing.sheet.pages());
    let printing = one.as_ref();
    let place = page_place(printing, options.page, pages)?;
    let face = place.map_or(options.face, |p| p.face);
    let size = place.map_or(printing.sheet.size(), |p| p.size);
    refuse_too_large(size, options.dpi)?;
    let show = Show { perfect: options.perfect, show_through: options.show_through, ..Show::meant(face) };
    let scene = Scene::new(printing, images, show)?;
    let view = place.map_or_else(|| View::sheet(size, options.dpi), |p| View::page(&p, options.dpi));
    let sheet = Sheet { printing, options, face, order, place, scene, view };
    let margin = match (options.marks, options.legend) {
        (true, _) => MARK_MARGIN,
        (false, true) => BARE_MARGIN,
        (false, false) => 0.0,
    };
    let px = |mm: f64| (mm * options.dpi.px_per_mm()).round() as usize;
    let side = px(margin);
    let legend = options.legend.then(|| legend::Legend::plan(&sheet, view.width)).transpose()?;
    let below = legend.as_ref().map_or(0, legend::Legend::height);
    let mut canvas = Canvas::white(view.width + 2 * side, view.height + 2 * side + below, options.dpi)?;
    let print = PxRect { x: side, y: side, width: view.width, height: view.height };
    draw_print(&sheet, print, &mut canvas, progress)?;
    guides::draw(&sheet, print, &mut canvas);
    if options.marks {
        marks::draw(&sheet, print, &mut canvas)?;
    }
    if margin > 0.0 {
        canvas.outline(print);
    }
    if let Some(legend) = legend {
        legend.draw(print, print.y + print.height + side, &mut canvas);
    }
    let meta = PngMeta { dpi: options.dpi, text: text::chunks(&sheet) };
    let (width, height) = (canvas.width as u32, canvas.height as u32);
    Ok(ProofPicture { width, height, rgb: canvas.rgb, print, meta })
}

/// Draws a proof and writes it as a PNG file: all of it, or nothing.
pub fn write(
    printing: &Printing,
    images: &Images,
    options: &ProofOptions,
    path: &Path,
    progress: &Progress,
) -> Result<(), ProofError> {
    let proof = render(printing, images, options, progress)?;
    if progress.is_cancelled() {
        return Err(ProofError::Cancelled);
    }
    atomic::write(path, |out| png_out::write_rgb(out, proof.width, proof.height, &proof.rgb, &proof.meta))?;
    progress.set_fraction(1.0);
    Ok(())
}

/// Where a page lies on its sheet; `pages` are those of the whole piece.
fn page_place(printing: &Printing, page: Option<u32>, pages: u32) -> Result<Option<PagePlace>, ProofError> {
    let Some(page) = page else { return Ok(None) };
    let scheme = printing.sheet.fold.as_ref().ok_or(ProofError::NoPages)?;
    let place = scheme.place(printing.sheet.size(), page);
    place.map(Some).ok_or(ProofError::NoSuchPage { page, pages })
}

fn refuse_too_large(size: Size, dpi: Dpi) -> Result<(), ProofError> {
    let (width, height) = size.pixels(dpi);
    let (width, height) = (u64::from(width), u64::from(height));
    if width * height > MAX_PIXELS { Err(ProofError::TooLarge { width, height }) } else { Ok(()) }
}

/// Draws the print by bands, so that little memory is needed beside the picture itself.
fn draw_print(
    sheet: &Sheet<'_>,
    print: PxRect,
    canvas: &mut Canvas,
    progress: &Progress,
) -> Result<(), ProofError> {
    let mut picture = Picture::default();
    for top in (0..print.height).step_by(BAND) {
        if progress.is_cancelled() {
            return Err(ProofError::Cancelled);
        }
        // Writing the file is the other part of the work.
        progress.set_fraction(0.6 * top as f32 / print.height as f32);
        let rows = BAND.min(print.height - top);
        sheet.scene.render_into(&sheet.view.band(top, rows), &mut picture);
        canvas.paste(&picture, print.x, print.y + top);
    }
    Ok(())
}
