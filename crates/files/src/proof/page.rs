//! The proof as a page: the print at true size, below it what it is, its inks, a swatch of every combination of
//! inks that occurs, and how much slip it takes before it shows.

use std::path::Path;

use slipsheet_booking::schedule::{is_printed, plate_order};
use slipsheet_core::overprint::Overprint;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

use super::primaries::{Occurring, primaries};
use super::{ProofError, refuse_too_large};
use crate::atomic;
use crate::lettering::Style;
use crate::scan::Progress;
use crate::ticket::TicketNotes;
use crate::typeset::{DARK, Document, RULE, SOFT};
use crate::words;

const MARGIN: f64 = 12.0;
const GAP: f64 = 6.0;
const COLUMN: f64 = 44.0;
const ROW: f64 = 11.5;
/// Height of a line of notes in mm.
const LINE: f64 = 3.6;
const TITLE: Style = Style::semi_bold(14.0, DARK);
const HEAD: Style = Style::semi_bold(8.0, DARK);
const NAME: Style = Style::semi_bold(7.5, DARK);
const NOTE: Style = Style::regular(7.0, SOFT);

#[derive(Debug, Clone, PartialEq)]
pub struct ProofPageOptions {
    /// Resolution of the print on it.
    pub dpi: Dpi,
    /// What the registration study has found.
    pub notes: TicketNotes,
}

impl Default for ProofPageOptions {
    fn default() -> Self {
        Self { dpi: Dpi::nearest(200.0), notes: TicketNotes::default() }
    }
}

/// Writes a page for each face that is printed, every layer where it is meant to lie.
pub fn write_page(
    printing: &Printing,
    images: &Images,
    options: &ProofPageOptions,
    path: &Path,
    progress: &Progress,
) -> Result<(), ProofError> {
    let bytes = page(printing, images, options, progress)?;
    Ok(atomic::write_bytes(path, &bytes)?)
}

/// The proof page in memory.
pub fn page(
    printing: &Printing,
    images: &Images,
    options: &ProofPageOptions,
    progress: &Progress,
) -> Result<Vec<u8>, ProofError> {
    let sheet = printing.sheet.size();
    refuse_too_large(sheet, options.dpi)?;
    let ones: Vec<_> = (0..printing.sheet.printed_sheets()).map(|s| printing.number(s)).collect();
    let mut sides: Vec<(usize, &Printing, Face, Scene)> = Vec::new();
    for (on, one) in ones.iter().enumerate() {
        let one = one.as_ref();
        let printed = |face: &Face| one.sheet.on(*face).any(|(_, l)| is_printed(printing, l));
        // A job without a printed side has its bare front at least.
        let bare = |face: &Face| ones.len() == 1 && *face == Face::Front;
        for face in [Face::Front, Face::Back].into_iter().filter(|f| printed(f) || bare(f)) {
            let scene = Scene::new(one, images, Show::meant(face))?;
            sides.push((on, one, face, scene));
        }
    }
    let found: Vec<Vec<Occurring>> =
        sides.iter().map(|(_, one, face, scene)| primaries(one, scene, *face)).collect();
    let width = sheet.width.get().max(120.0) + 2.0 * MARGIN;
    let columns = (((width - 2.0 * MARGIN + GAP) / (COLUMN + GAP)).floor() as usize).max(1);
    // A pair with tight registration may need two lines.
    let tight = options.notes.tight.len() as f64 * 2.0 * LINE;
    let rows = |n: usize| n.div_ceil(columns) as f64 * ROW;
    let legend = sides.iter().zip(&found).map(|((_, one, face, _), f)| {
        let inks = one.sheet.on(*face).filter(|(_, l)| l.visible).count();
        27.0 + tight + rows(inks) + 7.0 + rows(f.len()) + 6.0
    });
    let height = MARGIN + sheet.height.get() + GAP + legend.fold(0.0, f64::max);
    let mut document = Document::new(Size::mm(width, height))?;
    document.at_true_size();
    for (i, ((on, one, face, scene), found)) in sides.iter().zip(&found).enumerate() {
        if progress.is_cancelled() {
            return Err(ProofError::Cancelled);
        }
        progress.set_fraction(i as f32 / sides.len() as f32);
        document.add_page();
        let print = [(width - sheet.width.get()) / 2.0, MARGIN, sheet.width.get(), sheet.height.get()];
        document.picture(print, &scene.render(&View::sheet(sheet, options.dpi)));
        document.frame(print, 0.1, RULE);
        let [_, y, _, h] = print;
        let order = plate_order(printing, *on);
        let legend = Legend { printing: one, face: *face, scene, columns, order, notes: &options.notes };
        legend.draw(&mut document, (MARGIN, y + h + GAP + 5.0), width - 2.0 * MARGIN, found)?;
    }
    Ok(document.finish(&format!("{}: proof", printing.title))?)
}

struct Legend<'a> {
    printing: &'a Printing,
    face: Face,
    scene: &'a Scene,
    columns: usize,
    /// Layers in the order in which plates are counted.
    order: Vec<usize>,
    notes: &'a TicketNotes,
}

impl Legend<'_> {
    fn draw(
        &self,
        document: &mut Document,
        (x, y): (f64, f64),
        room: f64,
        found: &[Occurring],
    ) -> Result<(), ProofError> {
        let printing = self.printing;
        let shown: Vec<(usize, &Layer)> = printing.sheet.on(self.face).filter(|(_, l)| l.visible).collect();
        let inks: Vec<_> = shown.iter().map(|(_, l)| &l.ink).collect();
        let model = Overprint::of(&printing.sheet.stock, &inks, &printing.overprints)?;
        document.line((x, y), room, &printing.title, TITLE);
        let facts = format!(
            "{}, {}.  {}.  {}",
            words::sheet(printing),
            self.face.name().to_lowercase(),
            words::fold(printing),
            words::stock(printing)
        );
        document.line((x, y + 5.0), room, &facts, NOTE);
        document.line((x, y + 8.8), room, &self.notes.slip(), NOTE);
        let mut at = y + 8.8 + LINE;
        for pair in &self.notes.tight {
            at = document.block((x, at), room, pair, NOTE);
        }
        at += 7.2 - LINE;
        document.line((x, at), room, "Inks in printing order", HEAD);
        at += 2.5;
        for (k, (index, layer)) in shown.iter().enumerate() {
            let share = words::number(self.scene.coverage(*index) * 100.0, 1);
            let note = format!("{share} % of the sheet, {}", layer.ink.standing_on(&printing.sheet.stock));
            let name = format!("{}  {}", words::plate_number(&self.order, *index), layer.ink.name);
            self.swatch(document, (x, at), k, model.primary(1 << k).shown().rgb, (&name, &note));
        }
        at += shown.len().div_ceil(self.columns) as f64 * ROW + 6.0;
        document.line((x, at), room, "Ink over ink, as it occurs", HEAD);
        at += 2.5;
        for (i, o) in found.iter().enumerate() {
            let members = (0..shown.len())
                .filter(|k| o.mask >> k & 1 == 1)
                .filter_map(|k| shown.get(k))
                .map(|(index, _)| words::plate_number(&self.order, *index));
            let name = members.collect::<Vec<_>>().join(" + ");
            let note = format!("{} % of the sheet", words::number(o.share * 100.0, 1));
            self.swatch(document, (x, at), i, model.primary(o.mask).shown().rgb, (&name, &note));
        }
        Ok(())
    }

    fn swatch(
        &self,
        document: &mut Document,
        (x, y): (f64, f64),
        i: usize,
        colour: [u8; 3],
        (name, note): (&str, &str),
    ) {
        let x = x + (i % self.columns) as f64 * (COLUMN + GAP);
        let y = y + (i / self.columns) as f64 * ROW;
        document.patch([x, y, 9.0, 9.0], colour);
        document.frame([x, y, 9.0, 9.0], 0.1, RULE);
        document.line((x + 11.0, y + 3.7), COLUMN - 11.0, name, NAME);
        document.line((x + 11.0, y + 7.4), COLUMN - 11.0, note, NOTE);
    }
}
