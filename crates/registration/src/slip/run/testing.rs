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
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock::new("White", colour);
    let mut printing = Printing::new("p", SheetFormat::Custom(Size::mm(60.0, 40.0)), stock);
    let mut images = Images::default();
    let dpi = Dpi::new(254.0).unwrap();
    for (i, (x0, x1)) in [(30.0, 55.0), (5.0, 30.0 + trap)].into_iter().enumerate() {
        let key = ScanKey::new(i.to_string().repeat(64));
        let pixels = (0..600 * 400)
            .map(|p| {
                let (x, y) = (f64::from(p % 600) / 10.0, p / 600);
                if x >= x0 - 1e-9 && x < x1 - 1e-9 && (50..350).contains(&y) { 0 } else { 255 }
            })
            .collect();
        let pyramid = Pyramid::new(GrayRaster::new(600, 400, pixels).unwrap(), dpi);
        images.insert(key.clone(), std::sync::Arc::new(pyramid));
        let scan = ScanRef { path: "a.png".to_owned(), size: 1, key, dpi };
        printing.sheet.layers.push(Layer {
            art: vec![Art::new(ArtId::new(0), scan, Target::Sheet)],
            ..Layer::new(
                LayerId::new(i as u32),
                format!("ink {i}"),
                Ink::estimated(
                    "Ink",
                    Lab::new(40.0 + 15.0 * i as f64, 0.0, -45.0 + 90.0 * i as f64).unwrap(),
                ),
            )
        });
    }
    (printing, images)
}
