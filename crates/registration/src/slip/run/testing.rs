//! A small project for the tests of runs and remedies.

use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat, Size};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Target};
use slipsheet_document::printing::Printing;
use slipsheet_render::images::Images;

/// Two rectangles on a sheet of 60 x 40 mm: the first to the right of x = 30, the second to the left of
/// 30 + trap.
pub(crate) fn two_boxes(trap: f64) -> (Printing, Images) {
    let within = |x: f64, y: f64, x0: f64, x1: f64| x > x0 && x < x1 && y > 5.0 && y < 35.0;
    shapes(&[&|x, y| within(x, y, 30.0, 55.0), &|x, y| within(x, y, 5.0, 30.0 + trap)])
}

/// Solid shapes on a sheet of 60 x 40 mm, each a layer of its own: where each prints, by a point in mm.
pub(crate) fn shapes(prints: &[&dyn Fn(f64, f64) -> bool]) -> (Printing, Images) {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock::new("White", colour);
    let mut printing = Printing::new("p", SheetFormat::Custom(Size::mm(60.0, 40.0)), stock);
    let mut images = Images::default();
    let dpi = Dpi::new(254.0).unwrap();
    for (i, prints) in prints.iter().enumerate() {
        let key = ScanKey::new(i.to_string().repeat(64));
        let sample = |p: u32, s: u32| {
            let (x, y) = (p % 600 * 4 + s % 4, p / 600 * 4 + s / 4);
            prints((f64::from(x) + 0.5) / 40.0, (f64::from(y) + 0.5) / 40.0)
        };
        let gray = |p: u32| 255 - ((0..16).filter(|s| sample(p, *s)).count() * 255 / 16) as u8;
        let pixels = (0..600 * 400).map(gray).collect();
        let pyramid = Pyramid::new(GrayRaster::new(600, 400, pixels).unwrap(), dpi);
        images.insert(key.clone(), std::sync::Arc::new(pyramid));
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi };
        let (l, a, b) = [(40.0, 0.0, -45.0), (55.0, 0.0, 45.0), (25.0, 0.0, 0.0)][i % 3];
        let ink = Ink::estimated("Ink", Lab::new(l, a, b).unwrap());
        printing.sheet.layers.push(Layer {
            art: vec![Art::new(ArtId::new(0), scan, Target::Sheet)],
            ..Layer::new(LayerId::new(i as u32), format!("ink {i}"), ink)
        });
    }
    (printing, images)
}
