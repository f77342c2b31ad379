//! Times reading and screening a letter layer at 600 dpi beside a memory copy, in one process, in
//! interleaved rounds. Prints nanoseconds per pixel and ratios; it asserts nothing.
//! `cargo bench -p slipsheet-render --bench reading`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

mod slider;

use std::hint::black_box;
use std::time::Instant;

use rayon::prelude::*;
use slipsheet_core::gray_check::GrayCheck;
use slipsheet_core::moire::textures;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::{Mode, Reading, Ruling, Scatter, Swing, histogram};
use slipsheet_core::screen::{Screen, Window};
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

/// Seconds by the wall clock and of this thread alone.
fn seconds(work: impl FnOnce()) -> (f64, f64) {
    let (start, cpu) = (Instant::now(), on_cpu());
    work();
    let wall = start.elapsed().as_secs_f64();
    (wall, cpu.zip(on_cpu()).map_or(f64::NAN, |(from, to)| (to - from) * 1e-9))
}

/// Nanoseconds that this thread has run, where the system tells: on a busy machine the wall clock also counts
/// others' work.
fn on_cpu() -> Option<f64> {
    std::fs::read_to_string("/proc/thread-self/schedstat").ok()?.split(' ').next()?.parse().ok()
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    v[v.len() / 2]
}

type Work<'a> = (&'a str, Box<dyn Fn(&mut [u8]) + Sync + 'a>);

fn main() {
    let raster = art();
    slider::run(&raster);
    let dpi = Dpi::new(600.0).unwrap();
    let (ruling, angle) = (Ruling::new(75.0), Degrees::new(15.0));
    let screened = Reading::of(Mode::Screened { ruling, angle });
    let tile = Reading::of(Mode::Stochastic { scatter: Scatter::Tile });
    let diffused = Reading::of(Mode::Stochastic { scatter: Scatter::Diffusion });
    let denser = |r: Reading| Reading { density: Swing::new(0.3), ..r };
    let (dots, scattered) = (screened.screen(dpi, 0), tile.screen(dpi, 0));
    let page = Window { x: 0, y: 0, width: WIDTH, height: HEIGHT };
    let copy_row = |y: u32, _: u32, row: &mut [u8]| row.copy_from_slice(raster.row(y));
    let whole = |r: &Reading| drop(black_box(r.screen(dpi, 0).draw(WIDTH, page, copy_row)));
    let read = |r: &Reading| {
        let toned = r.tones(&raster, dpi);
        let row = |y: u32, _: u32, row: &mut [u8]| row.copy_from_slice(toned.row(y));
        drop(black_box(r.screen(dpi, 0).draw(WIDTH, page, row)));
    };
    let tones = |mode: Mode| drop(black_box(Reading::of(mode).tones(&raster, dpi)));
    let jobs: Vec<Work<'_>> = vec![
        ("Screened, buffer kept", Box::new(|out| dots.draw_into(WIDTH, page, copy_row, out))),
        ("Screened, new master", Box::new(|_| whole(&screened))),
        ("Screened, read and screened", Box::new(|_| read(&denser(screened)))),
        ("Stochastic tile, buffer kept", Box::new(|out| scattered.draw_into(WIDTH, page, copy_row, out))),
        ("Stochastic tile, new master", Box::new(|_| whole(&tile))),
        ("Stochastic tile, read and screened", Box::new(|_| read(&denser(tile)))),
        (
            "Error diffusion, buffer kept",
            Box::new(|out| Screen::Diffusion.draw_into(WIDTH, page, copy_row, out)),
        ),
        ("Error diffusion, new master", Box::new(|_| whole(&diffused))),
        ("Error diffusion, read and screened", Box::new(|_| read(&denser(diffused)))),
        ("Line tones", Box::new(|_| tones(Mode::Line))),
        ("Mixed tones", Box::new(|_| tones(Mode::Mixed { ruling, angle }))),
        ("Faint tones", Box::new(|_| tones(Mode::Faint))),
        (
            "gray check",
            Box::new(|_| {
                black_box(GrayCheck::of_histogram(histogram(raster.pixels()), &ToneCurve::default()));
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
        let wall = |v: &[(f64, f64)]| median(v.iter().map(|t| t.0).collect()) * 1e9 / pixels;
        let least = |v: &[(f64, f64)]| v.iter().fold(f64::INFINITY, |a, t| a.min(t.0)) * 1e9 / pixels;
        let cpu = |v: &[(f64, f64)]| match threads {
            1 => format!(", on the CPU {:.3}", median(v.iter().map(|t| t.1).collect()) * 1e9 / pixels),
            _ => String::new(),
        };
        println!("{threads} thread(s): copy {:.3} (least {:.3}{})", wall(&copy), least(&copy), cpu(&copy));
        for ((name, _), times) in jobs.iter().zip(&times) {
            let ratio = wall(times) / wall(&copy);
            println!(
                "  {name}: {:.3} (least {:.3}{}), {ratio:.1} x copy",
                wall(times),
                least(times),
                cpu(times)
            );
        }
    }
    let once = seconds(|| drop(black_box(screened.screen(dpi, 0)))).0 * 1e3;
    let found = seconds(|| drop(black_box(textures(&raster, dpi)))).0 * 1e3;
    println!("once: making the clustered screen {once:.1} ms, looking for textures {found:.0} ms");
}
