//! Times the dummy of the demo at 1600 x 1000: milliseconds a frame while it folds, lies open and turns a
//! leaf, beside a copy of the picture's bytes, in interleaved rounds; the lower quartile counts. Prints
//! figures, asserts nothing. `cargo bench -p slipsheet-render --bench dummy`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

use std::hint::black_box;
use std::io::BufReader;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_document::project::Project;
use slipsheet_paper::fold::Face;
use slipsheet_render::Picture;
use slipsheet_render::dummy::{self, DummyView, Folded};
use slipsheet_render::images::Images;

const ROUNDS: usize = 41;

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/tidewrack");
    let text = std::fs::read_to_string(folder.join("tidewrack.slipsheet")).unwrap();
    let printing = Project::from_ron(&text).unwrap().main_printing();
    let mut images = Images::default();
    for art in printing.sheet.layers.iter().flat_map(|l| &l.art) {
        let scan = read(&folder.join(&art.scan.path));
        images.insert(art.scan.key.clone(), Arc::new(Pyramid::new(scan, art.scan.dpi)));
    }
    let (sheet, scheme) = (printing.sheet.size(), printing.sheet.fold.clone().unwrap());
    let paper = dummy::paper_of(&printing);
    let thickness = slipsheet_core::paper::caliper(&printing.sheet.stock);
    let start = Instant::now();
    let dpi = sheet.dpi_for(2600.0);
    let [front, back] = dummy::prints(&printing, &images, false, dpi);
    println!("textures of the demo: {:.0} ms", start.elapsed().as_secs_f64() * 1e3);
    let ground = [168; 3];
    let base = DummyView { yaw: -18.0, pitch: 12.0, ..DummyView::facing(1600, 1000, ground) };
    let views = [
        ("flat sheet", 0.0, 0.0),
        ("half folded", 0.5, 0.0),
        ("closed", 1.0, 0.0),
        ("open at pages 2 and 3", 1.0, 1.0),
        ("a leaf half turned", 1.0, 1.5),
    ];
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        for (name, fold, open) in views {
            let mut out = Picture::default();
            let mut copied = vec![[0_u8; 4]; 1600 * 1000];
            let (mut draws, mut copies) = (Vec::new(), Vec::new());
            for _ in 0..ROUNDS {
                let start = Instant::now();
                pool.install(|| {
                    let folded = Folded::new(&scheme, sheet, fold, open, thickness);
                    let print = |_, face| if face == Face::Front { front.as_ref() } else { back.as_ref() };
                    dummy::draw_sheets(&folded, print, paper, &base, &mut out);
                });
                draws.push(start.elapsed().as_secs_f64());
                let start = Instant::now();
                copied.copy_from_slice(black_box(&out.pixels));
                black_box(&copied);
                copies.push(start.elapsed().as_secs_f64());
            }
            let (draw, copy) = (quartile(draws), quartile(copies));
            let (ms, ratio) = (draw * 1e3, draw / copy);
            println!("{threads} thread(s), {name}: {ms:.1} ms a frame ({ratio:.0} x copy)");
        }
    }
}

fn quartile(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 4]
}

fn read(path: &Path) -> GrayRaster {
    let file = BufReader::new(std::fs::File::open(path).unwrap());
    let mut reader = png::Decoder::new(file).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    GrayRaster::new(info.width, info.height, pixels).unwrap()
}
