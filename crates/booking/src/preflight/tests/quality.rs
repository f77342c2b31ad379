//! How well originals were scanned.

use super::*;
use slipsheet_core::reading::{Mode, Reading};
use slipsheet_document::layer::Scale;

/// A project with one scan, 900 pixels square at 300 dpi, whose grays are given by place.
fn with(name: &str, gray: impl Fn(f64, f64) -> f64) -> (Printing, Images) {
    let (mut p, mut images) = sound();
    let pixel = |i: u32| {
        // Over 4 x 4 places in it, with some noise.
        let place = |n: u32| {
            (f64::from(i % 900) + f64::from(n % 4) / 4.0, f64::from(i / 900) + f64::from(n / 4) / 4.0)
        };
        let mean = (0..16).map(place).map(|(x, y)| gray(x, y)).sum::<f64>() / 16.0;
        let noise = f64::from(i.wrapping_mul(2_654_435_761) >> 24) / 255.0 - 0.5;
        (mean + 6.0 * noise).clamp(0.0, 255.0) as u8
    };
    let raster = GrayRaster::new(900, 900, (0..810_000).map(pixel).collect()).unwrap();
    images.insert(key(name), Arc::new(Pyramid::new(raster, Dpi::new(300.0).unwrap())));
    p.sheet.layers[0].art = vec![scan(name)];
    (p, images)
}

fn scan(name: &str) -> Art {
    let mut art = art(name, Target::Sheet);
    art.scan.dpi = Dpi::new(300.0).unwrap();
    art
}

/// Findings of a kind.
fn of(kind: Kind, (p, images): &(Printing, Images)) -> Vec<Finding> {
    findings(p, images, &[]).into_iter().filter(|f| f.kind == kind).collect()
}

/// Slanted strokes of a width in pixels on paper.
fn strokes(width: f64, [ink, paper]: [f64; 2]) -> impl Fn(f64, f64) -> f64 {
    move |x, y| if (x + 0.3 * y).rem_euclid(30.0) < width * 1.044 { ink } else { paper }
}

const STRONG: [f64; 2] = [25.0, 235.0];

#[test]
fn enlarging_a_scan_lowers_its_resolution() {
    let found = check(|p| p.sheet.layers[0].art[0].placement.scale = Scale::new(1.5), &[Kind::LowResolution]);
    assert!(found[0].sentence.starts_with("a scan has only 100 dpi"), "{found:?}");
}

#[test]
fn strokes_of_too_few_pixels_are_one_finding_that_names_their_width_and_a_resolution() {
    let mut job = with("fine", strokes(1.7, STRONG));
    let found = of(Kind::LowResolution, &job);
    let message = &found[0].sentence;
    // 1.7 pixels are 0.144 mm; 2.5 of them in that width are 441 dpi.
    assert!(
        found.len() == 1 && message.contains("wide, 1.") && message.contains("at the 300 dpi"),
        "{found:?}"
    );
    let wanted: f64 = message.split("from ").last().unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((390.0..=480.0).contains(&wanted), "{message}");

    // Printed so small that the press shows no more, or by a press that shows no more, it is fine enough.
    job.0.sheet.layers[0].art[0].placement.scale = Scale::new(0.48);
    assert_eq!(of(Kind::LowResolution, &job), []);
    job.0.sheet.layers[0].art[0].placement.scale = Scale::new(1.0);
    job.0.press_dpi = Dpi::new(300.0).unwrap();
    assert_eq!(of(Kind::LowResolution, &job), []);
    // Enlarged, its pixels are too few in themselves: still one finding, which says both.
    job.0.press_dpi = Dpi::new(600.0).unwrap();
    job.0.sheet.layers[0].art[0].placement.scale = Scale::new(2.5);
    let found = of(Kind::LowResolution, &job);
    let message = &found[0].sentence;
    assert!(found.len() == 1 && message.starts_with("a scan has only 120 dpi"), "{found:?}");
    assert!(message.contains("needs 150 or more, and its finest strokes, 0.3"), "{message}");

    assert_eq!(of(Kind::LowResolution, &with("bold", strokes(4.0, STRONG))), []);
    let wash = |x: f64, y: f64| 150.0 + 60.0 * libm::sin(x / 60.0) * libm::cos(y / 80.0);
    assert_eq!(of(Kind::LowResolution, &with("wash", wash)), []);
}

#[test]
fn a_scan_in_two_layers_is_found_once_where_it_is_the_coarsest() {
    let mut job = with("fine", strokes(1.7, STRONG));
    let mut other = another(&job.0);
    other.art[0].placement.scale = Scale::new(1.5);
    job.0.sheet.layers.push(other);
    let found = of(Kind::LowResolution, &job);
    assert_eq!((found.len(), found[0].layer), (1, Some(LayerId::new(1))), "{found:?}");
    assert!(found[0].sentence.contains("at the 200 dpi"), "{found:?}");

    let mut pale = with("pale", strokes(6.0, [175.0, 220.0]));
    pale.0.sheet.layers.push(another(&pale.0));
    let found = of(Kind::LowContrast, &pale);
    assert_eq!((found.len(), found[0].layer), (1, Some(LayerId::new(0))), "{found:?}");
}

#[test]
fn low_contrast_is_no_matter_to_a_reading_that_strengthens_it() {
    let mut pale = with("pale", strokes(6.0, [175.0, 220.0]));
    let found = of(Kind::LowContrast, &pale);
    assert!(
        found[0].sentence.contains("of 255 grays") && found[0].sentence.ends_with("pale.png"),
        "{found:?}"
    );
    for mode in [Mode::Faint, Mode::Line] {
        pale.0.sheet.layers[0].reading = Reading::of(mode);
        assert_eq!(of(Kind::LowContrast, &pale), []);
    }
    assert_eq!(of(Kind::LowContrast, &with("strong", strokes(6.0, STRONG))), []);
}

#[test]
fn a_blurred_scan_is_found_and_one_that_is_not_loaded_says_nothing() {
    // Edges that take 8 pixels in straight lines: 6.4 of them, or 0.54 mm, from 10 to 90 %.
    let soft = |x: f64, y: f64| {
        let at = (x + 0.3 * y).rem_euclid(40.0) / 1.044;
        235.0 - 210.0 * (at / 8.0).clamp(0.0, 1.0) + 210.0 * ((at - 20.0) / 8.0).clamp(0.0, 1.0)
    };
    let blurred = with("blurred", soft);
    let found = of(Kind::BlurredScan, &blurred);
    assert!(found.len() == 1 && found[0].sentence.contains("edges are 0.5"), "{found:?}");
    assert_eq!(of(Kind::BlurredScan, &with("sharp", strokes(9.0, STRONG))), []);
    assert_eq!(of(Kind::BlurredScan, &(blurred.0, Images::default())), []);
}

#[test]
fn cut_off_paper_counts_unless_it_was_cleaned() {
    let job = with("white", strokes(12.0, [60.0, 256.0]));
    assert!(of(Kind::ClippedTones, &job)[0].sentence.starts_with("the lightest tones"));
    let (mut p, images) = job;
    let pixels = Arc::clone(images.get(&key("white")).unwrap());
    let cleaned = ScanKey { clean: true, ..key("white") };
    p.sheet.layers[0].art[0].scan.key = cleaned.clone();
    let mut images = images;
    images.insert(cleaned, pixels);
    assert_eq!(of(Kind::ClippedTones, &(p, images)), []);

    let dark = with("black", strokes(15.0, [1.0, 225.0]));
    assert!(of(Kind::ClippedTones, &dark)[0].sentence.starts_with("the darkest tones"));
}

#[test]
fn blocks_of_a_jpeg_are_found() {
    // Tones that are flat within squares of 8 pixels, as the hardest compression leaves them.
    let tone = |x: f64, y: f64| {
        let (x, y) = ((x / 8.0).floor(), (y / 8.0).floor());
        140.0 + 40.0 * libm::sin(x / 6.0) * libm::cos(y / 7.0)
    };
    let found = of(Kind::JpegBlocks, &with("blocks", tone));
    assert!(found.len() == 1 && found[0].sentence.contains("every eighth pixel"), "{found:?}");
    let smooth = |x: f64, y: f64| 140.0 + 40.0 * libm::sin(x / 48.0) * libm::cos(y / 56.0);
    assert_eq!(of(Kind::JpegBlocks, &with("smooth", smooth)), []);
}
