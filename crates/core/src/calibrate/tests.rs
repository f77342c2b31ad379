//! A synthetic print of the sheet: known curves, noise, a turn, perspective, uneven light.

use super::homography::Homography;
use super::*;
use crate::colour::{Lab, srgb_from_linear};
use crate::geometry::{Point, Rect};
use crate::ink::Ink;
use crate::overprint::{Film, Ground, Overprint};
use crate::raster::{GrayRaster, Pyramid};
use crate::stock::{Finish, Stock};
use crate::tone::ToneCurve;
use crate::units::{Dpi, SheetFormat};

const TRUE_N: f64 = 1.7;

fn lab(l: f64, a: f64, b: f64) -> Lab {
    Lab::new(l, a, b).unwrap()
}

fn paper() -> Lab {
    lab(93.0, -1.0, 4.0)
}

fn solids() -> [Lab; 3] {
    [lab(62.0, -30.0, -18.0), lab(58.0, 52.0, 22.0), lab(34.0, 8.0, -38.0)]
}

fn curves() -> [ToneCurve; 3] {
    let gain = |g: f64| {
        let at = |x: f64| (x, (x + g * 4.0 * x * (1.0 - x)).min(1.0));
        ToneCurve::new((0..=8).map(|i| at(f64::from(i) / 8.0)).collect()).unwrap()
    };
    [gain(0.2), gain(0.12), gain(0.05)]
}

fn model(trap: f64) -> Overprint {
    let film = |solid| Film { solid, on: paper(), on_floor: 0.06, opacity: 0.0, emission: 1.0 };
    let ground = Ground { paper: paper(), floor: 0.06, trap, n: TRUE_N };
    Overprint::new(&ground, &solids().map(film)).unwrap()
}

fn plan() -> WedgeSheet {
    let names = ["Green", "Red", "Blue"].map(str::to_owned);
    WedgeSheet::new(SheetFormat::Letter.size(), &names, 3).unwrap()
}

fn cover(marks: &[Mark], p: Point) -> f64 {
    let hit = |m: &&Mark| match m {
        Mark::Box { area, .. } => area.contains(p),
        Mark::Disc { centre, radius, .. } => centre.distance(p) <= *radius,
    };
    marks.iter().rev().find(hit).map_or(0.0, |m| match m {
        Mark::Box { cover, .. } | Mark::Disc { cover, .. } => *cover,
    })
}

struct Noise(u32);

impl Noise {
    /// Evenly from -1 to 1.
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(self.0 >> 8) / f64::from(1 << 23) - 1.0
    }
}

/// Pixels of the sheet as a scanner at 120 dpi sees it; the corners are where the sheet's own lie in pixels.
fn print(sheet: &WedgeSheet, corners: [Point; 4], (width, height): (usize, usize), trap: f64) -> Vec<u8> {
    let (w, h) = (sheet.size.width.get(), sheet.size.height.get());
    let own = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y));
    let mm_from_px = Homography::through(corners, own).unwrap();
    let plates: Vec<Vec<Mark>> = (0..sheet.inks.len()).map(|k| sheet.marks(k)).collect();
    let (model, curves) = (model(trap), curves());
    let mut noise = Noise(7);
    let mut cache = std::collections::BTreeMap::new();
    let mut rgb = Vec::with_capacity(width * height * 3);
    for y in 0..height {
        for x in 0..width {
            let p = mm_from_px.apply(Point::new(x as f64 + 0.5, y as f64 + 0.5));
            let inside = p.x >= 0.0 && p.y >= 0.0 && p.x < w && p.y < h;
            let asked: Vec<f64> = plates.iter().map(|m| cover(m, p)).collect();
            let key: Vec<u64> = asked.iter().map(|v| v.to_bits()).collect();
            let light = *cache.entry((inside, key)).or_insert_with(|| {
                if !inside {
                    return [0.02; 3];
                }
                let effective: Vec<f64> = asked.iter().zip(&curves).map(|(a, c)| c.effective(*a)).collect();
                model.mix(&effective).linear_srgb()
            });
            let lamp = 0.95 - 0.08 * (x as f64 / width as f64) - 0.06 * (y as f64 / height as f64).powi(2);
            for v in light {
                let v = srgb_from_linear((v * lamp).clamp(0.0, 1.0)) * 255.0 + 4.0 * noise.next();
                rgb.push(v.round().clamp(0.0, 255.0) as u8);
            }
        }
    }
    rgb
}

const SIZE: (usize, usize) = (1100, 1400);

/// Letter at 120 dpi, turned by `degrees`, the lower edge drawn out a little.
fn corners(degrees: f64) -> [Point; 4] {
    let (w, h) = (215.9 * 120.0 / 25.4, 279.4 * 120.0 / 25.4);
    let (s, c) = (libm::sin(degrees.to_radians()), libm::cos(degrees.to_radians()));
    [(0.0, 0.0), (w, 0.0), (w + 6.0, h), (-4.0, h + 3.0)].map(|(x, y)| {
        let (x, y) = (x - w / 2.0, y - h / 2.0);
        Point::new(550.0 + c * x - s * y, 700.0 + s * x + c * y)
    })
}

fn read(rgb: &[u8]) -> Result<SheetReading, CalibrateError> {
    let scan = ScanPixels { width: SIZE.0, height: SIZE.1, rgb, encoding: Encoding::Srgb };
    read_sheet(&scan, &plan(), &KnownPatches { paper: Some(paper()), ..KnownPatches::default() })
}

#[test]
fn a_turned_noisy_print_in_uneven_light_gives_its_curves_and_solids_back() {
    let reading = read(&print(&plan(), corners(2.0), SIZE, 0.8)).unwrap();
    assert!((reading.turned - 2.0).abs() < 0.4, "{}", reading.turned);
    assert!(reading.unevenness > 1.08 && reading.readings == [3, 3, 3]);
    let result = fit(&reading).unwrap();
    assert!((result.n - TRUE_N).abs() < 0.15, "{} {:?}", result.n, result.n_range);
    for ((ink, solid), curve) in result.inks.iter().zip(solids()).zip(curves()) {
        assert!(ink.solid.ciede2000(solid) < 2.0, "{}: {} is not {solid}", ink.name, ink.solid);
        for step in 0..=100 {
            let x = f64::from(step) / 100.0;
            let (got, truth) = (ink.curve.effective(x), curve.effective(x));
            assert!((got - truth).abs() < 0.02, "{} at {x}: {got} is not {truth}, n {}", ink.name, result.n);
        }
    }
    let trap = result.trap.unwrap();
    assert!(trap.after < trap.before && trap.count == 4 && (trap.trap - 0.8).abs() < 0.1, "{trap:?}");
    assert_eq!(result.swatches("Cream").len(), 4);
}

#[test]
fn a_sheet_scanned_upside_down_or_askew_is_read_all_the_same() {
    for degrees in [-10.0, 10.0, 180.0] {
        let mut c = corners(degrees);
        if degrees.abs() < 90.0 {
            // Smaller, so that the turned sheet stays in the picture.
            c = c.map(|p| Point::new(550.0 + 0.82 * (p.x - 550.0), 700.0 + 0.82 * (p.y - 700.0)));
        }
        let reading = read(&print(&plan(), c, SIZE, 0.9)).unwrap();
        assert_eq!(reading.readings, [3, 3, 3], "{degrees}");
    }
}

#[test]
fn a_picture_without_the_sheet_is_refused_in_a_sentence() {
    let error = read(&vec![230; SIZE.0 * SIZE.1 * 3]).unwrap_err();
    assert!(error.to_string().contains("0 of the 4 ringed corner marks"), "{error}");
    assert!(matches!(read(&[0; 3]), Err(CalibrateError::Pixels { .. })));
}

#[test]
fn what_is_measured_is_taken_over_and_what_is_not_stays() {
    let result = fit(&read(&print(&plan(), corners(0.0), SIZE, 0.8)).unwrap()).unwrap();
    let mut before = Ink::estimated("Green", lab(60.0, 0.0, 0.0));
    before.opacity = crate::ink::Share::new(0.3);
    let colour = crate::ink::Swatch::Estimated { lab: paper() };
    let (name, finish) = ("Cream".to_owned(), Finish::Uncoated);
    let stock = Stock { finish, ..Stock::new(name, colour.clone()) };
    let taken = |fit: &InkFit| result.ink(fit, Some(&before).filter(|b| b.name == fit.name), "a test");
    let inks: Vec<Ink> = result.inks.iter().map(taken).collect();
    let measured = &result.stock(&stock, "a test");
    assert!(inks[0].solid.measured() && inks[0].opacity.get() > 0.29);
    assert_eq!((inks[0].on, &inks[0].curve), (result.paper, &result.inks[0].curve));
    assert_eq!((measured.n, measured.trap), (Some(result.n), result.trap.map(|t| t.trap)));
    assert_eq!(&measured.colour, &colour, "a scan does not measure the paper");
    // The model that these now give is the one that was fitted.
    let inks: Vec<&Ink> = inks.iter().collect();
    let (shelf, fitted) = (Overprint::of(measured, &inks, &[]).unwrap(), result.model().unwrap());
    for mask in 0..8 {
        let off = shelf.primary(mask).lab().ciede2000(fitted.primary(mask).lab());
        // The paper patch was read with its noise.
        assert!(off < 0.3, "{mask}: {off}");
    }
    let compared = result.compare(measured, &inks, &result.swatches(&stock.name)).unwrap();
    assert_eq!(compared.len(), 7);
    assert!(compared.iter().all(|c| c.before.ciede2000(c.measured) < 0.7));
    // One curve does for all channels of these inks, and the channels that tell say so.
    for ink in &result.inks {
        assert!((ink.weights.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        assert!(ink.channels.iter().flatten().count() > 0);
        for (channel, weight) in ink.channels.iter().zip(ink.weights) {
            let off = channel.as_ref().map_or(0.0, |c| c.off);
            assert!(weight < 0.4 || off < 0.02, "{}: {off} at weight {weight}", ink.name);
        }
    }
    assert!(result.tints.after <= result.tints.before, "{:?}", result.tints);
}

/// Each pixel the mean of a square around it, twice.
fn blurred(rgb: &[u8], radius: usize) -> Vec<u8> {
    let side = |from: &[u8], step: usize, length: usize, start: usize| -> Vec<u8> {
        (0..length)
            .map(|i| {
                let (low, high) = (i.saturating_sub(radius), (i + radius).min(length - 1));
                let sum: usize = (low..=high).map(|k| usize::from(from[start + k * step])).sum();
                (sum / (high - low + 1)) as u8
            })
            .collect()
    };
    let mut now = rgb.to_vec();
    for _ in 0..2 {
        for c in 0..3 {
            for y in 0..SIZE.1 {
                let row = side(&now, 3, SIZE.0, y * SIZE.0 * 3 + c);
                (0..SIZE.0).for_each(|x| now[(y * SIZE.0 + x) * 3 + c] = row[x]);
            }
            for x in 0..SIZE.0 {
                let column = side(&now, SIZE.0 * 3, SIZE.1, x * 3 + c);
                (0..SIZE.1).for_each(|y| now[(y * SIZE.0 + x) * 3 + c] = column[y]);
            }
        }
    }
    now
}

#[test]
fn a_blurred_scan_is_read_only_while_its_marks_stay_apart() {
    let sharp = print(&plan(), corners(0.0), SIZE, 0.9);
    assert!(read(&blurred(&sharp, 1)).is_ok());
    let mut readings = Vec::new();
    for radius in 2..12 {
        readings.push(read(&blurred(&sharp, radius)).map(|_| ()));
    }
    let first = readings.iter().position(Result::is_err).expect("a blur of 2 mm was read");
    assert!(readings[first..].iter().all(Result::is_err), "{readings:?}");
    assert!(readings.contains(&Err(CalibrateError::Blurred)), "{readings:?}");
}

#[test]
fn a_quick_look_tells_the_sheet_from_other_originals() {
    let formats = [SheetFormat::A4, SheetFormat::Letter];
    let look = |rgb: &[u8]| {
        let gray: Vec<u8> = rgb
            .chunks_exact(3)
            .map(|p| ((u32::from(p[0]) + 2 * u32::from(p[1]) + u32::from(p[2])) / 4) as u8)
            .collect();
        let raster = GrayRaster::new(SIZE.0 as u32, SIZE.1 as u32, gray).unwrap();
        recognise(&Pyramid::new(raster, Dpi::new(120.0).unwrap()), &formats)
    };
    let found = look(&print(&plan(), corners(2.0), SIZE, 0.9));
    assert_eq!(found, Some(Recognised { sheet: SheetFormat::Letter, inks: 3 }));
    assert_eq!(look(&vec![230; SIZE.0 * SIZE.1 * 3]), None);
    // Rings alone are no calibration sheet.
    let mut rings = plan();
    rings.code.iter_mut().for_each(Vec::clear);
    assert_eq!(look(&print(&rings, corners(0.0), SIZE, 0.9)), None);
}

#[test]
fn a_sheet_of_other_inks_is_told_from_the_one_asked_for() {
    let one = WedgeSheet::new(SheetFormat::Letter.size(), &["Green".to_owned()], 0).unwrap();
    let rgb = print(&one, corners(0.0), SIZE, 0.9);
    assert!(matches!(read(&rgb), Err(CalibrateError::Code { .. })));
}

#[test]
fn known_grays_undo_a_scanner_that_bends_tones() {
    let sheet = plan();
    // A scanner that squares light a little: v^1.2.
    let mut rgb = print(&sheet, corners(0.0), SIZE, 0.9);
    let bent: Vec<u8> = (0..256)
        .map(|i| {
            let v = crate::colour::linear_from_srgb(f64::from(i) / 255.0);
            (srgb_from_linear(libm::pow(v, 1.2)) * 255.0).round() as u8
        })
        .collect();
    rgb.iter_mut().for_each(|v| *v = bent[usize::from(*v)]);
    // Patches of the third ink, whose colours are known here, stand in for a gray card.
    let (model, curves) = (model(0.9), curves());
    let grays: Vec<(Rect, Lab)> = sheet
        .patches
        .iter()
        .filter(|p| matches!(p.kind, PatchKind::Step { ink: 2, step } if step % 4 == 0 && step > 0))
        .map(|p| (p.area, model.mix(&[0.0, 0.0, curves[2].effective(p.kind.asked(2))]).lab()))
        .collect();
    let scan = ScanPixels { width: SIZE.0, height: SIZE.1, rgb: &rgb, encoding: Encoding::Srgb };
    let solid = |grays: &[(Rect, Lab)]| {
        let known = KnownPatches { paper: Some(paper()), finish: Finish::Uncoated, grays: grays.to_vec() };
        fit(&read_sheet(&scan, &sheet, &known).unwrap()).unwrap().inks[0].solid.ciede2000(solids()[0])
    };
    let (without, with) = (solid(&[]), solid(&grays));
    assert!(with < 2.0 && with < without, "{with} with, {without} without");
}

#[test]
fn every_plan_keeps_patches_on_the_sheet_and_apart() {
    for inks in 1..=8 {
        let names: Vec<String> = (0..inks).map(|i| format!("Ink {i}")).collect();
        let plan = WedgeSheet::new(SheetFormat::Letter.size(), &names, 0).unwrap();
        for (i, p) in plan.patches.iter().enumerate() {
            let a = p.area;
            assert!(
                a.x > 20.0 && a.x + a.width < 196.0 && a.y > 10.0 && a.y + a.height < 269.0,
                "{inks}: {a:?}"
            );
            let apart = |b: Rect| {
                a.x + a.width < b.x || b.x + b.width < a.x || a.y + a.height < b.y || b.y + b.height < a.y
            };
            assert!(plan.patches[..i].iter().all(|o| apart(o.area)));
            assert!(plan.bare.iter().all(|b| !a.contains(*b)));
        }
    }
    assert!(WedgeSheet::new(SheetFormat::A6.size(), &["One".to_owned()], 0).is_err());
    assert_eq!(WedgeSheet::new(SheetFormat::A4.size(), &[], 0), Err(CalibrateError::Inks(0)));
}
