//! Times the overprint kernel beside a plain table multiply of the same layers and a memory copy, in one
//! process, in interleaved rounds, at one and two threads. Prints nanoseconds per pixel and ratios; it
//! asserts nothing. `cargo bench -p slipsheet-core`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

use std::time::Instant;

use rayon::prelude::*;
use slipsheet_core::colour::{Lab, SRGB_FROM_LIGHT};
use slipsheet_core::overprint::{Film, Ground, Kernel, Overprint, TRAP};
use slipsheet_core::tone::ToneCurve;

const WIDTH: usize = 5100;
const HEIGHT: usize = 6600;
const ROUNDS: usize = 7;

/// What everyone would write first: per ink a table of transmittance by gray, multiplied in linear light on
/// four-channel floats, then the same matrix-free sRGB encoding as polynomial code.
struct PlainMultiply {
    paper: [f32; 4],
    tables: Vec<Vec<[f32; 4]>>,
}

impl PlainMultiply {
    fn new(paper: Lab, solids: &[Lab], curve: &ToneCurve) -> Self {
        let linear = |c: Lab| {
            let l = c.light();
            let v: Vec<f64> = SRGB_FROM_LIGHT
                .iter()
                .map(|r| (r[0] * l[0] + r[1] * l[1] + r[2] * l[2]).clamp(0.0, 1.0))
                .collect();
            [v[0] as f32, v[1] as f32, v[2] as f32, 1.0]
        };
        let table = |solid: &Lab| {
            let t = linear(*solid);
            curve.table().iter().map(|a| t.map(|t| 1.0 - a + a * t)).collect()
        };
        Self { paper: linear(paper), tables: solids.iter().map(table).collect() }
    }

    fn row(&self, grays: &[&[u8]], out: &mut [[u8; 4]]) {
        for (i, o) in out.iter_mut().enumerate() {
            let mut v = self.paper;
            for (gray, table) in grays.iter().zip(&self.tables) {
                let t = &table[usize::from(gray[i])];
                for c in 0..4 {
                    v[c] *= t[c];
                }
            }
            *o = v.map(encode);
        }
    }
}

fn encode(c: f32) -> u8 {
    let s = c.sqrt();
    let q = s.sqrt();
    let curve = -16.475_94 + 50.014_637 * q + s * (286.283_83 + -85.552_9 * q + 20.739_142 * s);
    let v = if c <= 0.003_130_8 { c * 3294.6 } else { curve };
    (v + 8_388_608.0).to_bits() as u8
}

fn art(inks: usize) -> Vec<Vec<u8>> {
    (0..inks)
        .map(|k| {
            let mut state = 0x9e37_79b9_7f4a_7c15_u64.wrapping_mul(k as u64 + 1);
            (0..WIDTH * HEIGHT)
                .map(|_| {
                    state =
                        state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    (state >> 56) as u8
                })
                .collect()
        })
        .collect()
}

fn each_row(layers: &[Vec<u8>], out: &mut [[u8; 4]], row: impl Fn(&[&[u8]], &mut [[u8; 4]]) + Sync) -> f64 {
    let start = Instant::now();
    out.par_chunks_mut(WIDTH).enumerate().for_each(|(y, out)| {
        let grays: Vec<&[u8]> = layers.iter().map(|l| &l[y * WIDTH..(y + 1) * WIDTH]).collect();
        row(&grays, out);
    });
    start.elapsed().as_secs_f64()
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    v[v.len() / 2]
}

fn main() {
    let paper = Lab::new(92.0, -2.0, 5.0).unwrap();
    let solids: Vec<Lab> = [
        (70.0, -30.0, -12.0),
        (65.0, 50.0, 40.0),
        (28.0, 10.0, -38.0),
        (88.0, -5.0, 80.0),
        (48.0, 70.0, 0.0),
        (60.0, -50.0, 30.0),
    ]
    .into_iter()
    .map(|(l, a, b)| Lab::new(l, a, b).unwrap())
    .collect();
    let layers = art(6);
    let copy_from = vec![1_u8; WIDTH * HEIGHT * 4];
    let mut copy_to = vec![0_u8; WIDTH * HEIGHT * 4];
    let mut out = vec![[0_u8; 4]; WIDTH * HEIGHT];
    let pixels = (WIDTH * HEIGHT) as f64;
    println!("letter at 600 dpi, random art, sRGB out; nanoseconds per pixel, median of {ROUNDS} rounds");
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        for inks in [1, 2, 3, 4, 6] {
            let curve = ToneCurve::default();
            let films: Vec<Film> = solids[..inks]
                .iter()
                .map(|&solid| Film { solid, on: Lab::WHITE, on_floor: 0.075, opacity: 0.0, emission: 1.0 })
                .collect();
            let model = Overprint::new(&Ground { paper, floor: 0.075, trap: TRAP, n: 2.0 }, &films).unwrap();
            let tables = vec![curve.table(); inks];
            let kernel = Kernel::new(&model, &tables);
            let portable = kernel.clone().portable();
            let plain = PlainMultiply::new(paper, &solids[..inks], &curve);
            let (mut full_t, mut portable_t, mut plain_t, mut copy_t) = (vec![], vec![], vec![], vec![]);
            for _ in 0..ROUNDS {
                pool.install(|| {
                    plain_t.push(each_row(&layers[..inks], &mut out, |g, o| plain.row(g, o)));
                    full_t.push(each_row(&layers[..inks], &mut out, |g, o| kernel.row(g, o)));
                    portable_t.push(each_row(&layers[..inks], &mut out, |g, o| portable.row(g, o)));
                    let start = Instant::now();
                    copy_to.par_chunks_mut(WIDTH * 4).zip(copy_from.par_chunks(WIDTH * 4)).for_each(
                        |(t, f)| {
                            t.copy_from_slice(f);
                        },
                    );
                    copy_t.push(start.elapsed().as_secs_f64());
                });
            }
            let ns = |v: Vec<f64>| median(v) * 1e9 / pixels;
            let (full, portable, plain, copy) = (ns(full_t), ns(portable_t), ns(plain_t), ns(copy_t));
            println!(
                "{threads} thread(s), {inks} inks: full model {full:.2} ({:.2} x plain, {:.1} x copy), without AVX2 {portable:.2}, plain multiply {plain:.2}, copy {copy:.2}",
                full / plain,
                full / copy
            );
        }
    }
}
