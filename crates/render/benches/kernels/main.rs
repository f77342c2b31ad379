//! Times the overprint kernel beside a plain table multiply of the same layers and a memory copy, then whole
//! views and drags, at one and two threads. Everything runs in one process in interleaved rounds, and the
//! lower quartile counts, because other work on the machine only ever adds. Prints figures, asserts nothing.
//! `cargo bench -p slipsheet-render --bench kernels`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

mod plain;
mod views;

use std::time::Instant;

use plain::PlainMultiply;
use rayon::prelude::*;
use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Film, Ground, Kernel, Overprint, TRAP};
use slipsheet_core::tone::ToneCurve;

const WIDTH: usize = 5100;
const HEIGHT: usize = 6600;
const ROUNDS: usize = 10;

/// L, a, b.
type Solid = (f64, f64, f64);

/// Inks whose overprints a screen can show, and inks it cannot, which costs an extra step.
const SETS: [(&str, [Solid; 6]); 2] = [
    (
        "muted",
        [
            (70.0, -30.0, -12.0),
            (65.0, 50.0, 40.0),
            (28.0, 10.0, -38.0),
            (88.0, -5.0, 80.0),
            (48.0, 70.0, 0.0),
            (60.0, -50.0, 30.0),
        ],
    ),
    (
        "vivid",
        [
            (55.0, -37.0, -50.0),
            (48.0, 74.0, -3.0),
            (89.0, -5.0, 93.0),
            (62.0, -70.0, 20.0),
            (60.0, 70.0, 60.0),
            (40.0, 20.0, -60.0),
        ],
    ),
];

fn main() {
    // `views` alone, for whoever works on those.
    if !std::env::args().any(|a| a == "views") {
        kernels_beside_plain();
    }
    views::run();
}

fn kernels_beside_plain() {
    let layers = art(6);
    let mut out = vec![[0_u8; 4]; WIDTH * HEIGHT];
    let pixels = (WIDTH * HEIGHT) as f64;
    println!(
        "letter at 600 dpi, random art, sRGB out; nanoseconds per pixel, lower quartile of {ROUNDS} rounds"
    );
    for threads in [1, 2] {
        for (set, inks) in [(0, 1), (0, 2), (0, 3), (0, 4), (0, 6), (1, 3), (1, 6)] {
            let (name, solids) = SETS[set];
            let solids: Vec<Lab> =
                solids[..inks].iter().map(|&(l, a, b)| Lab::new(l, a, b).unwrap()).collect();
            let (kernel, plain) = kernels(&solids);
            let portable = kernel.clone().portable();
            let layers = &layers[..inks];
            let out = &mut out;
            let [plain, full, portable, copy] = rounds(threads, |which| match which {
                0 => each_row(layers, out, |g, o| plain.row(g, o)),
                1 => each_row(layers, out, |g, o| kernel.row(g, o)),
                2 => each_row(layers, out, |g, o| portable.row(g, o)),
                _ => copy(WIDTH * HEIGHT * 4),
            })
            .map(|s| s * 1e9 / pixels);
            println!(
                "{threads} thread(s), {inks} {name} inks: full model {full:.2} ({:.2} x plain, {:.1} x copy), \
                 portable {portable:.2}, plain multiply {plain:.2}, copy {copy:.2}",
                full / plain,
                full / copy
            );
        }
    }
}

fn kernels(solids: &[Lab]) -> (Kernel, PlainMultiply) {
    let paper = Lab::new(92.0, -2.0, 5.0).unwrap();
    let curve = ToneCurve::default();
    let film = |&solid: &Lab| Film { solid, on: Lab::WHITE, on_floor: 0.075, opacity: 0.0, emission: 1.0 };
    let films: Vec<Film> = solids.iter().map(film).collect();
    let model = Overprint::new(&Ground { paper, floor: 0.075, trap: TRAP, n: 2.0 }, &films).unwrap();
    let tables = vec![curve.table(); solids.len()];
    (Kernel::new(&model, &tables), PlainMultiply::new(paper, solids, &curve))
}

/// Gray noise: no block is blank and no look-up predictable.
fn art(inks: usize) -> Vec<Vec<u8>> {
    let layer = |k: usize| {
        let mut state = 0x9e37_79b9_7f4a_7c15_u64.wrapping_mul(k as u64 + 1);
        let next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 56) as u8
        };
        std::iter::repeat_with(next).take(WIDTH * HEIGHT).collect()
    };
    (0..inks).map(layer).collect()
}

fn each_row(layers: &[Vec<u8>], out: &mut [[u8; 4]], row: impl Fn(&[&[u8]], &mut [[u8; 4]]) + Sync) {
    out.par_chunks_mut(WIDTH).enumerate().for_each(|(y, out)| {
        let grays: Vec<&[u8]> = layers.iter().map(|l| &l[y * WIDTH..(y + 1) * WIDTH]).collect();
        row(&grays, out);
    });
}

/// Copies so many bytes from one warm buffer to another.
fn copy(bytes: usize) {
    static BUFFERS: std::sync::Mutex<(Vec<u8>, Vec<u8>)> = std::sync::Mutex::new((Vec::new(), Vec::new()));
    let mut buffers = BUFFERS.lock().unwrap();
    let (from, to) = &mut *buffers;
    if from.len() < bytes {
        from.resize(bytes, 1);
        to.resize(bytes, 0);
    }
    to[..bytes]
        .par_chunks_mut(20_000)
        .zip(from.par_chunks(20_000))
        .for_each(|(t, f)| t.copy_from_slice(&f[..t.len()]));
}

/// Seconds that each of so many things takes on a pool of threads: the lower quartile of interleaved rounds.
fn rounds<const N: usize>(threads: usize, mut run: impl FnMut(usize) + Send) -> [f64; N] {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    let mut times = [const { Vec::new() }; N];
    pool.install(|| {
        for round in 0..=ROUNDS {
            for (which, times) in times.iter_mut().enumerate() {
                let start = Instant::now();
                run(which);
                // The first round warms caches and fresh pages.
                if round > 0 {
                    times.push(start.elapsed().as_secs_f64());
                }
            }
        }
    });
    times.map(|mut t| {
        t.sort_by(f64::total_cmp);
        t[t.len() / 4]
    })
}
