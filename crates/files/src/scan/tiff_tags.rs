//! The tags of a TIFF page that its decoder leaves to us.

use std::io::{Read, Seek};

use tiff::decoder::Decoder;
use tiff::decoder::ifd::Value;
use tiff::tags::Tag;

use super::gray::{Mix, rounded};

pub(super) fn number<R: Read + Seek>(decoder: &mut Decoder<R>, tag: Tag) -> Option<f64> {
    fn of(value: &Value) -> Option<f64> {
        match value {
            Value::Byte(v) => Some(f64::from(*v)),
            Value::Short(v) => Some(f64::from(*v)),
            Value::Unsigned(v) => Some(f64::from(*v)),
            Value::UnsignedBig(v) => Some(*v as f64),
            Value::Float(v) => Some(f64::from(*v)),
            Value::Double(v) => Some(*v),
            Value::Rational(n, d) if *d != 0 => Some(f64::from(*n) / f64::from(*d)),
            Value::SRational(n, d) if *d != 0 => Some(f64::from(*n) / f64::from(*d)),
            Value::List(list) => list.first().and_then(of),
            _ => None,
        }
    }
    // A tag that cannot be read counts as one that is not there.
    decoder.find_tag(tag).ok().flatten().as_ref().and_then(of)
}

/// Whether the extra sample is alpha that the colours were already multiplied with.
pub(super) fn has_premultiplied_alpha<R: Read + Seek>(decoder: &mut Decoder<R>) -> bool {
    number(decoder, Tag::ExtraSamples) == Some(1.0)
}

pub(super) fn palette_table<R: Read + Seek>(decoder: &mut Decoder<R>, mix: &Mix) -> Option<[u8; 256]> {
    let map: Vec<u16> = decoder.find_tag_unsigned_vec(Tag::ColorMap).ok().flatten()?;
    let count = map.len() / 3;
    if count == 0 {
        return None;
    }
    // Some old programs wrote 8-bit values, which no real map of 16-bit ones looks like.
    let old = map.iter().all(|v| *v < 256);
    let channel = |c: usize, i: usize| {
        let v = map.get(c * count + i).copied().unwrap_or(0);
        if old { v as u8 } else { rounded(v) }
    };
    Some(std::array::from_fn(|i| mix.gray([channel(0, i), channel(1, i), channel(2, i)])))
}

/// The file with the palette page whose directory lies at `at` declared to be gray with black as
/// zero (TIFF 6.0, section 2: entries of 12 bytes after a count; `BigTIFF`: of 20).
pub(super) fn as_gray(mut file: Vec<u8>, at: u64) -> Option<Vec<u8>> {
    let little = file.starts_with(b"II");
    let short = |file: &[u8], at: usize| {
        let pair = *file.get(at..)?.first_chunk::<2>()?;
        Some(if little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) })
    };
    let big = short(&file, 2)? == 43;
    let at = usize::try_from(at).ok()?;
    // Only the lowest 16 bits of BigTIFF's count matter: more entries than that are refused when opening.
    let (count_at, first, size, value) = match (big, little) {
        (false, _) => (at, at.checked_add(2)?, 12, 8),
        (true, true) => (at, at.checked_add(8)?, 20, 12),
        (true, false) => (at.checked_add(6)?, at.checked_add(8)?, 20, 12),
    };
    for entry in 0..usize::from(short(&file, count_at)?) {
        let entry_at = first.checked_add(entry * size)?;
        if short(&file, entry_at)? == Tag::PhotometricInterpretation.to_u16() {
            let bytes = if little { 1_u16.to_le_bytes() } else { 1_u16.to_be_bytes() };
            file.get_mut(entry_at + value..entry_at + value + 2)?.copy_from_slice(&bytes);
            return Some(file);
        }
    }
    None
}
