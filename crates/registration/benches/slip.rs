//! Times the distance transform, the slip study and the simulated run of a three-ink letter sheet beside a
//! memory copy. Prints milliseconds and ratios; it asserts nothing. `cargo bench -p slipsheet-registration --bench slip`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;

use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Target};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_registration::propose::{ProposeOptions, propose};
use slipsheet_registration::slip::distance::Nearest;
use slipsheet_registration::slip::random::SplitMix;
use slipsheet_registration::slip::{RunOptions, SimulatedRun, Study, StudyOptions};
use slipsheet_render::images::Images;

const WIDTH: usize = 2550;
const HEIGHT: usize = 3300;

/// A wash with grain that leaves discs out, discs that fill them, and rows of short strokes.
fn art(layer: usize) -> Vec<u8> {
    let mut random = SplitMix::new(layer as u64);
    let in_disc = |x: usize, y: usize| {
        let (cx, cy) = ((x / 300 * 300 + 150) as f64, (y / 300 * 300 + 150) as f64);
        let d = libm::hypot(x as f64 - cx, y as f64 - cy);
        d - 110.0
    };
    (0..WIDTH * HEIGHT)
        .map(|i| {
            let (x, y) = (i % WIDTH, i / WIDTH);
            let grain = (random.bits() % 40) as f64;
            let edge = in_disc(x, y);
            match layer {
                0 => (255.0 - (edge + 3.0).clamp(0.0, 1.0) * (150.0 + grain)) as u8,
                1 => (255.0 - (0.5 - edge).clamp(0.0, 1.0) * (200.0 + grain)) as u8,
                _ => {
                    if (x / 9) % 3 == 0 && (y / 40) % 3 == 0 && y > 1600 {
                        10
                    } else {
                        255
                    }
                }
            }
        })
        .collect()
}

fn printing() -> (Printing, Images) {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock::new("White", colour);
    let mut printing = Printing::new("bench", SheetFormat::Letter, stock);
    let mut images = Images::default();
    let dpi = Dpi::new(300.0).unwrap();
    for (i, lab) in [(55.0, -30.0, -30.0), (60.0, 60.0, 20.0), (25.0, 0.0, 0.0)].into_iter().enumerate() {
        let key = ScanKey::new(i.to_string().repeat(64));
        let raster = GrayRaster::new(WIDTH as u32, HEIGHT as u32, art(i)).unwrap();
        images.insert(key.clone(), Arc::new(Pyramid::new(raster, dpi)));
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi };
        printing.sheet.layers.push(Layer {
            art: vec![Art::new(ArtId::new(0), scan, Target::Sheet)],
            ..Layer::new(
                LayerId::new(i as u32),
                format!("ink {i}"),
                Ink::estimated("Ink", Lab::new(lab.0, lab.1, lab.2).unwrap()),
            )
        });
    }
    (printing, images)
}

/// The quickest of several rounds, in milliseconds: others' work on the machine only ever adds.
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
    let (printing, images) = printing();
    let (from, mut to) = (vec![7_u8; WIDTH * HEIGHT], vec![0_u8; WIDTH * HEIGHT]);
    let copy = quickest(9, || {
        to.copy_from_slice(black_box(&from));
        black_box(&mut to);
    });
    let say = |what: &str, ms: f64| println!("{what:<44}{ms:9.1} ms {:9.0} copies", ms / copy);
    say("memory copy of one plate", copy);
    let plate = images.get(&printing.sheet.layers[1].art[0].scan.key).unwrap();
    let seeds: Vec<bool> = plate.full().pixels().iter().map(|g| *g < 128).collect();
    say("exact distance transform", quickest(5, || drop(black_box(Nearest::of(WIDTH, HEIGHT, &seeds)))));
    let options = StudyOptions::of(&printing.press, Face::Front);
    let study = Study::of(&printing, &images, &options).unwrap();
    println!(
        "{} stretches, {} pairs, tolerance {:?}",
        study.tight.len(),
        study.pairs.len(),
        study.tolerance(&printing.acceptance).least()
    );
    say(
        "slip study, 3 inks at 300 dpi",
        quickest(5, || drop(black_box(Study::of(&printing, &images, &options)))),
    );
    // Once: plates with remedies are kept, so that a second search would find the first one's.
    let search = || {
        let found =
            propose(&printing, &images, &ProposeOptions::of(&printing, Face::Front), &|| false).unwrap();
        println!("now {:?}", found.now.sold);
        for p in &black_box(found).list {
            println!("{}: {} of 1000, {:.2} dE", p.title, p.outcome.sold.sold, p.change.colour);
        }
    };
    say("proposals for three inks", quickest(1, search));
    let new = || SimulatedRun::new(&printing, &images, study.clone(), RunOptions::default()).unwrap();
    say("making a run ready", quickest(3, || drop(black_box(new()))));
    let run = new();
    say("1000 copies at 100 dpi", quickest(3, || drop(black_box(run.each(&|| false, &mut |_| ())))));
}
