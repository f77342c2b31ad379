//! Times finding the sheet in a photograph of 12 megapixels and making it flat, beside a memory copy. Prints
//! milliseconds and ratios; it asserts nothing. `cargo bench -p slipsheet-registration --bench photo`
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

use std::hint::black_box;
use std::time::Instant;

use slipsheet_base::projective::{Flatten, Lens};
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_registration::register::layout::usual_original;
use slipsheet_registration::register::{MarkLayout, find_in_photo, find_paper};

/// The least time of a few rounds, in ms.
fn least<T>(rounds: usize, mut job: impl FnMut() -> T) -> f64 {
    let time = |job: &mut dyn FnMut() -> T| {
        let start = Instant::now();
        black_box(job());
        start.elapsed().as_secs_f64() * 1e3
    };
    (0..rounds).map(|_| time(&mut job)).fold(f64::INFINITY, f64::min)
}

/// The photograph of the tests at 4000 x 3000 pixels.
fn photo() -> GrayRaster {
    let image =
        image::load_from_memory(include_bytes!("../../../tests/data/photo_page.jpg")).unwrap().into_luma8();
    let (w, h) = image.dimensions();
    let small = GrayRaster::new(w, h, image.into_raw()).unwrap();
    let (x, y) = (f64::from(w), f64::from(h));
    let corners = [(0.0, 0.0), (x, 0.0), (x, y), (0.0, y)].map(|(x, y)| Point::new(x, y));
    let larger = Flatten { corners, lens: Lens::of_photo(w, h, 0.0), width: 4000, height: 3000 };
    larger.apply(&small).unwrap()
}

fn main() {
    let photo = photo();
    let sheet = SheetFormat::Letter.size();
    let original = usual_original(SheetFormat::Letter, sheet);
    let layout = MarkLayout::guide(sheet, original);
    let copy = least(9, || photo.pixels().to_vec());
    let report = |what: &str, ms: f64| println!("{what:32} {ms:9.1} ms {:8.1} x a copy", ms / copy);
    report("a copy", copy);
    report("the paper's edges", least(5, || find_paper(&photo)));
    report("the sheet in the photograph", least(5, || find_in_photo(&photo, &layout, original)));
    let found = find_in_photo(&photo, &layout, original).unwrap();
    let part = Rect { x: 0.0, y: 0.0, width: sheet.width.get(), height: sheet.height.get() };
    let flatten = found.fit.flatten(part, Dpi::new(300.0).unwrap());
    report("flat at 300 dpi", least(5, || flatten.apply(&photo)));
}
