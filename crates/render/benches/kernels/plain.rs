//! What the kernel is measured against: the plain multiply that everyone would write, written well.

use slipsheet_core::colour::{Lab, SRGB_FROM_LIGHT, linear_from_srgb};
use slipsheet_core::tone::ToneCurve;

const BLOCK: usize = 256;

/// Per ink a table of transmittance by gray, four floats each, multiplied in linear sRGB; then the sRGB curve
/// from a table over the leading bits of the float. One loop multiplies and one looks up, because that is what
/// the compiler turns into vector code; no wider instructions than the target has.
pub struct PlainMultiply {
    paper: [f32; 4],
    tables: Vec<[[f32; 4]; 256]>,
    encode: Box<[u8; 32768]>,
}

impl PlainMultiply {
    pub fn new(paper: Lab, solids: &[Lab], curve: &ToneCurve) -> Self {
        let linear = |c: Lab| {
            let l = c.light();
            let channel =
                |c: usize| SRGB_FROM_LIGHT[c].iter().zip(l).map(|(m, v)| m * v).sum::<f64>().clamp(0.0, 1.0);
            [channel(0) as f32, channel(1) as f32, channel(2) as f32, 1.0]
        };
        let table = |solid: &Lab| {
            let t = linear(*solid);
            curve.table().map(|a| t.map(|t| 1.0 - a + a * t))
        };
        let thresholds: Vec<f32> =
            (1..256).map(|level| linear_from_srgb((f64::from(level) - 0.5) / 255.0) as f32).collect();
        let mut encode = Box::new([0; 32768]);
        for (i, byte) in encode.iter_mut().enumerate() {
            let middle = f32::from_bits((i as u32) << 15 | 1 << 14);
            *byte = thresholds.partition_point(|t| *t <= middle) as u8;
        }
        Self { paper: linear(paper), tables: solids.iter().map(table).collect(), encode }
    }

    pub fn row(&self, grays: &[&[u8]], out: &mut [[u8; 4]]) {
        match self.tables.len() {
            1 => self.row_of::<1>(grays, out),
            2 => self.row_of::<2>(grays, out),
            3 => self.row_of::<3>(grays, out),
            4 => self.row_of::<4>(grays, out),
            _ => self.row_of::<6>(grays, out),
        }
    }

    fn row_of<const K: usize>(&self, grays: &[&[u8]], out: &mut [[u8; 4]]) {
        let tables: &[[[f32; 4]; 256]; K] = self.tables[..].try_into().unwrap();
        let mut steps = [[0_u32; 4]; BLOCK];
        for (block, out) in out.chunks_mut(BLOCK).enumerate() {
            let at = block * BLOCK;
            let mut padded = [[255_u8; BLOCK]; K];
            // Whole blocks are read where they lie, which spares a bound check a pixel and ink.
            let gray: [&[u8; BLOCK]; K] = if out.len() == BLOCK {
                std::array::from_fn(|k| grays[k][at..at + BLOCK].try_into().unwrap())
            } else {
                for (p, g) in padded.iter_mut().zip(grays) {
                    p[..out.len()].copy_from_slice(&g[at..at + out.len()]);
                }
                padded.each_ref()
            };
            for (i, step) in steps.iter_mut().enumerate() {
                let mut v = self.paper;
                for k in 0..K {
                    let t = &tables[k][usize::from(gray[k][i])];
                    for c in 0..4 {
                        v[c] *= t[c];
                    }
                }
                *step = v.map(|v| v.to_bits() >> 15);
            }
            for (o, step) in out.iter_mut().zip(&steps) {
                let byte = |c: usize| u32::from(self.encode[step[c] as usize % 32768]);
                *o = (byte(0) | byte(1) << 8 | byte(2) << 16 | 0xff00_0000).to_le_bytes();
            }
        }
    }
}
