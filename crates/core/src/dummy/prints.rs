//! The print on each face as a texture, kept at several sizes so that it never shimmers.

use rayon::prelude::*;

use super::DummyView;
use super::mesh::Folded;
use super::raster::seen_faces;
use crate::fold::{Binding, Face, Panel, Scheme};
use crate::project::{Images, Project};
use crate::render::{Picture, Scene, Show, View};
use crate::units::{Dpi, Size};

/// The print on one face.
#[derive(Debug, Clone)]
pub struct Texture {
    /// The whole face, and halves of it down to a few pixels.
    pub(super) levels: Vec<Picture>,
    /// From mm on the face to pixels of the first level.
    pub(super) px_per_mm: f64,
}

impl Texture {
    /// From a picture of the whole face; where it is transparent the paper shows.
    pub fn new(mut picture: Picture, px_per_mm: f64, paper: [u8; 3]) -> Self {
        let [r, g, b] = paper;
        picture.pixels.par_iter_mut().filter(|p| p[3] == 0).for_each(|p| *p = [r, g, b, 255]);
        let mut levels = vec![picture];
        while let Some(last) = levels.last().filter(|l| l.width > 8 && l.height > 8) {
            let half = halved(last);
            levels.push(half);
        }
        Self { levels, px_per_mm }
    }

    /// The picture it was made of, on its paper.
    pub fn picture(&self) -> Option<&Picture> {
        self.levels.first()
    }
}

/// Each pixel the mean of four; in sRGB, which is near enough for a texture.
fn halved(from: &Picture) -> Picture {
    let (width, height) = (from.width / 2, from.height / 2);
    let mut pixels = vec![[0_u8; 4]; width * height];
    pixels.par_chunks_mut(width.max(1)).enumerate().for_each(|(y, row)| {
        let (above, below) = (&from.pixels[2 * y * from.width..], &from.pixels[(2 * y + 1) * from.width..]);
        for (x, out) in row.iter_mut().enumerate() {
            let four = [above[2 * x], above[2 * x + 1], below[2 * x], below[2 * x + 1]];
            *out = std::array::from_fn(|c| (four.iter().map(|p| u32::from(p[c])).sum::<u32>() / 4) as u8);
        }
    });
    Picture { width, height, pixels }
}

/// The colour of a project's bare stock on a screen.
pub fn paper_of(project: &Project) -> [u8; 3] {
    project.stock.colour.lab().xyz().shown().rgb
}

/// The prints of front and back at a resolution; the back only where something is on it.
pub fn prints(project: &Project, images: &Images, perfect: bool, dpi: Dpi) -> [Option<Texture>; 2] {
    let print = |face| print(project, images, (0, face), perfect, dpi);
    [print(Face::Front), if project.two_sided() { print(Face::Back) } else { None }]
}

fn print(
    project: &Project,
    images: &Images,
    (sheet, face): (usize, Face),
    perfect: bool,
    dpi: Dpi,
) -> Option<Texture> {
    let show = Show { face, solo: None, perfect, dots: false, sheet, show_through: false };
    let scene = Scene::new(project, images, show).ok()?;
    let picture = scene.render(&View::sheet(scene.sheet(), dpi));
    Some(Texture::new(picture, dpi.px_per_mm(), paper_of(project)))
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

impl Prints {
    /// The prints of a project at a resolution; of a booklet they are smaller until [`Self::sharpen`] is told
    /// which are seen.
    pub fn new(project: &Project, images: &Images, perfect: bool, dpi: Dpi) -> Self {
        let sheets = project.sheets();
        if sheets < 2 {
            let all = vec![prints(project, images, perfect, dpi)];
            return Self { all, full: Vec::new(), perfect, dpi };
        }
        let small = Dpi::new((dpi.get() / libm::sqrt(2.0 * sheets as f64)).max(10.0)).unwrap_or(dpi);
        let of =
            |sheet| [Face::Front, Face::Back].map(|f| print(project, images, (sheet, f), perfect, small));
        Self { all: (0..sheets).into_par_iter().map(of).collect(), full: Vec::new(), perfect, dpi }
    }

    /// Makes the faces that fill most of a picture in full.
    pub fn sharpen(&mut self, project: &Project, images: &Images, folded: &Folded, view: &DummyView) {
        if self.all.len() < 2 {
            return;
        }
        let mut seen = seen_faces(folded, view);
        seen.truncate(SEEN);
        let missing: Vec<_> =
            seen.iter().copied().filter(|s| self.full.iter().all(|(f, _)| f != s)).collect();
        let (perfect, dpi) = (self.perfect, self.dpi);
        let made: Vec<_> =
            missing.into_par_iter().map(|s| (s, print(project, images, s, perfect, dpi))).collect();
        self.full.extend(made);
        // What is seen now goes last, and the first goes.
        self.full.sort_by_key(|(f, _)| seen.contains(f));
        let over = self.full.len().saturating_sub(FULL);
        self.full.drain(..over);
    }

    /// A picture of the folded thing with these prints, the sides that are seen as sharp as the view shows them.
    pub fn draw(
        &mut self,
        project: &Project,
        images: &Images,
        folded: &Folded,
        view: &DummyView,
        out: &mut Picture,
    ) {
        self.sharpen(project, images, folded, view);
        super::draw_sheets(folded, |sheet, face| self.of(sheet, face), paper_of(project), view, out);
    }

    /// The print of a sheet's face, the best there is.
    pub fn of(&self, sheet: usize, face: Face) -> Option<&Texture> {
        let full = self.full.iter().find(|(f, _)| *f == (sheet, face)).and_then(|(_, t)| t.as_ref());
        full.or_else(|| self.all.get(sheet)?[usize::from(face == Face::Back)].as_ref())
    }
}

/// A sheet without folds, so that the dummy of an unfolded project is the sheet itself.
pub fn flat_scheme(sheet: Size) -> Scheme {
    Scheme {
        id: "flat".to_owned(),
        name: "Flat sheet".to_owned(),
        summary: String::new(),
        lying: sheet.width.get() > sheet.height.get(),
        columns: vec![1.0],
        rows: vec![1.0],
        front: vec![Panel { page: 1, turn: Default::default() }],
        back: vec![],
        creases: vec![],
        slits: vec![],
        binding: Binding::Leaflet,
        order: None,
        shorter: vec![],
    }
}
