use super::*;
use crate::slip::run::{Feed, Slipper};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, SheetFormat, Size};

fn feed() -> Feed {
    let stock = slipsheet_document::shelf::Shelf::starter().unwrap().stocks[0].clone();
    let printing = slipsheet_document::printing::Printing::new("p", SheetFormat::A4, stock);
    Feed::of(&printing, slipsheet_paper::fold::Face::Front)
}

fn press() -> Press {
    Press {
        within_pass: Spread::of(0.1, 0.15, 0.02, 0.02),
        between_passes: Spread::of(0.4, 0.6, 0.08, 0.05),
        ..Press::default()
    }
}

fn copies(passes: &[Vec<usize>], n: u64) -> Vec<Vec<Misalignment>> {
    let slipper = Slipper::with_passes(passes.to_vec(), &press(), feed(), 11);
    let copy = |i| {
        let mut slips = slipper.slips(i);
        slips.sort_by_key(|s| s.layer);
        // Where it lay on the glass of the scanner.
        let glass = i as f64;
        slips.iter().map(|s| [s.dx + glass, s.dy - glass, s.skew + 0.1 * glass, s.stretch]).collect()
    };
    (0..n).map(copy).collect()
}

#[test]
fn the_spread_that_made_the_copies_is_found_again() {
    let e = estimate(&copies(&[vec![0, 1], vec![2], vec![3]], 600), &[vec![0, 1], vec![2], vec![3]]).unwrap();
    let wanted = [(press().within_pass, e.within.unwrap()), (press().between_passes, e.between.unwrap())];
    for (spread, found) in wanted {
        let true_ones = [spread.dx.get(), spread.dy.get(), spread.skew.get(), spread.stretch.get()];
        for (t, f) in true_ones.into_iter().zip(found) {
            // The seed is fixed; 12 % is four standard errors.
            assert!((f.value / t - 1.0).abs() < 0.12, "{f:?} for {t}");
            assert!(f.interval.low < f.value && f.value < f.interval.high, "{f:?}");
        }
    }
    let measured = estimate(&copies(&[vec![0], vec![1]], 50), &[vec![0], vec![1]]).unwrap().onto(&press());
    // Passes of one ink say nothing of two in one pass.
    assert!(measured.measured.between_passes && !measured.is_measured());
    assert_eq!(measured.within_pass, press().within_pass);
}

#[test]
fn a_constant_offset_is_measured_kept_and_used() {
    let passes = [vec![0, 1], vec![2]];
    let off = Press { offset: Offset::of(1.5, -0.6, 0.2, 0.0), ..press() };
    let slipper = Slipper::with_passes(passes.to_vec(), &off, feed(), 5);
    let copy = |i: u64| {
        let glass = i as f64;
        let mut slips = slipper.slips(i);
        slips.sort_by_key(|s| s.layer);
        slips.iter().map(|s| [s.dx + glass, s.dy - glass, s.skew, s.stretch]).collect::<Vec<Misalignment>>()
    };
    let all: Vec<Vec<Misalignment>> = (0..400).map(copy).collect();
    let e = estimate(&all, &passes).unwrap();
    let found = e.offset.unwrap();
    for (mean, wanted) in found.iter().zip([1.5, -0.6, 0.2, 0.0]) {
        // Four standard errors: a 95 % interval is two to either side.
        let reach = mean.interval.high - mean.interval.low;
        assert!((mean.value - wanted).abs() < reach, "{mean:?} for {wanted}");
        assert!(reach < 0.35, "{mean:?}");
    }
    // A constant offset is no scatter.
    assert!((e.between.unwrap()[0].value / 0.4 - 1.0).abs() < 0.15, "{:?}", e.between);
    let kept = e.onto(&press());
    assert!((kept.offset.dx.get() - 1.5).abs() < 0.2 && kept.offset.skew.get() > 0.15, "{kept:?}");
    // Without one, chance is not kept as one, and one pass says nothing of it.
    let none = estimate(&copies(&passes, 400), &passes).unwrap().onto(&off).offset;
    assert!(none.dx.get().abs() < 0.2 && none.dy.get().abs() < 0.3, "{none:?}");
    let one = estimate(&copies(&[vec![0, 1]], 30), &[vec![0, 1]]).unwrap();
    assert_eq!((one.offset, one.onto(&off).offset), (None, off.offset));
}

#[test]
fn the_interval_of_the_offset_holds_the_truth_about_as_often_as_it_says() {
    let passes = [vec![0], vec![1], vec![2]];
    let all = copies(&passes, 2000);
    let held = all.chunks(10).filter(|ten| {
        let mean = estimate(ten, &passes).unwrap().offset.unwrap()[1];
        !mean.is_sure()
    });
    // 95 % of 200, with four standard errors.
    let share = held.count() as f64 / 200.0;
    assert!((share - 0.95).abs() < 0.065, "{share}");
}

#[test]
fn the_interval_holds_the_truth_about_as_often_as_it_says() {
    let passes = [vec![0], vec![1], vec![2]];
    let all = copies(&passes, 2000);
    let (mut held, mut tried) = (0, 0);
    for ten in all.chunks(10) {
        let d = estimate(ten, &passes).unwrap().between.unwrap()[0];
        tried += 1;
        held += u32::from(d.interval.low <= 0.4 && 0.4 <= d.interval.high);
    }
    // 95 % of 200, with four standard errors.
    assert!((f64::from(held) / f64::from(tried) - 0.95).abs() < 0.065, "{held} of {tried}");
}

#[test]
fn too_little_to_tell_is_said() {
    let two = [vec![0], vec![1]];
    assert_eq!(estimate(&copies(&two, 2), &two).unwrap_err(), SpreadError::TooFew(2));
    assert_eq!(estimate(&copies(&two, 9), &[vec![0]]).unwrap_err(), SpreadError::OneInk);
    let lacking = estimate(&copies(&two, 9), &[vec![0], vec![1], vec![2]]).unwrap_err();
    assert_eq!(lacking, SpreadError::Inks { copy: 1, found: 2, wanted: 3 });
}

#[test]
fn marks_of_several_inks_are_read_from_one_scan() {
    let sheet = SheetFormat::A5.size();
    let layout = SpreadSheet::new(sheet, 3);
    assert!(layout.marks.iter().all(|m| m.len() == 8), "{:?}", layout.marks[0].len());
    let dpi = Dpi::new(300.0).unwrap();
    let centre = Point::new(sheet.width.get() / 2.0, sheet.height.get() / 2.0);
    let meant: [Misalignment; 3] = [[0.0; 4], [0.6, -0.4, 0.05, 0.0], [-0.9, 1.1, -0.1, 0.1]];
    let glass = Size::mm(sheet.width.get() + 20.0, sheet.height.get() + 20.0);
    let plates: Vec<GrayRaster> = meant
        .iter()
        .zip(&layout.marks)
        .map(|([dx, dy, skew, stretch], marks)| {
            let at = |p: Point| {
                let (x, y, turn) = (p.x - centre.x, p.y - centre.y, skew.to_radians());
                Point::new(p.x + dx - turn * y + 7.0, p.y + dy + turn * x + stretch / 100.0 * y + 5.0)
            };
            station_plate(glass, marks, dpi, at).unwrap()
        })
        .collect();
    let mut scan = plates[0].clone();
    for plate in &plates[1..] {
        for (s, p) in scan.pixels_mut().iter_mut().zip(plate.pixels()) {
            *s = (*s).min(*p);
        }
    }
    let found = layout.read(&scan, dpi).unwrap();
    for (got, wanted) in found.iter().zip(meant) {
        for (i, most) in [0.03, 0.03, 0.02, 0.03].into_iter().enumerate() {
            let relative = got[i] - found[0][i];
            assert!((relative - wanted[i]).abs() < most, "{got:?} for {wanted:?}");
        }
    }
    let empty = GrayRaster::filled(600, 800, 255).unwrap();
    assert!(layout.read(&empty, dpi).unwrap_err().to_string().contains("scan the whole sheet"));
}
