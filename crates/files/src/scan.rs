//! Scans in: PNG, JPEG, TIFF, WebP, BMP, PDF and `OpenRaster` files, or the same as bytes, into gray rasters.
//!
//! The format is told by the content. Sizes are checked before memory is asked for, a decoder
//! that fails or panics gives one sentence, and gray values of gray images pass through exactly.

mod apart;
mod context;
mod error;
mod exif;
mod fingerprint;
mod flat;
mod from_jpeg;
mod from_ora;
mod from_other;
mod from_pdf;
mod from_png;
mod from_tiff;
mod gray;
mod info;
mod orient;
mod pdf_unpack;
mod pdf_walk;
mod pdf_weigh;
mod picture;
mod profile;
mod progress;
mod quiet;
mod resolution;
mod tiff_rows;
mod tiff_tags;
mod tint;

#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_hostile;
#[cfg(test)]
mod tests_ora;
#[cfg(test)]
mod tests_pdf;
#[cfg(test)]
mod tests_pdf_hostile;
#[cfg(test)]
mod tests_tiff;

use std::fs::File;
use std::io::{BufReader, Cursor, Read as _};
use std::path::Path;

use serde::{Deserialize, Serialize};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::BarePaper;
use slipsheet_core::units::Dpi;

use context::{Context, Input};
use info::{Header, SNIFF};

pub use error::ScanError;
pub use fingerprint::{Fingerprint, fingerprint, fingerprint_bytes};
pub use flat::{flatten_of, made_flat};
pub use info::{ColourKind, Scan, ScanFormat, ScanInfo, ScanNotice};
pub use orient::Orientation;
pub use picture::{Picture, PictureOptions, read_picture};
pub use profile::Profile;
pub use progress::Progress;
pub use slipsheet_document::layer::{Area, Flat, GrayFrom};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ScanOptions {
    /// The page, from 0; of TIFF, PDF and other files that may have several.
    pub page: u32,
    /// Which gray a colour scan gives.
    pub gray: GrayFrom,
    /// Whether bare paper becomes white, see [`BarePaper`].
    #[serde(alias = "lift_white")]
    pub clean: bool,
    /// How fine a page without pixels of its own (PDF) is rasterised, 600 dpi where this is `None`; other
    /// formats have the resolution that they have.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub resolution: Option<Dpi>,
    /// Which part of a photograph is made flat; all of it stays as it was taken where this is `None`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flat: Option<Flat>,
    /// The part of a scan whose paper is cleaned; all of it where this is `None`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub area: Option<Area>,
}

impl ScanOptions {
    /// An original as it comes from the scanner: its paper is cleaned.
    pub fn original() -> Self {
        Self { clean: true, ..Self::default() }
    }
}

/// What a file says about its first page, without reading the pixels.
///
/// # Errors
/// When the file cannot be opened or its header is of no kind that [`read`] reads.
pub fn probe(path: &Path) -> Result<ScanInfo, ScanError> {
    let name = path.display().to_string();
    let mut file = open(path, &name)?;
    let job = Job { name: &name, options: ScanOptions::default(), progress: &Progress::new() };
    job.guarded(&mut file, |input, cx| job.info(input, cx))
}

/// Reads a page of a file into gray.
///
/// # Errors
/// One sentence for whatever keeps the file from being read; [`ScanError::Cancelled`] soon after
/// `progress` was cancelled.
pub fn read(path: &Path, options: &ScanOptions, progress: &Progress) -> Result<Scan, ScanError> {
    let name = path.display().to_string();
    let mut file = open(path, &name)?;
    let job = Job { name: &name, options: *options, progress };
    job.guarded(&mut file, |input, cx| job.scan(input, cx))
}

/// Reads a page of a file that is in memory, as a drop on the window hands it over.
///
/// # Errors
/// As [`read`]; `name` stands for the path.
pub fn read_bytes(
    name: &str,
    bytes: &[u8],
    options: &ScanOptions,
    progress: &Progress,
) -> Result<Scan, ScanError> {
    let job = Job { name, options: *options, progress };
    job.guarded(&mut Cursor::new(bytes), |input, cx| job.scan(input, cx))
}

fn open(path: &Path, name: &str) -> Result<BufReader<File>, ScanError> {
    // Asked before opening: opening a pipe would wait for its other end.
    let meta = std::fs::metadata(path).map_err(|e| ScanError::from_io(name, e))?;
    if !meta.is_file() {
        return Err(ScanError::NotAFile { name: name.to_owned() });
    }
    let file = File::open(path).map_err(|e| ScanError::from_io(name, e))?;
    Ok(BufReader::with_capacity(1 << 18, file))
}

/// Cleans the paper of a part of a scan, or of all of it; `None` where there is none to clean.
fn cleaned(raster: &mut GrayRaster, dpi: Dpi, area: Option<Area>) -> Option<BarePaper> {
    let Some(area) = area else { return BarePaper::clean(raster, dpi) };
    let mut part = raster.part(area.x, area.y, area.width, area.height)?;
    let paper = BarePaper::clean(&mut part, dpi)?;
    let (width, first) = (raster.width() as usize, area.x as usize);
    for y in 0..part.height() {
        let start = (area.y + y) as usize * width + first;
        if let Some(row) = raster.pixels_mut().get_mut(start..start + part.width() as usize) {
            row.copy_from_slice(part.row(y));
        }
    }
    Some(paper)
}

/// One reading of one file.
struct Job<'a> {
    name: &'a str,
    options: ScanOptions,
    progress: &'a Progress,
}

impl Job<'_> {
    /// Tells the format and does the work; a decoder's panic becomes a sentence.
    fn guarded<T>(
        &self,
        input: &mut dyn Input,
        work: impl FnOnce(&mut dyn Input, &Context<'_>) -> Result<T, ScanError>,
    ) -> Result<T, ScanError> {
        let mut start = Vec::new();
        (&mut *input)
            .take(SNIFF as u64)
            .read_to_end(&mut start)
            .map_err(|e| ScanError::from_io(self.name, e))?;
        let name = || self.name.to_owned();
        if start.is_empty() {
            return Err(ScanError::Empty { name: name() });
        }
        let format =
            ScanFormat::from_start(&start).ok_or_else(|| ScanError::UnknownFormat { name: name() })?;
        let mix = gray::Mix { from: self.options.gray, ..gray::Mix::default() };
        let cx = Context { name: self.name, format, progress: self.progress, mix };
        cx.tick(0, 1)?;
        cx.rewound_length(input)?;
        quiet::quietly(|| work(input, &cx)).unwrap_or_else(|_panic| Err(cx.damaged("its decoder gave up")))
    }

    fn info(&self, input: &mut dyn Input, cx: &Context<'_>) -> Result<ScanInfo, ScanError> {
        let mut page_names = Vec::new();
        let header = match cx.format {
            ScanFormat::Png => from_png::header(input, cx),
            ScanFormat::Jpeg => from_jpeg::header(input, cx),
            ScanFormat::Tiff => from_tiff::header(input, self.options.page, cx),
            ScanFormat::WebP => from_other::webp_header(input, cx),
            ScanFormat::Bmp => from_other::bmp_header(input, cx),
            ScanFormat::Pdf => from_pdf::header(input, self.pdf_page(), cx),
            ScanFormat::OpenRaster => {
                from_ora::header(input, self.options.page, cx).map(|(header, names)| {
                    page_names = names;
                    header
                })
            }
        }?;
        cx.check_size(header.width, header.height)?;
        let (page, pages) = (self.options.page, header.pages);
        if page >= pages {
            return Err(ScanError::NoSuchPage { name: self.name.to_owned(), page, pages });
        }
        Ok(ScanInfo { page_names, ..ScanInfo::new(cx.format, header) })
    }

    fn scan(&self, input: &mut dyn Input, cx: &Context<'_>) -> Result<Scan, ScanError> {
        let mut info = self.info(input, cx)?;
        cx.rewound_length(input)?;
        let mut of_drawing = Vec::new();
        let pixels = match cx.format {
            ScanFormat::Png => from_png::pixels(input, cx),
            ScanFormat::Jpeg => from_jpeg::pixels(input, cx),
            ScanFormat::Tiff => from_tiff::pixels(input, self.options.page, cx),
            ScanFormat::WebP => from_other::webp_pixels(input, cx),
            ScanFormat::Bmp => from_other::bmp_pixels(input, cx),
            ScanFormat::OpenRaster => from_ora::pixels(input, self.options.page, cx),
            ScanFormat::Pdf => from_pdf::pixels(input, self.pdf_page(), cx).map(|drawn| {
                // Known once the page is drawn: most are black on white.
                info.colour = if drawn.coloured { ColourKind::Rgb } else { ColourKind::Gray };
                of_drawing = drawn.notices;
                drawn.gray
            }),
        }?;
        let (width, height) = info.upright_size();
        let upright = info.orientation.upright(pixels, info.width as usize);
        let mut raster = GrayRaster::new(width, height, upright).map_err(|e| cx.damaged(e))?;
        cx.tick(1, 1)?;
        let mut notices = self.notices(&info);
        notices.extend(of_drawing);
        // By what the file says alone, so that the same file always gives the same pixels.
        let dpi = self.options.flat.map(|flat| flat.dpi).or(info.resolution);
        if let Some(flat) = &self.options.flat {
            raster =
                made_flat(&raster, flat).ok_or_else(|| ScanError::NotFlat { name: self.name.to_owned() })?;
        }
        let paper = if self.options.clean {
            cleaned(&mut raster, dpi.unwrap_or_default(), self.options.area)
        } else {
            None
        };
        let tint = paper.and_then(|paper| cx.mix.tints.of_gray(paper.gray));
        let colourful = cx.mix.tints.is_colourful();
        Ok(Scan { raster, dpi, info, notices, paper, tint, colourful })
    }

    fn pdf_page(&self) -> from_pdf::Wanted {
        from_pdf::Wanted::new(self.options.page, self.options.resolution)
    }

    fn notices(&self, info: &ScanInfo) -> Vec<ScanNotice> {
        let resolution = match (info.resolution, info.uneven) {
            (Some(_), _) => None,
            (None, Some((across, down))) => Some(ScanNotice::UnevenResolution { across, down }),
            (None, None) => Some(ScanNotice::NoResolution),
        };
        let page = ScanNotice::OnePage { page: self.options.page, pages: info.pages };
        let colour = ScanNotice::Colour { from: self.options.gray };
        // Layers are many and see-through by nature.
        let layered = info.format == ScanFormat::OpenRaster;
        let rest = [
            (info.pages > 1 && !layered, page),
            (info.orientation != Orientation::UPRIGHT, ScanNotice::Turned),
            (info.colour.has_colour(), colour),
            (info.colour.has_alpha() && !layered, ScanNotice::Transparent),
        ];
        resolution
            .into_iter()
            .chain(rest.into_iter().filter(|(belongs, _)| *belongs).map(|(_, n)| n))
            .collect()
    }
}
