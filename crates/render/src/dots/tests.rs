use super::*;
use crate::Show;
use crate::images::Images;
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::reading::{Mode, Reading, Ruling, Scatter};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Degrees, Dpi, Mm, SheetFormat, Size};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Slip, Target};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

/// A ramp on a small sheet, slipped and skewed a little.
pub fn job(mode: Mode) -> (Printing, Images) {
    let stock = Stock::new("White", Swatch::Estimated { lab: Lab::new(95.0, 0.0, 0.0).unwrap() });
    let mut printing = Printing::new("dots", SheetFormat::Custom(Size::mm(40.0, 30.0)), stock);
    let dpi = Dpi::new(300.0).unwrap();
    let (w, h) = Size::mm(40.0, 30.0).pixels(dpi);
    // A ramp from white to black.
    let pixels = (0..w * h).map(|i| 255 - (i % w * 255 / w) as u8).collect();
    let key = ScanKey::new("0".repeat(64));
    let mut images = Images::default();
    images.insert(key.clone(), Arc::new(Pyramid::new(GrayRaster::new(w, h, pixels).unwrap(), dpi)));
    let scan = ScanRef { path: "ramp.png".to_owned(), size: 1, key, dpi };
    printing.sheet.layers.push(Layer {
        id: LayerId::new(0),
        name: "ramp".to_owned(),
        ink: Ink::estimated("Black", Lab::new(17.0, 0.0, 0.0).unwrap()),
        face: Face::Front,
        art: vec![Art::new(ArtId::new(1), scan, Target::Sheet)],
        slip: Slip { dx: Mm::new(0.3), skew: Degrees::new(0.4), ..Slip::default() },
        visible: true,
        reading: Reading::of(mode),
        with: None,
        remedies: vec![],
    });
    (printing, images)
}

fn modes() -> [Mode; 3] {
    [
        Mode::Screened { ruling: Ruling::default(), angle: Degrees::new(45.0) },
        Mode::Stochastic { scatter: Scatter::Tile },
        Mode::Stochastic { scatter: Scatter::Diffusion },
    ]
}

/// Mean effective coverage of blocks of 64 x 64 master pixels, from dots and from tones.
#[test]
fn dots_cover_what_the_tone_model_says() {
    for mode in modes() {
        let (printing, images) = job(mode);
        let scene =
            Scene::new(&printing, &images, Show { dots: true, perfect: true, ..Show::default() }).unwrap();
        let view = View::sheet(printing.sheet.size(), printing.press_dpi);
        let dotted = scene.dotted(&view).expect("the view is near enough");
        let dots = dotted.plate(0, &view).unwrap();
        let tones = scene.plate(0, &view).unwrap();
        let (w, h) = (dots.width() as usize, dots.height() as usize);
        for (bx, by) in [(1, 1), (3, 2), (5, 4), (7, 3), (9, 6), (11, 5), (13, 8)] {
            let mean = |r: &GrayRaster, table: &[f32; 256]| {
                let block =
                    (by * 64..by * 64 + 64).flat_map(|y| (bx * 64..bx * 64 + 64).map(move |x| (x, y)));
                block.map(|(x, y)| f64::from(table[usize::from(r.pixels()[y * w + x])])).sum::<f64>() / 4096.0
            };
            assert!(bx * 64 + 64 <= w && by * 64 + 64 <= h);
            let (a, b) = (mean(&dots, &dotted.tables[0]), mean(&tones, &scene.tables[0]));
            assert!((a - b).abs() < 0.02, "{mode:?}, block {bx},{by}: dots {a:.3}, tones {b:.3}");
        }
    }
}

#[test]
fn dots_are_seen_from_near_only_and_slip_with_their_layer() {
    let (printing, images) = job(modes()[0]);
    let scene = Scene::new(&printing, &images, Show { dots: true, ..Show::default() }).unwrap();
    let far = View::sheet(printing.sheet.size(), Dpi::new(150.0).unwrap());
    assert!(!scene.shows_dots(&far));
    let near = View::of_rect(Rect { x: 10.0, y: 10.0, width: 4.0, height: 3.0 }, 400, 300);
    assert!(scene.shows_dots(&near));
    let slipped = scene.render(&near);
    let perfect = Scene::new(&printing, &images, Show { dots: true, perfect: true, ..Show::default() })
        .unwrap()
        .render(&near);
    assert!(slipped != perfect);
    // Inside dots the ink is solid, between them the paper is bare.
    let darkest = slipped.pixels.iter().map(|p| p[0]).min().unwrap();
    let lightest = slipped.pixels.iter().map(|p| p[0]).max().unwrap();
    assert!(lightest - darkest > 150, "{darkest} {lightest}");
}
