//! WebP and BMP scans, which are decoded whole.

use image::codecs::bmp::BmpDecoder;
use image::codecs::webp::WebPDecoder;
use image::{ColorType, ImageDecoder};

use super::context::{Context, Input};
use super::exif::{self, ExifFacts};
use super::gray::{Channels, Depth, Layout};
use super::resolution::Resolution;
use super::{ColourKind, Header, Orientation, ScanError};

/// Pixels of a bitmap's run of two bytes are 255 at most, so a byte holds half as many.
const BMP_PER_BYTE: u64 = 128;
/// A lossless picture repeats 4096 pixels with two codes, which take two bytes where the picture is not of one colour.
const WEBP_PER_BYTE: u64 = 4096;

pub(super) fn webp_header(input: &mut dyn Input, cx: &Context<'_>) -> Result<Header, ScanError> {
    let mut decoder = open_webp(input, cx)?;
    let (width, height) = decoder.dimensions();
    // Broken metadata do not keep the picture from being read.
    let facts = decoder.exif_metadata().ok().flatten().map_or_else(ExifFacts::default, |b| exif::facts(&b));
    Ok(Header {
        width,
        height,
        bits: 8,
        colour: if decoder.color_type().has_alpha() { ColourKind::RgbAlpha } else { ColourKind::Rgb },
        resolution: facts.resolution,
        pages: 1,
        orientation: facts.orientation,
    })
}

pub(super) fn webp_pixels(input: &mut dyn Input, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let length = cx.rewound_length(input)?;
    let decoder = open_webp(input, cx)?;
    cx.check_claim(decoder.dimensions(), WEBP_PER_BYTE, length)?;
    whole(decoder, cx)
}

fn open_webp<'i>(
    input: &'i mut dyn Input,
    cx: &Context<'_>,
) -> Result<WebPDecoder<&'i mut dyn Input>, ScanError> {
    let length = cx.rewound_length(input)?;
    let mut riff = [0; 8];
    std::io::Read::read_exact(input, &mut riff).map_err(|e| cx.io(e))?;
    cx.rewound_length(input)?;
    let [_, _, _, _, size @ ..] = riff;
    // The decoder would be content with a file that is cut short behind the pixels.
    if u64::from(u32::from_le_bytes(size)) + 8 > length {
        return Err(cx.truncated());
    }
    let decoder = WebPDecoder::new(input).map_err(|e| cx.image(e))?;
    if decoder.has_animation() {
        return Err(ScanError::Animated { name: cx.name.to_owned(), format: cx.format });
    }
    Ok(decoder)
}

pub(super) fn bmp_header(input: &mut dyn Input, cx: &Context<'_>) -> Result<Header, ScanError> {
    let start = start_of(input, cx)?;
    let long = |at: usize| word(&start, at);
    // The oldest header has 12 bytes and no resolution; its bits lie elsewhere.
    let old = long(14) == Some(12);
    if let Some((width, height)) = long(18).zip(long(22)).filter(|_| !old) {
        // Asked before the decoder, which has no sentence for it. A negative height
        // means that the top row comes first.
        let height = height.cast_signed().unsigned_abs();
        cx.check_size(width, height)?;
        if width.max(height) > u32::from(u16::MAX) {
            return Err(ScanError::LongBitmap { name: cx.name.to_owned() });
        }
    }
    let decoder = BmpDecoder::new(input).map_err(|e| cx.image(e))?;
    let (width, height) = decoder.dimensions();
    let bits_at = if old { 24 } else { 28 };
    let bits = start.get(bits_at).copied().unwrap_or(0);
    let metre = long(38).zip(long(42)).filter(|_| !old);
    Ok(Header {
        width,
        height,
        bits: if bits <= 8 { bits } else { 8 },
        colour: match decoder.color_type() {
            _ if bits <= 8 => ColourKind::Palette,
            colour if colour.has_alpha() => ColourKind::RgbAlpha,
            _ => ColourKind::Rgb,
        },
        resolution: metre.map(|(x, y)| Resolution::from_metre(x, y)),
        pages: 1,
        orientation: Orientation::UPRIGHT,
    })
}

/// The header of a bitmap as far as it is looked at; the input's position is the beginning again.
fn start_of(input: &mut dyn Input, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let mut start = Vec::new();
    std::io::Read::read_to_end(&mut std::io::Read::take(&mut *input, 54), &mut start)
        .map_err(|e| cx.io(e))?;
    cx.rewound_length(input)?;
    Ok(start)
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..).and_then(|b| b.first_chunk::<4>()).map(|b| u32::from_le_bytes(*b))
}

pub(super) fn bmp_pixels(input: &mut dyn Input, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let length = cx.rewound_length(input)?;
    let start = start_of(input, cx)?;
    let decoder = BmpDecoder::new(input).map_err(|e| cx.image(e))?;
    let (width, height) = decoder.dimensions();
    // The decoder asks for all the memory before it looks whether the pixels are there.
    match (word(&start, 14), word(&start, 30)) {
        // Rows that are not packed fill whole words of four bytes.
        (Some(12), _) | (_, Some(0 | 3 | 6)) => {
            let bits_at = if word(&start, 14) == Some(12) { 24 } else { 28 };
            let bits = u64::from(start.get(bits_at).copied().unwrap_or(0).max(1));
            let row = (u64::from(width) * bits).div_ceil(32) * 4;
            // The last row may come without what fills it up.
            if row.saturating_mul(u64::from(height)) > length.saturating_add(row) {
                return Err(cx.truncated());
            }
        }
        _ => cx.check_claim((width, height), BMP_PER_BYTE, length)?,
    }
    whole(decoder, cx)
}

/// The gray of a picture of 8 bits a sample.
pub(super) fn whole(decoder: impl ImageDecoder, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let (width, height) = decoder.dimensions();
    cx.check_size(width, height)?;
    let channels = match decoder.color_type() {
        ColorType::L8 => Channels::Gray,
        ColorType::La8 => Channels::GrayAlpha,
        ColorType::Rgb8 => Channels::Rgb,
        ColorType::Rgba8 => Channels::RgbAlpha,
        _ => return Err(cx.unsupported("more than 8 bits a sample")),
    };
    let layout = Layout::new(channels, Depth::Eight);
    let row_bytes = u64::from(width) * layout.bytes_per_pixel();
    let mut samples = cx.buffer(row_bytes, height.into())?;
    cx.tick(1, 10)?;
    decoder.read_image(&mut samples).map_err(|e| cx.image(e))?;
    cx.tick(8, 10)?;
    if channels == Channels::Gray {
        return Ok(samples);
    }
    let mut gray = cx.buffer(width.into(), height.into())?;
    cx.mix.rows(layout, (&mut samples, row_bytes as usize), (&mut gray, width as usize), 0);
    cx.tick(1, 1)?;
    Ok(gray)
}
