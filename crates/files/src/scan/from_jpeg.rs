//! JPEG scans. The segments are walked here, because the decoder fills what is missing
//! from a short file with gray, and does not say what resolution the file has.

use std::io::Cursor;

use image::ImageDecoder as _;
use image::codecs::jpeg::JpegDecoder;

use super::context::{Context, Input, MAX_BUFFER};
use super::exif::{self, ExifFacts};
use super::from_other::whole;
use super::resolution::Resolution;
use super::{ColourKind, Header, ScanError};

/// A block of 64 pixels takes at least one bit, so a short file cannot hold a large picture.
const MOST_PIXELS_PER_BYTE: u64 = 512;

pub(super) fn header(input: &mut dyn Input, cx: &Context<'_>) -> Result<Header, ScanError> {
    let bytes = cx.all_bytes(input)?;
    walk(&bytes, cx).map(|(header, _)| header)
}

pub(super) fn pixels(input: &mut dyn Input, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let bytes = cx.all_bytes(input)?;
    let (header, scan_at) = walk(&bytes, cx)?;
    let is_progressive = segments(&bytes).any(|marker| marker == 0xC2);
    let (width, height) = (u64::from(header.width), u64::from(header.height));
    cx.check_size(header.width, header.height)?;
    let most = MOST_PIXELS_PER_BYTE.saturating_mul(bytes.len() as u64);
    if width * height > most || !reaches_its_end(&bytes, scan_at) {
        return Err(cx.truncated());
    }
    // All coefficients of a progressive picture are kept, two bytes each, beside its samples.
    let samples = if header.colour == ColourKind::Gray { 1 } else { 3 };
    if is_progressive && width * height * samples * 3 > MAX_BUFFER {
        return Err(cx.too_much_memory());
    }
    let decoder = JpegDecoder::new(Cursor::new(&bytes)).map_err(|e| cx.image(e))?;
    if decoder.dimensions() != (header.width, header.height) {
        return Err(cx.damaged("it states two sizes"));
    }
    whole(decoder, cx)
}

/// Reads the segments up to the first scan (ISO/IEC 10918-1, B.1), and where its data begin.
fn walk(bytes: &[u8], cx: &Context<'_>) -> Result<(Header, usize), ScanError> {
    let mut frame = None;
    let mut jfif = None;
    let mut facts = ExifFacts::default();
    let mut at = 2;
    loop {
        let (marker, body, next) = segment(bytes, at).ok_or_else(|| cx.truncated())?;
        match marker {
            0xC0..=0xCF if !matches!(marker, 0xC4 | 0xC8 | 0xCC) => {
                if !matches!(marker, 0xC0..=0xC2) {
                    return Err(cx.unsupported("lossless or arithmetic coding"));
                }
                frame = body.first_chunk::<6>().copied();
            }
            0xE0 if body.starts_with(b"JFIF\0") => {
                if let Some([unit, xh, xl, yh, yl]) = body.get(7..12).and_then(|b| b.first_chunk::<5>()) {
                    let (x, y) = (u16::from_be_bytes([*xh, *xl]), u16::from_be_bytes([*yh, *yl]));
                    jfif = Resolution::from_jfif(x, y, *unit);
                }
            }
            0xE1 if body.starts_with(b"Exif\0\0") => facts = exif::facts(body),
            0xD9 => return Err(cx.truncated()),
            0xDA => {
                let [bits, hh, hl, wh, wl, components] =
                    frame.ok_or_else(|| cx.damaged("the frame header is missing"))?;
                let colour = match components {
                    1 => ColourKind::Gray,
                    3 => ColourKind::Rgb,
                    4 => return Err(ScanError::Cmyk { name: cx.name.to_owned(), format: cx.format }),
                    n => return Err(cx.unsupported(format!("{n} colour components"))),
                };
                if bits != 8 {
                    return Err(cx.unsupported(format!("{bits} bits a sample")));
                }
                let header = Header {
                    width: u16::from_be_bytes([wh, wl]).into(),
                    height: u16::from_be_bytes([hh, hl]).into(),
                    bits,
                    colour,
                    resolution: jfif.or(facts.resolution),
                    pages: 1,
                    orientation: facts.orientation,
                };
                return Ok((header, next));
            }
            _ => {}
        }
        at = next;
    }
}

/// Whether all of a JPEG stream is there: its segments, and the end of its scans.
pub(super) fn is_whole(bytes: &[u8]) -> bool {
    let mut at = bytes.windows(2).position(|w| w == [0xFF, 0xD8]).map_or(bytes.len(), |start| start + 2);
    while let Some((marker, _, next)) = segment(bytes, at) {
        at = next;
        match marker {
            0xDA => return reaches_its_end(bytes, at),
            0xD9 => return false,
            _ => {}
        }
    }
    false
}

/// The markers up to the first scan.
fn segments(bytes: &[u8]) -> impl Iterator<Item = u8> + '_ {
    let mut at = 2;
    std::iter::from_fn(move || {
        let (marker, _, next) = segment(bytes, at)?;
        at = next;
        (marker != 0xDA).then_some(marker)
    })
}

/// The marker at or after `at`, its body, and where the next one begins.
fn segment(bytes: &[u8], mut at: usize) -> Option<(u8, &[u8], usize)> {
    // Stray bytes between segments are skipped, as decoders do.
    while *bytes.get(at)? != 0xFF {
        at += 1;
    }
    while *bytes.get(at)? == 0xFF {
        at += 1;
    }
    let marker = *bytes.get(at)?;
    at += 1;
    if matches!(marker, 0x00 | 0x01 | 0xD0..=0xD9) {
        return Some((marker, &[], at));
    }
    let [high, low] = *bytes.get(at..)?.first_chunk::<2>()?;
    let end = at + usize::from(u16::from_be_bytes([high, low])).max(2);
    Some((marker, bytes.get(at + 2..end)?, end))
}

/// Whether the entropy-coded data that begin at `at` are followed by the end marker.
fn reaches_its_end(bytes: &[u8], mut at: usize) -> bool {
    // A stuffed zero or a restart marker has no body, so the walk resumes right after it.
    while let Some((marker, _, next)) = segment(bytes, at) {
        if marker == 0xD9 {
            return true;
        }
        at = next;
    }
    false
}
