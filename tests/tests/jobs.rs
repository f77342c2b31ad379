//! Whole jobs without a window: real scans through `new` and `proof`, opened again, with the same pixels.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use std::ffi::OsString;
use std::path::Path;

use slipsheet::cli::{Ending, Outcome, Output, run_with};
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_files::{Progress, proof, store};
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};
use slipsheet_tests::programs::slipsheet;

fn demo(name: &str) -> String {
    format!("{}/../demo/tidewrack/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn open(path: &Path) -> (Printing, Images) {
    let printing = store::load(path).unwrap().main_printing();
    let mut images = Images::default();
    for art in printing.sheet.art() {
        let loaded = store::load_scan(Some(path), &art.scan, &Progress::new()).unwrap();
        images.insert(loaded.key, loaded.pixels);
    }
    (printing, images)
}

#[test]
fn originals_become_a_project_and_a_proof_with_the_pixels_of_the_renderer() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name).display().to_string();
    let (sea, weed, ink) = (demo("tidewrack-sea.png"), demo("tidewrack-weed.png"), demo("tidewrack-ink.png"));
    let job = at("walk.slipsheet");
    let new =
        ["new", "--sheet", "letter", "--fold", "slit8", "--title", "Walk", "-o", &job, &sea, &weed, &ink];
    let (ending, _, err) = slipsheet(&new);
    assert_eq!(ending, Ending::Fine, "{err}");
    let png = at("proof.png");
    let (ending, _, err) = slipsheet(&["proof", &job, "-o", &png, "--dpi", "100", "--slip", "2=0.8,-0.3"]);
    assert_eq!(ending, Ending::Fine, "{err}");

    let (mut printing, images) = open(Path::new(&job));
    printing.sheet.layers[1].slip.dx = slipsheet_core::units::Mm::new(0.8);
    printing.sheet.layers[1].slip.dy = slipsheet_core::units::Mm::new(-0.3);
    let dpi = Dpi::new(100.0).unwrap();
    let scene = Scene::new(&printing, &images, Show::default()).unwrap();
    let direct = scene.render(&View::sheet(printing.sheet.size(), dpi));
    let options = proof::ProofOptions { dpi, ..Default::default() };
    let place = proof::render(&printing, &images, &options, &Progress::new()).unwrap().print;
    let written = image::open(&png).unwrap().to_rgb8();
    for y in (0..direct.height).step_by(3) {
        for x in (0..direct.width).step_by(3) {
            let [r, g, b, _] = direct.at(x, y);
            let pixel = written.get_pixel((place.x + x) as u32, (place.y + y) as u32);
            assert_eq!(pixel.0, [r, g, b], "at {x}, {y}");
        }
    }
    let info =
        png::Decoder::new(std::io::BufReader::new(std::fs::File::open(&png).unwrap())).read_info().unwrap();
    let info = info.info();
    assert!(info.srgb.is_some());
    assert_eq!(info.pixel_dims.unwrap().xppu, 3937);
    let text: Vec<String> =
        info.uncompressed_latin1_text.iter().map(|t| format!("{}={}", t.keyword, t.text)).collect();
    for key in ["Title=Walk", "Inks=", "Stock=", "Slips="] {
        assert!(text.iter().any(|t| t.starts_with(key)), "{key} is not in {text:?}");
    }
}

#[test]
fn the_committed_demo_opens_whole_and_checks_without_errors() {
    let path = demo("tidewrack.slipsheet");
    let (printing, images) = open(Path::new(&path));
    assert_eq!(printing.sheet.layers.len(), 3);
    assert!(printing.sheet.layers.iter().flat_map(|l| &l.art).all(|a| images.get(&a.scan.key).is_some()));
    let (ending, out, _) = slipsheet(&["check", &path, "--json"]);
    let findings: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert!(findings.as_array().unwrap().iter().all(|f| f["severity"] != "error"), "{out}");
    assert_ne!(ending, Ending::Failed);
}

/// Every page of the demo has something on it, in every ink, and the layers cover what an eye would say.
#[test]
fn every_page_of_the_demo_is_printed() {
    let path = demo("tidewrack.slipsheet");
    let (printing, images) = open(Path::new(&path));
    let scheme = printing.sheet.fold.clone().unwrap();
    for i in 0..3 {
        let scene = Scene::new(&printing, &images, Show { solo: Some(i), ..Show::default() }).unwrap();
        for page in 1..=8 {
            let place = scheme.place(printing.sheet.size(), page).unwrap();
            let plate = scene.plate(i, &View::page(&place, Dpi::new(50.0).unwrap())).unwrap();
            assert!(plate.pixels().iter().any(|g| *g < 160), "page {page} has nothing in layer {i}");
        }
    }
}

#[test]
fn colours_are_mixed_line_by_line() {
    let lines = concat!(
        r#"{"stock":[95,0,-2],"inks":[{"solid":[55,-37,-50]}],"cover":[1]}"#,
        "\n",
        "nonsense\n",
        r#"{"stock":[95,0,-2],"inks":[],"cover":[]}"#,
        "\n",
    );
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let outcome = run_with(
        ["slipsheet", "mix", "-"].map(OsString::from),
        &mut lines.as_bytes(),
        &mut Output::new(&mut out, &mut err),
    );
    assert_eq!(outcome, Outcome::Done(Ending::Warnings));
    let answers: Vec<serde_json::Value> =
        String::from_utf8(out).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert_eq!(answers.len(), 3);
    let lab = |v: &serde_json::Value| -> Vec<f64> {
        v["lab"].as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect()
    };
    for (got, want) in lab(&answers[0]).iter().zip([55.0, -37.0, -50.0]) {
        assert!((got - want).abs() < 1.5, "{:?}", answers[0]);
    }
    assert!(answers[1]["error"].is_string());
    assert!((lab(&answers[2])[0] - 95.0).abs() < 1e-6);
}
