//! How much the packed streams of a PDF come to, counted without keeping it, and whether they are whole.
//!
//! The reader unpacks a stream into memory however long it becomes, and fills what is missing of a damaged one;
//! so both questions are asked here first. Formats: RFC 1950 and 1951 (Flate), ISO 32000-1, 7.4 (the others).

use hayro::hayro_syntax::Filter;
use hayro::hayro_syntax::object::Stream;
use miniz_oxide::inflate::TINFLStatus;
use miniz_oxide::inflate::core::inflate_flags::{
    TINFL_FLAG_COMPUTE_ADLER32, TINFL_FLAG_PARSE_ZLIB_HEADER, TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF,
};
use miniz_oxide::inflate::core::{DecompressorOxide, TINFL_LZ_DICT_SIZE, decompress};

/// The most bytes that one stream may unpack to: a coloured picture of 350 megapixels.
pub(super) const MOST_STREAM: u64 = 1 << 30;
/// The most bytes that all streams of a file may unpack to, as each is counted before a page is read.
pub(super) const MOST_STREAMS: u64 = 16 << 30;
/// The most bytes that the streams which may hold other objects or a page's drawing may come to, as they are kept.
pub(super) const MOST_TABLES: u64 = 512 << 20;
/// Bytes before a stream in which its dictionary is looked for.
const DICT: usize = 1024;

/// What is wrong with a stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flaw {
    /// It ends early or its sum does not fit.
    Damaged,
    /// It unpacks to more than is allowed.
    TooLong,
}

/// Looks at all packed streams of a file, wherever its tables say that they lie.
///
/// Damage is not asked about: a stream that no page uses may be as it likes.
pub(super) fn check_file(file: &[u8]) -> Result<(), Flaw> {
    const WORD: &[u8] = b"stream";
    let (mut at, mut all, mut tables) = (0, 0_u64, 0_u64);
    while let Some(found) = file.get(at..).and_then(|rest| rest.windows(WORD.len()).position(|w| w == WORD)) {
        let word = at + found;
        at = word + WORD.len();
        let data = match file.get(at..).unwrap_or_default() {
            [b'\r', b'\n', data @ ..] | [b'\r' | b'\n', data @ ..] => data,
            _ => continue,
        };
        if !is_zlib(data) {
            continue;
        }
        let (length, used) = match inflated(data, MOST_STREAM) {
            Inflated::Whole { length, used } | Inflated::Broken { length, used } => (length, used),
            Inflated::TooLong => return Err(Flaw::TooLong),
        };
        // What was unpacked is no place to look for a stream's beginning, and would be unpacked again.
        at += used;
        all += length;
        // The dictionary stands between the object's number and the word.
        let before = file.get(word.saturating_sub(DICT)..word).unwrap_or_default();
        let begins = before.windows(4).rposition(|w| w == b" obj").unwrap_or(0);
        let dict = before.get(begins..).unwrap_or_default();
        if begins == 0 || !is_let_go(dict) {
            tables += length;
        }
        if all > MOST_STREAMS || tables > MOST_TABLES {
            return Err(Flaw::TooLong);
        }
    }
    Ok(())
}

/// Whether a stream unpacks to no more than is allowed, through all its filters but a picture's own.
pub(super) fn check_length(stream: &Stream<'_>) -> Result<(), Flaw> {
    unpacked_length(stream).map(|_| ())
}

/// How many bytes a stream unpacks to, nearly.
pub(super) fn unpacked_length(stream: &Stream<'_>) -> Result<u64, Flaw> {
    let filters = stream.filters();
    let expands = |f: &Filter| matches!(f, Filter::FlateDecode | Filter::LzwDecode | Filter::RunLengthDecode);
    if !filters.iter().any(expands) {
        return Ok(stream.raw_data().len() as u64);
    }
    // Packed twice, a short stream can become endless; no program does that.
    if filters.iter().filter(|f| expands(f)).count() > 1 {
        return Err(Flaw::TooLong);
    }
    let raw = stream.raw_data();
    let mut text = None;
    // Letters within letters: each makes what follows shorter.
    for filter in filters.iter().take_while(|f| matches!(f, Filter::AsciiHexDecode | Filter::Ascii85Decode)) {
        text = Some(plain(*filter, text.as_deref().unwrap_or(&raw)).ok_or(Flaw::Damaged)?);
    }
    let packed = text.as_deref().unwrap_or(&raw);
    let length = match filters.iter().find(|f| expands(f)) {
        Some(Filter::FlateDecode) => match inflated(packed, MOST_STREAM) {
            Inflated::TooLong => return Err(Flaw::TooLong),
            Inflated::Whole { length, .. } | Inflated::Broken { length, .. } => length,
        },
        Some(Filter::LzwDecode) => lzw_length(packed),
        Some(Filter::RunLengthDecode) => run_length(packed),
        _ => 0,
    };
    if length > MOST_STREAM { Err(Flaw::TooLong) } else { Ok(length) }
}

/// Whether a dictionary, as far as it is seen, is of something that is unpacked when it is used and not kept:
/// a picture, a form, a font.
fn is_let_go(dict: &[u8]) -> bool {
    let has = |word: &[u8]| dict.windows(word.len()).any(|w| w == word);
    // Letters of a name can be written as numbers behind #.
    has(b"/Subtype") && !has(b"/ObjStm") && !has(b"/XRef") && !has(b"#")
}

/// Bytes that runs stand for (ISO 32000-1, 7.4.5).
fn run_length(mut data: &[u8]) -> u64 {
    let mut length = 0;
    while let [first, rest @ ..] = data {
        let (stands_for, takes) = match first {
            0..=127 => (u64::from(*first) + 1, usize::from(*first) + 1),
            128 => break,
            _ => (257 - u64::from(*first), 1),
        };
        length += stands_for;
        data = rest.get(takes..).unwrap_or_default();
    }
    length
}

/// Bytes that codes stand for (ISO 32000-1, 7.4.4), or a few more: each entry is one byte longer than the one
/// before it that was written.
fn lzw_length(data: &[u8]) -> u64 {
    const CLEAR: usize = 256;
    const END: usize = 257;
    let mut lengths: Vec<u64> = Vec::with_capacity(4096);
    let (mut bits, mut held, mut next, mut all, mut last) = (0_u32, 0_u32, data.iter(), 0_u64, 0_u64);
    let reset = |lengths: &mut Vec<u64>| {
        lengths.clear();
        lengths.resize(END + 1, 1);
    };
    reset(&mut lengths);
    loop {
        let width = match lengths.len() + 1 {
            0..512 => 9,
            512..1024 => 10,
            1024..2048 => 11,
            _ => 12,
        };
        while held < width {
            let Some(byte) = next.next() else { return all };
            bits = bits << 8 | u32::from(*byte);
            held += 8;
        }
        let code = (bits >> (held - width) & ((1 << width) - 1)) as usize;
        held -= width;
        match code {
            CLEAR => {
                reset(&mut lengths);
                last = 0;
            }
            END => return all,
            _ => {
                let length = lengths.get(code).copied().unwrap_or(last + 1);
                if last > 0 && lengths.len() < 4096 {
                    lengths.push(last + 1);
                }
                all += length;
                last = length;
            }
        }
    }
}

/// Whether a stream is whole, as far as its first filters tell: zlib has a sum, JPEG and JPEG 2000 an end.
pub(super) fn check_whole(stream: &Stream<'_>) -> Result<(), Flaw> {
    let mut data = stream.raw_data().into_owned();
    for filter in stream.filters() {
        match filter {
            Filter::AsciiHexDecode | Filter::Ascii85Decode => {
                data = plain(filter, &data).ok_or(Flaw::Damaged)?;
            }
            Filter::FlateDecode => match inflated(&data, MOST_STREAM) {
                Inflated::TooLong => return Err(Flaw::TooLong),
                Inflated::Broken { .. } => return Err(Flaw::Damaged),
                Inflated::Whole { .. } => {
                    if stream.filters().last() == Some(&Filter::FlateDecode) {
                        return Ok(());
                    }
                    let most = MOST_STREAM as usize;
                    let unpacked = miniz_oxide::inflate::decompress_to_vec_zlib_with_limit(&data, most);
                    data = unpacked.map_err(|_e| Flaw::Damaged)?;
                }
            },
            Filter::DctDecode => {
                return if super::from_jpeg::is_whole(&data) { Ok(()) } else { Err(Flaw::Damaged) };
            }
            // ISO/IEC 15444-1, A.4.4: a codestream ends with this marker.
            Filter::JpxDecode => {
                let tail = data.get(data.len().saturating_sub(64)..).unwrap_or_default();
                let ends = tail.windows(2).any(|w| w == [0xFF, 0xD9]);
                return if ends { Ok(()) } else { Err(Flaw::Damaged) };
            }
            // The others have no sum; what they come to is held against the picture's size.
            _ => return Ok(()),
        }
    }
    Ok(())
}

/// What text stands for, where the filter is one of the two that write bytes as letters.
fn plain(filter: Filter, text: &[u8]) -> Option<Vec<u8>> {
    match filter {
        Filter::AsciiHexDecode => {
            let digits = text.iter().take_while(|b| **b != b'>').filter(|b| !b.is_ascii_whitespace());
            let nibbles: Option<Vec<u8>> =
                digits.map(|b| char::from(*b).to_digit(16).and_then(|d| u8::try_from(d).ok())).collect();
            Some(nibbles?.chunks(2).map(|pair| 16 * pair[0] + pair.get(1).copied().unwrap_or(0)).collect())
        }
        Filter::Ascii85Decode => base_85(text),
        _ => None,
    }
}

/// ISO 32000-1, 7.4.3: five letters for four bytes.
fn base_85(text: &[u8]) -> Option<Vec<u8>> {
    let mut bytes = Vec::with_capacity(text.len() / 5 * 4);
    let mut group: Vec<u8> = Vec::with_capacity(5);
    let mut flush = |group: &mut Vec<u8>| {
        let given = group.len();
        if given == 0 {
            return Some(());
        }
        group.resize(5, 84);
        let value = group.iter().try_fold(0_u32, |v, d| v.checked_mul(85)?.checked_add(u32::from(*d)))?;
        bytes.extend(value.to_be_bytes().iter().take(given.saturating_sub(1)));
        group.clear();
        Some(())
    };
    for b in text.iter().take_while(|b| **b != b'~').filter(|b| !b.is_ascii_whitespace()) {
        match b {
            b'z' if group.is_empty() => {
                group.extend([0; 5]);
            }
            b'!'..=b'u' => group.push(b - b'!'),
            _ => return None,
        }
        if group.len() == 5 {
            flush(&mut group)?;
        }
    }
    flush(&mut group)?;
    Some(bytes)
}

/// Whether these bytes begin as RFC 1950 asks.
fn is_zlib(data: &[u8]) -> bool {
    matches!(data, [cmf, flg, ..] if cmf & 15 == 8 && u16::from_be_bytes([*cmf, *flg]).is_multiple_of(31))
}

/// What came of counting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Inflated {
    /// To its end, and the sum fits.
    Whole { length: u64, used: usize },
    /// As far as it goes.
    Broken { length: u64, used: usize },
    /// Past the limit.
    TooLong,
}

/// Unpacks into a window that is written over again and again.
fn inflated(data: &[u8], most: u64) -> Inflated {
    // A few programs leave the header and the sum out, and readers take that.
    let flags = if is_zlib(data) { TINFL_FLAG_PARSE_ZLIB_HEADER | TINFL_FLAG_COMPUTE_ADLER32 } else { 0 };
    debug_assert_eq!(flags & TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF, 0, "the window wraps");
    let mut window = vec![0; TINFL_LZ_DICT_SIZE];
    let mut state = DecompressorOxide::new();
    let (mut used, mut length, mut place) = (0, 0_u64, 0);
    loop {
        let rest = data.get(used..).unwrap_or_default();
        let (status, read, written) = decompress(&mut state, rest, &mut window, place, flags);
        used += read;
        length += written as u64;
        place = (place + written) % TINFL_LZ_DICT_SIZE;
        if length > most {
            return Inflated::TooLong;
        }
        match status {
            TINFLStatus::HasMoreOutput => {}
            TINFLStatus::Done => return Inflated::Whole { length, used },
            _ => return Inflated::Broken { length, used },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deflate::zlib;

    #[test]
    fn a_stream_is_counted_to_its_end_and_a_cut_or_changed_one_is_not_whole() {
        let data: Vec<u8> = (0..200_000_u64).map(|i| (i * i % 251) as u8).collect();
        let packed = zlib(&data);
        let whole = Inflated::Whole { length: 200_000, used: packed.len() };
        assert_eq!(inflated(&packed, MOST_STREAM), whole);
        assert_eq!(inflated(&[&packed[..], b"\nendstream"].concat(), MOST_STREAM), whole);
        for keep in [packed.len() - 1, packed.len() - 4, packed.len() / 2, 2] {
            assert!(matches!(inflated(&packed[..keep], MOST_STREAM), Inflated::Broken { .. }), "{keep}");
        }
        let mut changed = packed.clone();
        *changed.last_mut().unwrap() ^= 1;
        assert!(matches!(inflated(&changed, MOST_STREAM), Inflated::Broken { length: 200_000, .. }));
        assert_eq!(inflated(&packed, 199_999), Inflated::TooLong);
    }

    #[test]
    fn letters_stand_for_the_bytes_that_the_standard_says() {
        // The classic example of base 85, as many descriptions of it give it; from memory.
        assert_eq!(base_85(b"87cUR D]i,\"Ebo80~>").as_deref(), Some(&b"Hello World!"[..]));
        assert_eq!(base_85(b"z5sd~>").as_deref(), Some(&b"\0\0\0\0AB"[..]));
        assert_eq!(base_85(b"uuuuu~>"), None, "more than 32 bits");
        assert_eq!(plain(Filter::AsciiHexDecode, b"4a 4B7>").as_deref(), Some(&b"JKp"[..]));
    }

    #[test]
    fn runs_and_codes_are_counted() {
        assert_eq!(run_length(&[4, 10, 11, 12, 13, 14, 253, 3, 128, 9]), 9);
        assert_eq!(run_length(&[129, 0].repeat(1000)), 128_000);
        // The example of the standard, 7.4.4.2: 45 45 45 45 45 65 45 45 45 66.
        assert_eq!(lzw_length(&[0x80, 0x0B, 0x60, 0x50, 0x22, 0x0C, 0x0C, 0x85, 0x01]), 10);
    }

    #[test]
    fn streams_of_a_file_are_found_and_added_up() {
        let packed = zlib(&vec![0; 3 << 20]);
        let object = |kind: &str| {
            [b"\n7 0 obj ", kind.as_bytes(), b"/P << >> >>\nstream\r\n", &packed, b"\nendstream\n"].concat()
        };
        assert_eq!(check_file(&object("<< /Filter /FlateDecode ")), Ok(()));
        for kept in ["<< /Type /ObjStm ", "<< /Subtype /X /Type /Obj#53tm ", "<< /N 9 "] {
            assert_eq!(check_file(&object(kept).repeat(180)), Err(Flaw::TooLong), "540 MB of {kept}");
        }
        assert_eq!(check_file(&object("<< /Subtype /Image ").repeat(180)), Ok(()));
        let padded = object(&format!("<< /Subtype /Image {}", " ".repeat(2000)));
        assert_eq!(
            check_file(&padded.repeat(180)),
            Err(Flaw::TooLong),
            "a dictionary that is not seen whole"
        );
    }
}
