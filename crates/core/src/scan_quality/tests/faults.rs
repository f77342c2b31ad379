//! Tones that were cut off, and blocks of a JPEG.

use super::*;
use image::ImageEncoder as _;

/// As it is after it was written as a JPEG of a quality and read again.
fn through_jpeg(raster: &GrayRaster, quality: u8) -> GrayRaster {
    let mut bytes = Vec::new();
    let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality);
    let (width, height) = (raster.width(), raster.height());
    encoder.write_image(raster.pixels(), width, height, image::ExtendedColorType::L8).unwrap();
    let read = image::load_from_memory(&bytes).unwrap().into_luma8();
    GrayRaster::new(width, height, read.into_raw()).unwrap()
}

fn blocks(raster: &GrayRaster) -> f64 {
    ScanQuality::of(raster, dpi(300.0)).blocks
}

#[test]
fn a_hard_compressed_scan_shows_its_blocks_and_a_fine_one_does_not() {
    for seed in [1, 2, 3] {
        let scan = Sheet::clouds(512, 40.0, seed).scanned([30.0, 240.0], 1.5);
        let found = [10, 20, 30, 50, 75, 90, 95].map(|q| blocks(&through_jpeg(&scan, q)));
        assert!(found[..3].iter().all(|b| *b > BLOCKS_SHOW), "{found:?}");
        assert!(found[5..].iter().all(|b| *b < BLOCKS_SHOW), "{found:?}");
        assert!(blocks(&scan) < 0.05, "{}", blocks(&scan));
    }
}

#[test]
fn blocks_are_found_wherever_the_scan_was_cropped() {
    let scan = through_jpeg(&Sheet::clouds(512, 40.0, 7).scanned([30.0, 240.0], 1.5), 25);
    for (x, y) in [(0, 0), (3, 0), (5, 6), (7, 1)] {
        let part = scan.part(x, y, 490, 490).unwrap();
        assert!(blocks(&part) > BLOCKS_SHOW, "{x} {y}: {}", blocks(&part));
    }
}

#[test]
fn what_repeats_every_eight_pixels_by_itself_is_no_block() {
    let wave = |x: f64| libm::sin(x * TAU / 8.0);
    let tone = |high: f64| move |x: f64, y: f64| 0.5 + high * (wave(x) + wave(y));
    for high in [0.01, 0.02, 0.04, 0.4] {
        let weave = Sheet::drawn(512, tone(high)).scanned([10.0, 245.0], 1.0);
        assert!(blocks(&weave) < BLOCKS_SHOW, "{high}: {}", blocks(&weave));
    }
    // A gradient whose bands are 8 pixels wide, across and aslant.
    for (kx, ky) in [(1, 0), (0, 1), (1, 1)] {
        let band = |i: u32| ((i % 512 * kx + i / 512 * ky) / 8 + 40).min(250) as u8;
        let raster = GrayRaster::new(512, 512, (0..512 * 512).map(band).collect()).unwrap();
        assert!(blocks(&raster) < BLOCKS_SHOW, "{kx} {ky}: {}", blocks(&raster));
    }
    // Dots of a screen with a period of 8 pixels.
    let dots = Sheet::drawn(512, |x, y| if wave(x) + wave(y) > 0.4 { 1.0 } else { 0.0 });
    assert!(blocks(&dots.scanned([20.0, 240.0], 3.0)) < BLOCKS_SHOW);
}

#[test]
fn what_cleaning_does_in_blocks_is_none_of_a_jpeg() {
    // At 1200 dpi paper is cleaned in blocks of 8 pixels; the tone fades into it.
    let clouds = Sheet::clouds(768, 60.0, 2);
    let fade = |i: usize| {
        let middle = |k: usize| (k as f64 - 384.0) / 300.0;
        (1.0 - libm::hypot(middle(i % 768), middle(i / 768))).clamp(0.0, 1.0)
    };
    let cover = clouds.cover.iter().enumerate().map(|(i, c)| c * fade(i)).collect();
    let mut scan = Sheet { side: 768, cover }.scanned([30.0, 232.0], 1.5);
    crate::reading::BarePaper::clean(&mut scan, dpi(1200.0)).unwrap();
    let quality = ScanQuality::of(&scan, dpi(1200.0));
    assert!(!quality.shows_blocks() && !quality.is_blurred(dpi(1200.0)), "{quality:?}");
}

#[test]
fn a_photographed_page_that_was_a_jpeg_is_told_from_one_that_was_not() {
    // The mean step at one place in eight is 1.4 times that at any other in `page`, both ways, and not in `text`.
    assert!(blocks(&picture("tests/data/lineup_page.png")) > BLOCKS_SHOW);
    let text = picture("tests/data/lineup_text.png");
    assert!(blocks(&text) < BLOCKS_SHOW);
    assert!(blocks(&through_jpeg(&text, 15)) > BLOCKS_SHOW);
}

#[test]
fn tones_that_were_cut_off_are_told_from_those_that_end_there() {
    let art = Sheet::strokes(512, 60.0, 130.0, 10.0);
    let clipped = |ink: f64, paper: f64, noise: f64| {
        let quality = ScanQuality::of(&art.scanned([ink, paper], noise), dpi(300.0));
        (quality.clipped_black, quality.clipped_white)
    };
    // Full ink below black, paper above white; the rest of their noise lies beside the end.
    assert_eq!(clipped(-4.0, 235.0, 5.0), (true, false));
    assert_eq!(clipped(30.0, 259.0, 5.0), (false, true));
    assert_eq!(clipped(-3.0, 258.0, 4.0), (true, true));
    // Nothing cut; drawn; of two tones.
    for (ink, paper, noise) in [(25.0, 232.0, 5.0), (12.0, 246.0, 2.0), (0.0, 255.0, 0.0), (40.0, 200.0, 0.0)]
    {
        assert_eq!(clipped(ink, paper, noise), (false, false), "{ink} {paper} {noise}");
    }
}

#[test]
fn drawn_art_is_not_cut_off_even_when_it_was_a_jpeg_or_was_cleaned() {
    let drawn = Sheet::strokes(512, 60.0, 130.0, 33.0).scanned([0.0, 255.0], 0.0);
    for quality in [30, 60, 90] {
        let found = ScanQuality::of(&through_jpeg(&drawn, quality), dpi(300.0));
        assert!(!found.clipped_white && !found.clipped_black, "{quality}: {found:?}");
    }
    let inside = |v: f64| (60.0..450.0).contains(&v);
    let blocks = |x: f64, y: f64| if inside(x) && inside(y) && x.rem_euclid(90.0) < 40.0 { 1.0 } else { 0.0 };
    let mut scan = Sheet::drawn(512, blocks).scanned([25.0, 230.0], 4.0);
    crate::reading::BarePaper::clean(&mut scan, dpi(300.0)).unwrap();
    let found = ScanQuality::of(&scan, dpi(300.0));
    assert!(!found.clipped_white && !found.clipped_black, "{found:?}");
}
