//! From linear sRGB to bytes. The transfer curve is a table over the leading bits of the float: 256 steps an
//! octave, so that dark tones, where the curve is steep, have the finest ones.
//!
//! A polynomial of degree 5 in the square root took 1.8, 0.9 and 0.9 ns a pixel (without AVX, with AVX2, with
//! AVX-512, one thread), because roots are the one slow thing that vectors do; the table takes 1.0, 0.9, 0.5.

use std::sync::LazyLock;

use super::{BLOCK, Lane};
use crate::colour::linear_from_srgb;
use slipsheet_base::wide::{Step, Width};

/// Bits of a float that a step of the table does not see.
const UNSEEN: u32 = 15;
/// Every float from 0 to just below 2, but for the unseen bits.
const STEPS: usize = 0x4000_0000 >> UNSEEN;

/// Bytes by step, for the middle of each step; within 0.2 of a level of the curve before rounding. Words
/// rather than bytes, because that is what vectors can gather.
static TABLE: LazyLock<Box<[u32; STEPS]>> = LazyLock::new(|| {
    let mut level = 0_u32;
    let mut next = linear_from_srgb(0.5 / 255.0);
    let mut table = Box::new([0; STEPS]);
    for (step, byte) in table.iter_mut().enumerate() {
        let middle = f32::from_bits((step as u32) << UNSEEN | 1 << (UNSEEN - 1));
        while level < 255 && f64::from(middle) >= next {
            level += 1;
            next = linear_from_srgb((f64::from(level) + 0.5) / 255.0);
        }
        *byte = level;
    }
    table
});

/// Encodes a block of linear sRGB (or its first pixels, where `out` is shorter), each channel in 0..=1.
pub(super) fn encode(width: Width, v: &[Lane; 3], out: &mut [[u8; 4]]) {
    let table = &**TABLE;
    let mut part = [[0; 4]; BLOCK];
    let (whole, pixels) = match out.first_chunk_mut() {
        Some(pixels) => (true, pixels),
        None => (false, &mut part),
    };
    let step = Encode { table, v, pixels };
    match width {
        // Sixteen look-ups at once are a gain, eight are not.
        #[cfg(target_arch = "x86_64")]
        Width::Avx512 => width.run(step),
        _ => step.run(),
    }
    if !whole {
        out.copy_from_slice(&part[..out.len()]);
    }
}

struct Encode<'a> {
    table: &'a [u32; STEPS],
    v: &'a [Lane; 3],
    pixels: &'a mut [[u8; 4]; BLOCK],
}

impl Step for Encode<'_> {
    #[inline(always)]
    fn run(self) {
        look_up(self.table, self.v, self.pixels);
    }
}

/// Apart from its step because only arguments are known not to overlap, without which nothing is gathered.
#[inline(always)]
fn look_up(table: &[u32; STEPS], [red, green, blue]: &[Lane; 3], pixels: &mut [[u8; 4]; BLOCK]) {
    for (((r, g), b), pixel) in red.iter().zip(green).zip(blue).zip(pixels) {
        let byte = |c: &f32| table[(c.to_bits() >> UNSEEN) as usize % STEPS];
        *pixel = (byte(r) | byte(g) << 8 | byte(b) << 16 | 0xff00_0000).to_le_bytes();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::srgb_from_linear;

    #[test]
    fn the_encoding_is_the_published_curve() {
        let encode = |c: f32| {
            let mut out = [[0; 4]];
            super::encode(Width::Portable, &[[c; BLOCK]; 3], &mut out);
            out[0]
        };
        for i in 0..=20_000 {
            let c = i as f32 / 20_000.0;
            let exact = srgb_from_linear(f64::from(c)) * 255.0;
            assert!((f64::from(encode(c)[1]) - exact).abs() < 0.7, "{c}");
        }
        assert_eq!(encode(1.0), [255; 4]);
        assert_eq!(encode(1.0005), [255; 4]);
        assert_eq!(encode(0.0), [0, 0, 0, 255]);
    }
}
