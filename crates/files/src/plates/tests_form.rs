//! The three forms of plates, held to what the renderer shows.

use std::sync::Arc;

use proptest::prelude::*;
use slipsheet_core::geometry::Rect;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::reading::{BlackPoint, DropOut, Mode, Reading, Ruling, Scatter, Swing};
use slipsheet_core::screen::Window;
use slipsheet_core::tone::ToneCurve;
use slipsheet_core::units::{Degrees, SheetFormat, Size};
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::{Crop, Region, Target};
use slipsheet_document::remedy::{Growth, Remedy};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold;
use slipsheet_paper::turning::Turning;
use slipsheet_render::{Scene, Show, View};

use super::tests::job;
use super::*;

/// Whole pixels at 300 dpi: 600 x 300.
fn sheet() -> SheetFormat {
    SheetFormat::Custom(Size::mm(50.8, 25.4))
}

/// Patches of one gray, 50 pixels wide, above; strokes on gray paper below.
fn draw(printing: &Printing, images: &mut Images, layer: usize) {
    let scan = &printing.sheet.layers[layer].art[0].scan;
    let pixels = (0..600 * 300_u32)
        .map(|i| {
            let (x, y) = (i % 600, i / 600);
            let paper = 232 - (x / 60) as u8;
            match y {
                0..200 => 250 - (x / 50) as u8 * 22,
                _ if x % 40 < 6 || y % 50 < 5 => paper - 130,
                _ => paper,
            }
        })
        .collect();
    let raster = GrayRaster::new(600, 300, pixels).unwrap();
    images.insert(scan.key.clone(), Arc::new(Pyramid::new(raster, scan.dpi)));
}

fn patches(inks: &[&str]) -> (Printing, Images) {
    let (printing, mut images) = job(sheet(), inks, 0.0);
    (0..inks.len()).for_each(|layer| draw(&printing, &mut images, layer));
    (printing, images)
}

fn modes() -> Vec<Mode> {
    let (ruling, angle) = (Ruling::new(75.0), Degrees::new(45.0));
    vec![
        Mode::Continuous,
        Mode::Line,
        Mode::Screened { ruling, angle },
        Mode::Stochastic { scatter: Scatter::Tile },
        Mode::Stochastic { scatter: Scatter::Diffusion },
        Mode::Mixed { ruling, angle },
        Mode::Faint,
    ]
}

/// The plate of a layer as it is written, without its marks: the sheet has no room for any.
fn plate(printing: &Printing, images: &Images, form: PlateForm, layer: usize) -> GrayRaster {
    let options = PlateOptions { form, ..PlateOptions::default() };
    let plates = Plates::new(printing, images, &options).unwrap();
    assert!(!plates.marked);
    let of = plates.all.iter().find(|p| p.layer == layer).unwrap();
    let gray = plates.bands().flat_map(|(top, rows)| plates.rows(of, top, rows)).collect();
    GrayRaster::new(plates.width, plates.height, gray).unwrap()
}

/// Effective coverage of every pixel as the renderer has it.
fn shown(printing: &Printing, images: &Images, layer: usize) -> Vec<f64> {
    let face = printing.sheet.layers[layer].face;
    let scene = Scene::new(printing, images, Show::meant(face)).unwrap();
    let gray = scene.plate(layer, &View::sheet(printing.sheet.size(), printing.press_dpi)).unwrap();
    let table = scene.coverage_of_grays(layer).unwrap();
    gray.pixels().iter().map(|g| f64::from(table[usize::from(*g)])).collect()
}

/// Effective coverage of the gray of a plate: what the ink's own curve makes of it.
fn inked(printing: &Printing, layer: usize, gray: &GrayRaster) -> Vec<f64> {
    let curve = &printing.sheet.layers[layer].ink.curve;
    gray.pixels().iter().map(|g| curve.effective(1.0 - f64::from(*g) / 255.0)).collect()
}

/// Means over blocks of 32 pixels that lie inside the patches, well away from their edges.
fn blocks(v: &[f64]) -> Vec<f64> {
    (0..12 * 5)
        .map(|i| {
            let (x0, y0) = (i % 12 * 50 + 9, i / 12 * 36 + 8);
            (y0..y0 + 32).flat_map(|y| &v[y * 600 + x0..y * 600 + x0 + 32]).sum::<f64>() / 1024.0
        })
        .collect()
}

fn farthest(a: &[f64], b: &[f64]) -> f64 {
    assert_eq!(a.len(), b.len());
    a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

/// How far a pixel that differs by one level of 255 can be apart, behind a curve that rises threefold at most.
const LEVEL: f64 = 3.0 / 255.0;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    /// A machine that reads the plate as its form says, and the ink's curve, give the coverage of the proof.
    #[test]
    fn every_form_of_every_mode_prints_what_the_renderer_shows(
        density in -1.0..=1.0_f64, contrast in -1.0..=1.0_f64, background in 0.0..=0.5_f64,
        black in prop_oneof![Just(1.0), 0.2..=1.0_f64], fills_in in any::<bool>(),
    ) {
        let (mut p, images) = patches(&["Hip-berry red"]);
        if fills_in {
            // Nothing below a tenth prints, and all above eight tenths is solid.
            let steep = ToneCurve::new(vec![(0.0, 0.0), (0.5, 0.7), (1.0, 1.0)]).unwrap();
            p.sheet.layers[0].ink.curve = steep.with_limits(0.1, 0.8).unwrap();
        }
        for mode in modes() {
            p.sheet.layers[0].reading = Reading {
                mode,
                density: Swing::new(density),
                contrast: Swing::new(contrast),
                background: DropOut::new(background),
                black: BlackPoint::new(black),
            };
            let (reading, dpi) = (p.sheet.layers[0].reading, p.press_dpi);
            let want = shown(&p, &images, 0);

            // A prepared plate has the tones, pixel for pixel, and the plain reading leaves them as they are.
            let prepared = plate(&p, &images, PlateForm::Prepared, 0);
            let machine = PlateForm::Prepared.machine(&reading);
            prop_assert_eq!(machine, Reading::of(machine.mode));
            let read = machine.tones(&prepared, dpi);
            prop_assert!(farthest(&inked(&p, 0, &read), &want) <= 1.0 / 255.0, "{:?}", reading);
            prop_assert_eq!(machine.screen(dpi, 0), reading.screen(dpi, 0));

            // One as drawn has the original with its black point, and the rest of the reading makes those tones of it.
            let drawn = plate(&p, &images, PlateForm::AsDrawn, 0);
            let read = PlateForm::AsDrawn.machine(&reading).tones(&drawn, dpi);
            prop_assert!(farthest(&inked(&p, 0, &read), &want) <= LEVEL, "{:?}", reading);

            // Dots cover it on the mean, and are copied as they are.
            let dots = plate(&p, &images, PlateForm::Dots, 0);
            let copied = PlateForm::Dots.machine(&reading).tones(&dots, dpi);
            if mode == Mode::Continuous {
                prop_assert!(copied == prepared);
                continue;
            }
            prop_assert!(copied == dots && dots.pixels().iter().all(|g| [0, 255].contains(g)));
            let asked: Vec<f64> = dots.pixels().iter().map(|g| 1.0 - f64::from(*g) / 255.0).collect();
            let tones: Vec<f64> = prepared.pixels().iter().map(|g| 1.0 - f64::from(*g) / 255.0).collect();
            prop_assert!(farthest(&blocks(&asked), &blocks(&tones)) <= 0.03, "{:?}", reading);
        }
    }
}

#[test]
fn prepared_dots_cover_what_the_curve_makes_of_them() {
    let (mut p, images) = patches(&["Hip-berry red"]);
    for mode in modes() {
        p.sheet.layers[0].reading = Reading { density: Swing::new(0.6), ..Reading::of(mode) };
        let prepared = plate(&p, &images, PlateForm::Prepared, 0);
        let machine = PlateForm::Prepared.machine(&p.sheet.layers[0].reading);
        let toned = machine.tones(&prepared, p.press_dpi);
        let (width, height) = (toned.width(), toned.height());
        let row = |y: u32, _: u32, row: &mut [u8]| row.copy_from_slice(toned.row(y));
        let whole = Window { x: 0, y: 0, width, height };
        let master = machine.screen(p.press_dpi, 0).draw(width, whole, row);
        let asked: Vec<f64> = master.iter().map(|g| 1.0 - f64::from(*g) / 255.0).collect();
        let curve = &p.sheet.layers[0].ink.curve;
        let printed: Vec<f64> = blocks(&asked).into_iter().map(|a| curve.effective(a)).collect();
        let apart = farthest(&printed, &blocks(&shown(&p, &images, 0)));
        assert!(apart < 0.05, "{mode:?}: {apart}");
    }
}

#[test]
fn density_that_was_left_to_the_operator_is_now_in_the_plate() {
    let (mut p, images) = patches(&["Hip-berry red"]);
    p.sheet.layers[0].reading = Reading { density: Swing::new(0.6), ..Reading::of(modes()[2]) };
    let mean = |r: &GrayRaster| {
        r.pixels().iter().map(|g| f64::from(255 - g)).sum::<f64>() / 255.0 / r.pixels().len() as f64
    };
    let drawn = mean(&plate(&p, &images, PlateForm::AsDrawn, 0));
    let prepared = mean(&plate(&p, &images, PlateForm::default(), 0));
    assert!(prepared > drawn + 0.1, "{prepared} against {drawn}");
}

#[test]
fn remedies_drop_out_and_crops_are_in_the_prepared_plate() {
    let (mut p, mut images) = patches(&["Hip-berry red", "Ink-bottle blue"]);
    p.sheet.fold = fold::find("slit8");
    p.sheet.layers[0].art[0].target = Target::Page(3);
    let part = Rect { x: 24.0, y: 12.0, width: 400.0, height: 260.0 };
    p.sheet.layers[0].art[0].crop = Some(Crop::of_pixels(part, p.press_dpi));
    // The other layer has bars across the sheet.
    let scan = p.sheet.layers[1].art[0].scan.clone();
    let bar = (0..600 * 300).map(|i| if (i / 600) % 60 < 20 { 60 } else { 240 }).collect();
    let bar = GrayRaster::new(600, 300, bar).unwrap();
    images.insert(scan.key, Arc::new(Pyramid::new(bar, scan.dpi)));
    let trap = Growth::new(0.2);
    p.sheet.layers[0].remedies =
        vec![Remedy::Spread(trap), Remedy::Knockout { under: LayerId::new(1), trap }];
    p.sheet.layers[0].ink.curve = ToneCurve::default();
    for (mode, other) in modes().into_iter().flat_map(|m| [(m, Mode::Line), (m, Mode::Faint)]) {
        let settings =
            Reading { background: DropOut::new(0.2), contrast: Swing::new(0.3), ..Reading::of(mode) };
        p.sheet.layers[0].reading = settings;
        p.sheet.layers[1].reading = Reading::of(other);
        let prepared = plate(&p, &images, PlateForm::Prepared, 0);
        let want = shown(&p, &images, 0);
        assert!(want.iter().any(|a| *a > 0.1), "{mode:?}");
        assert!(farthest(&inked(&p, 0, &prepared), &want) <= 1.0 / 255.0, "{mode:?} over {other:?}");
    }
}

#[test]
fn a_plate_as_drawn_leaves_out_what_the_other_layer_prints_and_not_its_paper() {
    let (mut p, images) = patches(&["Hip-berry red", "Ink-bottle blue"]);
    p.sheet.layers[0].reading = Reading::of(Mode::Line);
    let whole = plate(&p, &images, PlateForm::AsDrawn, 0);
    p.sheet.layers[0].remedies = vec![Remedy::Knockout { under: LayerId::new(1), trap: Growth::new(0.0) }];
    p.sheet.layers[1].reading = Reading::of(Mode::Faint);
    let knocked = plate(&p, &images, PlateForm::AsDrawn, 0);
    // Between the strokes the other original is gray paper, which it does not print; on them it prints.
    let at = |r: &GrayRaster, x: usize, y: u32| r.row(y)[x];
    assert_eq!(at(&knocked, 25, 230), at(&whole, 25, 230));
    assert!(at(&whole, 82, 230) < 120 && at(&knocked, 82, 230) == 255);
}

#[test]
fn an_original_of_which_nothing_is_left_has_a_bare_plate_in_every_form_but_as_drawn() {
    let (mut p, mut images) = patches(&["Hip-berry red"]);
    let scan = p.sheet.layers[0].art[0].scan.clone();
    let paper = GrayRaster::filled(600, 300, 231).unwrap();
    images.insert(scan.key, Arc::new(Pyramid::new(paper, scan.dpi)));
    p.sheet.layers[0].reading = Reading::of(Mode::Faint);
    let bare = |form| plate(&p, &images, form, 0).pixels().iter().all(|g| *g == 255);
    assert_eq!(PlateForm::ALL.map(bare), [true, false, true]);
}

#[test]
fn the_back_of_a_booklet_is_prepared_like_its_front() {
    let (mut p, images) = patches(&["Hip-berry red"]);
    p.sheet.booklet = Some(Booklet { pages: 8, ..Booklet::default() });
    p.sheet.turning = Turning::WorkAndTumble;
    p.sheet.layers[0].reading = Reading { density: Swing::new(-0.4), ..Reading::of(modes()[2]) };
    for page in 1..=8 {
        p.sheet.layers[0].art[0].target = Target::Page(page);
        let (sheet, face) = p.sheet.booklet.as_ref().unwrap().face_of(page).unwrap();
        let plates = Plates::of_sheet(&p, &images, &PlateOptions::default(), sheet).unwrap();
        let of = &plates.all[0];
        let gray = plates.bands().flat_map(|(top, rows)| plates.rows(of, top, rows)).collect();
        let gray = GrayRaster::new(plates.width, plates.height, gray).unwrap();
        let mut printed = inked(&p.number(sheet), of.layer, &gray);
        if face == Face::Back {
            printed.reverse();
        }
        let want = shown(&p.number(sheet), &images, of.layer);
        // A tumbled plate is sampled at the other ends of its pixels.
        let apart = printed.iter().zip(&want).filter(|(a, b)| (*a - *b).abs() > LEVEL).count();
        assert!(apart * 100 < want.len(), "page {page}: {apart} of {}", want.len());
    }
}

#[test]
fn a_part_that_is_read_otherwise_prints_as_it_is_shown_in_every_form() {
    let (mut p, images) = patches(&["Hip-berry red"]);
    let screened = modes()[2];
    for (own, other) in [(screened, Mode::Line), (Mode::Line, screened), (modes()[5], screened)] {
        let layer = &mut p.sheet.layers[0];
        layer.reading = Reading { density: Swing::new(0.3), ..Reading::of(own) };
        let corners = [(0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0)];
        let corners = corners.map(|(x, y)| slipsheet_core::geometry::Point::new(x, y));
        let reading = Reading { density: Swing::new(-0.4), ..Reading::of(other) };
        layer.art[0].regions = vec![Region::of_pixels(&corners, reading, layer.art[0].scan.dpi)];
        let setting = PlateForm::Prepared.layer_setting(&p.sheet.layers[0], &[]);
        assert!(setting.starts_with("Screened") && setting.contains("parts"), "{setting}");
        assert_eq!(PlateForm::AsDrawn.of_whole(&p.sheet.layers[0]), PlateForm::Prepared);

        let want = shown(&p, &images, 0);
        for form in [PlateForm::Prepared, PlateForm::AsDrawn] {
            let gray = plate(&p, &images, form, 0);
            assert!(farthest(&inked(&p, 0, &gray), &want) <= 1.0 / 255.0, "{own:?} {other:?} {form:?}");
        }
        let dots = plate(&p, &images, PlateForm::Dots, 0);
        assert!(dots.pixels().iter().all(|g| matches!(g, 0 | 255)));
        let asked = plate(&p, &images, PlateForm::Prepared, 0);
        let cover =
            |r: &GrayRaster| r.pixels().iter().map(|g| 1.0 - f64::from(*g) / 255.0).collect::<Vec<_>>();
        assert!(farthest(&blocks(&cover(&dots)), &blocks(&cover(&asked))) < 0.04, "{own:?} {other:?}");
    }
}
