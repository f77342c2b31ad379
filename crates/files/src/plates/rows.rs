//! The rows of plates: what each ink asks for at every pixel of the sheet.

use std::sync::Arc;

use rayon::prelude::*;
use slipsheet_core::fold::Face;
use slipsheet_core::mark_room;
use slipsheet_core::project::{Images, Project};
use slipsheet_core::reading::Reading;
use slipsheet_core::render::{Scene, Show, View};
use slipsheet_core::schedule::press_passes;
use slipsheet_core::screen::{Screen, Window};
use slipsheet_core::units::{Dpi, Size};

use super::marks::{self, Stamp};
use super::{PlateError, PlateFormat, PlateOptions, check_size, slug};

/// Rows that are made at a time.
const BAND: usize = 256;

/// All plates of a job, ready to be drawn by rows.
pub struct Plates {
    /// Title of the project.
    pub title: String,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Resolution.
    pub dpi: Dpi,
    /// The sheet in mm.
    pub sheet: Size,
    /// What is trimmed off each edge, in mm.
    pub trim: f64,
    /// Whether there was room for marks between the trim and what the press can print.
    pub marked: bool,
    /// Whether the reading was applied.
    pub reading: bool,
    /// The plates, front before back, in printing order.
    pub all: Vec<Plate>,
    view: View,
}

/// One plate.
pub struct Plate {
    /// Layer, by its index in the project.
    pub layer: usize,
    /// The face.
    pub face: Face,
    /// Name of the ink.
    pub ink: String,
    /// Pass through the press, from 1, counted over the whole job.
    pub pass: usize,
    /// Drum of that pass, from 1.
    pub drum: usize,
    /// Place in the printing order of the whole job, from 1.
    pub order: usize,
    /// What is printed beside the trim, and stands in the file.
    pub label: String,
    scene: Arc<Scene>,
    reader: Reader,
    stamps: Vec<Stamp>,
}

/// From gray to what is on the plate.
enum Reader {
    /// The gray itself.
    Tone,
    /// A table of grays, then dots.
    Dots(Option<Box<[u8; 256]>>, Screen),
    /// Dots that depend on all before them, made once.
    Whole(Vec<u8>),
}

impl Plates {
    /// Gathers what the plates need. Every layer lies where it is meant to: slips are what-ifs. Artwork
    /// whose scan is not among the images is left out.
    ///
    /// # Errors
    /// When nothing is shown, the sheet has too many pixels or a face too many inks.
    pub fn new(project: &Project, images: &Images, options: &PlateOptions) -> Result<Self, PlateError> {
        let dpi = options.dpi.unwrap_or(project.press_dpi);
        let sheet = project.sheet_size();
        let (width, height) = sheet.pixels(dpi);
        check_size((width, height))?;
        let mut read = project.clone();
        if !options.reading {
            read.layers.iter_mut().for_each(|l| l.reading = Reading::default());
        }
        let scene = |face| {
            let show = Show { face, solo: None, perfect: true, dots: false, sheet: 0 };
            Scene::new(&read, images, show).map(Arc::new)
        };
        let scenes = [(Face::Front, scene(Face::Front)?), (Face::Back, scene(Face::Back)?)];
        let passes = press_passes(project);
        let count: usize = passes.iter().map(|p| p.layers.len()).sum();
        let mut plates = Self {
            title: project.title.clone(),
            width,
            height,
            dpi,
            sheet,
            trim: project.trim.get(),
            marked: !mark_room::strips(project).is_empty(),
            reading: options.reading,
            all: Vec::new(),
            view: View::sheet(sheet, dpi),
        };
        for (pass, of_pass) in passes.iter().enumerate() {
            for (drum, layer) in of_pass.layers.iter().enumerate() {
                let Some(ink) = project.layers.get(*layer).map(|l| l.ink.name.clone()) else { continue };
                let Some((_, scene)) = scenes.iter().find(|s| s.0 == of_pass.face) else { continue };
                let order = plates.all.len() + 1;
                let face = of_pass.face;
                let label = format!(
                    "{order} of {count}  {ink}  {}, pass {} of {}, drum {}",
                    face.name().to_lowercase(),
                    pass + 1,
                    passes.len(),
                    drum + 1
                );
                let stamps = marks::stamps(project, dpi, (order - 1, count), &label)?;
                let scene = Arc::clone(scene);
                let reader = Reader::Tone;
                let (pass, drum, layer) = (pass + 1, drum + 1, *layer);
                plates.all.push(Plate { layer, face, ink, pass, drum, order, label, scene, reader, stamps });
            }
        }
        if plates.all.is_empty() {
            return Err(PlateError::Nothing);
        }
        if options.reading {
            plates.read(project);
        }
        Ok(plates)
    }

    /// The bands that make up a plate: first row and number of rows.
    pub fn bands(&self) -> impl Iterator<Item = (usize, usize)> + use<> {
        let height = self.height as usize;
        (0..height).step_by(BAND).map(move |top| (top, BAND.min(height - top)))
    }

    /// Some rows of a plate, 0 for full ink.
    pub fn rows(&self, plate: &Plate, top: usize, rows: usize) -> Vec<u8> {
        let width = self.width as usize;
        let mut band = match &plate.reader {
            Reader::Whole(all) => {
                all.get(top * width..(top + rows) * width).map(<[u8]>::to_vec).unwrap_or_default()
            }
            Reader::Tone | Reader::Dots(..) => self.gray(plate, top, rows),
        };
        if let Reader::Dots(table, screen) = &plate.reader {
            band.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
                if let Some(table) = table {
                    row.iter_mut().for_each(|g| *g = table[usize::from(*g)]);
                }
                screen.row((top + y) as u32, 0, row);
            });
        }
        for stamp in &plate.stamps {
            stamp.lay(&mut band, width, top);
        }
        band
    }

    fn gray(&self, plate: &Plate, top: usize, rows: usize) -> Vec<u8> {
        let band = plate.scene.plate(plate.layer, &self.view.band(top, rows));
        let blank = || vec![255; self.width as usize * rows];
        band.map_or_else(blank, |b| b.pixels().to_vec())
    }

    /// Gives every plate its dots.
    fn read(&mut self, project: &Project) {
        let readers: Vec<Reader> = self
            .all
            .iter()
            .map(|plate| {
                let Some(layer) = project.layers.get(plate.layer) else { return Reader::Tone };
                let screen = layer.reading.screen(self.dpi, plate.layer);
                let table = layer.reading.gray_table().map(Box::new);
                if screen == Screen::Diffusion {
                    self.diffused(plate, table)
                } else {
                    Reader::Dots(table, screen)
                }
            })
            .collect();
        for (plate, reader) in self.all.iter_mut().zip(readers) {
            plate.reader = reader;
        }
    }

    fn diffused(&self, plate: &Plate, table: Option<Box<[u8; 256]>>) -> Reader {
        let gray = self.gray(plate, 0, self.height as usize);
        let width = self.width as usize;
        let window = Window { x: 0, y: 0, width: self.width, height: self.height };
        let dots = Screen::Diffusion.draw(self.width, window, |y, x0, row| {
            let from = y as usize * width + x0 as usize;
            let Some(gray) = gray.get(from..from + row.len()) else { return };
            match &table {
                Some(table) => row.iter_mut().zip(gray).for_each(|(to, g)| *to = table[usize::from(*g)]),
                None => row.copy_from_slice(gray),
            }
        });
        Reader::Whole(dots)
    }
}

impl Plate {
    /// The name of its file: `1-front-pool-green-blue.png`.
    pub fn file_name(&self, format: PlateFormat) -> String {
        let face = self.face.name().to_lowercase();
        format!("{}-{face}-{}.{}", self.order, slug(&self.ink), format.ending())
    }
}
