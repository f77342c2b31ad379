use super::*;

/// An A4 sheet at 50 dpi.
const WIDTH: u32 = 413;
const HEIGHT: u32 = 585;

fn dpi() -> Dpi {
    Dpi::new(50.0).unwrap()
}

/// Light and coverage of every place, which run from 0 to 1 across and down, with the grain of a scan.
fn scan(light: impl Fn(f64, f64) -> f64, coverage: impl Fn(f64, f64) -> f64) -> GrayRaster {
    let pixels = (0..WIDTH * HEIGHT).map(|i| {
        let (u, v) = (f64::from(i % WIDTH) / f64::from(WIDTH), f64::from(i / WIDTH) / f64::from(HEIGHT));
        let grain = f64::from((i.wrapping_mul(2_654_435_761) >> 24) % 9) - 4.0;
        (255.0 * light(u, v) * (1.0 - coverage(u, v)) + grain).clamp(0.0, 255.0).round() as u8
    });
    GrayRaster::new(WIDTH, HEIGHT, pixels.collect()).unwrap()
}

/// From 95 % to 70 % of white across the corners, with a soft shadow in the middle.
fn uneven(u: f64, v: f64) -> f64 {
    let (x, y) = ((u - 0.6) * 210.0, (v - 0.4) * 297.0);
    (0.95 - 0.25 * (u + v) / 2.0) * (1.0 - 0.12 * libm::exp(-(x * x + y * y) / (2.0 * 40.0 * 40.0)))
}

fn cleaned(mut scan: GrayRaster) -> GrayRaster {
    if let Some(paper) = Paper::of(&scan, dpi()) {
        paper.clean(&mut scan, dpi(), (0, 0));
    }
    scan
}

/// Mean coverage where something holds.
fn mean(raster: &GrayRaster, here: impl Fn(f64, f64) -> bool) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for (i, g) in raster.pixels().iter().enumerate() {
        let (x, y) = (i as u32 % WIDTH, i as u32 / WIDTH);
        if here(f64::from(x) / f64::from(WIDTH), f64::from(y) / f64::from(HEIGHT)) {
            sum += 1.0 - f64::from(*g) / 255.0;
            count += 1.0;
        }
    }
    sum / f64::max(count, 1.0)
}

#[test]
fn a_wash_keeps_its_coverage_on_unevenly_lit_paper_however_large_it_is() {
    type Area = fn(f64, f64) -> bool;
    let areas: [(&str, Area); 5] = [
        ("half", |u, _| u < 0.5),
        ("a corner", |u, v| u > 0.2 && v > 0.25),
        ("all but a rim on two sides", |u, v| u > 0.08 && v > 0.08),
        ("all but a margin", |u, v| (u - 0.5).abs() < 0.44 && (v - 0.5).abs() < 0.44),
        ("bands", |_, v| ((v * 6.0) as usize).is_multiple_of(2)),
    ];
    for (name, area) in areas {
        for wash in [0.3, 0.15, 0.8] {
            let got = cleaned(scan(uneven, |u, v| if area(u, v) { wash } else { 0.0 }));
            let kept = mean(&got, area);
            assert!((kept - wash).abs() < 0.025, "{name}: a wash of {wash} is kept as {kept}");
            let paper = mean(&got, |u, v| !area(u, v));
            assert!(paper < 0.004, "{name}: {paper} of the paper is left beside a wash of {wash}");
        }
    }
}

#[test]
fn unevenly_lit_blank_paper_comes_out_blank() {
    let got = cleaned(scan(uneven, |_, _| 0.0));
    let worst = (0..8).flat_map(|i| (0..8).map(move |j| (f64::from(i) / 8.0, f64::from(j) / 8.0)));
    for (x, y) in worst {
        let left = mean(&got, |u, v| (0.0..0.125).contains(&(u - x)) && (0.0..0.125).contains(&(v - y)));
        assert!(left < 0.003, "{left} is left at {x} {y}");
    }
}

#[test]
fn what_is_no_shaded_paper_stays_as_it_is() {
    let same =
        |name: &str, raster: GrayRaster| assert!(cleaned(raster.clone()) == raster, "{name} is changed");
    same("white", GrayRaster::filled(WIDTH, HEIGHT, 255).unwrap());
    same("black", GrayRaster::filled(WIDTH, HEIGHT, 0).unwrap());
    same("a drawn tint", GrayRaster::filled(WIDTH, HEIGHT, 178).unwrap());
    same("a dark scan", scan(|_, _| 0.3, |_, _| 0.0));
    same("white paper", scan(|_, _| 1.0, |u, v| if u < 0.4 && v > 0.3 { 0.4 } else { 0.0 }));
    // A drawn wash on drawn white, and white letters in a drawn tint.
    let drawn = |ground: u8, ink: u8| {
        let pixels =
            (0..WIDTH * HEIGHT).map(|i| if i % 40 < 9 && i / WIDTH % 30 < 11 { ink } else { ground });
        GrayRaster::new(WIDTH, HEIGHT, pixels.collect()).unwrap()
    };
    same("a drawn pattern", drawn(255, 160));
    same("white letters", drawn(128, 255));
}

/// Strokes of a millimetre in gray paper: where they are lighter than it, they are the paper and it is the tone.
#[test]
fn gray_paper_is_cleaned_under_dark_type_and_kept_under_white_type() {
    let stroke = |u: f64, v: f64| (u * 210.0) % 6.0 < 1.0 && (0.2..0.3).contains(&v);
    let dark = cleaned(scan(|_, _| 0.6, |u, v| if stroke(u, v) { 0.9 } else { 0.0 }));
    assert!(mean(&dark, |u, v| !stroke(u, v)) < 0.004);
    assert!(mean(&dark, stroke) > 0.85);
    let white = cleaned(scan(|_, _| 0.97, |u, v| if stroke(u, v) { 0.0 } else { 0.4 }));
    let (ground, letters) = (mean(&white, |u, v| !stroke(u, v)), mean(&white, stroke));
    assert!((ground - 0.4).abs() < 0.02 && letters < 0.02, "{ground} {letters}");
}

#[test]
fn soft_pencil_stays_on_cleaned_paper() {
    let stroke = |u: f64, v: f64| (v * 297.0) % 12.0 < 1.0 && (0.2..0.8).contains(&u);
    let got = cleaned(scan(uneven, |u, v| if stroke(u, v) { 0.2 } else { 0.0 }));
    assert!((mean(&got, stroke) - 0.2).abs() < 0.02, "{}", mean(&got, stroke));
    assert!(mean(&got, |u, v| !stroke(u, v)) < 0.004);
}

#[test]
fn scans_of_a_pixel_and_of_a_line_of_pixels_are_read() {
    for (w, h) in [(1, 1), (1, 900), (900, 1), (2, 3), (37, 1)] {
        let pixels = (0..w * h).map(|i| 160 + (i % 7) as u8).collect();
        let got = cleaned(GrayRaster::new(w, h, pixels).unwrap());
        assert!(got.pixels().iter().all(|g| *g >= 150), "{w} x {h}");
    }
}

#[test]
fn a_part_and_a_halving_are_cleaned_as_the_whole_is() {
    let whole = scan(uneven, |u, v| if u < 0.5 && v < 0.5 { 0.3 } else { 0.0 });
    let paper = Paper::of(&whole, dpi()).unwrap();
    let all = cleaned(whole.clone());
    let rows = (100..180).flat_map(|y| whole.row(y)[50..150].to_vec()).collect();
    let mut part = GrayRaster::new(100, 80, rows).unwrap();
    paper.clean(&mut part, dpi(), (50, 100));
    for y in 0..80 {
        assert_eq!(part.row(y), &all.row(y + 100)[50..150]);
    }
    // A halving of another part: its wash has the same tone.
    let mean_of_four = |x: usize, y: u32| {
        let sum: u32 = [(0, 0), (1, 0), (0, 1), (1, 1)]
            .map(|(i, j)| u32::from(whole.row(2 * y + j)[2 * x + i]))
            .iter()
            .sum();
        (sum / 4) as u8
    };
    let halved = (20..60).flat_map(|y| (10..60).map(move |x| (x, y))).map(|(x, y)| mean_of_four(x, y));
    let mut half = GrayRaster::new(50, 40, halved.collect()).unwrap();
    paper.clean(&mut half, Dpi::new(25.0).unwrap(), (10, 20));
    let tone = mean(&all, |u, v| u < 0.45 && v < 0.45);
    let got = half.pixels().iter().map(|g| 1.0 - f64::from(*g) / 255.0).sum::<f64>() / 2000.0;
    assert!((got - tone).abs() < 0.01, "{got} {tone}");
}
