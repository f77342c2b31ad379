//! The eight ways a picture can lie in its file (EXIF and TIFF tag 274), and turning it upright.

use rayon::prelude::*;

/// Where the first row and column of the file belong, as EXIF numbers it: 1 is upright, 6 wants
/// a quarter turn clockwise, 3 a half turn, 8 a quarter turn back; 2, 4, 5, 7 are mirrored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Orientation(u8);

impl Orientation {
    /// As it lies.
    pub const UPRIGHT: Self = Self(1);

    /// From EXIF's number; what is not 1 to 8 is upright, as the standard asks.
    pub fn from_exif(number: u32) -> Self {
        u8::try_from(number).ok().filter(|n| (1..=8).contains(n)).map_or(Self::UPRIGHT, Self)
    }

    /// Whether width and height change places.
    pub fn swaps_sides(self) -> bool {
        self.0 >= 5
    }

    pub fn size(self, width: u32, height: u32) -> (u32, u32) {
        if self.swaps_sides() { (height, width) } else { (width, height) }
    }

    /// The pixels upright; `width` is that of the file.
    pub(super) fn upright(self, pixels: Vec<u8>, width: usize) -> Vec<u8> {
        if width == 0 || self == Self::UPRIGHT {
            return pixels;
        }
        if self.swaps_sides() { self.transposed(&pixels, width) } else { self.flipped(pixels, width) }
    }

    fn flipped(self, mut pixels: Vec<u8>, width: usize) -> Vec<u8> {
        if matches!(self.0, 3 | 4) {
            let rows = pixels.len() / width;
            let (top, bottom) = pixels.split_at_mut(rows / 2 * width);
            let swap = |(a, b): (&mut [u8], &mut [u8])| a.swap_with_slice(b);
            top.chunks_exact_mut(width).zip(bottom.chunks_exact_mut(width).rev()).for_each(swap);
        }
        if matches!(self.0, 2 | 3) {
            pixels.par_chunks_mut(width).for_each(<[u8]>::reverse);
        }
        pixels
    }

    /// Columns become rows. Bands of output rows are filled in blocks, so that a
    /// cache line of the source serves as many rows as it has bytes.
    fn transposed(self, pixels: &[u8], width: usize) -> Vec<u8> {
        const BLOCK: usize = 64;
        let height = pixels.len() / width;
        // Output row y shows source column y or its mirror; output column x, source row x or its mirror.
        let (mirror_columns, mirror_rows) = (matches!(self.0, 7 | 8), matches!(self.0, 6 | 7));
        let mut out = vec![0; pixels.len()];
        if height == 0 {
            return out;
        }
        out.par_chunks_mut(height * BLOCK).enumerate().for_each(|(band, rows)| {
            for x0 in (0..height).step_by(BLOCK) {
                for (y, row) in rows.chunks_exact_mut(height).enumerate() {
                    let y = band * BLOCK + y;
                    let column = if mirror_columns { width - 1 - y } else { y };
                    for (x, o) in row.iter_mut().enumerate().skip(x0).take(BLOCK) {
                        let source_row = if mirror_rows { height - 1 - x } else { x };
                        *o = pixels.get(source_row * width + column).copied().unwrap_or(255);
                    }
                }
            }
        });
        out
    }
}

impl Default for Orientation {
    fn default() -> Self {
        Self::UPRIGHT
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(exif: u32, expected: &[u8]) {
        // a b c
        // d e f
        let turned = Orientation::from_exif(exif).upright(b"abcdef".to_vec(), 3);
        assert_eq!(turned, expected, "orientation {exif}");
    }

    #[test]
    fn each_orientation_puts_the_first_row_and_column_where_exif_says() {
        check(1, b"abcdef");
        check(2, b"cbafed");
        check(3, b"fedcba");
        check(4, b"defabc");
        check(5, b"adbecf");
        check(6, b"daebfc");
        check(7, b"fcebda");
        check(8, b"cfbead");
        check(0, b"abcdef");
        check(77, b"abcdef");
    }

    #[test]
    fn four_quarter_turns_of_a_large_picture_come_back() {
        let (w, h) = (131, 200);
        let first: Vec<u8> = (0..w * h).map(|i| (i * 31 % 251) as u8).collect();
        let turn = Orientation::from_exif(6);
        let mut now = first.clone();
        let mut width = w;
        for _ in 0..4 {
            now = turn.upright(now, width);
            width = if width == w { h } else { w };
        }
        assert_eq!(now, first);
    }
}
