//! What is known of a scan: its format and size, and what the person should hear about it.

use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::BarePaper;
use slipsheet_core::units::Dpi;

use super::GrayFrom;
use super::Orientation;
use super::resolution::Resolution;

/// A file format that scans are read from, told by the content and not by the name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScanFormat {
    /// Portable network graphics.
    Png,
    /// JPEG, baseline or progressive.
    Jpeg,
    /// TIFF and its 64-bit variant.
    Tiff,
    /// WebP, lossy or lossless.
    WebP,
    Bmp,
    /// PDF, whose pages are rasterised.
    Pdf,
    /// `OpenRaster`, each layer of which is a page.
    OpenRaster,
}

/// Bytes from a file's beginning in which its format shows.
pub(super) const SNIFF: usize = 1024;

impl ScanFormat {
    /// Whether it has no pixels of its own, so that a resolution is chosen for it.
    pub fn is_vector(self) -> bool {
        self == Self::Pdf
    }

    /// The format that begins with these bytes (1024 are enough).
    pub fn from_start(bytes: &[u8]) -> Option<Self> {
        match bytes {
            [0x89, b'P', b'N', b'G', ..] => Some(Self::Png),
            [0xFF, 0xD8, 0xFF, ..] => Some(Self::Jpeg),
            [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => Some(Self::Tiff),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::WebP),
            [b'B', b'M', ..] => Some(Self::Bmp),
            [b'P', b'K', 3, 4, ..] => is_open_raster(bytes).then_some(Self::OpenRaster),
            // Readers of PDF accept its mark anywhere in the first 1024 bytes (ISO 32000-1, annex H).
            _ => bytes.get(..bytes.len().min(SNIFF))?.windows(5).any(|w| w == b"%PDF-").then_some(Self::Pdf),
        }
    }
}

impl std::fmt::Display for ScanFormat {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Png => "PNG",
            Self::Jpeg => "JPEG",
            Self::Tiff => "TIFF",
            Self::WebP => "WebP",
            Self::Bmp => "BMP",
            Self::Pdf => "PDF",
            Self::OpenRaster => "OpenRaster",
        })
    }
}

/// Whether an archive's first entry, stored as it is, names this format (`OpenRaster`, "file layout").
fn is_open_raster(bytes: &[u8]) -> bool {
    let name = |at: usize| bytes.get(at..).is_some_and(|b| b.starts_with(b"mimetype"));
    let extra = bytes.get(28..30).and_then(|b| b.first_chunk::<2>()).map_or(0, |b| u16::from_le_bytes(*b));
    let content = bytes.get(38 + usize::from(extra)..);
    name(30) && content.is_some_and(|b| b.starts_with(b"image/openraster"))
}

/// What the file stores for a pixel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColourKind {
    Gray,
    GrayAlpha,
    Rgb,
    /// Three channels and transparency.
    RgbAlpha,
    /// An index into a list of colours.
    Palette,
    /// An index into a list of colours that may be transparent.
    PaletteAlpha,
}

impl ColourKind {
    /// Whether pixels may be transparent.
    pub fn has_alpha(self) -> bool {
        matches!(self, Self::GrayAlpha | Self::RgbAlpha | Self::PaletteAlpha)
    }

    /// Whether pixels may have a hue.
    pub fn has_colour(self) -> bool {
        matches!(self, Self::Rgb | Self::RgbAlpha | Self::Palette | Self::PaletteAlpha)
    }
}

/// What a decoder found before the pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Header {
    pub width: u32,
    pub height: u32,
    pub bits: u8,
    pub colour: ColourKind,
    pub resolution: Option<Resolution>,
    pub pages: u32,
    pub orientation: Orientation,
}

/// What a file says about one page of it.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanInfo {
    pub format: ScanFormat,
    /// Width in pixels as stored; [`Self::upright_size`] is what a reading gives.
    pub width: u32,
    /// Height in pixels as stored.
    pub height: u32,
    /// Bits of one sample (of the index, for a palette).
    pub bits: u8,
    pub colour: ColourKind,
    /// The resolution, if the file states one from 10 to 9600 dpi that is the same both ways.
    pub resolution: Option<Dpi>,
    /// Across and down, where the two differ by more than 1 %; then `resolution` is `None`.
    pub uneven: Option<(Dpi, Dpi)>,
    /// Pages in the file, at least 1.
    pub pages: u32,
    /// The pages' names where the format has such (layers of `OpenRaster`), else empty.
    pub page_names: Vec<String>,
    pub orientation: Orientation,
}

impl ScanInfo {
    pub(super) fn new(format: ScanFormat, header: Header) -> Self {
        let resolution = header.resolution.and_then(Resolution::even);
        let uneven = header.resolution.and_then(Resolution::both).filter(|_| resolution.is_none());
        let Header { width, height, bits, colour, pages, orientation, .. } = header;
        Self {
            format,
            width,
            height,
            bits,
            colour,
            resolution,
            uneven,
            pages,
            page_names: Vec::new(),
            orientation,
        }
    }

    /// Width and height in pixels once the picture is turned upright.
    pub fn upright_size(&self) -> (u32, u32) {
        self.orientation.size(self.width, self.height)
    }
}

/// A scan that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// The gray pixels, upright.
    pub raster: GrayRaster,
    /// The resolution, if the file states one.
    pub dpi: Option<Dpi>,
    pub info: ScanInfo,
    /// What the person should hear about it.
    pub notices: Vec<ScanNotice>,
    /// Its paper, where there was any to clean and that was asked for.
    pub paper: Option<BarePaper>,
    /// The mean colour of that paper in a colour scan, sRGB.
    pub tint: Option<[u8; 3]>,
    /// Whether it is a picture in colour, and no scan of a gray original.
    pub colourful: bool,
}

/// Something about a scan that was read which its owner should know. Displays as a sentence.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ScanNotice {
    #[error("the scan does not say its resolution; set it, so that sizes in mm are right")]
    NoResolution,
    #[error("the scan has {} dpi across but {} down; scan it again with both the same", across.get(), down.get())]
    UnevenResolution { across: Dpi, down: Dpi },
    #[error("the scan is stored in colour; {} was taken as its gray", match from {
        GrayFrom::Luminance => "the lightness",
        GrayFrom::Red => "the red channel",
        GrayFrom::Green => "the green channel",
        GrayFrom::Blue => "the blue channel",
    })]
    Colour { from: GrayFrom },
    #[error(
        "a font of the PDF could not be read, so letters may look different; save the PDF with its letters as outlines"
    )]
    OtherFont,
    #[error("a note or stamp of the PDF could not be drawn; see whether it was to be printed")]
    NoteLeftOut,
    #[error("the scan has transparency; it was laid over white")]
    Transparent,
    #[error("the scan was turned or mirrored as its file asks; see that it is upright")]
    Turned,
    #[error("page {} of {pages} was read; choose the page if you meant another", u64::from(*page) + 1)]
    OnePage {
        /// The page read, from 0.
        page: u32,
        pages: u32,
    },
}
