//! The reading as a whole: that every mode's dots cover what its tones ask for, and what a file may hold.

use super::testing::{coverage, master};
use super::*;
use crate::screen::Window;
use proptest::prelude::*;

fn dpi(v: f64) -> Dpi {
    Dpi::new(v).unwrap()
}

fn modes() -> Vec<Mode> {
    let (ruling, angle) = (Ruling::new(75.0), Degrees::new(15.0));
    vec![
        Mode::Line,
        Mode::Screened { ruling, angle },
        Mode::Screened { ruling: Ruling::new(60.0), angle: Degrees::new(45.0) },
        Mode::Stochastic { scatter: Scatter::Tile },
        Mode::Stochastic { scatter: Scatter::Diffusion },
        Mode::Mixed { ruling, angle },
        Mode::Faint,
    ]
}

/// A ramp across, and a slower one down.
fn ramp(width: u32, height: u32) -> GrayRaster {
    let at = |x: u32, y: u32| ((x * 230 / width) + (y * 25 / height)) as u8;
    let pixels = (0..width * height).map(|i| at(i % width, i / width)).collect();
    GrayRaster::new(width, height, pixels).unwrap()
}

fn block_mean(r: &GrayRaster, x: u32, y: u32, side: u32) -> f64 {
    let sum: u64 = (y..y + side)
        .map(|y| r.row(y)[x as usize..(x + side) as usize].iter().map(|&g| u64::from(g)).sum::<u64>())
        .sum();
    sum as f64 / f64::from(side * side) / 255.0
}

#[test]
fn dots_cover_what_the_tones_ask_for_in_every_block_of_64() {
    let raster = ramp(640, 384);
    for mode in modes() {
        for density in [0.0, 0.4] {
            let reading = Reading { density: Swing::new(density), ..Reading::of(mode) };
            let toned = reading.tones(&raster, dpi(600.0));
            let master = master(&reading, &toned, [dpi(600.0), dpi(600.0)], None).unwrap();
            assert!(master.pixels().iter().all(|&p| p == 0 || p == 255));
            for (x, y) in (0..6).flat_map(|y| (0..10).map(move |x| (x * 64, y * 64))) {
                let off = block_mean(&master, x, y, 64) - block_mean(&toned, x, y, 64);
                assert!(off.abs() < 0.02, "{mode:?}, block at {x} {y}: {off:.4}");
            }
        }
    }
}

#[test]
fn a_300_dpi_scan_on_a_600_dpi_press_covers_the_same() {
    let raster = ramp(320, 192);
    for mode in modes() {
        let reading = Reading::of(mode);
        let toned = reading.tones(&raster, dpi(300.0));
        let master = master(&reading, &toned, [dpi(300.0), dpi(600.0)], None).unwrap();
        assert_eq!((master.width(), master.height()), (640, 384));
        for (x, y) in (1..5).flat_map(|y| (1..9).map(move |x| (x, y))) {
            let off = block_mean(&master, x * 64, y * 64, 64) - block_mean(&toned, x * 32, y * 32, 32);
            assert!(off.abs() < 0.02, "{mode:?}, block {x} {y}: {off:.4}");
        }
    }
}

#[test]
fn a_window_of_the_master_is_cut_from_the_whole() {
    let raster = ramp(300, 200);
    let window = Window { x: 33, y: 71, width: 120, height: 90 };
    for mode in modes() {
        let reading = Reading::of(mode);
        let toned = reading.tones(&raster, dpi(400.0));
        for press in [300.0, 400.0, 600.0] {
            let whole = master(&reading, &toned, [dpi(400.0), dpi(press)], None).unwrap();
            let part = master(&reading, &toned, [dpi(400.0), dpi(press)], Some(window)).unwrap();
            for y in 0..window.height.min(whole.height() - window.y) {
                let n = (whole.width() - window.x).min(window.width) as usize;
                assert_eq!(part.row(y)[..n], whole.row(window.y + y)[33..33 + n], "{mode:?} at {press}");
                assert!(part.row(y)[n..].iter().all(|&p| p == 255), "{mode:?} at {press}");
            }
        }
    }
}

#[test]
fn the_default_reading_changes_nothing() {
    let raster = ramp(100, 60);
    let reading = Reading::default();
    assert!(reading.keeps_gray());
    assert_eq!(reading.tones(&raster, dpi(300.0)), raster);
    assert_eq!(master(&reading, &raster, [dpi(300.0), dpi(300.0)], None).unwrap(), raster);
    assert!(!Reading::of(Mode::Line).keeps_gray());
}

#[test]
fn a_darker_reading_covers_more_in_every_mode() {
    let raster = ramp(300, 200);
    for mode in modes() {
        let cover = |d: f64| {
            let reading = Reading { density: Swing::new(d), ..Reading::of(mode) };
            coverage(&reading.tones(&raster, dpi(300.0)))
        };
        assert!(cover(-0.5) < cover(0.0) && cover(0.0) < cover(0.5), "{mode:?}");
    }
}

#[test]
fn readings_are_read_from_files_with_their_ranges_checked() {
    let read = |text: &str| ron::from_str::<Reading>(text);
    assert_eq!(read("()").unwrap(), Reading::default());
    let r = read("(mode: Screened(ruling: 60, angle: 75), density: 0.25)").unwrap();
    assert_eq!(r.mode, Mode::Screened { ruling: Ruling::new(60.0), angle: Degrees::new(75.0) });
    assert_eq!(read("(mode: Stochastic())").unwrap().mode, Mode::Stochastic { scatter: Scatter::Tile });
    for bad in [
        "(density: NaN)",
        "(density: 1.5)",
        "(contrast: -inf)",
        "(background: 0.9)",
        "(black: 0.1)",
        "(black: 1.2)",
        "(black: NaN)",
        "(mode: Screened(ruling: NaN))",
        "(mode: Screened(ruling: 5))",
        "(mode: Screened(rulling: 75))",
        "(mode: Halftone)",
        "(dens: 0.5)",
    ] {
        assert!(read(bad).is_err(), "{bad} was taken");
    }
    for mode in modes() {
        let reading =
            Reading { contrast: Swing::new(-0.3), black: BlackPoint::new(0.35), ..Reading::of(mode) };
        assert_eq!(read(&ron::to_string(&reading).unwrap()).unwrap(), reading);
    }
}

#[test]
fn a_reading_without_a_black_point_is_written_as_it_always_was() {
    let text = ron::to_string(&Reading::default()).unwrap();
    assert_eq!(text, "(mode:Continuous,density:0.0,contrast:0.0,background:0.0)");
    let set = Reading { black: BlackPoint::new(0.5), ..Reading::default() };
    assert!(ron::to_string(&set).unwrap().ends_with("black:0.5)"));
}

#[test]
fn a_black_point_is_no_plain_gray_and_changes_every_mode_but_line() {
    let raster = ramp(300, 200);
    for mode in modes().into_iter().chain([Mode::Continuous]) {
        let plain = Reading::of(mode);
        let set = Reading { black: BlackPoint::new(0.25), ..plain };
        assert!(!set.keeps_gray());
        assert!(set.tones_only() != plain.tones_only());
        let cover = |r: &Reading| coverage(&r.tones(&raster, dpi(300.0)));
        match mode {
            Mode::Line => assert_eq!(cover(&set), cover(&plain)),
            Mode::Continuous
            | Mode::Screened { .. }
            | Mode::Stochastic { .. }
            | Mode::Mixed { .. }
            | Mode::Faint => assert!(cover(&set) > cover(&plain) + 0.02, "{mode:?}"),
        }
    }
}

/// Paper with grain, and strokes and a wash no darker than `most`.
fn pale(most: f64) -> GrayRaster {
    let pixels = (0..300 * 200_u32).map(|i| {
        let (x, y) = (i % 300, i / 300);
        let grain = f64::from((i.wrapping_mul(2_654_435_761) >> 24) % 7) - 3.0;
        let cover = match (x, y) {
            (20..140, _) if y % 24 < 6 && (20..180).contains(&y) => most,
            (180..260, 40..150) => most * f64::from(x - 180) / 80.0,
            _ => 0.0,
        };
        (236.0 * (1.0 - cover) + grain) as u8
    });
    GrayRaster::new(300, 200, pixels.collect()).unwrap()
}

#[test]
fn a_black_point_at_the_darkest_stroke_prints_it_full_on_bare_paper() {
    let raster = pale(0.3);
    let black = BlackPoint::new(0.3);
    let (ruling, angle) = (Ruling::default(), Degrees::new(45.0));
    for mode in [Mode::Mixed { ruling, angle }, Mode::Faint] {
        let read = |black| Reading { black, ..Reading::of(mode) }.tones(&raster, dpi(150.0));
        let (before, after) = (read(BlackPoint::default()), read(black));
        let stroke = |r: &GrayRaster| block_mean(r, 60, 49, 4);
        assert!(stroke(&after) < 0.06 && stroke(&after) <= stroke(&before), "{mode:?}");
        assert!(block_mean(&after, 150, 10, 20) > 0.99, "{mode:?} prints its paper");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn a_lower_black_point_is_never_lighter_anywhere_in_any_mode(
        density in -1.0..=1.0_f64, contrast in -1.0..=1.0_f64, background in 0.0..=0.5_f64,
        low in 0.2..=1.0_f64, high in 0.2..=1.0_f64, most in 0.1..=1.0_f64,
    ) {
        let raster = pale(most);
        for mode in modes().into_iter().chain([Mode::Continuous]) {
            let read = |black: f64| Reading {
                mode,
                density: Swing::new(density),
                contrast: Swing::new(contrast),
                background: DropOut::new(background),
                black: BlackPoint::new(black),
            }.tones(&raster, dpi(150.0));
            let (darker, lighter) = (read(low.min(high)), read(low.max(high)));
            prop_assert!(darker.pixels().iter().zip(lighter.pixels()).all(|(a, b)| a <= b), "{:?}", mode);
        }
    }
}
