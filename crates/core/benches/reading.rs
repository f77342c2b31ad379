//! Times reading and screening a letter layer at 600 dpi beside a memory copy, in one process, in
//! interleaved rounds. Prints nanoseconds per pixel and ratios; it asserts nothing.
//! `cargo bench -p slipsheet-core --bench reading`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

use std::hint::black_box;
use std::time::Instant;

use rayon::prelude::*;
use slipsheet_core::gray_check::GrayCheck;
use slipsheet_core::moire::textures;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::{Mode, Reading, Ruling, Scatter, Swing};
use slipsheet_core::screen::Screen;
use slipsheet_core::tone::ToneCurve;
use slipsheet_core::units::{Degrees, Dpi};

const WIDTH: u32 = 5100;
const HEIGHT: u32 = 6600;
const ROUNDS: usize = 7;

/// A wash with grain, and type-like blocks.
fn art() -> GrayRaster {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let pixels = (0..WIDTH * HEIGHT)
        .map(|i| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let (x, y) = (i % WIDTH, i / WIDTH);
            let block = (x / 11) % 7 == 0 && (y / 60) % 3 == 0;
            if block { 20 } else { (x * 180 / WIDTH + (state >> 59) as u32 + y / 200) as u8 }
        })
        .collect();
    GrayRaster::new(WIDTH, HEIGHT, pixels).unwrap()
}

fn seconds(work: impl FnOnce()) -> f64 {
    let start = Instant::now();
    work();
    start.elapsed().as_secs_f64()
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    v[v.len() / 2]
}

type Work<'a> = (&'a str, Box<dyn Fn(&mut [u8]) + Sync + 'a>);

/// Screens in place of a copy into a buffer that is kept, as a view does that draws frame after frame.
fn in_place(screen: &Screen, raster: &GrayRaster, out: &mut [u8]) {
    out.par_chunks_mut(WIDTH as usize).enumerate().for_each(|(y, row)| {
        row.copy_from_slice(raster.row(y as u32));
        screen.row(y as u32, 0, row);
    });
}

fn main() {
    let raster = art();
    let dpi = Dpi::new(600.0).unwrap();
    let (ruling, angle) = (Ruling::new(75.0), Degrees::new(15.0));
    let screened = Reading::of(Mode::Screened { ruling, angle });
    let tile = Reading::of(Mode::Stochastic { scatter: Scatter::Tile });
    let diffused = Reading::of(Mode::Stochastic { scatter: Scatter::Diffusion });
    let denser = |r: Reading| Reading { density: Swing::new(0.3), ..r };
    let (dots, scattered) = (screened.screen(dpi, 0), tile.screen(dpi, 0));
    let whole = |r: &Reading| drop(black_box(r.master(&raster, dpi, dpi, None)));
    let read = |r: &Reading| drop(black_box(r.read(&raster, dpi, dpi, None)));
    let tones = |mode: Mode| drop(black_box(Reading::of(mode).tones(&raster, dpi)));
    let jobs: Vec<Work<'_>> = vec![
        ("Screened, buffer kept", Box::new(|out| in_place(&dots, &raster, out))),
        ("Screened, new master", Box::new(|_| whole(&screened))),
        ("Screened, read and screened", Box::new(|_| read(&denser(screened)))),
        ("Stochastic tile, buffer kept", Box::new(|out| in_place(&scattered, &raster, out))),
        ("Stochastic tile, new master", Box::new(|_| whole(&tile))),
        ("Stochastic tile, read and screened", Box::new(|_| read(&denser(tile)))),
        ("Error diffusion, new master", Box::new(|_| whole(&diffused))),
        ("Error diffusion, read and screened", Box::new(|_| read(&denser(diffused)))),
        ("Line tones", Box::new(|_| tones(Mode::Line))),
        ("Mixed tones", Box::new(|_| tones(Mode::Mixed { ruling, angle }))),
        ("Faint tones", Box::new(|_| tones(Mode::Faint))),
        (
            "gray check",
            Box::new(|_| {
                black_box(GrayCheck::of(&raster, &ToneCurve::default()));
            }),
        ),
    ];
    let copy_from = vec![1_u8; (WIDTH * HEIGHT) as usize];
    let mut out = vec![0_u8; (WIDTH * HEIGHT) as usize];
    let pixels = f64::from(WIDTH * HEIGHT);
    println!("letter at 600 dpi; nanoseconds per pixel, median and least of {ROUNDS} rounds");
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let mut times = vec![Vec::new(); jobs.len()];
        let mut copy = Vec::new();
        pool.install(|| {
            for _ in 0..ROUNDS {
                copy.push(seconds(|| {
                    out.par_chunks_mut(1 << 16)
                        .zip(copy_from.par_chunks(1 << 16))
                        .for_each(|(t, f)| t.copy_from_slice(f));
                }));
                for ((_, job), times) in jobs.iter().zip(&mut times) {
                    times.push(seconds(|| job(&mut out)));
                }
            }
        });
        let ns = |v: Vec<f64>| v.iter().fold(f64::INFINITY, |a, b| a.min(*b)) * 1e9 / pixels;
        let middle = |v: &[f64]| median(v.to_vec()) * 1e9 / pixels;
        println!("{threads} thread(s): copy {:.3} (least {:.3})", middle(&copy), ns(copy.clone()));
        for ((name, _), times) in jobs.iter().zip(times) {
            let t = middle(&times);
            println!("  {name}: {t:.3} (least {:.3}, {:.1} x copy)", ns(times), t / middle(&copy));
        }
    }
    let once = seconds(|| drop(black_box(screened.screen(dpi, 0)))) * 1e3;
    let found = seconds(|| drop(black_box(textures(&raster, dpi)))) * 1e3;
    println!("once: making the clustered screen {once:.1} ms, looking for textures {found:.0} ms");
}
