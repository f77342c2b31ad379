use super::*;

const DPI: f64 = 300.0;

/// Numbers that look random, -1..1, the same every time.
fn noise(i: usize) -> f64 {
    let mut z = (i as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(0x2545_f491_4f6c_dd1d);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}

/// Paper that is lit unevenly, with grain of its own: fine from the scanner, coarser from its fibres.
fn paper(width: usize, height: usize) -> Vec<f64> {
    let fibres: Vec<f64> = (0..width * height).map(|i| noise(i * 3 + 1)).collect();
    let coarse = |x: usize, y: usize| {
        let mut sum = 0.0;
        for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1), (2, 1)] {
            sum += fibres[((y + dy) % height) * width + (x + dx) % width];
        }
        sum / 5.0
    };
    (0..width * height)
        .map(|i| {
            let (x, y) = (i % width, i / width);
            let light = 236.0 - 22.0 * x as f64 / width as f64 - 10.0 * y as f64 / height as f64;
            light * (1.0 + 0.02 * coarse(x, y) + 0.012 * noise(i * 7 + 5))
        })
        .collect()
}

/// Whether a pencil was there: slanted strokes half a millimetre wide in the left half.
fn stroke(x: usize, y: usize, width: usize) -> bool {
    x < width / 2 && x > 40 && (x + y / 3) % 40 < 6
}

fn scan(width: usize, height: usize, cover: impl Fn(usize, usize) -> f64) -> GrayRaster {
    let pixels = paper(width, height)
        .iter()
        .enumerate()
        .map(|(i, g)| (g * (1.0 - cover(i % width, i / width))).round().clamp(0.0, 255.0) as u8)
        .collect();
    GrayRaster::new(width as u32, height as u32, pixels).unwrap()
}

/// Mean coverage of the pixels that are picked.
fn mean(raster: &GrayRaster, pick: impl Fn(usize, usize) -> bool) -> f64 {
    let width = raster.width() as usize;
    let picked = raster.pixels().iter().enumerate().filter(|(i, _)| pick(i % width, i / width));
    let (sum, count) = picked.fold((0.0, 0.0), |(s, n), (_, g)| (s + 1.0 - f64::from(*g) / 255.0, n + 1.0));
    sum / count
}

#[test]
fn pencil_at_five_per_cent_survives_and_bare_paper_does_not_print() {
    let (width, height) = (900, 700);
    for depth in [0.05, 0.08, 0.2, 0.7] {
        let cover = |x: usize, y: usize| if stroke(x, y, width) { depth } else { 0.0 };
        let mut raster = scan(width, height, cover);
        let before = raster.clone();
        let found = BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap()).unwrap();
        // What is found without cleaning is the same.
        assert_eq!(BarePaper::of(&before, Dpi::new(DPI).unwrap()), Some(found));
        let kept = mean(&raster, |x, y| stroke(x, y, width)) / depth;
        let bare = mean(&raster, |x, y| x > width / 2 + 20 && y > 0);
        assert!((0.95..1.1).contains(&kept), "{depth}: {kept}");
        assert!(bare <= 0.003, "{depth}: {bare}");
        assert!((205.0..236.0).contains(&found.gray) && (0.05..0.2).contains(&found.unevenness), "{found:?}");
    }
}

#[test]
fn a_wash_keeps_its_tone_and_its_paper_goes() {
    let (width, height) = (900, 700);
    let wash = |x: usize, y: usize| (200..600).contains(&x) && (150..450).contains(&y);
    for depth in [0.1, 0.3, 0.9] {
        let mut raster = scan(width, height, |x, y| if wash(x, y) { depth } else { 0.0 });
        BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap()).unwrap();
        let inside = mean(&raster, |x, y| (220..580).contains(&x) && (170..430).contains(&y));
        assert!((inside - depth).abs() < 0.02, "{depth}: {inside}");
        assert!(mean(&raster, |x, y| !wash(x, y) && y > 480) <= 0.003);
    }
}

#[test]
fn darker_art_is_never_lighter_once_cleaned() {
    let (width, height) = (600, 500);
    let clean = |depth: f64| {
        let mut raster = scan(width, height, |x, y| if stroke(x, y, width) { depth } else { 0.0 });
        BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap());
        mean(&raster, |x, y| stroke(x, y, width))
    };
    let kept: Vec<f64> = [0.0, 0.02, 0.04, 0.06, 0.1, 0.3, 0.8].map(clean).into();
    assert!(kept.windows(2).all(|w| w[0] <= w[1] + 1e-3), "{kept:?}");
}

#[test]
fn white_paper_and_drawn_grays_stay_as_they_are() {
    let dpi = Dpi::new(DPI).unwrap();
    let white = GrayRaster::new(400, 300, vec![255; 400 * 300]).unwrap();
    let mut flat: Vec<u8> = vec![230; 400 * 300];
    flat[..4000].fill(20);
    for raster in [white, GrayRaster::new(400, 300, flat).unwrap()] {
        let mut cleaned = raster.clone();
        assert_eq!(BarePaper::clean(&mut cleaned, dpi), None);
        assert_eq!(cleaned, raster);
    }
}

#[test]
fn cleaning_twice_changes_hardly_anything() {
    let (width, height) = (600, 500);
    let mut once = scan(width, height, |x, y| if stroke(x, y, width) { 0.3 } else { 0.0 });
    let dpi = Dpi::new(DPI).unwrap();
    BarePaper::clean(&mut once, dpi).unwrap();
    let mut twice = once.clone();
    BarePaper::clean(&mut twice, dpi);
    let all = |_: usize, _: usize| true;
    assert!((mean(&once, all) - mean(&twice, all)).abs() < 1e-3);
}

#[test]
fn the_smallest_rasters_do_not_break_it() {
    let dpi = Dpi::new(DPI).unwrap();
    for (w, h) in [(1, 1), (1, 40), (40, 1), (3, 2), (25, 25)] {
        for gray in [0, 120, 200, 230, 255] {
            let pixels = (0..w * h).map(|i| gray - (i % 3).min(u32::from(gray)) as u8).collect();
            let mut raster = GrayRaster::new(w, h, pixels).unwrap();
            BarePaper::clean(&mut raster, dpi);
        }
    }
}

#[test]
fn a_photograph_with_a_light_sky_stays_as_it_is() {
    let (width, height) = (600_usize, 500_usize);
    let pixels: Vec<u8> = (0..width * height)
        .map(|i| {
            let (x, y) = (i % width, i / width);
            let sky = 214.0 - 30.0 * y as f64 / height as f64;
            let land = 90.0 + 40.0 * noise(x / 3 + y / 3 * 400);
            let horizon = 260.0 + 30.0 * libm::sin(x as f64 / 60.0);
            (if (y as f64) < horizon { sky } else { land } + 1.5 * noise(i)).clamp(0.0, 255.0) as u8
        })
        .collect();
    let raster = GrayRaster::new(width as u32, height as u32, pixels).unwrap();
    let mut cleaned = raster.clone();
    assert_eq!(BarePaper::clean(&mut cleaned, Dpi::new(DPI).unwrap()), None);
    assert_eq!(cleaned, raster);
}

#[test]
fn art_that_bleeds_off_one_side_does_not_keep_its_paper() {
    let (width, height) = (600, 500);
    let mut raster = scan(width, height, |x, _| if x < 150 { 0.6 } else { 0.0 });
    assert!(BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap()).is_some());
    assert!(mean(&raster, |x, _| x > 200) <= 0.003);
}

/// A sheet with pencil on it, beside a strip of the scanner's lid.
fn beside_a_lid(lid: f64, strip: usize) -> GrayRaster {
    let (width, height) = (900, 700);
    let gray = paper(width, height).into_iter().enumerate().map(|(i, g)| {
        let (x, y) = (i % width, i / width);
        let depth = if stroke(x, y, width) { 0.2 } else { 0.0 };
        if x >= width - strip { lid } else { (g * (1.0 - depth)).round() }
    });
    GrayRaster::new(width as u32, height as u32, gray.map(|g| g as u8).collect()).unwrap()
}

#[test]
fn a_dark_lid_beside_the_sheet_does_not_pass_for_its_paper() {
    for strip in [20, 60] {
        let mut raster = beside_a_lid(60.0, strip);
        BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap()).unwrap();
        let bare = mean(&raster, |x, _| x > 470 && x + strip + 20 < 900);
        let kept = mean(&raster, |x, y| stroke(x, y, 900)) / 0.2;
        assert!(bare <= 0.003 && (0.95..1.1).contains(&kept), "{strip}: {bare} {kept}");
    }
}

#[test]
fn white_beside_gray_is_left_alone_for_the_gray_may_be_a_wash() {
    for (white, strip) in [(255.0, 20), (255.0, 120), (246.0, 60)] {
        let before = beside_a_lid(white, strip);
        let mut raster = before.clone();
        assert_eq!(BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap()), None, "{white} {strip}");
        assert_eq!(raster, before);
    }
}

#[test]
fn a_large_pale_wash_does_not_pass_for_the_paper() {
    let (width, height) = (900, 700);
    for (margin, depths) in [(40, [0.15, 0.3]), (90, [0.08, 0.3]), (160, [0.08, 0.15])] {
        let wash = |x: usize, y: usize| {
            (margin..width - margin).contains(&x) && (margin..height - margin).contains(&y)
        };
        for depth in depths {
            let mut raster = scan(width, height, |x, y| if wash(x, y) { depth } else { 0.0 });
            BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap()).unwrap();
            let got = mean(&raster, wash);
            assert!((got - depth).abs() < 0.02, "{margin} {depth}: {got}");
        }
    }
}

#[test]
fn a_sheet_that_is_covered_with_art_keeps_its_tones() {
    let (width, height) = (600, 500);
    let mut raster = scan(width, height, |x, y| 0.35 + 0.25 * libm::sin(x as f64 / 17.0 + y as f64 / 29.0));
    let before = raster.clone();
    assert_eq!(BarePaper::clean(&mut raster, Dpi::new(DPI).unwrap()), None);
    assert_eq!(raster, before);
}
