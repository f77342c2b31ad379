//! A change of the density slider: one of four letter layers at 600 dpi is read anew and shown in a view of
//! 1600 x 1000 pixels, as the window does while the slider is held.

use std::sync::Arc;
use std::time::Instant;

use slipsheet_core::colour::Lab;
use slipsheet_core::geometry::Rect;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::reading::{Mode, Reading, Ruling, Scatter, Swing};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Degrees, Dpi, Mm, SheetFormat};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Slip, Target};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

const VIEW: (u32, u32) = (1600, 1000);
const ROUNDS: usize = 15;

/// Prints the median of a change for every mode, at three zooms, on two threads.
pub fn run(raster: &GrayRaster) {
    let (mut printing, images) = sheet(raster);
    let (ruling, angle) = (Ruling::new(75.0), Degrees::new(15.0));
    let modes = [
        ("Screened", Mode::Screened { ruling, angle }),
        ("Stochastic", Mode::Stochastic { scatter: Scatter::Tile }),
        ("Diffused", Mode::Stochastic { scatter: Scatter::Diffusion }),
        ("Line", Mode::Line),
        ("Mixed", Mode::Mixed { ruling, angle }),
        ("Faint", Mode::Faint),
    ];
    println!(
        "a change of density in a view of 1600 x 1000, milliseconds: median and most of {ROUNDS}, 2 threads"
    );
    let size = printing.sheet.size();
    let (w, h) = (size.width.get(), size.height.get());
    let fit = f64::max(w / f64::from(VIEW.0), h / f64::from(VIEW.1));
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).build().unwrap();
    for (zoom, mm) in [("whole sheet", fit), ("half size", 25.4 / 300.0), ("dots", 25.4 / 600.0)] {
        let (vw, vh) = (mm * f64::from(VIEW.0), mm * f64::from(VIEW.1));
        let rect = Rect { x: (w - vw) / 2.0, y: (h - vh) / 2.0, width: vw, height: vh };
        let view = View::of_rect(rect, VIEW.0, VIEW.1);
        for (name, mode) in modes {
            let (mut times, mut picture) = (Vec::new(), Picture::default());
            let show = Show { dots: true, ..Show::default() };
            let (mut cache, mut first) = (None, 0.0);
            for round in 0..=ROUNDS {
                let density = Swing::new(round as f64 / 20.0 - 0.4);
                printing.sheet.layers[1].reading = Reading { density, ..Reading::of(mode) };
                let start = Instant::now();
                pool.install(|| {
                    let scene = Scene::quick(&printing, &images, show, &view, 1).unwrap();
                    let cache = cache.get_or_insert_with(|| {
                        scene.with_dots(&view, None).as_ref().unwrap_or(&scene).drag_cache(1, &view).unwrap()
                    });
                    let near = scene.with_dots(&view, Some(1));
                    near.as_ref().unwrap_or(&scene).render_drag(cache, &mut picture);
                });
                let took = start.elapsed().as_secs_f64() * 1e3;
                if round == 0 { first = took } else { times.push(took) }
            }
            let most = times.iter().fold(0.0, |a: f64, b| a.max(*b));
            println!("  {zoom}, {name}: {:.1} (most {most:.1}; first {first:.0})", super::median(times));
        }
    }
}

fn sheet(raster: &GrayRaster) -> (Printing, Images) {
    let colour = |l, a, b| Swatch::Estimated { lab: Lab::new(l, a, b).unwrap() };
    let stock = Stock::new("Pale", colour(92.0, -2.0, 5.0));
    let mut printing = Printing::new("Bench", SheetFormat::Letter, stock);
    let (mut images, dpi) = (Images::default(), Dpi::new(600.0).unwrap());
    for (k, lab) in
        [(60.0, -35.0, -12.0), (50.0, 60.0, 30.0), (85.0, 0.0, 80.0), (25.0, 5.0, -20.0)].iter().enumerate()
    {
        let key = ScanKey::new(format!("{k:064}"));
        images.insert(key.clone(), Arc::new(Pyramid::new(raster.clone(), dpi)));
        let scan = ScanRef { path: String::new(), size: 0, key, dpi };
        printing.sheet.layers.push(Layer {
            id: LayerId::new(k as u32),
            name: format!("layer {k}"),
            ink: Ink::estimated("Ink", Lab::new(lab.0, lab.1, lab.2).unwrap()),
            face: Face::Front,
            art: vec![Art::new(ArtId::new(0), scan, Target::Sheet)],
            slip: Slip { dx: Mm::new(0.4 * k as f64), skew: Degrees::new(0.1 * k as f64), ..Slip::default() },
            visible: true,
            with: None,
            reading: Reading::of(Mode::Screened { ruling: Ruling::default(), angle: Degrees::new(45.0) }),
            remedies: vec![],
        });
    }
    (printing, images)
}
