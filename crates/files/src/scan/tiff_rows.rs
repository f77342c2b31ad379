//! Decoded TIFF rows into gray: whole samples, packed bits and palette indexes, `YCbCr`.

use super::gray::{Channels, Depth, Layout, Mix};

/// What a decoded row holds.
#[derive(Debug, Clone)]
pub(super) enum Rows {
    /// Numbers as they are.
    Samples(Layout),
    /// Numbers of 1, 2, 4 or 8 bits, first in the highest bits, and the gray of each.
    Indexed { bits: u8, table: Box<[u8; 256]> },
    /// Luma and two colour differences, 8 bits each, as JPEG strips have.
    YCbCr,
}

impl Rows {
    /// Gray of fewer than 8 bits: 0 is black and the largest number is white.
    pub fn packed_gray(bits: u8) -> Self {
        let most = (1_u32 << bits) - 1;
        Self::Indexed {
            bits,
            table: Box::new(std::array::from_fn(|v| (255 * (v as u32).min(most) / most) as u8)),
        }
    }

    /// Bytes of one sample, where samples are whole bytes.
    pub fn sample_bytes(&self) -> usize {
        match self {
            Self::Samples(layout) if layout.depth != Depth::Eight => 2,
            Self::Samples(_) | Self::Indexed { .. } | Self::YCbCr => 1,
        }
    }

    /// Puts rows of `stride` bytes into rows of gray, from the column `left`.
    pub fn place(&self, mix: &Mix, samples: (&mut [u8], usize), out: (&mut [u8], usize), left: usize) {
        match self {
            Self::Samples(layout) => mix.rows(*layout, samples, out, left),
            Self::YCbCr => {
                samples.0.as_chunks_mut::<3>().0.iter_mut().for_each(|p| *p = rgb_from_ycbcr(*p));
                mix.rows(Layout::new(Channels::Rgb, Depth::Eight), samples, out, left);
            }
            Self::Indexed { bits, table } => {
                let ((samples, stride), (out, width)) = (samples, out);
                if stride == 0 || width == 0 {
                    return;
                }
                for (row, out) in samples.chunks(stride).zip(out.chunks_mut(width)) {
                    unpack(row, usize::from(*bits), table, out.get_mut(left..).unwrap_or_default());
                }
            }
        }
    }
}

fn unpack(row: &[u8], bits: usize, table: &[u8; 256], out: &mut [u8]) {
    let per_byte = 8 / bits;
    let mask = (1_usize << bits) - 1;
    for (byte, out) in row.iter().zip(out.chunks_mut(per_byte)) {
        for (i, o) in out.iter_mut().enumerate() {
            let v = usize::from(*byte) >> (8 - bits * (i + 1)) & mask;
            *o = table.get(v).copied().unwrap_or(0);
        }
    }
}

/// ITU-R BT.601, full range, as JFIF 1.02 states it; rounded.
fn rgb_from_ycbcr([y, cb, cr]: [u8; 3]) -> [u8; 3] {
    let (y, cb, cr) = (f32::from(y), f32::from(cb) - 128.0, f32::from(cr) - 128.0);
    // The cast holds the value to 0..=255.
    [y + 1.402 * cr, y - 0.344_136 * cb - 0.714_136 * cr, y + 1.772 * cb].map(|v| v.round() as u8)
}

/// Planes of whole samples, one after another, into pixels.
pub(super) fn interleaved(samples: &[u8], planes: usize, plane: usize, bytes: usize) -> Vec<u8> {
    let mut mixed = vec![0; plane * planes];
    for (p, from) in samples.chunks_exact(plane.max(1)).take(planes).enumerate() {
        for (to, from) in mixed.chunks_exact_mut(planes * bytes).zip(from.chunks_exact(bytes)) {
            if let Some(to) = to.get_mut(p * bytes..(p + 1) * bytes) {
                to.copy_from_slice(from);
            }
        }
    }
    mixed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packed_bits_are_read_from_the_highest_down() {
        let mix = &Mix::default();
        let mut out = [9; 10];
        Rows::packed_gray(1).place(mix, (&mut [0b1010_0000, 0b0100_0000], 2), (&mut out, 10), 0);
        assert_eq!(out, [255, 0, 255, 0, 0, 0, 0, 0, 0, 255]);
        let mut out = [9; 4];
        Rows::packed_gray(2).place(mix, (&mut [0b1110_0100], 1), (&mut out, 4), 0);
        assert_eq!(out, [255, 170, 85, 0]);
    }

    #[test]
    fn planes_become_pixels() {
        assert_eq!(interleaved(b"rsgtbu", 3, 2, 1), b"rgbstu");
        assert_eq!(interleaved(b"rRsSgGtT", 2, 4, 2), b"rRgGsStT");
    }

    #[test]
    fn luma_alone_is_gray() {
        for y in [0, 17, 255] {
            assert_eq!(rgb_from_ycbcr([y, 128, 128]), [y, y, y]);
        }
        assert_eq!(rgb_from_ycbcr([76, 85, 255]), [254, 0, 0]);
    }
}
