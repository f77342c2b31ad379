//! Times the separation of a colour picture beside a memory copy of it. Prints milliseconds and ratios; it asserts nothing.
//! `cargo bench -p slipsheet-core --bench separation`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

use std::hint::black_box;
use std::time::Instant;

use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::raster::ColourRaster;
use slipsheet_core::separation::{DetailShare, Inverse, Separation, choose};
use slipsheet_core::stock::Stock;

const WIDTH: u32 = 2550;
const HEIGHT: u32 = 2000;

/// Soft waves of colour with grain.
fn picture() -> ColourRaster {
    let mut grain = 1_u32;
    let pixels = (0..WIDTH * HEIGHT)
        .flat_map(|i| {
            let (x, y) = (f64::from(i % WIDTH), f64::from(i / WIDTH));
            grain = grain.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(grain >> 27) - 16.0;
            let wave = |a: f64, b: f64| 128.0 + 110.0 * libm::sin(x / a + y / b) + noise;
            [wave(210.0, 330.0), wave(400.0, -260.0), wave(-330.0, 510.0)].map(|v| v.clamp(0.0, 255.0) as u8)
        })
        .collect();
    ColourRaster::new(WIDTH, HEIGHT, false, pixels).unwrap()
}

fn quickest(rounds: usize, mut work: impl FnMut()) -> f64 {
    (0..rounds)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1e3
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    let picture = picture();
    let (from, mut to) = (picture.pixels().to_vec(), vec![0_u8; picture.pixels().len()]);
    let copy = quickest(9, || {
        to.copy_from_slice(black_box(&from));
        black_box(&mut to);
    });
    let say = |what: &str, ms: f64| println!("{what:<44}{ms:9.1} ms {:9.0} copies", ms / copy);
    say("memory copy of the picture", copy);
    let ink = |l, a, b| Ink::estimated("Ink", Lab::new(l, a, b).unwrap());
    let mut shelf: Vec<Ink> =
        [(88.0, -5.0, 80.0), (60.0, 62.0, 20.0), (55.0, -30.0, -38.0), (28.0, 2.0, 0.0), (45.0, 30.0, -50.0)]
            .map(|(l, a, b)| ink(l, a, b))
            .to_vec();
    let stock = Stock::new("White", Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() });
    for count in 2..=5 {
        let inks: Vec<&Ink> = shelf.iter().take(count).collect();
        let inverse = Inverse::of(&stock, &inks, &[], Some(2.4)).unwrap();
        let of = |detail: f64| Separation { detail: DetailShare::new(detail), ..Separation::default() };
        let plates = |detail| drop(black_box(of(detail).plates(&picture, 12.0, &inverse, &|| false)));
        say(&format!("{count} plates of 5.1 megapixels"), quickest(3, || plates(0.0)));
        if count == 4 {
            say("the same with detail in the darkest ink", quickest(3, || plates(1.0)));
        }
    }
    shelf.extend(
        (0..15).map(|i| {
            ink(35.0 + 3.0 * f64::from(i), 40.0 - 5.0 * f64::from(i), 30.0 - 6.0 * f64::from(i % 9))
        }),
    );
    let all: Vec<&Ink> = shelf.iter().collect();
    for count in 2..=4 {
        let work = || drop(black_box(choose(&picture, (&[&stock], &all), &[], (count, 3), &|| false)));
        say(&format!("the best {count} of 20 inks"), quickest(1, work));
    }
}
