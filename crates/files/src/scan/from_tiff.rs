//! TIFF scans, strip by strip or tile by tile.
//!
//! The decoder does not read palette images; their page is read as if it were gray, which
//! gives the indexes, and the colour map is applied here.

use std::io::{Cursor, Read, Seek};

use tiff::decoder::{Decoder, Limits, TiffCodingUnit};
use tiff::tags::Tag;
use tiff::{ColorType, TiffError};

use super::context::{Context, Input};
use super::gray::{Channels, Depth, Layout};
use super::resolution::Resolution;
use super::tiff_rows::{Rows, interleaved};
use super::tiff_tags::{as_gray, has_premultiplied_alpha, number, palette_table};
use super::{ColourKind, Header, Orientation, ScanError};

/// More pages than this are not counted.
const MOST_PAGES: u32 = 10_000;
/// The most bytes that a row of a strip or tile may have.
const MOST_ROW: u64 = 1 << 30;
/// `PhotometricInterpretation` of a palette image.
const PALETTE: f64 = 3.0;

pub(super) fn header(input: &mut dyn Input, page: u32, cx: &Context<'_>) -> Result<Header, ScanError> {
    let (mut decoder, pages) = open(input, page, cx)?;
    let (width, height) = decoder.dimensions().map_err(|e| trouble(cx, e))?;
    let palette = number(&mut decoder, Tag::PhotometricInterpretation) == Some(PALETTE);
    let (colour, bits) = if palette {
        (ColourKind::Palette, number(&mut decoder, Tag::BitsPerSample).map_or(1, |b| b as u8))
    } else {
        let colour = decoder.colortype().map_err(|e| trouble(cx, e))?;
        let kind = match colour {
            ColorType::Gray(_) => ColourKind::Gray,
            ColorType::GrayA(_) | ColorType::Multiband { num_samples: 2, .. } => ColourKind::GrayAlpha,
            ColorType::RGB(_) | ColorType::YCbCr(_) => ColourKind::Rgb,
            ColorType::RGBA(_) => ColourKind::RgbAlpha,
            ColorType::CMYK(_) | ColorType::CMYKA(_) => {
                return Err(ScanError::Cmyk { name: cx.name.to_owned(), format: cx.format });
            }
            _ => return Err(cx.unsupported("an unusual colour space")),
        };
        (kind, colour.bit_depth())
    };
    let x = number(&mut decoder, Tag::XResolution);
    let y = number(&mut decoder, Tag::YResolution).or(x);
    let unit = number(&mut decoder, Tag::ResolutionUnit).map_or(2, |unit| unit as u32);
    Ok(Header {
        width,
        height,
        bits,
        colour,
        resolution: x.zip(y).and_then(|(x, y)| Resolution::from_tiff(x, y, unit)),
        pages,
        orientation: number(&mut decoder, Tag::Orientation)
            .map_or(Orientation::UPRIGHT, |n| Orientation::from_exif(n as u32)),
    })
}

pub(super) fn pixels(input: &mut dyn Input, page: u32, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let (mut decoder, _) = open(&mut *input, page, cx)?;
    if number(&mut decoder, Tag::PhotometricInterpretation) != Some(PALETTE) {
        let rows = rows(&mut decoder, cx)?;
        return chunks(&mut decoder, &rows, cx);
    }
    let table = palette_table(&mut decoder, &cx.mix).ok_or_else(|| cx.damaged("its palette is missing"))?;
    let at = decoder.ifd_pointer().map_or(0, |at| at.0);
    drop(decoder);
    let bytes = as_gray(cx.all_bytes(input)?, at).ok_or_else(|| cx.truncated())?;
    let (mut decoder, _) = open(Cursor::new(bytes), page, cx)?;
    match decoder.colortype().map_err(|e| trouble(cx, e))? {
        ColorType::Gray(bits @ (1 | 2 | 4 | 8)) => {
            chunks(&mut decoder, &Rows::Indexed { bits, table: Box::new(table) }, cx)
        }
        _ => Err(cx.unsupported("an unusual palette")),
    }
}

/// Goes to a page, and counts them all.
fn open<R: Read + Seek>(mut input: R, page: u32, cx: &Context<'_>) -> Result<(Decoder<R>, u32), ScanError> {
    input.rewind().map_err(|e| cx.io(e))?;
    let mut limits = Limits::default();
    limits.intermediate_buffer_size = usize::MAX;
    limits.ifd_value_size = 1 << 24;
    let mut decoder = Decoder::new(input).map_err(|e| trouble(cx, e))?.with_limits(limits);
    let mut pages = 1;
    // A page that is broken ends the count; the ones before it can still be read.
    while pages < MOST_PAGES && decoder.more_images() && decoder.next_image().is_ok() {
        pages += 1;
        cx.tick(0, 1)?;
    }
    if page >= pages {
        return Err(ScanError::NoSuchPage { name: cx.name.to_owned(), page, pages });
    }
    decoder.seek_to_image(page as usize).map_err(|e| trouble(cx, e))?;
    let (width, height) = decoder.dimensions().map_err(|e| trouble(cx, e))?;
    cx.check_size(width, height)?;
    Ok((decoder, pages))
}

/// How the decoded rows of this page are to be read.
fn rows<R: Read + Seek>(decoder: &mut Decoder<R>, cx: &Context<'_>) -> Result<Rows, ScanError> {
    // 1 is unsigned and 4 is undefined (TIFF 6.0, section 19).
    if number(decoder, Tag::SampleFormat).is_some_and(|f| f != 1.0 && f != 4.0) {
        return Err(cx.unsupported("signed or floating-point samples"));
    }
    let colour = decoder.colortype().map_err(|e| trouble(cx, e))?;
    let depth = match colour.bit_depth() {
        16 => Depth::SixteenNative,
        _ => Depth::Eight,
    };
    let channels = match colour {
        ColorType::Gray(bits @ (1 | 2 | 4)) => return Ok(Rows::packed_gray(bits)),
        ColorType::YCbCr(8) => return Ok(Rows::YCbCr),
        ColorType::Gray(8 | 16) => Channels::Gray,
        ColorType::GrayA(8 | 16) | ColorType::Multiband { bit_depth: 8 | 16, num_samples: 2 } => {
            Channels::GrayAlpha
        }
        ColorType::RGB(8 | 16) => Channels::Rgb,
        ColorType::RGBA(8 | 16) => Channels::RgbAlpha,
        other => return Err(cx.unsupported(format!("samples of {} bits", other.bit_depth()))),
    };
    let premultiplied = has_premultiplied_alpha(decoder);
    Ok(Rows::Samples(Layout { premultiplied, ..Layout::new(channels, depth) }))
}

/// Reads every strip or tile into its place.
fn chunks<R: Read + Seek>(
    decoder: &mut Decoder<R>,
    rows: &Rows,
    cx: &Context<'_>,
) -> Result<Vec<u8>, ScanError> {
    let (width, height) = decoder.dimensions().map_err(|e| trouble(cx, e))?;
    let (chunk_width, chunk_height) = decoder.chunk_dimensions();
    if chunk_width == 0 || chunk_height == 0 {
        return Err(cx.damaged("its strips are empty"));
    }
    // The decoder takes room for a row with all its samples, however many the file claims.
    let samples = number(decoder, Tag::SamplesPerPixel).map_or(1, |n| n as u64);
    if u64::from(chunk_width).saturating_mul(samples.max(4) * 2) > MOST_ROW {
        return Err(cx.too_much_memory());
    }
    let (across, down) = (width.div_ceil(chunk_width), height.div_ceil(chunk_height));
    let mut gray = cx.buffer(width.into(), height.into())?;
    let mut buffer = Vec::new();
    for unit in 0..across.saturating_mul(down) {
        cx.tick(unit / across, down)?;
        let plan = decoder.image_coding_unit_layout(TiffCodingUnit(unit)).map_err(|e| trouble(cx, e))?;
        let stride = plan.row_stride.map_or(0, usize::from);
        if buffer.len() < plan.complete_len {
            buffer = cx.buffer(plan.complete_len as u64, 1)?;
        }
        let samples = buffer.get_mut(..plan.complete_len).unwrap_or_default();
        decoder.read_coding_unit_bytes(TiffCodingUnit(unit), samples).map_err(|e| trouble(cx, e))?;
        let (left, top) = (unit % across * chunk_width, unit / across * chunk_height);
        let out = gray.get_mut(top as usize * width as usize..).unwrap_or_default();
        let place = (out, width as usize);
        if plan.planes > 1 {
            let plane = plan.plane_stride.map_or(0, usize::from);
            let mut mixed = interleaved(samples, plan.planes, plane, rows.sample_bytes());
            rows.place(&cx.mix, (&mut mixed, stride * plan.planes), place, left as usize);
        } else {
            rows.place(&cx.mix, (samples, stride), place, left as usize);
        }
    }
    cx.tick(1, 1)?;
    Ok(gray)
}

fn trouble(cx: &Context<'_>, error: TiffError) -> ScanError {
    match error {
        TiffError::IoError(e) => cx.io(e),
        TiffError::LimitsExceeded | TiffError::IntSizeError => cx.too_much_memory(),
        TiffError::UnsupportedError(_) => cx.unsupported("a rare encoding"),
        other => cx.damaged(other),
    }
}
