//! Whole views: what the window asks for. Layers of noise, in which nothing is blank, and the originals of
//! the demo, which are mostly paper; slipped and turned, at three zooms; one layer dragged; a pyramid made.

use std::io::BufReader;
use std::path::Path;
use std::sync::Arc;

use slipsheet_core::colour::Lab;
use slipsheet_core::geometry::Rect;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Degrees, Dpi, Mm, SheetFormat};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Slip, Target};
use slipsheet_document::printing::Printing;
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

use crate::{copy, rounds};

const WIDTH: u32 = 1600;
const HEIGHT: u32 = 1000;

/// Prints every figure of this module.
pub fn run() {
    let noise = |k: usize| {
        let pixels = crate::art(k + 1).remove(k);
        (GrayRaster::new(crate::WIDTH as u32, crate::HEIGHT as u32, pixels).unwrap(), 600.0)
    };
    let four = Sheet::new((0..4).map(noise).collect(), false);
    let six = Sheet::new((0..6).map(noise).collect(), false);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/tidewrack");
    let demo = ["ink", "sea", "weed"].map(|n| (read(&folder.join(format!("tidewrack-{n}.png"))), 300.0));
    let demo = Sheet::new(demo.into(), true);
    println!("views of {WIDTH} x {HEIGHT}, milliseconds");
    for threads in [1, 2] {
        for (name, sheet) in [("4 layers of noise", &four), ("the demo's 3 layers", &demo)] {
            for (zoom, view) in sheet.views() {
                let scene = sheet.scene();
                let mut picture = Picture::default();
                report(threads, &format!("{name}, {zoom}"), || scene.render_into(&view, &mut picture));
            }
        }
        for (zoom, view) in six.views() {
            let mut picture = Picture::default();
            let cache = six.scene().drag_cache(2, &view).unwrap();
            let scene = six.scene();
            report(threads, &format!("one of 6 layers dragged, {zoom}"), || {
                scene.render_drag(&cache, &mut picture)
            });
        }
        let raster = four.images.get(&key(0)).unwrap().full();
        let [pyramid, clone] = rounds(threads, |which| {
            let raster = raster.clone();
            if which == 0 {
                Pyramid::new(raster, Dpi::new(600.0).unwrap());
            }
        });
        println!("{threads} thread(s), pyramid of letter at 600 dpi: {:.1}", (pyramid - clone) * 1e3);
    }
}

fn report(threads: usize, name: &str, mut draw: impl FnMut() + Send) {
    let [draw, copy] = rounds(threads, |which| match which {
        0 => draw(),
        _ => copy((WIDTH * HEIGHT * 4) as usize),
    });
    println!("{threads} thread(s), {name}: {:.2} ({:.1} x copy)", draw * 1e3, draw / copy);
}

/// A sheet of slipped layers with its pixels.
struct Sheet {
    printing: Printing,
    images: Images,
}

impl Sheet {
    fn new(scans: Vec<(GrayRaster, f64)>, landscape: bool) -> Self {
        let colour = |l, a, b| Swatch::Estimated { lab: Lab::new(l, a, b).unwrap() };
        let stock = Stock::new("Pale", colour(92.0, -2.0, 5.0));
        let mut printing = Printing::new("Bench", SheetFormat::Letter, stock);
        printing.sheet.landscape = landscape;
        let mut images = Images::default();
        for (k, (raster, dpi)) in scans.into_iter().enumerate() {
            let dpi = Dpi::new(dpi).unwrap();
            let (l, a, b) = crate::SETS[0].1[k];
            let scan = ScanRef { path: String::new(), size: 0, key: key(k), dpi };
            let slip = k as f64;
            printing.sheet.layers.push(Layer {
                art: vec![Art::new(ArtId::new(0), scan, Target::Sheet)],
                slip: Slip {
                    dx: Mm::new(1.3 * slip),
                    dy: Mm::new(-0.9 * slip),
                    skew: Degrees::new(0.3 - 0.2 * slip),
                },
                ..Layer::new(
                    LayerId::new(k as u32),
                    format!("layer {k}"),
                    Ink::estimated("Ink", Lab::new(l, a, b).unwrap()),
                )
            });
            images.insert(key(k), Arc::new(Pyramid::new(raster, dpi)));
        }
        Self { printing, images }
    }

    fn scene(&self) -> Scene {
        Scene::new(&self.printing, &self.images, Show::default()).unwrap()
    }

    /// The sheet whole, and its middle at half and at the scan's own size.
    fn views(&self) -> [(&'static str, View); 3] {
        let size = self.printing.sheet.size();
        let (w, h) = (size.width.get(), size.height.get());
        let per_pixel = 25.4 / self.printing.sheet.layers[0].art[0].scan.dpi.get();
        let fit = f64::max(w / f64::from(WIDTH), h / f64::from(HEIGHT));
        let view = |mm: f64| {
            let (vw, vh) = (mm * f64::from(WIDTH), mm * f64::from(HEIGHT));
            let rect = Rect { x: (w - vw) / 2.0, y: (h - vh) / 2.0, width: vw, height: vh };
            View::of_rect(rect, WIDTH, HEIGHT)
        };
        [("fit", view(fit)), ("50 %", view(2.0 * per_pixel)), ("100 %", view(per_pixel))]
    }
}

fn key(k: usize) -> ScanKey {
    ScanKey::new(format!("{k:064}"))
}

fn read(path: &Path) -> GrayRaster {
    let file = BufReader::new(std::fs::File::open(path).unwrap());
    let mut reader = png::Decoder::new(file).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    GrayRaster::new(info.width, info.height, pixels).unwrap()
}
