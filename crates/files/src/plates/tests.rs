//! Plates, from small jobs.

use std::io::Cursor;
use std::sync::Arc;

use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::reading::{Mode, Reading, Ruling, Scatter};
use slipsheet_core::units::{Degrees, Mm, SheetFormat, Size};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Target};
use slipsheet_document::project::Project;
use slipsheet_document::sheet::Sheet;
use slipsheet_document::shelf::Shelf;
use slipsheet_render::{Scene, Show, View};

use super::*;

/// A job of so many inks on a sheet, each a ramp of its own, at 300 dpi.
pub(crate) fn job(sheet: SheetFormat, inks: &[&str], trim: f64) -> (Printing, Images) {
    let shelf = Shelf::starter().unwrap();
    let dpi = Dpi::new(300.0).unwrap();
    let mut printing = Printing::new("Two <tides> & a café", sheet, shelf.stocks[0].clone());
    printing.press_dpi = dpi;
    printing.sheet.trim = Mm::new(trim);
    let mut images = Images::default();
    let (w, h) = printing.sheet.size().pixels(dpi);
    for (i, name) in inks.iter().enumerate() {
        let key = ScanKey::new(format!("{i:064}"));
        let step = i as u32 + 1;
        let pixels = (0..w * h).map(|p| ((p % w) * step / 3 + (p / w) / step) as u8).collect();
        images.insert(key.clone(), Arc::new(Pyramid::new(GrayRaster::new(w, h, pixels).unwrap(), dpi)));
        let scan = ScanRef { path: format!("{i}.png"), size: 1, key, dpi };
        printing.sheet.layers.push(Layer {
            art: vec![Art::new(ArtId::new(0), scan, Target::Sheet)],
            ..Layer::new(LayerId::new(i as u32), format!("layer {i}"), shelf.ink(name).unwrap().clone())
        });
    }
    (printing, images)
}

/// A project whose main sheet is printed so.
pub(crate) fn project_of(printing: Printing) -> Project {
    let mut project = Project::new(&printing.title, printing.sheet.format, printing.sheet.stock.clone());
    (project.press_dpi, project.job) = (printing.press_dpi, printing.job);
    project.main = Sheet { id: project.main.id, ..printing.sheet };
    project
}

fn small() -> (Printing, Images) {
    job(SheetFormat::Custom(Size::mm(90.0, 70.0)), &["Hip-berry red", "Ink-bottle blue"], 0.0)
}

fn gray_of(path: &Path) -> (u32, u32, Vec<u8>) {
    let bytes = std::fs::read(path).unwrap();
    let picture = image::load_from_memory(&bytes).unwrap().into_luma8();
    (picture.width(), picture.height(), picture.into_raw())
}

#[test]
fn a_plate_as_drawn_is_the_layer_as_the_scene_samples_it() {
    let (mut p, images) = small();
    // A reading is the machine's business here, and a slip is only a what-if.
    p.sheet.layers[0].reading = Reading::of(Mode::Line);
    p.sheet.layers[0].slip.dx = Mm::new(3.0);
    let folder = tempfile::tempdir().unwrap();
    let mut plain = p.clone();
    plain.sheet.layers[0].reading = Reading::default();
    let scene = Scene::new(&plain, &images, Show { perfect: true, ..Show::default() }).unwrap();
    let want = scene.plate(0, &View::sheet(p.sheet.size(), p.press_dpi)).unwrap();
    for format in [PlateFormat::Png, PlateFormat::Tiff] {
        let options = PlateOptions { format, form: PlateForm::AsDrawn, dpi: None };
        let made = write(&p, &images, &options, folder.path(), &Progress::new()).unwrap();
        let (w, h, gray) = gray_of(&made[0].path);
        assert_eq!((w, h), p.sheet.size().pixels(p.press_dpi));
        assert!(gray == want.pixels(), "{format:?}");
        let mean = gray.iter().map(|g| 1.0 - f64::from(*g) / 255.0).sum::<f64>() / gray.len() as f64;
        assert!((made[0].coverage - mean).abs() < 1e-9);
    }
}

#[test]
fn a_tumbled_back_has_plates_that_stand_on_their_heads() {
    use slipsheet_paper::fold::Face;
    use slipsheet_paper::turning::Turning;
    let (mut p, images) = small();
    p.sheet.layers.iter_mut().for_each(|l| l.reading = Reading::default());
    let gray = |p: &Printing| -> Vec<u8> {
        let plates = Plates::new(p, &images, &PlateOptions::default()).unwrap();
        // Plates of the front come first, whatever is on them.
        let plate = plates.all.iter().find(|p| p.layer == 0).unwrap();
        plates.bands().flat_map(|(top, rows)| plates.rows(plate, top, rows)).collect()
    };
    let front = gray(&p);
    p.sheet.layers[0].face = Face::Back;
    for turning in [Turning::Sheetwise, Turning::WorkAndTurn] {
        p.sheet.turning = turning;
        assert!(gray(&p) == front, "{}", turning.name());
    }
    p.sheet.turning = Turning::WorkAndTumble;
    let tumbled = gray(&p);
    let mut back = tumbled.clone();
    back.reverse();
    let apart = back.iter().zip(&front).filter(|(a, b)| a.abs_diff(**b) > 2).count();
    assert!(apart * 200 < front.len() && tumbled != front, "{apart} of {}", front.len());
    // The front is never turned.
    p.sheet.layers[0].face = Face::Front;
    assert!(gray(&p) == front);
}

#[test]
fn a_read_plate_has_ink_or_none_and_covers_what_was_asked_for() {
    let (mut p, images) = small();
    for mode in [
        Mode::Screened { ruling: Ruling::default(), angle: Degrees::new(45.0) },
        Mode::Stochastic { scatter: Scatter::Tile },
        Mode::Stochastic { scatter: Scatter::Diffusion },
        Mode::Line,
    ] {
        p.sheet.layers[0].reading = Reading::of(mode);
        let options = PlateOptions { form: PlateForm::Dots, ..PlateOptions::default() };
        let plates = Plates::new(&p, &images, &options).unwrap();
        let all: Vec<u8> =
            plates.bands().flat_map(|(top, rows)| plates.rows(&plates.all[0], top, rows)).collect();
        assert!(all.iter().all(|g| [0, 255].contains(g)), "{mode:?}");
        let tone = Plates::new(&p, &images, &PlateOptions::default()).unwrap();
        let gray: Vec<u8> = tone.bands().flat_map(|(top, rows)| tone.rows(&tone.all[0], top, rows)).collect();
        let mean = |v: &[u8]| v.iter().map(|g| f64::from(*g)).sum::<f64>() / v.len() as f64 / 255.0;
        assert!((mean(&all) - mean(&gray)).abs() < 0.02, "{mode:?}: {} {}", mean(&all), mean(&gray));
    }
}

#[test]
fn marks_are_alike_on_every_plate_and_lie_outside_the_trim() {
    let (p, images) = job(SheetFormat::A5, &["Hip-berry red", "Ink-bottle blue", "Warm black"], 10.0);
    let blank = Images::default();
    let plates = Plates::new(&p, &blank, &PlateOptions::default()).unwrap();
    assert!(plates.marked);
    let px = plates.dpi.px_per_mm();
    let (w, h) = (plates.width as usize, plates.height as usize);
    let drawn: Vec<Vec<u8>> = plates
        .all
        .iter()
        .map(|plate| plates.bands().flat_map(|(top, rows)| plates.rows(plate, top, rows)).collect())
        .collect();
    let corner = |v: &[u8]| {
        (0..(10.0 * px) as usize)
            .flat_map(|y| v[y * w..y * w + (11.0 * px) as usize].to_vec())
            .collect::<Vec<_>>()
    };
    assert!(drawn.iter().all(|v| corner(v) == corner(&drawn[0])));
    assert!(corner(&drawn[0]).contains(&0));
    for (i, v) in drawn.iter().enumerate() {
        for (at, g) in v.iter().enumerate() {
            let (x, y) = ((at % w) as f64 / px, (at / w) as f64 / px);
            let (right, bottom) = (w as f64 / px, h as f64 / px);
            let cut = x > 10.1 && y > 10.1 && x < right - 10.1 && y < bottom - 10.1;
            let dead = x < 4.9 || y < 4.9 || x > right - 4.9 || y > bottom - 4.9;
            assert!(*g == 255 || !(cut || dead), "plate {i} has a mark at {x:.1}, {y:.1} mm");
        }
    }
    // Words differ, so the plates do.
    assert!(drawn[0] != drawn[1]);
    let (p, _) = job(SheetFormat::A5, &["Hip-berry red"], 7.0);
    assert!(!Plates::new(&p, &images, &PlateOptions::default()).unwrap().marked);
}

#[test]
fn names_say_order_face_and_ink_and_hidden_layers_have_no_plate() {
    let (mut p, images) = small();
    p.sheet.layers[1].face = Face::Back;
    p.sheet.layers.push(Layer { visible: false, ..p.sheet.layers[0].clone() });
    let plates = Plates::new(&p, &images, &PlateOptions::default()).unwrap();
    let names: Vec<String> = plates.all.iter().map(|p| p.file_name(PlateFormat::Tiff)).collect();
    assert_eq!(names, ["1-front-hip-berry-red.tiff", "2-back-ink-bottle-blue.tiff"]);
    assert_eq!(plates.all[1].label, "2 of 2  Ink-bottle blue  back, pass 2 of 2, drum 1");
    p.sheet.layers.iter_mut().for_each(|l| l.visible = false);
    assert!(matches!(Plates::new(&p, &images, &PlateOptions::default()), Err(PlateError::Nothing)));
}

#[test]
fn a_tiff_says_its_resolution_and_a_stopped_job_leaves_no_file() {
    let (p, images) = small();
    let folder = tempfile::tempdir().unwrap();
    let options = PlateOptions { format: PlateFormat::Tiff, ..PlateOptions::default() };
    let progress = Progress::new();
    progress.cancel();
    let stopped = write(&p, &images, &options, folder.path(), &progress).unwrap_err();
    assert!(matches!(stopped, PlateError::Cancelled));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    let made = write(&p, &images, &options, folder.path(), &Progress::new()).unwrap();
    let bytes = std::fs::read(&made[0].path).unwrap();
    let mut decoder = ::tiff::decoder::Decoder::new(Cursor::new(bytes)).unwrap();
    let x = decoder.find_tag(::tiff::tags::Tag::XResolution).unwrap();
    assert!(matches!(x, Some(::tiff::decoder::ifd::Value::Rational(300_000, 1000))), "{x:?}");
}

/// Lines of the program's own text face at a size, in a gray, as a scan at 600 dpi.
fn set_type(pt: f64, gray: u8) -> (Printing, Images) {
    let dpi = Dpi::new(600.0).unwrap();
    let (mut p, mut images) = job(SheetFormat::Custom(Size::mm(110.0, 70.0)), &["Warm black"], 0.0);
    let (w, h) = p.sheet.size().pixels(dpi);
    let mut pixels = vec![255_u8; w as usize * h as usize];
    let mut y = 14.0;
    while y < 58.0 {
        let line = "hill mill until filling illumination willing linen hilltop minimum";
        let stamp = marks::words(line, dpi, (12.0, y), 84.0, pt).unwrap().unwrap();
        stamp.lay(&mut pixels, w as usize, 0);
        y += pt * 0.5;
    }
    // Full ink becomes the gray, and rims follow.
    let tint = |g: u8| 255 - ((255 - u32::from(g)) * (255 - u32::from(gray)) / 255) as u8;
    pixels.iter_mut().for_each(|g| *g = tint(*g));
    let key = ScanKey { sha256: "f".repeat(64), ..p.sheet.layers[0].art[0].scan.key.clone() };
    images.insert(key.clone(), Arc::new(Pyramid::new(GrayRaster::new(w, h, pixels).unwrap(), dpi)));
    (p.sheet.layers[0].art[0].scan.key, p.sheet.layers[0].art[0].scan.dpi) = (key, dpi);
    (p, images)
}

#[test]
fn type_in_a_tint_is_found_below_the_size_that_its_screen_holds() {
    use slipsheet_booking::preflight::{Kind, Studied, findings_with};
    let coarse = Mode::Screened { ruling: Ruling::new(75.0), angle: Degrees::new(45.0) };
    let small = |pt: f64, gray: u8, mode: Mode| {
        let (mut p, images) = set_type(pt, gray);
        p.sheet.layers[0].reading = Reading::of(mode);
        findings_with(&p, &images, &[], &Studied::default()).into_iter().any(|f| f.kind == Kind::SmallType)
    };
    // A cell of 75 lpi is 0.34 mm wide, the stem of a text face that at 10.7 points.
    assert!(small(6.0, 110, coarse) && small(8.0, 110, coarse));
    assert!(!small(18.0, 110, coarse) && !small(24.0, 110, coarse));
    // A solid is not broken up, and neither is line or mixed.
    assert!(!small(6.0, 0, coarse));
    assert!(!small(6.0, 110, Mode::Line));
}

#[test]
fn hairlines_are_found_where_type_is_too_fine_to_print() {
    use slipsheet_booking::preflight::{Kind, Studied, findings_with};
    let thin = |pt: f64| {
        let (p, images) = set_type(pt, 0);
        findings_with(&p, &images, &[], &Studied::default()).into_iter().any(|f| f.kind == Kind::Hairline)
    };
    // Stems of 0.06 mm, and of 0.29 mm.
    assert!(thin(2.0));
    assert!(!thin(9.0));
}

#[test]
fn a_booklet_has_plates_only_for_sides_with_artwork_and_they_say_their_sheet() {
    let (mut p, images) =
        job(SheetFormat::Custom(Size::mm(90.0, 70.0)), &["Hip-berry red", "Ink-bottle blue"], 0.0);
    p.sheet.booklet = Some(slipsheet_paper::booklet::Booklet { pages: 12, ..Default::default() });
    // Page 12 is on the front of the outer sheet, pages 2 and 3 on its back and on the front of the second.
    p.sheet.layers[0].art[0].target = Target::Page(12);
    p.sheet.layers[1].art[0].target = Target::Spread(2);
    let folder = tempfile::tempdir().unwrap();
    let written = write(&p, &images, &PlateOptions::default(), folder.path(), &Progress::new()).unwrap();
    let names: Vec<String> =
        written.iter().map(|w| w.path.file_name().unwrap().to_string_lossy().into_owned()).collect();
    assert_eq!(
        names,
        [
            "sheet1-front-1-hip-berry-red.png",
            "sheet1-back-2-ink-bottle-blue.png",
            "sheet2-front-1-ink-bottle-blue.png"
        ]
    );
    // The left half of the sheet carries pages 12 and 2, the right one page 3.
    for (w, left) in written.iter().zip([true, true, false]) {
        let (width, _, gray) = gray_of(&w.path);
        let ink = |from: u32, to: u32| -> u64 {
            let row =
                |r: &[u8]| r[from as usize..to as usize].iter().map(|g| u64::from(255 - g)).sum::<u64>();
            gray.chunks(width as usize).map(row).sum()
        };
        let (a, b) = (ink(0, width / 2), ink(width / 2 + 1, width));
        assert!(if left { a > 0 && b == 0 } else { a == 0 && b > 0 }, "{} {a} {b}", w.path.display());
    }
    let spot = crate::spot_pdf::document(&p, &images, &PlateOptions::default(), &Progress::new()).unwrap();
    assert!(String::from_utf8_lossy(&spot).contains("/Count 3"));
}
