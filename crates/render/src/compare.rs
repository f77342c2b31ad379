//! Two layers held against each other, to judge how they lie: one after the other in gray, or where one has
//! ink and the other has none. Colours are those of a diagram, not of the inks.

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

use super::{Picture, Scene, Show, View};
use crate::images::Images;
use slipsheet_core::overprint::OverprintError;
use slipsheet_core::raster::GrayRaster;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

/// Which two layers, by their index in the project.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pair {
    /// The layer one works on.
    pub first: usize,
    /// The layer it is held against.
    pub second: usize,
}

/// What of the two is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    First,
    /// The second in gray.
    Second,
    Difference,
}

/// Where the first alone has ink: orange. Orange and blue are told apart by people with any of the common
/// colour blindnesses (Okabe and Ito 2008, whose vermilion and blue these are).
pub const FIRST_ALONE: [u8; 3] = [0xd5, 0x5e, 0x00];
/// Where the second alone has ink: blue.
pub const SECOND_ALONE: [u8; 3] = [0x00, 0x72, 0xb2];
/// Where both have as much ink.
pub const BOTH: [u8; 3] = [0x60, 0x60, 0x60];

/// Two layers ready to be compared in any view.
#[derive(Clone)]
pub struct Comparison {
    pair: Pair,
    scenes: [Scene; 2],
    /// What each layer's reading makes of a gray, where that is one table for all.
    tables: [Option<[u8; 256]>; 2],
}

/// The two layers in one view, 0 full ink.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plates([GrayRaster; 2]);

impl Bytes for Comparison {
    fn bytes(&self) -> usize {
        self.scenes.iter().map(Bytes::bytes).sum()
    }
}

impl Bytes for Plates {
    fn bytes(&self) -> usize {
        self.0.iter().map(|plate| plate.pixels().len()).sum()
    }
}

impl Comparison {
    /// Gathers what the two need, whether they are visible or not; `perfect` leaves slips away. Nothing when
    /// one of them is not on that face.
    ///
    /// # Errors
    /// When an ink cannot be predicted.
    pub fn new(
        printing: &Printing,
        images: &Images,
        face: Face,
        pair: Pair,
        perfect: bool,
    ) -> Result<Option<Self>, OverprintError> {
        let on_face = |i: usize| printing.sheet.layers.get(i).filter(|l| l.face == face);
        let (Some(first), Some(second)) = (on_face(pair.first), on_face(pair.second)) else {
            return Ok(None);
        };
        let scene = |i: usize| {
            Scene::new(
                printing,
                images,
                Show { face, solo: Some(i), perfect, dots: false, sheet: 0, show_through: false },
            )
        };
        let scenes = [scene(pair.first)?, scene(pair.second)?];
        let tables = [first.gray_table(), second.gray_table()];
        Ok(Some(Self { pair, scenes, tables }))
    }

    pub fn plates(&self, view: &View) -> Option<Plates> {
        let [a, b] = &self.scenes;
        let plates = [a.plate(self.pair.first, view)?, b.plate(self.pair.second, view)?];
        let mut read = plates.into_iter().zip(&self.tables).map(|(plate, table)| match table {
            Some(table) => plate.mapped(table),
            None => plate,
        });
        Some(Plates([read.next()?, read.next()?]))
    }

    /// Draws the plates of that view; what lies off the sheet is transparent.
    pub fn draw(&self, plates: &Plates, compared: Compared, view: &View, picture: &mut Picture) {
        picture.resize(view.width, view.height);
        let [scene, _] = &self.scenes;
        let Plates([first, second]) = plates;
        let rows = picture.pixels.par_chunks_mut(view.width.max(1)).enumerate();
        rows.for_each(|(y, out)| {
            let Some((from, to)) = scene.on_sheet(view, y, out) else { return };
            let row = y as u32;
            let pairs = first.row(row).iter().zip(second.row(row)).skip(from).take(to - from);
            for (o, (&a, &b)) in out.iter_mut().skip(from).zip(pairs) {
                *o = pixel(a, b, compared);
            }
        });
    }
}

/// One pixel of two grays, 0 full ink: ink that both have takes away from white towards the neutral gray,
/// what one has more towards its colour.
fn pixel(first: u8, second: u8, compared: Compared) -> [u8; 4] {
    match compared {
        Compared::First => [first, first, first, 255],
        Compared::Second => [second, second, second, 255],
        Compared::Difference => {
            let (a, b) = (255 - u32::from(first), 255 - u32::from(second));
            let both = a.min(b);
            let mut out = [255; 4];
            for (((o, one), other), gray) in out.iter_mut().zip(FIRST_ALONE).zip(SECOND_ALONE).zip(BOTH) {
                let away = |to: u8, share: u32| (255 - u32::from(to)) * share;
                let gone = away(one, a - both) + away(other, b - both) + away(gray, both);
                *o = 255 - u8::try_from((gone + 127) / 255).unwrap_or(255);
            }
            out
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use slipsheet_core::colour::Lab;
    use slipsheet_core::ink::{Ink, Swatch};
    use slipsheet_core::raster::Pyramid;
    use slipsheet_core::stock::Stock;
    use slipsheet_core::units::{Dpi, Mm, SheetFormat, Size};
    use slipsheet_document::ids::{ArtId, LayerId};
    use slipsheet_document::layer::{Art, Layer, Placement, ScanKey, ScanRef, Slip, Target};

    /// Two layers of a black block of 20 x 20 mm on a sheet of 100 x 100 mm at 1 pixel a mm.
    fn two_blocks(second_slips: f64) -> (Printing, Images) {
        let stock = Stock::new("White", Swatch::Estimated { lab: Lab::WHITE });
        let mut printing = Printing::new("", SheetFormat::Custom(Size::mm(100.0, 100.0)), stock);
        let dpi = Dpi::new(25.4).unwrap();
        let mut block = GrayRaster::filled(100, 100, 255).unwrap();
        for y in 40..60 {
            block.pixels_mut()[y * 100 + 40..y * 100 + 60].fill(0);
        }
        let mut images = Images::default();
        let pixels = Arc::new(Pyramid::new(block, dpi));
        for (name, dx) in [("a", 0.0), ("b", second_slips)] {
            let key = ScanKey::new(name.repeat(64));
            images.insert(key.clone(), Arc::clone(&pixels));
            let scan = ScanRef { path: name.to_owned(), size: 1, key, dpi };
            let placement = Placement::default();
            printing.sheet.layers.push(Layer {
                id: LayerId::new(if name == "a" { 0 } else { 1 }),
                name: name.to_owned(),
                ink: Ink::estimated(name, Lab::new(40.0, 10.0, 10.0).unwrap()),
                face: Face::Front,
                art: vec![Art { placement, ..Art::new(ArtId::new(0), scan, Target::Sheet) }],
                slip: Slip { dx: Mm::new(dx), ..Slip::default() },
                visible: false,
                reading: Default::default(),
                with: None,
                remedies: vec![],
            });
        }
        (printing, images)
    }

    fn compared(slip: f64, perfect: bool, how: Compared) -> Picture {
        let (printing, images) = two_blocks(slip);
        let pair = Pair { first: 0, second: 1 };
        let comparison = Comparison::new(&printing, &images, Face::Front, pair, perfect).unwrap().unwrap();
        let view = View::sheet(printing.sheet.size(), Dpi::new(25.4).unwrap());
        let mut picture = Picture::default();
        comparison.draw(&comparison.plates(&view).unwrap(), how, &view, &mut picture);
        picture
    }

    fn rgb(picture: &Picture, x: usize) -> [u8; 3] {
        let [r, g, b, _] = picture.at(x, 50);
        [r, g, b]
    }

    #[test]
    fn layers_that_lie_alike_differ_nowhere() {
        let picture = compared(0.0, false, Compared::Difference);
        assert!(picture.pixels.iter().all(|[r, g, b, a]| r == g && g == b && *a == 255));
        assert_eq!(rgb(&picture, 50), BOTH);
        assert_eq!(rgb(&picture, 10), [255; 3]);
    }

    #[test]
    fn a_slip_shows_each_layers_own_edge_in_its_colour() {
        let picture = compared(5.0, false, Compared::Difference);
        assert_eq!(
            [rgb(&picture, 42), rgb(&picture, 50), rgb(&picture, 62)],
            [FIRST_ALONE, BOTH, SECOND_ALONE]
        );
        let meant = compared(5.0, true, Compared::Difference);
        assert_eq!(meant, compared(0.0, false, Compared::Difference));
    }

    #[test]
    fn each_layer_can_be_seen_alone_in_gray() {
        let (first, second) = (compared(5.0, false, Compared::First), compared(5.0, false, Compared::Second));
        assert_eq!((rgb(&first, 42), rgb(&first, 62)), ([0; 3], [255; 3]));
        assert_eq!((rgb(&second, 42), rgb(&second, 62)), ([255; 3], [0; 3]));
    }

    #[test]
    fn grays_of_two_layers_never_wrap_around() {
        for a in 0..=255 {
            for b in [0, 1, 127, 128, 254, 255] {
                let [r, g, bl, _] = pixel(a, b, Compared::Difference);
                let white = a == 255 && b == 255;
                assert_eq!(r == 255 && g == 255 && bl == 255, white, "{a} {b}");
            }
        }
    }

    #[test]
    fn a_layer_of_the_other_face_is_not_compared() {
        let (mut printing, images) = two_blocks(0.0);
        printing.sheet.layers[1].face = Face::Back;
        let pair = Pair { first: 0, second: 1 };
        assert!(Comparison::new(&printing, &images, Face::Front, pair, false).unwrap().is_none());
    }
}
