//! What the print shop gets, read by other programs: qpdf, poppler, Ghostscript and `ImageMagick`.
//!
//! Their figures are the outside check; where one of them is not installed the test fails and says so
//! (`bash .ci/setup test`).
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::{Dpi, Mm, SheetFormat};
use slipsheet_document::layer::{Art, Layer, MaskId, ScanKey, ScanRef, Target};
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::pack::{self, PackOptions};
use slipsheet_files::plates::with_crisp_vectors;
use slipsheet_files::scan::Progress;
use slipsheet_files::{PlateFormat, PlateOptions, ScanOptions, plates, spot_pdf, store};
use slipsheet_paper::fold::{self, Face};
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};
use slipsheet_tests::programs::outside;

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// A3 would be slow; A5 at 200 dpi has a sheet that is not a whole number of pixels, which is the harder case.
fn job(trim: f64) -> (Project, Images) {
    let shelf = Shelf::starter().unwrap();
    let dpi = Dpi::new(200.0).unwrap();
    let mut project = Project::new("Café & <tide>", SheetFormat::A5, shelf.stocks[0].clone());
    (project.press_dpi, project.main.trim) = (dpi, Mm::new(trim));
    project.main.fold = fold::find("slit8");
    let (w, h) = project.main.size().pixels(dpi);
    let mut images = Images::default();
    for (i, name) in ["Hip-berry red", "Ink-bottle blue", "Warm black"].into_iter().enumerate() {
        let key = ScanKey::new(format!("{i:064}"));
        let (first, id) = (project.main.layers.first().map(|l| l.id), project.ids.layer());
        let step = 3 + i as u32;
        // Washes and hard edges.
        let gray = |p: u32| {
            let (x, y) = (p % w, p / w);
            if (x / 50 + y / 70) % step == 0 { 0 } else { ((x * step + y) / 5 % 256) as u8 }
        };
        let raster = GrayRaster::new(w, h, (0..w * h).map(gray).collect()).unwrap();
        images.insert(key.clone(), Arc::new(Pyramid::new(raster, dpi)));
        project.main.layers.push(Layer {
            art: vec![Art::new(
                project.ids.art(),
                ScanRef { path: format!("{i}.png"), size: 1, key, dpi },
                Target::Sheet,
            )],
            with: first.filter(|_| i == 1),
            ..Layer::new(id, name.to_lowercase(), shelf.ink(name).unwrap().clone())
        });
    }
    (project, images)
}

fn options(format: PlateFormat) -> PlateOptions {
    PlateOptions { format, ..PlateOptions::default() }
}

#[test]
fn imagemagick_finds_the_coverage_and_the_resolution_that_we_state() {
    let (p, images) = job(9.0);
    let folder = tempfile::tempdir().unwrap();
    for format in [PlateFormat::Png, PlateFormat::Tiff] {
        for plate in
            plates::write(&p.main_printing(), &images, &options(format), folder.path(), &Progress::new())
                .unwrap()
        {
            let path = text(&plate.path);
            let messages =
                outside("identify", &["-units", "PixelsPerInch", "-format", "%w %h %x %[fx:1-mean]", path]);
            let messages: Vec<f64> = messages
                .split_whitespace()
                .filter_map(|v| v.trim_end_matches("PixelsPerInch").parse().ok())
                .collect();
            assert_eq!((messages[0], messages[1]), (f64::from(plate.width), f64::from(plate.height)));
            assert!((messages[2] - 200.0).abs() < 0.01, "{messages:?}");
            assert!(
                (messages[3] - plate.coverage).abs() < 2e-5,
                "{} against {}",
                messages[3],
                plate.coverage
            );
        }
    }
}

/// Width and height in mm of a box that pdfinfo names.
fn pdf_box(info: &str, name: &str) -> [f64; 4] {
    let line = info.lines().find(|l| l.contains(name)).unwrap_or_else(|| panic!("no {name} in {info}"));
    let v: Vec<f64> = line.split_whitespace().filter_map(|v| v.parse().ok()).collect();
    let [x0, y0, x1, y1] = v[v.len() - 4..] else { panic!("{line}") };
    [x0, y0, x1, y1].map(|pt| pt * 25.4 / 72.0)
}

#[test]
fn qpdf_finds_no_fault_and_poppler_finds_the_boxes() {
    let (p, images) = job(9.0);
    let folder = tempfile::tempdir().unwrap();
    let spot = folder.path().join("spot.pdf");
    spot_pdf::write(&p.main_printing(), &images, &PlateOptions::default(), &spot, &Progress::new()).unwrap();
    let plates = plates::write(
        &p.main_printing(),
        &images,
        &options(PlateFormat::Pdf),
        folder.path(),
        &Progress::new(),
    )
    .unwrap();
    let mut files: Vec<PathBuf> = plates.into_iter().map(|p| p.path).collect();
    files.push(spot);
    for path in &files {
        let messages = outside("qpdf", &["--check", text(path)]);
        assert!(
            messages.contains("No syntax or stream encoding errors found") && !messages.contains("WARNING"),
            "{messages}"
        );
        let info = outside("pdfinfo", &["-box", text(path)]);
        let (w, h) = (210.0, 148.0);
        for (name, want) in [
            ("MediaBox", [0.0, 0.0, w, h]),
            ("BleedBox", [0.0, 0.0, w, h]),
            ("TrimBox", [9.0, 9.0, w - 9.0, h - 9.0]),
        ] {
            for (got, want) in pdf_box(&info, name).into_iter().zip(want) {
                assert!((got - want).abs() <= 0.1, "{name} of {}: {info}", path.display());
            }
        }
    }
}

#[test]
fn ghostscript_splits_the_spot_pdf_back_into_our_plates() {
    let (p, images) = job(9.0);
    let folder = tempfile::tempdir().unwrap();
    let spot = folder.path().join("spot.pdf");
    spot_pdf::write(&p.main_printing(), &images, &PlateOptions::default(), &spot, &Progress::new()).unwrap();
    let plates = plates::write(
        &p.main_printing(),
        &images,
        &options(PlateFormat::Png),
        folder.path(),
        &Progress::new(),
    )
    .unwrap();
    let out = format!("-sOutputFile={}", text(&folder.path().join("page%d.tif")));
    outside("gs", &["-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=tiffsep", "-r200", &out, text(&spot)]);
    for (plate, ink) in plates.iter().zip(["Hip-berry red", "Ink-bottle blue", "Warm black"]) {
        let split = folder.path().join(format!("page1({ink}).tif"));
        let open = |path: &Path| {
            image::open(path).unwrap_or_else(|e| panic!("{}: {e}", path.display())).into_luma8()
        };
        let (ours, theirs) = (open(&plate.path), open(&split));
        assert_eq!(ours.dimensions(), theirs.dimensions(), "{ink}");
        let apart = ours.as_raw().iter().zip(theirs.as_raw()).map(|(a, b)| a.abs_diff(*b)).max();
        assert!(apart <= Some(1), "{ink}: {apart:?} levels apart");
    }
}

/// The first page of a PDF as poppler and as Ghostscript show it, at 50 dpi.
fn on_screen(pdf: &Path) -> [image::RgbImage; 2] {
    let folder = tempfile::tempdir().unwrap();
    let poppler = folder.path().join("poppler");
    outside("pdftoppm", &["-r", "50", "-png", "-singlefile", text(pdf), text(&poppler)]);
    let gs = folder.path().join("gs.png");
    let out = format!("-sOutputFile={}", text(&gs));
    let args = ["-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-dPrinted=false", "-sDEVICE=png16m", "-r50"];
    outside("gs", &[&args[..], &[out.as_str(), text(pdf)]].concat());
    [poppler.with_extension("png"), gs].map(|path| image::open(path).unwrap().into_rgb8())
}

#[test]
fn the_composite_shows_the_tinted_stock_and_the_inks_plates_carry_nothing_of_it() {
    let (mut p, images) = job(9.0);
    let shelf = Shelf::starter().unwrap();
    // The most tinted stock of the shelf.
    let chroma = |s: &slipsheet_core::stock::Stock| s.colour.lab().a().powi(2) + s.colour.lab().b().powi(2);
    p.main.stock = shelf.stocks.iter().max_by(|a, b| chroma(a).total_cmp(&chroma(b))).unwrap().clone();
    assert!(chroma(&p.main.stock) > 100.0);
    let folder = tempfile::tempdir().unwrap();
    let spot = folder.path().join("spot.pdf");
    spot_pdf::write(&p.main_printing(), &images, &PlateOptions::default(), &spot, &Progress::new()).unwrap();

    // A viewer shows the inks on the stock as the window does: mean colours are compared, as viewers smooth edges in
    // their own ways. On white paper the blue of this stock would be half as high again.
    let scene = Scene::new(&p.main_printing(), &images, Show::meant(Face::Front)).unwrap();
    let ours = scene.render(&View::sheet(p.main.size(), Dpi::new(50.0).unwrap()));
    let mean = |pixels: &mut dyn Iterator<Item = [u8; 3]>| {
        let (mut sum, mut n) = ([0.0; 3], 0.0);
        for pixel in pixels {
            n += 1.0;
            sum.iter_mut().zip(pixel).for_each(|(s, v)| *s += f64::from(v));
        }
        sum.map(|s| s / n)
    };
    for seen in on_screen(&spot) {
        let (w, h) = seen.dimensions();
        let theirs = mean(&mut seen.pixels().map(|p| p.0));
        let want = mean(&mut ours.pixels.iter().map(|[r, g, b, _]| [*r, *g, *b]));
        let apart = theirs.iter().zip(want).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        assert!(apart < 8.0, "{w} x {h}: {theirs:?} for {want:?}");
    }

    // Nothing is left for process plates: neither artwork nor the stock's tint.
    let out = format!("-sOutputFile={}", text(&folder.path().join("page%d.tif")));
    outside("gs", &["-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=tiffsep", "-r50", &out, text(&spot)]);
    for process in ["Cyan", "Magenta", "Yellow", "Black"] {
        let split = image::open(folder.path().join(format!("page1({process}).tif"))).unwrap().into_luma8();
        assert!(split.as_raw().iter().all(|g| *g == 255), "{process} carries something");
    }
}

#[test]
fn every_pdf_of_a_pack_is_sound_and_its_words_can_be_read() {
    let (mut p, images) = job(9.0);
    (p.job.copies, p.job.overs) = (80, 12);
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    pack::write(&p, &images, &PackOptions::default(), (&folder, None), &Progress::new()).unwrap();
    for name in ["ticket.pdf", "proof.pdf", "dummy.pdf", "guide.pdf", "separations.pdf"] {
        let messages = outside("qpdf", &["--check", text(&folder.join(name))]);
        assert!(
            messages.contains("No syntax or stream encoding errors found") && !messages.contains("WARNING"),
            "{messages}"
        );
    }
    let ticket = folder.join("ticket.pdf");
    let words = outside("pdftotext", &["-layout", text(&ticket), "-"]);
    for wanted in ["Café & <tide>", "Pass 1, front", "Ink-bottle blue", "92 sheets", "To fill in"] {
        assert!(words.contains(wanted), "no “{wanted}” in {words}");
    }
    let fonts = outside("pdffonts", &[text(&ticket)]);
    let ours: Vec<&str> = fonts.lines().filter(|l| l.contains("PublicSans")).collect();
    // Columns: name, type, encoding, embedded, subset, unicode.
    assert!(ours.len() == 2 && ours.iter().all(|l| l.contains("yes yes yes")), "{fonts}");
    let pages = outside("pdfinfo", &[text(&ticket)]);
    assert!(pages.lines().any(|l| l.starts_with("Pages:") && l.trim_end().ends_with('2')), "{pages}");
    let proof = outside("pdftotext", &["-layout", text(&folder.join("proof.pdf")), "-"]);
    // pdftotext leaves the narrow spaces around a plus away.
    let close = proof.replace(' ', "");
    assert!(proof.contains("Ink over ink, as it occurs") && close.contains("1+2"), "{proof}");
}

/// Share of pixels that are neither paper nor solid: rims of strokes.
fn rims(path: &Path) -> f64 {
    let gray = image::open(path).unwrap().into_luma8();
    let mid = gray.as_raw().iter().filter(|g| (30..225).contains(*g)).count();
    let dark = gray.as_raw().iter().filter(|g| **g < 225).count();
    mid as f64 / dark as f64
}

#[test]
fn outlines_that_came_in_coarse_are_crisp_on_the_plate() {
    let (mut p, _) = job(0.0);
    let home = tempfile::tempdir().unwrap();
    let pdf = home.path().join("type.pdf");
    let page = "<< /PageSize [595 420] >> setpagedevice /Helvetica 14 selectfont \
        60 300 moveto (Type that came in as outlines) show 60 200 moveto (stays crisp) show showpage";
    outside("gs", &["-q", "-dSAFER", "-sDEVICE=pdfwrite", "-o", text(&pdf), "-c", page]);
    let coarse = Some(Dpi::new(75.0).unwrap());
    let reading = ScanOptions { resolution: coarse, ..ScanOptions::default() };
    let added = store::add_scan(None, &pdf, &reading, None, &Progress::new()).unwrap();
    p.main.layers.truncate(1);
    p.main.layers[0].art[0].scan = added.scan.clone();
    p.press_dpi = Dpi::new(600.0).unwrap();
    let mut images = Images::default();
    images.insert(added.scan.key.clone(), added.pixels);
    let (crisp, sharp) = with_crisp_vectors(&p, &images, None, p.press_dpi, &Progress::new()).unwrap();
    let write = |p: &Project, images: &Images, name: &str| {
        let folder = home.path().join(name);
        std::fs::create_dir(&folder).unwrap();
        plates::write(&p.main_printing(), images, &options(PlateFormat::Png), &folder, &Progress::new())
            .unwrap()
            .remove(0)
            .path
    };
    let (before, after) = (rims(&write(&p, &images, "a")), rims(&write(&crisp, &sharp, "b")));
    assert!(after < 0.5 * before, "rims of {before:.2} before and {after:.2} after");
    // A page that was mended by hand is written as it was mended: its mask is of these pixels.
    p.main.layers[0].art[0].scan.key.mask = MaskId::try_from("a".repeat(64)).ok();
    let (mended, _) = with_crisp_vectors(&p, &images, None, p.press_dpi, &Progress::new()).unwrap();
    assert_eq!(mended, p);
}
