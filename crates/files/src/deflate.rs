//! Zlib streams (RFC 1950, RFC 1951) compressed by all processors: pieces are compressed by themselves, each
//! ends on a whole byte, and laid end to end they are one stream.
//!
//! The same bytes in give the same bytes out on every machine, which a compressor that picks its hash by
//! the processor does not promise.

use adler2::adler32_slice;
use miniz_oxide::DataFormat;
use miniz_oxide::deflate::CompressionLevel;
use miniz_oxide::deflate::core::{CompressorOxide, TDEFLFlush, compress_to_output};
use rayon::prelude::*;

/// Bytes that are compressed together.
const PIECE: usize = 1 << 20;
/// The largest prime below 65536 (RFC 1950, 8.2).
const BASE: u32 = 65_521;

/// A zlib stream that grows.
pub(crate) struct Zlib {
    bytes: Vec<u8>,
    sum: u32,
}

impl Zlib {
    /// An empty stream.
    pub fn new() -> Self {
        // A window of 32 KB, the fastest level.
        Self { bytes: vec![0x78, 0x01], sum: 1 }
    }

    /// Adds bytes.
    pub fn extend(&mut self, data: &[u8]) {
        let pieces: Vec<(Vec<u8>, u32, usize)> = data
            .par_chunks(PIECE)
            .map(|piece| (squeezed(piece), adler32_slice(piece), piece.len()))
            .collect();
        for (bytes, sum, length) in pieces {
            self.bytes.extend_from_slice(&bytes);
            self.sum = joined(self.sum, sum, length);
        }
    }

    pub fn finish(mut self) -> Vec<u8> {
        // An empty last block with fixed codes.
        self.bytes.extend_from_slice(&[0x03, 0x00]);
        self.bytes.extend_from_slice(&self.sum.to_be_bytes());
        self.bytes
    }
}

/// These bytes as one stream.
pub(crate) fn zlib(data: &[u8]) -> Vec<u8> {
    let mut stream = Zlib::new();
    stream.extend(data);
    stream.finish()
}

fn squeezed(piece: &[u8]) -> Vec<u8> {
    let mut compressor = CompressorOxide::default();
    compressor.set_format_and_level(DataFormat::Raw, CompressionLevel::BestSpeed as u8);
    let mut out = Vec::with_capacity(piece.len() / 4);
    compress_to_output(&mut compressor, piece, TDEFLFlush::Full, |bytes| {
        out.extend_from_slice(bytes);
        true
    });
    out
}

/// The sum of two runs of bytes from their sums and the length of the second.
fn joined(first: u32, second: u32, length: usize) -> u32 {
    let base = u64::from(BASE);
    let half = |sum: u32| (u64::from(sum & 0xffff), u64::from(sum >> 16));
    let ((a1, b1), (a2, b2)) = (half(first), half(second));
    let length = length as u64 % base;
    let a = (a1 + a2 + base - 1) % base;
    let b = (b1 + b2 + length * (a1 + base - 1)) % base;
    (b << 16 | a) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_end_to_end_are_one_stream() {
        let data: Vec<u8> = (0..3 * PIECE + 12_345).map(|i| ((i / 7) ^ (i * i / 999)) as u8).collect();
        let mut stream = Zlib::new();
        for part in data.chunks(1_500_001) {
            stream.extend(part);
        }
        let packed = stream.finish();
        assert!(packed.len() < data.len());
        // The decoder checks the sum too.
        assert!(miniz_oxide::inflate::decompress_to_vec_zlib(&packed).unwrap() == data);
        assert_eq!(miniz_oxide::inflate::decompress_to_vec_zlib(&zlib(&[])).unwrap(), Vec::<u8>::new());
    }

    #[test]
    fn the_sum_is_that_of_a_known_word() {
        // Worked by hand from the definition (RFC 1950, section 9): for "abc" the sums are 1 + 97 + 98 + 99 = 295
        // and 98 + 196 + 295 = 589.
        assert_eq!(adler32_slice(b"abc"), (589 << 16) | 295);
        assert_eq!(joined(adler32_slice(b"a"), adler32_slice(b"bc"), 2), adler32_slice(b"abc"));
    }
}
