//! The reading as a whole: that every mode's dots cover what its tones ask for, and what a file may hold.

use super::testing::{coverage, master};
use super::*;
use crate::screen::Window;

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
        "(mode: Screened(ruling: NaN))",
        "(mode: Screened(ruling: 5))",
        "(mode: Screened(rulling: 75))",
        "(mode: Halftone)",
        "(dens: 0.5)",
    ] {
        assert!(read(bad).is_err(), "{bad} was taken");
    }
    for mode in modes() {
        let reading = Reading { contrast: Swing::new(-0.3), ..Reading::of(mode) };
        assert_eq!(read(&ron::to_string(&reading).unwrap()).unwrap(), reading);
    }
}
