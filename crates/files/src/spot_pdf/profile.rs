//! A small ICC profile of the printing condition, for the output intent: what grays become in the darkest ink of
//! the job on its stock (ICC.1:2010, 8.5 and 10; version 2.4, so that older programs read it).
//!
//! A monochrome output profile has a curve from the gray, 0 for full ink, to lightness relative to the paper, and
//! the paper's own colour. The separations do not depend on it.

use slipsheet_core::colour::Xyz;

/// D50 as profiles write it (ICC.1, 7.2.16).
const D50: [u32; 3] = [0xF6D6, 0x0001_0000, 0xD32D];
const HEADER: usize = 128;

/// The profile of a paper, and of what of its light comes back at even steps of gray from full ink on, 0..=1.
pub(super) fn gray(description: &str, paper: Xyz, curve: &[f64]) -> Vec<u8> {
    let tags: [(&[u8; 4], Vec<u8>); 4] = [
        (b"desc", text_description(description)),
        (b"cprt", text("No copyright; use it freely")),
        (b"wtpt", xyz([paper.x, paper.y, paper.z].map(fixed))),
        (b"kTRC", curve_of(curve)),
    ];
    let mut table = (tags.len() as u32).to_be_bytes().to_vec();
    let mut data = Vec::new();
    let start = HEADER + 4 + 12 * tags.len();
    for (name, bytes) in &tags {
        table.extend(*name);
        table.extend(((start + data.len()) as u32).to_be_bytes());
        table.extend((bytes.len() as u32).to_be_bytes());
        data.extend(bytes);
        data.resize(data.len().next_multiple_of(4), 0);
    }
    let mut profile = header((start + data.len()) as u32);
    profile.extend(table);
    profile.extend(data);
    profile
}

/// ICC.1, 7.2; nothing in it knows the date.
fn header(size: u32) -> Vec<u8> {
    let mut h = size.to_be_bytes().to_vec();
    h.extend([0; 4]);
    h.extend(0x0240_0000_u32.to_be_bytes());
    h.extend(b"prtrGRAYXYZ ");
    // The first of January 2000.
    for part in [2000_u16, 1, 1, 0, 0, 0] {
        h.extend(part.to_be_bytes());
    }
    h.extend(b"acsp");
    h.extend([0; 4 + 4 + 4 + 4 + 8]);
    // Media-relative colorimetric.
    h.extend(1_u32.to_be_bytes());
    h.extend(D50.iter().flat_map(|v| v.to_be_bytes()));
    h.resize(HEADER, 0);
    h
}

/// A number as s15Fixed16Number.
fn fixed(v: f64) -> u32 {
    (v.clamp(0.0, 2.0) * 65536.0).round() as u32
}

fn xyz(values: [u32; 3]) -> Vec<u8> {
    b"XYZ \0\0\0\0".iter().copied().chain(values.into_iter().flat_map(u32::to_be_bytes)).collect()
}

fn curve_of(curve: &[f64]) -> Vec<u8> {
    let mut out = b"curv\0\0\0\0".to_vec();
    out.extend((curve.len() as u32).to_be_bytes());
    out.extend(curve.iter().flat_map(|v| ((v.clamp(0.0, 1.0) * 65535.0).round() as u16).to_be_bytes()));
    out
}

fn ascii(words: &str) -> Vec<u8> {
    words.chars().map(|c| if c.is_ascii_graphic() || c == ' ' { c as u8 } else { b'?' }).chain([0]).collect()
}

fn text(words: &str) -> Vec<u8> {
    b"text\0\0\0\0".iter().copied().chain(ascii(words)).collect()
}

/// ICC.1:2001, 6.5.17: the words in ASCII, and nothing in the two other scripts.
fn text_description(words: &str) -> Vec<u8> {
    let words = ascii(words);
    let mut out = b"desc\0\0\0\0".to_vec();
    out.extend((words.len() as u32).to_be_bytes());
    out.extend(words);
    out.extend([0; 4 + 4 + 2 + 1 + 67]);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_reader_of_profiles_finds_paper_and_curve() {
        let paper = Xyz { x: 0.80, y: 0.84, z: 0.66 };
        let bytes = gray("Dark ink on gray paper – a test", paper, &[0.1, 0.2, 0.5, 1.0]);
        let size = u32::from_be_bytes(bytes[..4].try_into().unwrap());
        assert_eq!((size as usize, bytes.len() % 4), (bytes.len(), 0));
        // The crate moxcms is the outside check.
        let read = moxcms::ColorProfile::new_from_slice(&bytes).unwrap();
        assert_eq!(read.color_space, moxcms::DataColorSpace::Gray);
        assert_eq!(read.profile_class, moxcms::ProfileClass::OutputDevice);
        assert!((read.media_white_point.unwrap().y - 0.84).abs() < 1e-4);
        let Some(moxcms::ToneReprCurve::Lut(curve)) = read.gray_trc else { panic!("no curve") };
        assert_eq!(curve, [6554, 13107, 32768, 65535]);
    }
}
