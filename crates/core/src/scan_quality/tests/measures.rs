//! Stroke widths, edge widths, and the range of tones.

use super::*;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn strokes_are_as_wide_as_they_were_drawn(width in 1.6..9.0_f64, degrees in 0.0..180.0_f64) {
        let raster = Sheet::strokes(420, width, 29.3, degrees).scanned([20.0, 245.0], 2.0);
        let found = ScanQuality::of(&raster, dpi(254.0)).finest_stroke_mm.unwrap() * 10.0;
        prop_assert!((found - width).abs() < 0.25 + 0.04 * width, "{found} for {width} at {degrees}");
    }

    #[test]
    fn an_edge_is_as_wide_as_it_was_blurred(sigma in 1.0..4.0_f64, degrees in 0.0..180.0_f64) {
        let raster = Sheet::strokes(420, 40.0, 90.0, degrees).blurred(sigma).scanned([20.0, 245.0], 1.5);
        let found = ScanQuality::of(&raster, dpi(254.0)).edge_width_mm.unwrap() * 10.0;
        // A normal distribution rises from 10 to 90 % over 2.563 of its deviations.
        let wanted = 2.563 * sigma;
        prop_assert!((found / wanted - 1.0).abs() < 0.17, "{found} for {wanted} at {degrees}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn any_raster_is_measured(width in 1..400_u32, height in 1..400_u32, seed in 0..1000_u64, dots in 10.0..4000.0_f64) {
        let mut random = SplitMix::new(seed);
        // Noise, held within a range that may be one gray.
        let (a, b) = (random.bits() as u8, random.bits() as u8);
        let pixels = (0..width * height).map(|_| (random.bits() as u8).clamp(a.min(b), a.max(b))).collect();
        let raster = GrayRaster::new(width, height, pixels).unwrap();
        let quality = ScanQuality::of(&raster, dpi(dots));
        prop_assert!((0.0..=255.0).contains(&quality.darkest) && quality.darkest <= quality.lightest);
        prop_assert!(quality.lightest <= 255.0 && quality.blocks >= 0.0 && quality.blocks.is_finite());
        prop_assert!(quality.finest_stroke_mm.is_none_or(|mm| mm > 0.0));
        prop_assert_eq!(ScanQuality::of(&raster, dpi(dots)), quality);
    }

    #[test]
    fn a_scan_on_its_side_measures_alike(width in 2.0..8.0_f64, degrees in 0.0..180.0_f64, sigma in 0.5..2.0_f64) {
        let art = Sheet::strokes(300, width, 31.0, degrees).blurred(sigma).scanned([20.0, 240.0], 2.0);
        let turned = (0..90_000).map(|i| art.pixels()[i % 300 * 300 + i / 300]).collect();
        let [a, b] = [art, GrayRaster::new(300, 300, turned).unwrap()].map(|r| ScanQuality::of(&r, dpi(254.0)));
        let off = |a: Option<f64>, b: Option<f64>| (a.unwrap() - b.unwrap()).abs();
        prop_assert!(off(a.finest_stroke_mm, b.finest_stroke_mm) < 0.006, "{:?} {:?}", a, b);
        prop_assert!(off(a.edge_width_mm, b.edge_width_mm) < 0.021, "{:?} {:?}", a, b);
        prop_assert_eq!((a.clipped_black, a.clipped_white), (b.clipped_black, b.clipped_white));
    }
}

#[test]
fn the_finest_strokes_count_when_they_are_noticed() {
    // Of each stroke's length one part in `of` is fine.
    let mixed = |of: f64| {
        let sheet = Sheet::drawn(512, |x, y| {
            let width = if y.rem_euclid(256.0) < 256.0 / of { 2.0 } else { 6.0 };
            if x.rem_euclid(32.0) < width { 1.0 } else { 0.0 }
        });
        ScanQuality::of(&sheet.scanned([10.0, 250.0], 2.0), dpi(254.0)).finest_stroke_mm.unwrap() * 10.0
    };
    assert!((mixed(4.0) - 2.0).abs() < 0.3, "{}", mixed(4.0));
    assert!((mixed(8.0) - 2.0).abs() < 0.3, "{}", mixed(8.0));
    assert!((mixed(60.0) - 6.0).abs() < 0.4, "{}", mixed(60.0));
}

#[test]
fn pale_and_blurred_strokes_are_measured_by_their_own_depth() {
    let sheet = Sheet::strokes(420, 3.0, 30.0, 20.0);
    let width = |raster: &GrayRaster| ScanQuality::of(raster, dpi(254.0)).finest_stroke_mm.unwrap() * 10.0;
    let (dark, pale) =
        (width(&sheet.scanned([10.0, 250.0], 1.0)), width(&sheet.scanned([150.0, 230.0], 1.0)));
    assert!((dark - pale).abs() < 0.25, "{dark} {pale}");
    // A blurred stroke is wider, and never narrower than it was.
    let soft = width(&sheet.blurred(1.0).scanned([10.0, 250.0], 1.0));
    assert!((3.0..4.2).contains(&soft), "{soft}");
}

#[test]
fn tones_without_strokes_have_no_finest_stroke_and_no_blur() {
    for (name, sheet) in [
        ("a wash", Sheet::clouds(512, 60.0, 1)),
        ("a photograph", Sheet::clouds(512, 6.0, 2)),
        ("a soft drawing", Sheet::clouds(512, 20.0, 3).blurred(4.0)),
    ] {
        let quality = ScanQuality::of(&sheet.scanned([15.0, 245.0], 2.0), dpi(300.0));
        assert_eq!(quality.finest_stroke_mm, None, "{name}");
        assert!(!quality.is_blurred(dpi(300.0)), "{name}: {quality:?}");
        assert!(!quality.is_low_in_contrast(1.0) && !quality.shows_blocks(), "{name}: {quality:?}");
    }
    let quality = ScanQuality::of(&crayon(512).scanned([15.0, 245.0], 2.0), dpi(300.0));
    assert_eq!(quality.finest_stroke_mm, None, "a crayon's grain");
    assert!(!quality.is_blurred(dpi(300.0)), "{quality:?}");
}

#[test]
fn blur_is_told_by_the_sharpest_edges() {
    let art = Sheet::strokes(512, 8.0, 40.0, 15.0);
    let blurred = |sheet: &Sheet, at: f64| {
        let quality = ScanQuality::of(&sheet.scanned([20.0, 240.0], 2.0), dpi(at));
        (quality.is_blurred(dpi(at)), quality)
    };
    let is = |sheet: &Sheet, at: f64, wanted: bool| {
        let (got, quality) = blurred(sheet, at);
        assert_eq!(got, wanted, "{quality:?} at {at}");
    };
    is(&art, 300.0, false);
    // 2.563 times 2.5 pixels are 0.54 mm at 300 dpi, and 0.27 mm at 600.
    is(&art.blurred(2.5), 300.0, true);
    is(&art.blurred(2.5), 600.0, false);
    is(&art.blurred(0.7), 300.0, false);
    // Two pixels are 0.5 mm at 100 dpi, which is its pixels' doing.
    is(&art.blurred(0.6), 100.0, false);
    // Soft art beside a few sharp strokes.
    is(&art.beside(&Sheet::clouds(512, 30.0, 4)), 300.0, false);
    is(&art.beside(&art.blurred(6.0)), 300.0, false);
}

#[test]
fn the_range_of_tones_is_that_of_paper_and_art() {
    let art = Sheet::strokes(400, 9.0, 40.0, 60.0);
    let of = |grays, noise| ScanQuality::of(&art.scanned(grays, noise), dpi(300.0));
    let flat = of([170.0, 225.0], 3.0);
    assert!((flat.lightest - 225.0).abs() < 8.0 && (flat.darkest - 166.0).abs() < 8.0, "{flat:?}");
    assert!(flat.is_low_in_contrast(1.0) && !flat.is_low_in_contrast(3.0), "{flat:?}");
    let full = of([25.0, 235.0], 3.0);
    assert!(!full.is_low_in_contrast(1.0) && full.span() > 180.0, "{full:?}");
    // A tint that a program drew is as light as someone chose it.
    let tint = of([190.0, 255.0], 0.0);
    assert!(tint.flat_tints && !tint.is_low_in_contrast(1.0), "{tint:?}");
}

#[test]
fn blank_sheets_have_nothing_to_say_however_they_were_lit() {
    let mut random = SplitMix::new(1);
    let lit = |x: usize, y: usize| 240.0 - 0.12 * x as f64 - 0.05 * y as f64;
    let pixels = (0..600 * 600).map(|i| (lit(i % 600, i / 600) + 2.0 * random.normal()) as u8).collect();
    let shaded = GrayRaster::new(600, 600, pixels).unwrap();
    let flats = [0, 90, 249, 255].map(|gray| GrayRaster::filled(300, 200, gray).unwrap());
    let tiny = GrayRaster::new(1, 1, vec![40]).unwrap();
    for raster in flats.iter().chain([&shaded, &tiny]) {
        let quality = ScanQuality::of(raster, dpi(300.0));
        assert_eq!((quality.finest_stroke_mm, quality.edge_width_mm), (None, None), "{quality:?}");
        assert!(!quality.is_low_in_contrast(1.0) && quality.blocks == 0.0, "{quality:?}");
        assert!(!quality.clipped_black && !quality.clipped_white, "{quality:?}");
    }
}

#[test]
fn the_demo_has_strokes_where_it_was_drawn_with_a_pen_and_no_faults() {
    let of =
        |name: &str| ScanQuality::of(&picture(&format!("demo/tidewrack/tidewrack-{name}.png")), dpi(300.0));
    for name in ["ink", "sea", "weed"] {
        let quality = of(name);
        assert!(!quality.is_blurred(dpi(300.0)) && !quality.is_low_in_contrast(1.0), "{name}: {quality:?}");
        assert!(!quality.clipped_black && !quality.clipped_white && !quality.shows_blocks(), "{name}");
        assert!(quality.dpi_for_strokes(dpi(300.0)).is_none(), "{name}: {quality:?}");
    }
    let pen = of("ink").finest_stroke_mm.unwrap();
    assert!((0.15..0.35).contains(&pen), "{pen}");
    assert_eq!(of("weed").finest_stroke_mm, None, "a crayon's grain is no stroke");
}

#[test]
fn a_coarse_scan_of_type_says_which_resolution_would_hold_its_stems() {
    // The picture has eight pixels for the height of a small letter, so its stems are a pixel and a half.
    let quality = ScanQuality::of(&picture("tests/data/lineup_page.png"), dpi(120.0));
    let stem = quality.finest_stroke_mm.unwrap() / 25.4 * 120.0;
    assert!((1.0..2.2).contains(&stem), "{stem}");
    let wanted = quality.dpi_for_strokes(dpi(120.0)).unwrap();
    assert!((wanted * stem / 120.0 - STROKE_PX).abs() < 1e-9, "{wanted}");
}

#[test]
fn thin_strokes_at_any_angle_about_45_degrees_are_measured() {
    for width in [1.6, 2.0, 2.6, 4.0] {
        for step in 0..21 {
            let degrees = 43.0 + 0.169 * f64::from(step);
            let raster = Sheet::strokes(300, width, 31.0, degrees).blurred(0.5).scanned([20.0, 240.0], 2.0);
            let found = ScanQuality::of(&raster, dpi(254.0)).finest_stroke_mm;
            assert!(
                found.is_some_and(|mm| (mm * 10.0 - width).abs() < 0.8),
                "{width} at {degrees}: {found:?}"
            );
        }
    }
}
