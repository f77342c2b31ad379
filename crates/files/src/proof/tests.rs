//! Proofs against the renderer, and proofs of every size.

use std::sync::Arc;

use slipsheet_core::geometry::Point;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::{Degrees, Mm, SheetFormat};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Slip, Target};
use slipsheet_document::shelf::Shelf;
use slipsheet_paper::fold::{self, GridLine};

use super::*;

fn dpi(v: f64) -> Dpi {
    Dpi::new(v).unwrap()
}

/// Waves of every gray on a sheet of some inks, one of them slipped.
fn printing(sheet: SheetFormat, inks: &[&str]) -> (Printing, Images) {
    let shelf = Shelf::starter().unwrap();
    let mut p = Printing::new("Tidewrack", sheet, shelf.stock("Pale green-gray").unwrap().clone());
    p.sheet.fold = fold::find("slit8");
    let (w, h) = p.sheet.size().pixels(dpi(60.0));
    let mut images = Images::default();
    for (k, name) in inks.iter().enumerate() {
        let gray = (0..w * h).map(|i| ((i % w) * (3 + k as u32) + (i / w) * 5) as u8).collect();
        let key = ScanKey::new(k.to_string());
        let pixels = Pyramid::new(GrayRaster::new(w, h, gray).unwrap(), dpi(60.0));
        images.insert(key.clone(), Arc::new(pixels));
        let scan = ScanRef { path: format!("{k}.png"), size: 1, key, dpi: dpi(60.0) };
        let art = vec![Art::new(ArtId::new(0), scan, Target::Sheet)];
        let ink = shelf.ink(name).unwrap().clone();
        let slip = Slip {
            dx: Mm::new(0.4 * k as f64),
            dy: Mm::new(-0.2 * k as f64),
            skew: Degrees::new(0.1 * k as f64),
        };
        let name = format!("layer {k}");
        p.sheet.layers.push(Layer { art, slip, ..Layer::new(LayerId::new(0), name, ink) });
    }
    (p, images)
}

fn proof(p: &(Printing, Images), options: ProofOptions) -> ProofPicture {
    render(&p.0, &p.1, &options, &Progress::new()).unwrap()
}

fn print_of(proof: &ProofPicture) -> Vec<u8> {
    let PxRect { x, y, width, height } = proof.print;
    let row = proof.width as usize * 3;
    (y..y + height).flat_map(|y| proof.rgb[y * row + x * 3..y * row + (x + width) * 3].to_vec()).collect()
}

fn rendered(p: &(Printing, Images), view: &View) -> Vec<u8> {
    let scene = Scene::new(&p.0, &p.1, Show::default()).unwrap();
    scene.render(view).pixels.iter().flat_map(|p| [p[0], p[1], p[2]]).collect()
}

#[test]
fn the_sheet_in_a_proof_is_the_render_pixel_for_pixel() {
    let p = printing(SheetFormat::A5, &["Pool green-blue", "Hip-berry red", "Ink-bottle blue"]);
    for resolution in [72.0, 131.3, 300.0] {
        let options = ProofOptions { dpi: dpi(resolution), ..ProofOptions::default() };
        let view = View::sheet(p.0.sheet.size(), options.dpi);
        assert!(print_of(&proof(&p, options)) == rendered(&p, &view), "at {resolution} dpi");
    }
}

#[test]
fn a_page_stands_upright_and_is_the_render_of_that_page() {
    let p = printing(SheetFormat::A4, &["Hip-berry red", "Warm black"]);
    let options = ProofOptions { dpi: dpi(100.0), page: Some(4), ..ProofOptions::default() };
    let place = p.0.sheet.fold.as_ref().unwrap().place(p.0.sheet.size(), 4).unwrap();
    let picture = proof(&p, options);
    assert!(picture.print.height > picture.print.width);
    assert!(print_of(&picture) == rendered(&p, &View::page(&place, options.dpi)));
    let none = ProofOptions { page: Some(9), ..options };
    let error = render(&p.0, &p.1, &none, &Progress::new()).unwrap_err();
    assert_eq!(error.to_string(), "there is no page 9; choose one from 1 to 8");
}

#[test]
fn a_bare_proof_is_the_sheet_alone() {
    let p = printing(SheetFormat::A6, &["Hip-berry red"]);
    let picture = proof(&p, ProofOptions { marks: false, legend: false, ..ProofOptions::default() });
    assert_eq!((picture.width, picture.height), p.0.sheet.size().pixels(Dpi::default()));
}

#[test]
fn every_size_of_sheet_and_number_of_inks_has_a_proof() {
    let all = [
        "Hip-berry red",
        "Roof tile",
        "Sweet-pea pink",
        "Cut-beet purple",
        "Dry-heather purple",
        "Squashed-currant red",
        "Peel yellow",
        "Conker-shell brown",
    ];
    let tiny = SheetFormat::Custom(slipsheet_core::units::Size::mm(20.0, 1990.0));
    for sheet in [SheetFormat::A6, SheetFormat::A3, tiny] {
        for inks in [0, 1, 2, 8] {
            let (mut p, images) = printing(sheet, &all[..inks]);
            for fold in [None, fold::find("slit8")] {
                p.sheet.fold = fold;
                for (face, page) in [(Face::Front, None), (Face::Back, None), (Face::Front, Some(1))] {
                    if page.is_some() && p.sheet.fold.is_none() {
                        continue;
                    }
                    let (fold_guides, trim_guides) = (true, true);
                    p.sheet.trim = Mm::new(3.0);
                    let options = ProofOptions {
                        dpi: dpi(72.0),
                        face,
                        page,
                        fold_guides,
                        trim_guides,
                        ..ProofOptions::default()
                    };
                    let picture = render(&p, &images, &options, &Progress::new()).unwrap();
                    assert_eq!(picture.rgb.len(), (picture.width * picture.height * 3) as usize);
                }
            }
        }
    }
}

#[test]
fn nothing_is_cut_off_at_the_edge_of_the_picture() {
    for (sheet, inks) in [(SheetFormat::A4, 3), (SheetFormat::A6, 3), (SheetFormat::A5, 8)] {
        let all = [
            "Hip-berry red",
            "Roof tile",
            "Sweet-pea pink",
            "Cut-beet purple",
            "Dry-heather purple",
            "Squashed-currant red",
            "Peel yellow",
            "Conker-shell brown",
        ];
        let (mut p, images) = printing(sheet, &all[..inks]);
        p.title = "A title that goes on and on, far longer than any column will ever be ".repeat(3);
        p.sheet.layers[0].ink.name = "An ink of a name much too long for its place in the legend".repeat(2);
        let options = ProofOptions { dpi: dpi(100.0), ..ProofOptions::default() };
        let picture = render(&p, &images, &options, &Progress::new()).unwrap();
        let (w, h) = (picture.width as usize, picture.height as usize);
        // A strip at the right and the foot, where only white may be.
        let border = (1.5 * options.dpi.px_per_mm()) as usize;
        let white = |x: usize, y: usize| picture.rgb[(y * w + x) * 3..][..3] == [255; 3];
        assert!((0..h).all(|y| (w - border..w).all(|x| white(x, y))), "right edge of {sheet:?}");
        assert!((h - border..h).all(|y| (0..w).all(|x| white(x, y))), "foot of {sheet:?}");
    }
}

#[test]
fn a_silly_size_is_refused_with_advice_before_memory_is_asked_for() {
    let p = printing(SheetFormat::A2, &["Hip-berry red"]);
    let options = ProofOptions { dpi: dpi(9600.0), ..ProofOptions::default() };
    let error = render(&p.0, &p.1, &options, &Progress::new()).unwrap_err().to_string();
    assert!(error.ends_with("more than a gigapixel; choose a lower resolution"), "{error}");
}

#[test]
fn guides_follow_the_creases_and_the_back_is_seen_from_behind() {
    let scheme = fold::find("slit8").unwrap();
    let size = Size::mm(280.0, 200.0);
    let front = fold_guides(&scheme, size, Face::Front);
    let back = fold_guides(&scheme, size, Face::Back);
    assert_eq!(front.len(), 7);
    // The first crease runs along the left column only, so along the right one from behind.
    assert_eq!((front[0].from, front[0].to), (Point::new(0.0, 100.0), Point::new(70.0, 100.0)));
    assert_eq!((back[0].from, back[0].to), (Point::new(280.0, 100.0), Point::new(210.0, 100.0)));
    assert_ne!(front[0].dashes, back[0].dashes);
    let right = scheme.creases.iter().position(|c| c.line == GridLine::Vertical(3)).unwrap();
    assert_eq!((back[right].from, back[right].to), (Point::new(70.0, 0.0), Point::new(70.0, 100.0)));
    // The slit has no dashes on either face.
    assert!(front[6].dashes.is_empty() && back[6].dashes.is_empty());
}

#[test]
fn guides_change_the_print_and_nothing_else() {
    let mut p = printing(SheetFormat::A5, &["Hip-berry red"]);
    p.0.sheet.trim = Mm::new(2.0);
    let plain = proof(&p, ProofOptions { dpi: dpi(150.0), ..ProofOptions::default() });
    for (fold_guides, trim_guides) in [(true, false), (false, true)] {
        let options = ProofOptions { dpi: dpi(150.0), fold_guides, trim_guides, ..ProofOptions::default() };
        let guided = proof(&p, options);
        let PxRect { x, y, width, height } = guided.print;
        let w = guided.width as usize;
        let changed: Vec<usize> = (0..plain.rgb.len() / 3)
            .filter(|i| plain.rgb[i * 3..i * 3 + 3] != guided.rgb[i * 3..i * 3 + 3])
            .collect();
        assert!(!changed.is_empty() && changed.len() < width * height / 20);
        assert!(changed.iter().all(|i| {
            let (px, py) = (i % w, i / w);
            (x..x + width).contains(&px) && (y..y + height).contains(&py)
        }));
    }
}

#[test]
fn a_written_proof_carries_its_recipe_and_is_the_same_every_time() {
    let dir = tempfile::tempdir().unwrap();
    let p = printing(SheetFormat::A6, &["Hip-berry red", "Ink-bottle blue"]);
    let options = ProofOptions { dpi: dpi(100.0), ..ProofOptions::default() };
    let paths = ["a.png", "b.png"].map(|n| dir.path().join(n));
    for path in &paths {
        write(&p.0, &p.1, &options, path, &Progress::new()).unwrap();
    }
    let files = paths.map(|p| std::fs::read(p).unwrap());
    assert!(files[0] == files[1]);
    let decoder = png::Decoder::new(std::io::Cursor::new(&files[0]));
    let mut reader = decoder.read_info().unwrap();
    let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
    reader.next_frame(&mut rgb).unwrap();
    assert!(rgb == proof(&p, options).rgb);
    reader.finish().unwrap();
    let info = reader.info();
    let text = |key: &str| {
        let latin = info.uncompressed_latin1_text.iter().find(|t| t.keyword == key).map(|t| t.text.clone());
        latin.or_else(|| info.utf8_text.iter().find(|t| t.keyword == key).and_then(|t| t.get_text().ok()))
    };
    assert_eq!(text("Title").unwrap(), "Tidewrack");
    assert_eq!(text("Inks").unwrap(), "Hip-berry red (estimate); Ink-bottle blue (estimate)");
    assert_eq!(text("Order").unwrap(), "1 layer 0: Hip-berry red; 2 layer 1: Ink-bottle blue");
    assert_eq!(text("Slips").unwrap(), "layer 1: 0.4 mm right, 0.2 mm up, 0.1 degrees clockwise");
    assert_eq!(text("Stock").unwrap(), "Pale green-gray, uncoated, 90 gsm, estimate");
    assert_eq!(text("Sheet size").unwrap(), "A6, 148 x 105 mm");
    assert_eq!(text("Fold").unwrap(), "Slit eight-page sheet");
    assert!(text("Software").unwrap().starts_with("Slipsheet "));
}

#[test]
fn a_stopped_proof_writes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let p = printing(SheetFormat::A6, &["Hip-berry red"]);
    let progress = Progress::new();
    progress.cancel();
    let at = dir.path().join("a.png");
    assert!(matches!(
        write(&p.0, &p.1, &ProofOptions::default(), &at, &progress),
        Err(ProofError::Cancelled)
    ));
    assert!(!at.exists());
}

fn fold_guides(
    scheme: &slipsheet_paper::fold::Scheme,
    size: slipsheet_core::units::Size,
    face: Face,
) -> Vec<guides::Guide> {
    scheme.sheet_lines(size, face).into_iter().map(guides::Guide::of).collect()
}
