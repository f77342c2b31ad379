//! Whether type stays legible in a Mixed reading: a scanned page (scikit-image's `page`, see tests/data) is made
//! into a master, and Debian's OCR program tesseract reads at least as many of its words as from a plain threshold
//! by Otsu's method (Otsu, IEEE Transactions on Systems, Man, and Cybernetics 9(1), 1979) of the same picture.
//!
//! The picture is too small for OCR as it is, so both are made from one enlargement by 4, between the middles of
//! pixels in straight lines. At 600 dpi its lines of type then stand 3.6 mm apart, as those of a book do.

#![expect(clippy::unwrap_used, reason = "a test may stop")]

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::{DropOut, Mode, Reading, Ruling, histogram};
use slipsheet_core::screen::Window;
use slipsheet_core::units::{Degrees, Dpi};
use slipsheet_files::png_out::{PngMeta, write_gray};
use slipsheet_tests::data;

const ENLARGED: u32 = 4;

fn dpi() -> Dpi {
    Dpi::new(600.0).unwrap()
}

/// The page, enlarged.
fn page() -> GrayRaster {
    let image = image::open(data("lineup_page.png")).unwrap().into_luma8();
    let (width, height) = (image.width() * ENLARGED, image.height() * ENLARGED);
    let at = |x: i64, y: i64| {
        let inside = |v: i64, n: u32| v.clamp(0, i64::from(n) - 1) as u32;
        f64::from(image.get_pixel(inside(x, image.width()), inside(y, image.height())).0[0])
    };
    let pixels = (0..width * height).map(|i| {
        let place = |v: u32| (f64::from(v) + 0.5) / f64::from(ENLARGED) - 0.5;
        let (x, y) = (place(i % width), place(i / width));
        let (fx, fy) = (x - x.floor(), y - y.floor());
        let (x, y) = (x.floor() as i64, y.floor() as i64);
        let top = at(x, y) * (1.0 - fx) + at(x + 1, y) * fx;
        let bottom = at(x, y + 1) * (1.0 - fx) + at(x + 1, y + 1) * fx;
        (top * (1.0 - fy) + bottom * fy).round() as u8
    });
    GrayRaster::new(width, height, pixels.collect()).unwrap()
}

/// The master of a page at its own resolution.
fn drawn(page: &GrayRaster) -> GrayRaster {
    let toned = mixed(0.0).tones(page, dpi());
    let (width, height) = (page.width(), page.height());
    let row = |y: u32, _: u32, row: &mut [u8]| row.copy_from_slice(toned.row(y));
    let whole = Window { x: 0, y: 0, width, height };
    GrayRaster::new(width, height, mixed(0.0).screen(dpi(), 0).draw(width, whole, row)).unwrap()
}

/// Otsu's threshold from the definition: where the variance between both classes is largest.
fn by_otsu(page: &GrayRaster) -> GrayRaster {
    let counts = histogram(page.pixels());
    let class = |grays: std::ops::Range<usize>| {
        let n: u64 = counts[grays.clone()].iter().sum();
        let sum: f64 = grays.map(|g| g as f64 * counts[g] as f64).sum();
        (n as f64, sum / (n as f64).max(1.0))
    };
    let between = |t: usize| {
        let ((n0, m0), (n1, m1)) = (class(0..t + 1), class(t + 1..256));
        n0 * n1 * (m0 - m1) * (m0 - m1)
    };
    let t = (0..255).max_by(|a, b| between(*a).total_cmp(&between(*b))).unwrap();
    let pixels = page.pixels().iter().map(|g| if usize::from(*g) <= t { 0 } else { 255 });
    GrayRaster::new(page.width(), page.height(), pixels.collect()).unwrap()
}

/// Words of letters and digits, in small letters, with how often each occurs.
fn words(text: &str) -> BTreeMap<String, usize> {
    let mut all = BTreeMap::new();
    let lower = text.to_lowercase();
    for word in lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()) {
        *all.entry(word.to_owned()).or_default() += 1;
    }
    all
}

/// How many of the page's words, written down by hand, OCR finds in a picture.
fn read(folder: &Path, name: &str, picture: &GrayRaster) -> usize {
    let path = folder.join(format!("{name}.png"));
    let file = std::io::BufWriter::new(std::fs::File::create(&path).unwrap());
    let meta = PngMeta { dpi: dpi(), text: vec![] };
    write_gray(file, picture.width(), picture.height(), picture.pixels(), &meta).unwrap();
    let ocr = Command::new("tesseract").arg(&path).args(["-", "-l", "eng", "--psm", "6"]).output();
    let ocr = ocr.unwrap_or_else(|e| {
        panic!("this test needs OCR ({e}): install tesseract-ocr and tesseract-ocr-eng, or run bash .ci/setup test")
    });
    let message = String::from_utf8_lossy(&ocr.stderr).into_owned();
    assert!(ocr.status.success(), "OCR failed; is tesseract-ocr-eng installed? {message}");
    let found = words(&String::from_utf8_lossy(&ocr.stdout));
    let page = words(&std::fs::read_to_string(data("page_words.txt")).unwrap());
    page.iter().map(|(word, n)| found.get(word).copied().unwrap_or(0).min(*n)).sum()
}

fn mixed(drop_out: f64) -> Reading {
    let mode = Mode::Mixed { ruling: Ruling::default(), angle: Degrees::new(45.0) };
    Reading { background: DropOut::new(drop_out), ..Reading::of(mode) }
}

#[test]
fn type_in_a_mixed_reading_is_read_at_least_as_well_as_by_a_threshold() {
    let dir = tempfile::tempdir().unwrap();
    let page = page();
    let plain = read(dir.path(), "threshold", &by_otsu(&page));
    assert!(plain > 20, "OCR reads next to nothing ({plain} words), so that the comparison says nothing");
    // The gray that the master aims at, with nothing set.
    let aimed = read(dir.path(), "aimed", &mixed(0.0).tones(&page, dpi()));
    assert!(aimed >= plain, "{aimed} words of the gray aimed at, {plain} by the threshold");
    // The master with its dots, without any drop-out: the photograph's paper is as dark as a half tone in its corner, and
    // dots of it between letters would be the scan's shade, not its type.
    let master = drawn(&page);
    assert!(master.pixels().iter().all(|g| [0, 255].contains(g)));
    let master = read(dir.path(), "master", &master);
    assert!(master >= plain, "{master} words of the master, {plain} by the threshold");
}

/// The page as a scanner would have it whose light falls off from 95 to 70 % across the corners, either way, with a soft
/// shadow over it.
fn shaded(page: &GrayRaster, back: bool) -> GrayRaster {
    let (width, height) = (page.width(), page.height());
    let pixels = page.pixels().iter().enumerate().map(|(i, g)| {
        let (x, y) = (i as u32 % width, i as u32 / width);
        let (u, v) = (f64::from(x) / f64::from(width), f64::from(y) / f64::from(height));
        let along = (u + v) / 2.0;
        let light = 0.95 - 0.25 * if back { 1.0 - along } else { along };
        let (du, dv) = ((u - 0.6) * f64::from(width) / f64::from(height), v - 0.4);
        let shadow = 1.0 - 0.15 * libm::exp(-(du * du + dv * dv) / (2.0 * 0.18 * 0.18));
        (f64::from(*g) * light * shadow).round() as u8
    });
    GrayRaster::new(width, height, pixels.collect()).unwrap()
}

#[test]
fn type_on_shaded_paper_is_read_without_drop_out_as_well_as_on_evenly_lit_paper() {
    let dir = tempfile::tempdir().unwrap();
    let page = page();
    let plain = read(dir.path(), "threshold", &by_otsu(&page));
    for back in [false, true] {
        let shaded = shaded(&page, back);
        let aimed = read(dir.path(), "aimed", &mixed(0.0).tones(&shaded, dpi()));
        assert!(
            aimed >= plain,
            "{aimed} words of the gray aimed at, {plain} by the threshold of the even copy"
        );
        let master = drawn(&shaded);
        let master = read(dir.path(), "master", &master);
        assert!(master >= plain, "{master} words of the master, {plain} by the threshold of the even copy");
    }
}

/// Pages that hold no type read as they are: nothing comes of white, all of black, and a scan of one column is no harm.
#[test]
fn pages_without_type_are_read() {
    let covered = |raster: GrayRaster| {
        let toned = mixed(0.0).tones(&raster, dpi());
        toned.pixels().iter().map(|g| f64::from(255 - g)).sum::<f64>() / 255.0 / toned.pixels().len() as f64
    };
    assert_eq!(covered(GrayRaster::filled(900, 700, 255).unwrap()), 0.0);
    assert_eq!(covered(GrayRaster::filled(900, 700, 0).unwrap()), 1.0);
    let grainy =
        |w: u32, h: u32| GrayRaster::new(w, h, (0..w * h).map(|i| 200 + (i % 5) as u8).collect()).unwrap();
    assert!(covered(grainy(900, 700)) < 0.01, "gray paper by itself is no ink");
    assert!(covered(grainy(1, 900)) <= 1.0);
}
