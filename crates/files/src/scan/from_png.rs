//! PNG scans. Eight-bit gray goes straight into the raster; everything else by bands of rows.

use png::{BitDepth, ColorType, Decoder, DecodingError, Limits, Reader, Transformations, Unit};

use super::context::{Context, Input};
use super::exif::{self, ExifFacts};
use super::gray::{Channels, Depth, Layout};
use super::resolution::Resolution;
use super::{ColourKind, Header, ScanError};

/// Deflate cannot shrink by more than this, so a short file cannot hold a large picture.
const MOST_SHRUNK: u64 = 1032;
/// Bytes of decoded rows that are turned to gray at a time.
const BAND: u64 = 1 << 22;

pub(super) fn header(input: &mut dyn Input, cx: &Context<'_>) -> Result<Header, ScanError> {
    let reader = open(input, cx)?;
    let info = reader.info();
    let facts = info.exif_metadata.as_deref().map_or_else(ExifFacts::default, exif::facts);
    let metre = info.pixel_dims.filter(|d| d.unit == Unit::Meter);
    let transparent = info.trns.is_some();
    Ok(Header {
        width: info.width,
        height: info.height,
        bits: info.bit_depth as u8,
        colour: match info.color_type {
            ColorType::Grayscale if transparent => ColourKind::GrayAlpha,
            ColorType::Grayscale => ColourKind::Gray,
            ColorType::GrayscaleAlpha => ColourKind::GrayAlpha,
            ColorType::Rgb if transparent => ColourKind::RgbAlpha,
            ColorType::Rgb => ColourKind::Rgb,
            ColorType::Rgba => ColourKind::RgbAlpha,
            ColorType::Indexed if transparent => ColourKind::PaletteAlpha,
            ColorType::Indexed => ColourKind::Palette,
        },
        resolution: metre.map(|d| Resolution::from_metre(d.xppu, d.yppu)).or(facts.resolution),
        pages: 1,
        orientation: facts.orientation,
    })
}

pub(super) fn pixels(input: &mut dyn Input, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let length = cx.rewound_length(input)?;
    let mut reader = open(input, cx)?;
    let (width, height) = reader.info().size();
    cx.check_size(width, height)?;
    let raw_row = reader.info().raw_row_length() as u64;
    if raw_row.saturating_mul(u64::from(height)) > length.saturating_mul(MOST_SHRUNK) {
        return Err(cx.truncated());
    }
    let layout = layout(reader.output_color_type());
    let row_bytes = u64::from(width) * layout.bytes_per_pixel();
    let mut gray = cx.buffer(width.into(), height.into())?;
    let is_gray = layout == Layout::new(Channels::Gray, Depth::Eight);
    if reader.info().interlaced {
        // The rows of an interlaced file come out of order, so all are needed at once.
        if is_gray {
            reader.next_frame(&mut gray).map_err(|e| trouble(cx, e))?;
        } else {
            let mut all = cx.buffer(row_bytes, height.into())?;
            reader.next_frame(&mut all).map_err(|e| trouble(cx, e))?;
            cx.tick(1, 1)?;
            cx.mix.rows(layout, (&mut all, row_bytes as usize), (&mut gray, width as usize), 0);
        }
    } else {
        let band_rows = (BAND / row_bytes).clamp(1, height.into());
        let mut band = if is_gray { Vec::new() } else { cx.buffer(row_bytes, band_rows)? };
        let mut done = 0;
        for out in gray.chunks_mut(width as usize * band_rows as usize) {
            cx.tick(done, height)?;
            let rows = (out.len() / width as usize) as u32;
            if is_gray {
                read_rows(&mut reader, out, width as usize, cx)?;
            } else {
                let used = band.get_mut(..rows as usize * row_bytes as usize).unwrap_or_default();
                read_rows(&mut reader, used, row_bytes as usize, cx)?;
                cx.mix.rows(layout, (used, row_bytes as usize), (out, width as usize), 0);
            }
            done += rows;
        }
    }
    cx.tick(1, 1)?;
    Ok(gray)
}

fn read_rows(
    reader: &mut Reader<&mut dyn Input>,
    out: &mut [u8],
    row_bytes: usize,
    cx: &Context<'_>,
) -> Result<(), ScanError> {
    for row in out.chunks_exact_mut(row_bytes) {
        if reader.read_row(row).map_err(|e| trouble(cx, e))?.is_none() {
            return Err(cx.truncated());
        }
    }
    Ok(())
}

fn open<'i>(input: &'i mut dyn Input, cx: &Context<'_>) -> Result<Reader<&'i mut dyn Input>, ScanError> {
    let mut decoder = Decoder::new_with_limits(input, Limits { bytes: 1 << 28 });
    // Expands 1, 2 and 4 bits to 8 and palettes to RGB; gamma is left alone.
    decoder.set_transformations(Transformations::EXPAND);
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    // The header's size is refused before the rest of the file is looked at.
    let (width, height) = decoder.read_header_info().map_err(|e| trouble(cx, e))?.size();
    cx.check_size(width, height)?;
    let reader = decoder.read_info().map_err(|e| trouble(cx, e))?;
    if reader.info().animation_control.is_some_and(|a| a.num_frames > 1) {
        return Err(ScanError::Animated { name: cx.name.to_owned(), format: cx.format });
    }
    Ok(reader)
}

fn layout((colour, depth): (ColorType, BitDepth)) -> Layout {
    let channels = match colour {
        ColorType::Grayscale => Channels::Gray,
        ColorType::GrayscaleAlpha => Channels::GrayAlpha,
        ColorType::Rgb | ColorType::Indexed => Channels::Rgb,
        ColorType::Rgba => Channels::RgbAlpha,
    };
    let sixteen = depth == BitDepth::Sixteen;
    Layout::new(channels, if sixteen { Depth::SixteenBig } else { Depth::Eight })
}

fn trouble(cx: &Context<'_>, error: DecodingError) -> ScanError {
    match error {
        DecodingError::IoError(e) => cx.io(e),
        DecodingError::LimitsExceeded => cx.too_much_memory(),
        other @ (DecodingError::Format(_) | DecodingError::Parameter(_)) => cx.damaged(other),
    }
}
