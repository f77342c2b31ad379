//! What a camera or scanner wrote beside the picture: how it lies, and its resolution.

use exif::{Exif, In, Reader, Tag, Value};

use super::Orientation;
use super::resolution::Resolution;

/// The two facts taken from an EXIF block.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct ExifFacts {
    pub orientation: Orientation,
    pub resolution: Option<Resolution>,
}

/// Reads a block with or without its `Exif\0\0` prefix; a broken one says nothing.
pub(super) fn facts(block: &[u8]) -> ExifFacts {
    let tiff = block.strip_prefix(b"Exif\0\0").unwrap_or(block);
    let mut reader = Reader::new();
    let read = reader.continue_on_error(true).read_raw(tiff.to_vec());
    // A block with some broken entries still has its others.
    let exif = match read {
        Ok(exif) => exif,
        Err(e) => match e.distill_partial_result(|_| ()) {
            Ok(exif) => exif,
            Err(_) => return ExifFacts::default(),
        },
    };
    let orientation = number(&exif, Tag::Orientation).map_or(Orientation::UPRIGHT, |n| {
        // Saturating: what is out of range counts as upright anyway.
        Orientation::from_exif(n as u32)
    });
    let unit = number(&exif, Tag::ResolutionUnit).map_or(2, |n| n as u32);
    let pair = number(&exif, Tag::XResolution).zip(number(&exif, Tag::YResolution));
    ExifFacts { orientation, resolution: pair.and_then(|(x, y)| Resolution::from_tiff(x, y, unit)) }
}

fn number(exif: &Exif, tag: Tag) -> Option<f64> {
    let field = exif.get_field(tag, In::PRIMARY)?;
    match &field.value {
        Value::Rational(v) => v.first().map(exif::Rational::to_f64),
        other => other.get_uint(0).map(f64::from),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scan::testing::exif_block;

    #[test]
    fn orientation_and_resolution_are_read() {
        let mut block = exif_block(6, 300);
        let expected = ExifFacts {
            orientation: Orientation::from_exif(6),
            resolution: Resolution::from_tiff(300.0, 300.0, 2),
        };
        assert_eq!(facts(&block), expected);
        block.splice(0..0, *b"Exif\0\0");
        assert_eq!(facts(&block), expected);
    }

    #[test]
    fn a_broken_block_says_nothing() {
        let block = exif_block(6, 300);
        assert_eq!(facts(&[]), ExifFacts::default());
        assert_eq!(facts(b"MM\0\x2a\0\0"), ExifFacts::default());
        assert_eq!(facts(&block[..9]), ExifFacts::default());
    }
}
