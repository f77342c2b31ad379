//! Look-ups without memory: where a processor can permute bytes across registers (AVX-512 VBMI), a table of
//! 256 floats is held as four planes of bytes, and 64 grays are looked up in each plane at once. The floats
//! are the table's own, bit for bit; it takes about half the time of gathering them.
#![cfg(target_arch = "x86_64")]

use std::arch::x86_64::{
    __m512i, _mm512_loadu_si512, _mm512_mask_blend_epi8, _mm512_movepi8_mask, _mm512_permutex2var_epi8,
    _mm512_permutexvar_epi32, _mm512_setr_epi32, _mm512_storeu_si512, _mm512_unpackhi_epi8,
    _mm512_unpackhi_epi16, _mm512_unpacklo_epi8, _mm512_unpacklo_epi16,
};

use super::{BLOCK, Lane};

/// A table of floats, byte by byte; only made where the processor has the instructions.
#[derive(Clone)]
pub(super) struct Planes(Box<[[u8; 256]; 4]>);

impl Planes {
    /// The planes of a table; `None` where the processor cannot use them.
    pub(super) fn new(table: &[f32; 256]) -> Option<Self> {
        let able = is_x86_feature_detected!("avx512f")
            && is_x86_feature_detected!("avx512bw")
            && is_x86_feature_detected!("avx512vbmi");
        let plane = |byte: usize| table.map(|v| v.to_le_bytes()[byte]);
        able.then(|| Self(Box::new(std::array::from_fn(plane))))
    }

    #[expect(unsafe_code, reason = "calls a function compiled for instructions that not every processor has")]
    pub(super) fn look_up(&self, gray: &[u8; BLOCK], out: &mut Lane) {
        // SAFETY: planes are only made where the processor has AVX-512 F, BW and VBMI.
        unsafe { look_up(&self.0, gray, out) }
    }
}

#[target_feature(enable = "avx512f,avx512bw,avx512vbmi")]
fn look_up(planes: &[[u8; 256]; 4], gray: &[u8; BLOCK], out: &mut Lane) {
    let planes: [[__m512i; 4]; 4] =
        [quarters(&planes[0]), quarters(&planes[1]), quarters(&planes[2]), quarters(&planes[3])];
    // Unpacking works within quarters of a register, so the grays are dealt out such that it ends in order.
    let deal = _mm512_setr_epi32(0, 4, 8, 12, 1, 5, 9, 13, 2, 6, 10, 14, 3, 7, 11, 15);
    let (grays, _) = gray.as_chunks::<64>();
    let (outs, _) = out.as_chunks_mut::<16>();
    let (outs, _) = outs.as_chunks_mut::<4>();
    for (gray, out) in grays.iter().zip(outs) {
        let at = _mm512_permutexvar_epi32(deal, load(gray));
        let upper_half = _mm512_movepi8_mask(at);
        let bytes = |[a, b, c, d]: [__m512i; 4]| {
            let low = _mm512_permutex2var_epi8(a, at, b);
            let high = _mm512_permutex2var_epi8(c, at, d);
            _mm512_mask_blend_epi8(upper_half, low, high)
        };
        let [b0, b1, b2, b3] = [bytes(planes[0]), bytes(planes[1]), bytes(planes[2]), bytes(planes[3])];
        let (low01, high01) = (_mm512_unpacklo_epi8(b0, b1), _mm512_unpackhi_epi8(b0, b1));
        let (low23, high23) = (_mm512_unpacklo_epi8(b2, b3), _mm512_unpackhi_epi8(b2, b3));
        store(&mut out[0], _mm512_unpacklo_epi16(low01, low23));
        store(&mut out[1], _mm512_unpackhi_epi16(low01, low23));
        store(&mut out[2], _mm512_unpacklo_epi16(high01, high23));
        store(&mut out[3], _mm512_unpackhi_epi16(high01, high23));
    }
}

#[target_feature(enable = "avx512f")]
fn quarters(plane: &[u8; 256]) -> [__m512i; 4] {
    let (quarters, _) = plane.as_chunks();
    [load(&quarters[0]), load(&quarters[1]), load(&quarters[2]), load(&quarters[3])]
}

#[inline]
#[target_feature(enable = "avx512f")]
#[expect(unsafe_code, reason = "reads through a pointer made from an array of the same size")]
fn load(bytes: &[u8; 64]) -> __m512i {
    // SAFETY: the array has the 64 bytes that are read; any alignment will do.
    unsafe { _mm512_loadu_si512(bytes.as_ptr().cast()) }
}

#[inline]
#[target_feature(enable = "avx512f")]
#[expect(unsafe_code, reason = "writes through a pointer made from an array of the same size")]
fn store(floats: &mut [f32; 16], bits: __m512i) {
    // SAFETY: the array has the 64 bytes that are written; any alignment will do.
    unsafe { _mm512_storeu_si512(floats.as_mut_ptr().cast(), bits) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn planes_give_the_floats_of_the_table() {
        let table = std::array::from_fn(|g| 1.0 / (g as f32 + 1.37));
        let Some(planes) = Planes::new(&table) else { return };
        let gray = std::array::from_fn(|i| (i * 89 % 256) as u8);
        let mut out = [0.0; BLOCK];
        planes.look_up(&gray, &mut out);
        for (o, g) in out.iter().zip(gray) {
            assert_eq!(o.to_bits(), table[usize::from(g)].to_bits());
        }
    }
}
