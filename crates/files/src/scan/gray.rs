//! Gray from colour, row by row.
//!
//! A duplicator judges a scan by its gray values, so gray images pass through
//! untouched, and colour becomes the gray that looks as light: channels are decoded
//! (IEC 61966-2-1), weighted with Rec. 709's 0.2126, 0.7152, 0.0722 into luminance,
//! and encoded again. Equal channels come back as exactly that gray.
//!
//! Transparency is laid over white, in encoded values, as drawing programs show it:
//! `out = gray * alpha + 255 * (1 - alpha)`.

use std::sync::{Arc, LazyLock};

use rayon::prelude::*;
use slipsheet_document::layer::GrayFrom;

use super::tint::Tints;

/// How the samples of a row lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Channels {
    Gray,
    GrayAlpha,
    Rgb,
    RgbAlpha,
}

/// Bytes of one sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Depth {
    Eight,
    SixteenBig,
    SixteenNative,
}

/// The layout of decoded rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Layout {
    pub channels: Channels,
    pub depth: Depth,
    /// Colour was already multiplied by alpha (TIFF's associated alpha).
    pub premultiplied: bool,
}

impl Layout {
    pub fn new(channels: Channels, depth: Depth) -> Self {
        Self { channels, depth, premultiplied: false }
    }

    pub fn bytes_per_pixel(self) -> u64 {
        let samples = match self.channels {
            Channels::Gray => 1,
            Channels::GrayAlpha => 2,
            Channels::Rgb => 3,
            Channels::RgbAlpha => 4,
        };
        if self.depth == Depth::Eight { samples } else { 2 * samples }
    }
}

/// 65535 times linear light for each 8-bit value.
static LINEAR: LazyLock<[f64; 256]> =
    LazyLock::new(|| std::array::from_fn(|v| 65535.0 * decoded(v as f64 / 255.0)));

/// The 8-bit value for each 16-bit luminance. The darkest step of 8-bit sRGB is
/// 20 of these apart, so the three roundings of the weighted channels cannot change a gray.
static ENCODED: LazyLock<Vec<u8>> = LazyLock::new(|| {
    (0..=65535_u32).map(|y| (255.0 * encoded(f64::from(y) / 65535.0)).round() as u8).collect()
});

static WEIGHTED: LazyLock<[[u32; 256]; 3]> = LazyLock::new(|| {
    [0.2126, 0.7152, 0.0722].map(|weight| LINEAR.map(|linear| (weight * linear).round() as u32))
});

/// IEC 61966-2-1: encoded 0..=1 to linear.
fn decoded(v: f64) -> f64 {
    if v <= 0.04045 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) }
}

/// IEC 61966-2-1: linear 0..=1 to encoded.
fn encoded(y: f64) -> f64 {
    if y <= 0.003_130_8 { y * 12.92 } else { 1.055 * libm::pow(y, 1.0 / 2.4) - 0.055 }
}

/// Rounds 0..=65535 to 0..=255, `v / 257` to the nearest.
pub(super) fn rounded(v: u16) -> u8 {
    ((u32::from(v) + 128) / 257) as u8
}

/// Turns rows of samples into rows of gray.
#[derive(Debug, Clone, Default)]
pub(super) struct Mix {
    pub from: GrayFrom,
    /// What colours have become which grays.
    pub tints: Arc<Tints>,
}

impl Mix {
    pub fn gray(&self, [r, g, b]: [u8; 3]) -> u8 {
        match self.from {
            GrayFrom::Luminance => luminance(&WEIGHTED, &ENCODED, [r, g, b]),
            GrayFrom::Red => r,
            GrayFrom::Green => g,
            GrayFrom::Blue => b,
        }
    }

    /// One row; the samples may be overwritten on the way.
    pub fn row(&self, layout: Layout, samples: &mut [u8], out: &mut [u8]) {
        let samples = match layout.depth {
            Depth::Eight => samples,
            Depth::SixteenBig => narrowed(samples, u16::from_be_bytes),
            Depth::SixteenNative => narrowed(samples, u16::from_ne_bytes),
        };
        match layout.channels {
            Channels::Gray => {
                for (o, s) in out.iter_mut().zip(samples.iter()) {
                    *o = *s;
                }
            }
            Channels::GrayAlpha => {
                for (o, [g, a]) in out.iter_mut().zip(samples.as_chunks::<2>().0) {
                    *o = over_white(*g, *a, layout.premultiplied);
                }
            }
            Channels::Rgb => {
                self.rgb_row(samples, out);
                self.tints.note(samples.as_chunks::<3>().0, out);
            }
            Channels::RgbAlpha => {
                for (o, [r, g, b, a]) in out.iter_mut().zip(samples.as_chunks::<4>().0) {
                    let flat = [*r, *g, *b].map(|c| over_white(c, *a, layout.premultiplied));
                    *o = self.gray(flat);
                }
            }
        }
    }

    fn rgb_row(&self, samples: &[u8], out: &mut [u8]) {
        let pixels = samples.as_chunks::<3>().0;
        let channel = match self.from {
            GrayFrom::Luminance => {
                // Taken out of the cells once a row, not once a pixel.
                let (weighted, encoded): (&[[u32; 256]; 3], &[u8]) = (&WEIGHTED, &ENCODED);
                for (o, p) in out.iter_mut().zip(pixels) {
                    *o = luminance(weighted, encoded, *p);
                }
                return;
            }
            GrayFrom::Red => |[r, _, _]: [u8; 3]| r,
            GrayFrom::Green => |[_, g, _]: [u8; 3]| g,
            GrayFrom::Blue => |[_, _, b]: [u8; 3]| b,
        };
        for (o, p) in out.iter_mut().zip(pixels) {
            *o = channel(*p);
        }
    }

    /// Rows of `stride` bytes into the columns from `left` of rows of `width` gray bytes.
    pub fn rows(&self, layout: Layout, samples: (&mut [u8], usize), out: (&mut [u8], usize), left: usize) {
        let ((samples, stride), (out, width)) = (samples, out);
        if stride == 0 || width == 0 {
            return;
        }
        let small = samples.len() < 1 << 16;
        let one = |(samples, out): (&mut [u8], &mut [u8])| {
            if let Some(out) = out.get_mut(left..) {
                self.row(layout, samples, out);
            }
        };
        if small {
            samples.chunks_mut(stride).zip(out.chunks_mut(width)).for_each(one);
        } else {
            samples.par_chunks_mut(stride).zip(out.par_chunks_mut(width)).for_each(one);
        }
    }
}

fn luminance([wr, wg, wb]: &[[u32; 256]; 3], encoded: &[u8], [r, g, b]: [u8; 3]) -> u8 {
    let at = |table: &[u32; 256], v: u8| table.get(usize::from(v)).copied().unwrap_or(0);
    let y = at(wr, r) + at(wg, g) + at(wb, b);
    // The three roundings may come to 65536 for white.
    encoded.get(y as usize).copied().unwrap_or(255)
}

fn over_white(value: u8, alpha: u8, premultiplied: bool) -> u8 {
    let (v, a) = (u32::from(value), u32::from(alpha));
    let inked = if premultiplied { v * 255 } else { v * a };
    ((inked + 255 * (255 - a) + 127) / 255).min(255) as u8
}

/// Rounds 16-bit samples to 8 bits in the front half of their own row.
fn narrowed(samples: &mut [u8], value: fn([u8; 2]) -> u16) -> &mut [u8] {
    let len = samples.len() / 2;
    for i in 0..len {
        if let Some(&[a, b]) = samples.get(2 * i..2 * i + 2)
            && let Some(front) = samples.get_mut(i)
        {
            *front = rounded(value([a, b]));
        }
    }
    samples.get_mut(..len).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mix(from: GrayFrom) -> Mix {
        Mix { from, ..Mix::default() }
    }

    #[test]
    fn every_gray_stays_exactly_that_gray() {
        for v in 0..=255_u8 {
            for from in [GrayFrom::Luminance, GrayFrom::Red, GrayFrom::Green, GrayFrom::Blue] {
                assert_eq!(mix(from).gray([v, v, v]), v);
            }
        }
    }

    #[test]
    fn the_tables_agree_with_the_formula() {
        let mut worst = 0.0_f64;
        for r in (0..=255_u8).step_by(15) {
            for g in (0..=255_u8).step_by(15) {
                for b in (0..=255_u8).step_by(15) {
                    let [lr, lg, lb] = [r, g, b].map(|v| decoded(f64::from(v) / 255.0));
                    let slow = 255.0 * encoded(0.2126 * lr + 0.7152 * lg + 0.0722 * lb);
                    worst = worst.max((slow - f64::from(mix(GrayFrom::Luminance).gray([r, g, b]))).abs());
                }
            }
        }
        assert!(worst < 0.6, "{worst}");
    }

    #[test]
    fn a_channel_is_taken_as_it_is() {
        let mut row = [10, 20, 30, 40, 50, 60];
        let mut out = [0; 2];
        for (from, expected) in
            [(GrayFrom::Red, [10, 40]), (GrayFrom::Green, [20, 50]), (GrayFrom::Blue, [30, 60])]
        {
            mix(from).row(Layout::new(Channels::Rgb, Depth::Eight), &mut row, &mut out);
            assert_eq!(out, expected);
        }
    }

    #[test]
    fn sixteen_bits_round_to_the_nearest_eight() {
        for v in 0..=65535_u16 {
            assert_eq!(rounded(v), (f64::from(v) / 257.0).round() as u8);
        }
        let mut row = [0x12, 0x34, 0xff, 0xff, 0x00, 0x81];
        let mut out = [0; 3];
        mix(GrayFrom::Luminance).row(Layout::new(Channels::Gray, Depth::SixteenBig), &mut row, &mut out);
        assert_eq!(out, [0x12, 255, 1]);
    }

    #[test]
    fn transparency_is_laid_over_white() {
        let straight = |v, a| over_white(v, a, false);
        assert_eq!((straight(0, 0), straight(0, 255), straight(9, 255)), (255, 0, 9));
        assert_eq!(straight(100, 128), 177);
        assert_eq!(over_white(50, 128, true), 177);
        assert_eq!(over_white(255, 10, true), 255);
    }
}
