//! The prints of a project's sheets as the dummy shows them.

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

use slipsheet_paper::dummy::{DummyView, Folded, Texture, draw_sheets, seen_faces};

use crate::images::Images;
use crate::{Picture, Scene, Show, View};
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

/// The colour of a project's bare stock on a screen.
pub fn paper_of(printing: &Printing) -> [u8; 3] {
    printing.sheet.stock.colour.lab().xyz().shown().rgb
}

/// The prints of front and back at a resolution; the back only where something is on it.
pub fn prints(printing: &Printing, images: &Images, perfect: bool, dpi: Dpi) -> [Option<Texture>; 2] {
    let print = |face| print(printing, images, (0, face), perfect, dpi);
    [print(Face::Front), if printing.sheet.two_sided() { print(Face::Back) } else { None }]
}

fn print(
    printing: &Printing,
    images: &Images,
    (sheet, face): (usize, Face),
    perfect: bool,
    dpi: Dpi,
) -> Option<Texture> {
    let show = Show { face, solo: None, perfect, dots: false, sheet, show_through: false };
    let scene = Scene::new(printing, images, show).ok()?;
    let picture = scene.render(&View::sheet(scene.sheet(), dpi));
    Some(Texture::new(picture, dpi.px_per_mm(), paper_of(printing)))
}

/// The prints of every sheet: all of them in small, and in full those that were last seen.
#[derive(Debug, Clone, Default)]
pub struct Prints {
    all: Vec<[Option<Texture>; 2]>,
    full: Vec<((usize, Face), Option<Texture>)>,
    perfect: bool,
    dpi: Dpi,
}

/// Faces that are kept in full: the open spread, the one before it and the one after.
const FULL: usize = 8;
/// Faces in full that one picture may ask for; where more are seen each of them is small.
const SEEN: usize = 5;

impl Bytes for Prints {
    fn bytes(&self) -> usize {
        let faces = self.all.iter().flatten().chain(self.full.iter().map(|(_, t)| t)).flatten();
        // The halves come to a third of the whole.
        faces.filter_map(Texture::picture).map(|p| p.pixels.bytes() / 3 * 4).sum()
    }
}

impl Prints {
    /// The prints of a project at a resolution; of a booklet they are smaller until [`Self::sharpen`] is told
    /// which are seen.
    pub fn new(printing: &Printing, images: &Images, perfect: bool, dpi: Dpi) -> Self {
        let sheets = printing.sheet.printed_sheets();
        if sheets < 2 {
            let all = vec![prints(printing, images, perfect, dpi)];
            return Self { all, full: Vec::new(), perfect, dpi };
        }
        let small = Dpi::nearest(dpi.get() / libm::sqrt(2.0 * sheets as f64));
        let of = |sheet| Face::BOTH.map(|f| print(printing, images, (sheet, f), perfect, small));
        Self { all: (0..sheets).into_par_iter().map(of).collect(), full: Vec::new(), perfect, dpi }
    }

    /// Makes the faces that fill most of a picture in full.
    pub fn sharpen(&mut self, printing: &Printing, images: &Images, folded: &Folded, view: &DummyView) {
        if self.all.len() < 2 {
            return;
        }
        let mut seen = seen_faces(folded, view);
        seen.truncate(SEEN);
        let missing: Vec<_> =
            seen.iter().copied().filter(|s| self.full.iter().all(|(f, _)| f != s)).collect();
        let (perfect, dpi) = (self.perfect, self.dpi);
        let made: Vec<_> =
            missing.into_par_iter().map(|s| (s, print(printing, images, s, perfect, dpi))).collect();
        self.full.extend(made);
        // What is seen now goes last, and the first goes.
        self.full.sort_by_key(|(f, _)| seen.contains(f));
        let over = self.full.len().saturating_sub(FULL);
        self.full.drain(..over);
    }

    /// A picture of the folded thing with these prints, the sides that are seen as sharp as the view shows them.
    pub fn draw(
        &mut self,
        printing: &Printing,
        images: &Images,
        folded: &Folded,
        view: &DummyView,
        out: &mut Picture,
    ) {
        self.sharpen(printing, images, folded, view);
        draw_sheets(folded, |sheet, face| self.of(sheet, face), paper_of(printing), view, out);
    }

    pub fn of(&self, sheet: usize, face: Face) -> Option<&Texture> {
        let full = self.full.iter().find(|(f, _)| *f == (sheet, face)).and_then(|(_, t)| t.as_ref());
        full.or_else(|| self.all.get(sheet)?[usize::from(face == Face::Back)].as_ref())
    }
}
