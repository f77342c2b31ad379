//! The rows of plates: what each ink asks for at every pixel of the sheet.

use rayon::prelude::*;
use slipsheet_booking::schedule::press_passes;
use slipsheet_core::geometry::Affine;
use slipsheet_core::reading::Reading;
use slipsheet_core::screen::{Screen, Window};
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::mark_room;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

use super::marks::{self, Stamp};
use super::{PlateError, PlateForm, PlateFormat, PlateOptions, check_size};
use crate::file_name::slug;

/// Rows that are made at a time.
const BAND: usize = 256;

/// All plates of a sheet, ready to be drawn by rows.
pub struct Plates {
    pub title: String,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    pub dpi: Dpi,
    /// The sheet in mm.
    pub sheet: Size,
    /// What is trimmed off each edge, in mm.
    pub trim: f64,
    /// Whether there was room for marks between the trim and what the press can print.
    pub marked: bool,
    /// How much of the reading is in them.
    pub form: PlateForm,
    /// The sheet of a booklet, from 0.
    pub on: usize,
    /// Sheets of a copy.
    pub sheets: usize,
    /// The plates, front before back, in printing order.
    pub all: Vec<Plate>,
    view: View,
    /// The same for the back as the press sees it, which may stand on its head.
    back_view: View,
}

pub struct Plate {
    /// Layer, by its index in the project of its sheet ([`Printing::number`]).
    pub layer: usize,
    /// Sheet of a booklet, from 0, and how many there are.
    pub sheet: (usize, usize),
    pub face: Face,
    pub ink: String,
    /// Pass through the press, from 1, counted over the whole job.
    pub pass: usize,
    /// Place in the printing order of its sheet, from 1.
    pub order: usize,
    /// What is printed beside the trim.
    pub label: String,
    /// How much of its reading is in it.
    form: PlateForm,
    /// What the machine is set to for it.
    setting: String,
    scene: Scene,
    reader: Reader,
    stamps: Vec<Stamp>,
}

/// From gray to what is on the plate.
enum Reader {
    Gray,
    /// A table of grays where it changes any, then dots where there is a screen.
    Dots(Option<Box<[u8; 256]>>, Screen),
    /// Dots that depend on all before them, made once.
    Whole(Vec<u8>),
}

impl Plates {
    /// Gathers what the plates of a project's only or first sheet need; see [`Self::of_sheet`].
    ///
    /// # Errors
    /// When nothing is shown, the sheet has too many pixels or a face too many inks.
    pub fn new(printing: &Printing, images: &Images, options: &PlateOptions) -> Result<Self, PlateError> {
        let plates = Self::of_sheet(printing, images, options, 0)?;
        if plates.all.is_empty() && plates.sheets < 2 { Err(PlateError::Nothing) } else { Ok(plates) }
    }

    /// Gathers what the plates of one sheet of a booklet need, from 0; a sheet without artwork has none. Every layer
    /// lies where it is meant to: slips are what-ifs. Artwork whose scan is not among the images is left out.
    ///
    /// # Errors
    /// When the sheet has too many pixels or a face too many inks.
    pub fn of_sheet(
        printing: &Printing,
        images: &Images,
        options: &PlateOptions,
        on: usize,
    ) -> Result<Self, PlateError> {
        let dpi = options.dpi.unwrap_or(printing.press_dpi);
        let sheet = printing.sheet.size();
        let (width, height) = sheet.pixels(dpi);
        check_size((width, height))?;
        let sheets = printing.sheet.printed_sheets();
        let passes = press_passes(printing);
        let one = printing.number(on);
        let scene = |layer: usize, face| {
            let mut drawn = one.clone();
            if written(&one, options.form, layer) == PlateForm::AsDrawn {
                // The other layers keep their readings: a knockout leaves out what they will print.
                let own = drawn.to_mut().sheet.layers.get_mut(layer);
                own.into_iter().for_each(|l| l.reading = Reading::default());
            }
            Scene::new(&drawn, images, Show { solo: Some(layer), ..Show::meant(face) })
        };
        let count: usize = passes.iter().filter(|p| p.sheet == on).map(|p| p.layers.len()).sum();
        let mut plates = Self {
            title: printing.title.clone(),
            width,
            height,
            dpi,
            sheet,
            trim: printing.sheet.trim.get(),
            marked: !mark_room::strips(printing).is_empty(),
            form: options.form,
            on,
            sheets,
            all: Vec::new(),
            view: View::sheet(sheet, dpi),
            back_view: back_view(printing, dpi),
        };
        for (pass, of_pass) in passes.iter().enumerate().filter(|(_, p)| p.sheet == on) {
            for (drum, (layer, ink)) in of_pass.layers.iter().zip(&of_pass.inks).enumerate() {
                let order = plates.all.len() + 1;
                let face = of_pass.face;
                let foot = face == Face::Back && printing.sheet.turning.leads_with_the_foot();
                let label = format!(
                    "{order} of {count}  {ink}  {}{}, pass {} of {}, drum {}",
                    face.of_sheet(on, sheets),
                    if foot { ", foot leads" } else { "" },
                    pass + 1,
                    passes.len(),
                    drum + 1
                );
                let stamps = marks::stamps(printing, dpi, (order - 1, count), &label)?;
                plates.all.push(Plate {
                    layer: *layer,
                    sheet: (on, sheets),
                    face,
                    ink: ink.clone(),
                    pass: pass + 1,
                    order,
                    label,
                    form: written(&one, options.form, *layer),
                    setting: one.sheet.layers.get(*layer).map_or_else(String::new, |l| {
                        options.form.layer_setting(l, &one.press.density_steps)
                    }),
                    scene: scene(*layer, face)?,
                    reader: Reader::Gray,
                    stamps,
                });
            }
        }
        plates.read(&one);
        Ok(plates)
    }

    /// The bands that make up a plate: first row and number of rows.
    pub fn bands(&self) -> impl Iterator<Item = (usize, usize)> + use<> {
        let height = self.height as usize;
        (0..height).step_by(BAND).map(move |top| (top, BAND.min(height - top)))
    }

    /// What a file says of a plate: its label, its form, and what the machine is set to for it.
    pub(super) fn about(&self, plate: &Plate) -> String {
        format!("{}; {}; set the machine to: {}", plate.label, plate.form.id(), plate.setting)
    }

    /// Some rows of a plate, 0 for full ink.
    pub fn rows(&self, plate: &Plate, top: usize, rows: usize) -> Vec<u8> {
        let width = self.width as usize;
        let mut band = match &plate.reader {
            Reader::Whole(all) => {
                all.get(top * width..(top + rows) * width).map(<[u8]>::to_vec).unwrap_or_default()
            }
            Reader::Gray | Reader::Dots(..) => self.gray(plate, top, rows),
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
        let view = if plate.face == Face::Back { self.back_view } else { self.view };
        let band = plate.scene.plate(plate.layer, &view.band(top, rows));
        let blank = || vec![255; self.width as usize * rows];
        band.map_or_else(blank, |b| b.pixels().to_vec())
    }

    /// Puts into every plate what the scene leaves to be done of its reading: tones that are one table, and dots
    /// where the form has them.
    fn read(&mut self, printing: &Printing) {
        let readers: Vec<Reader> = self
            .all
            .iter()
            .map(|plate| {
                let Some(layer) = printing.sheet.layers.get(plate.layer) else { return Reader::Gray };
                let form = self.form.of_whole(layer);
                let screen = match form {
                    PlateForm::Dots => layer.screened_by().screen(self.dpi, plate.layer),
                    PlateForm::Prepared | PlateForm::AsDrawn => Screen::None,
                };
                let in_plate = match form {
                    PlateForm::Prepared | PlateForm::Dots => layer.reading,
                    // The scene has the layer as it is drawn.
                    PlateForm::AsDrawn => {
                        Reading { black: PlateForm::drawn_black(&layer.reading), ..Reading::default() }
                    }
                };
                let table = if layer.has_regions() && form != PlateForm::AsDrawn {
                    None
                } else {
                    in_plate.gray_table()
                };
                let table = table.filter(|_| !in_plate.keeps_gray()).map(Box::new);
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

/// The form in which one layer of a sheet is written.
fn written(printing: &Printing, form: PlateForm, layer: usize) -> PlateForm {
    printing.sheet.layers.get(layer).map_or(form, |l| form.of_whole(l))
}

/// The back as it goes through the press.
fn back_view(printing: &Printing, dpi: Dpi) -> View {
    let view = View::sheet(printing.sheet.size(), dpi);
    let press_from_back = printing.sheet.turning.press_from_back(printing.sheet.size());
    let back_from_press = press_from_back.inverse().unwrap_or(Affine::IDENTITY);
    View { face_from_view: back_from_press * view.face_from_view, ..view }
}

impl Plate {
    /// The name of its file: `1-front-pool-green-blue.png`, of a booklet `sheet2-front-1-pool-green-blue.png`.
    pub fn file_name(&self, format: PlateFormat) -> String {
        format!("{}.{}", stem(self.sheet, self.face, self.order, &self.ink), format.ending())
    }
}

/// The name of a plate's file without its ending; sheets are counted from 0 here and from 1 there.
pub(crate) fn stem((sheet, sheets): (usize, usize), face: Face, order: usize, ink: &str) -> String {
    let (side, ink) = (face.name().to_lowercase(), slug(ink));
    match sheets {
        0 | 1 => format!("{order}-{side}-{ink}"),
        _ => format!("{}-{side}-{order}-{ink}", sheet_name((sheet, sheets))),
    }
}

/// `sheet2`, or `sheet02` where there are ten and more, so that names sort.
pub(crate) fn sheet_name((sheet, sheets): (usize, usize)) -> String {
    let digits = sheets.to_string().len();
    format!("sheet{:0digits$}", sheet + 1)
}
