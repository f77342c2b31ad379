//! The job ticket: everything that a stranger at the shop needs to run the job, as a PDF, mostly of two pages, as
//! plain text and as JSON. All three say the same, from one [`Ticket`].

mod booklet;
mod drawing;
mod finishing;
mod pdf;
mod series;
mod text;
mod wrap;

#[cfg(test)]
mod tests;

use std::io;
use std::path::Path;

use serde::Serialize;
use slipsheet_booking::ink_use::{InkUse, ink_use};
use slipsheet_booking::schedule::{Schedule, Step, StepKind, press_passes};
use slipsheet_core::words::sentence;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::mark_room;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_paper::steps::FoldStep;
use slipsheet_registration::slip::{JobRegister, JobSold, SlipError};
use slipsheet_render::images::Images;

use crate::atomic::{self, WriteError};
use crate::lettering::FontError;
use crate::plates::{PlateForm, stem};
use crate::words;
pub(crate) use drawing::from_above;
use finishing::{finishing, fold_lines};
pub use pdf::document;
pub use wrap::TicketWrap;

/// What the registration study has found, where one was made.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TicketNotes {
    /// Whether the design was studied.
    pub studied: bool,
    /// Slip in mm that the design takes before it shows.
    pub tolerance_mm: Option<f64>,
    /// Pairs of inks whose register is tight, as sentences.
    pub tight: Vec<String>,
    /// How many copies would sell, in a sentence.
    pub sold: Option<String>,
}

impl TicketNotes {
    /// Studies a project, which takes a moment.
    pub fn of(printing: &Printing, images: &Images) -> Result<Self, SlipError> {
        Ok(Self::from_register(printing, &JobRegister::of(printing, images)?))
    }

    /// What a known registration study says.
    pub fn from_register(printing: &Printing, register: &JobRegister) -> Self {
        let tight = register.pairs.iter().map(|p| format!("{}.", p.sentence(printing))).collect();
        let sold = register.sold.map(|job| sold(&printing.acceptance, &job));
        Self { studied: true, tolerance_mm: register.tolerance, tight, sold }
    }

    /// How much slip the design takes, in a sentence.
    pub fn slip(&self) -> String {
        slip(self.studied, self.tolerance_mm)
    }
}

/// How many copies would sell, and by what.
fn sold(acceptance: &Acceptance, job: &JobSold) -> String {
    let wider = acceptance.share.get() * 100.0;
    let colour = acceptance.colour.map_or(String::new(), |limit| {
        format!(", and colours within {} CIEDE2000 on 95 % of the sheet", words::number(limit.get(), 1))
    });
    format!(
        "About {} of 100 copies would sell: gaps to {} mm, {} % of an edge wider{colour}.",
        job.sold.of_hundred(),
        words::number(acceptance.gap.get(), 2),
        words::number(wider, 0)
    )
}

fn slip(studied: bool, tolerance_mm: Option<f64>) -> String {
    match tolerance_mm {
        Some(mm) => format!("The design takes a slip of {} mm before it shows.", words::number(mm, 2)),
        None if studied => "No slip that the study looked for opens a gap that shows.".to_owned(),
        None => "The slip that the design takes has not been studied.".to_owned(),
    }
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TicketInk {
    /// Place in the printing order of the job, from 1.
    pub order: usize,
    /// Drum, from 1.
    pub drum: usize,
    pub ink: String,
    pub layer: String,
    /// What the machine is set to for its plate.
    pub setting: String,
    /// Mean coverage of the sheet in percent.
    pub coverage_percent: f64,
    /// The plate's file, without its ending.
    pub plate: String,
    /// The solid on this stock, sRGB.
    #[serde(skip)]
    pub swatch: [u8; 3],
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TicketPass {
    /// From 1.
    pub pass: usize,
    /// Sheet of a booklet, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<usize>,
    /// “front” or “back”.
    pub face: String,
    /// Minutes for the ink of the pass before to dry.
    pub wait_before_minutes: f64,
    pub inks: Vec<TicketInk>,
}

impl TicketPass {
    /// “front”, or “front of sheet 2”.
    pub fn side(&self) -> String {
        match self.sheet {
            Some(sheet) => format!("{} of sheet {sheet}", self.face),
            None => self.face.clone(),
        }
    }
}

/// A job in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ticket {
    pub title: String,
    /// The edition that is printed, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edition: Option<String>,
    /// Where the job has several editions, a line for each of them and one for all.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub series: Vec<String>,
    pub sheet: String,
    pub stock: String,
    /// Grain wanted on the sheet.
    pub grain: String,
    /// How the stack is turned between the faces; empty where one face alone is printed.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub turning: String,
    pub press: String,
    pub fold: String,
    /// The sheets that each copy's wrap is made from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wrap: Option<TicketWrap>,
    /// Copies ordered.
    pub copies: u32,
    /// Sheets besides.
    pub overs: u32,
    /// Sheets to be printed, of a booklet all of them.
    pub sheets: u32,
    /// Sheets of a copy.
    pub sheets_a_copy: usize,
    /// Which page of a booklet lies where, a line for each side of a sheet.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub imposition: Vec<String>,
    pub plates: PlateForm,
    /// What the operator does with plates of that form.
    pub instruction: String,
    /// Passes in order.
    pub passes: Vec<TicketPass>,
    /// Minutes at the machine with the waits between passes.
    pub slot_minutes: f64,
    /// Minutes booked; 0 where nothing is.
    pub booked_minutes: f64,
    /// Whether the slip that the design takes was studied.
    pub studied: bool,
    /// Slip in mm that the design takes.
    pub tolerance_mm: Option<f64>,
    pub register: Vec<String>,
    /// Where the creases run; empty where there are none.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub fold_lines: String,
    /// Work after printing, in order.
    pub finishing: Vec<String>,
    /// Drawings of folding steps, by their number in the list.
    #[serde(skip)]
    pub drawn: Vec<(usize, FoldStep)>,
    pub packing: String,
    pub cautions: Vec<String>,
}

/// Fields that are filled in by hand: name and label.
pub const FIELDS: [(&str, &str); 8] = [
    ("customer", "Name"),
    ("contact", "Telephone or e-mail"),
    ("shop", "Print shop"),
    ("date", "Date and time of the slot"),
    ("operator", "Who prints"),
    ("stock_from", "Stock comes from"),
    ("pick_up", "Pick up by"),
    ("agreed", "Agreed price"),
];

impl Ticket {
    pub fn new(printing: &Printing, images: &Images, notes: &TicketNotes, form: PlateForm) -> Self {
        Self::with_inks(printing, &ink_use(printing, images), notes, form)
    }

    /// The same where the coverage of its inks is known. What shows an edition is the ticket of that edition.
    pub fn with_inks(printing: &Printing, inks: &[InkUse], notes: &TicketNotes, form: PlateForm) -> Self {
        let series = series::lines(printing);
        let printing = &*printing.as_shown();
        let job = &printing.job;
        let passes = press_passes(printing);
        let schedule = Schedule::new(printing);
        let waits = |pass: usize| {
            let dries = |s: &&Step| s.kind == StepKind::Dry && s.pass == Some(pass);
            schedule.steps.iter().find(dries).map_or(0.0, |s| (s.minutes * 10.0).round() / 10.0)
        };
        let sheets = printing.sheet.printed_sheets();
        let ones: Vec<_> = (0..sheets).map(|s| printing.number(s)).collect();
        let mut orders = vec![0; sheets];
        let passes = passes
            .iter()
            .enumerate()
            .map(|(i, pass)| TicketPass {
                pass: i + 1,
                sheet: (sheets > 1).then_some(pass.sheet + 1),
                face: pass.face.name().to_lowercase(),
                wait_before_minutes: waits(i + 1),
                inks: pass
                    .layers
                    .iter()
                    .enumerate()
                    .filter_map(|(drum, layer)| {
                        let one = ones.get(pass.sheet)?;
                        let l = one.sheet.layers.get(*layer)?;
                        let order = orders.get_mut(pass.sheet)?;
                        *order += 1;
                        let here = |u: &&InkUse| u.layer == *layer && u.sheet == pass.sheet;
                        let covered = inks.iter().find(here).map_or(0.0, |u| u.coverage);
                        Some(TicketInk {
                            order: *order,
                            drum: drum + 1,
                            ink: l.ink.name.clone(),
                            layer: l.name.clone(),
                            setting: form.layer_setting(l, &one.press.density_steps),
                            coverage_percent: (covered * 1000.0).round() / 10.0,
                            plate: stem((pass.sheet, sheets), pass.face, *order, &l.ink.name),
                            swatch: swatch(one, *layer),
                        })
                    })
                    .collect(),
            })
            .collect();
        let tenths = |v: f64| (v * 10.0).round() / 10.0;
        let dries = schedule.steps.iter().find(|s| s.kind == StepKind::Dry && s.pass.is_none());
        let plan = printing.own_wrap();
        let run = printing.run_of(plan.as_ref(), job.copies);
        let (steps, drawn) = match (&printing.sheet.booklet, &plan) {
            (Some(b), _) => (booklet::finishing(printing, b), Vec::new()),
            (None, Some(plan)) => (wrap::finishing(plan), Vec::new()),
            (None, None) => finishing(printing),
        };
        let outer = printing.outer_wrap();
        let wrapped = outer.as_ref().map(|plan| {
            format!(
                "Put each copy into its {}: see the folder “wrap”.",
                plan.order.wrap.kind.name().to_lowercase()
            )
        });
        let dries = dries.map(|s| format!("Let the ink dry for {} min.", words::number(s.minutes, 0)));
        Self {
            title: printing.title.clone(),
            edition: printing.sheet.shown_edition().map(|e| e.name.clone()),
            series,
            sheet: words::sheet(printing),
            stock: words::stock(printing),
            grain: printing.sheet.stock.grain.unwrap_or(job.grain).name().to_lowercase(),
            turning: [Face::Back, Face::Front]
                .into_iter()
                .find_map(|f| words::turning(ones.first()?, f))
                .unwrap_or_default(),
            press: printing.press.name.clone(),
            fold: match (&printing.sheet.booklet, &plan) {
                (Some(b), _) => booklet::name(b),
                (None, Some(plan)) => wrap::name(plan),
                (None, None) => words::fold(printing).to_owned(),
            },
            wrap: outer.as_ref().map(|plan| wrap::of(printing, plan)),
            copies: job.copies,
            // Of a wrap's own sheet the overs are those of its sheets, not of the copies.
            overs: run.saturating_sub(plan.as_ref().map_or(job.copies, |plan| plan.sheets(job.copies))),
            sheets: run.saturating_mul(sheets as u32),
            sheets_a_copy: sheets,
            imposition: printing.sheet.booklet.as_ref().map(booklet::imposition).unwrap_or_default(),
            plates: form,
            instruction: form.instruction().to_owned(),
            passes,
            slot_minutes: tenths(schedule.slot_minutes),
            booked_minutes: job.slot.get(),
            studied: notes.studied,
            tolerance_mm: notes.tolerance_mm,
            register: register(printing, notes),
            fold_lines: if printing.sheet.booklet.is_some() { String::new() } else { fold_lines(printing) },
            finishing: dries.iter().cloned().chain(steps).chain(wrapped).collect(),
            drawn: drawn.into_iter().map(|(n, step)| (n + dries.iter().len(), step)).collect(),
            packing: job.packing.clone(),
            cautions: cautions(printing),
        }
    }

    /// How much slip the design takes, in a sentence.
    pub fn slip(&self) -> String {
        slip(self.studied, self.tolerance_mm)
    }

    pub fn text(&self) -> String {
        text::of(self)
    }

    /// The ticket as JSON, with a line break at the end.
    ///
    /// # Errors
    /// When it cannot be written as JSON, which does not happen to plain data.
    pub fn json(&self) -> io::Result<String> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

/// Why a ticket could not be made.
#[derive(Debug, thiserror::Error)]
pub enum TicketError {
    #[error(transparent)]
    Font(#[from] FontError),
    #[error("a ticket is a PDF, text or JSON; end its name in .pdf, .txt or .json")]
    Kind,
    #[error(transparent)]
    Slip(#[from] SlipError),
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// Writes the ticket; the name's ending says which kind.
pub fn write(
    printing: &Printing,
    images: &Images,
    notes: &TicketNotes,
    form: PlateForm,
    path: &Path,
) -> Result<(), TicketError> {
    let kind = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
    let ticket = Ticket::new(printing, images, notes, form);
    let bytes = match kind.as_str() {
        "pdf" => document(&ticket, printing, images)?,
        "txt" => ticket.text().into_bytes(),
        "json" => ticket.json().map_err(|e| WriteError::from_io(path, e))?.into_bytes(),
        _ => return Err(TicketError::Kind),
    };
    Ok(atomic::write_bytes(path, &bytes)?)
}

/// The tight pairs, and whether there are marks to register by.
fn register(printing: &Printing, notes: &TicketNotes) -> Vec<String> {
    let mut all: Vec<String> = notes.sold.iter().chain(&notes.tight).cloned().collect();
    all.extend(mark_room::trouble(printing).map(|t| sentence(&t)));
    all
}

fn swatch(printing: &Printing, layer: usize) -> [u8; 3] {
    let Some(l) = printing.sheet.layers.get(layer) else { return [255; 3] };
    slipsheet_core::overprint::Overprint::of(&printing.sheet.stock, &[&l.ink], &[])
        .map_or([128; 3], |m| m.primary(1).shown().rgb)
}

fn cautions(printing: &Printing) -> Vec<String> {
    let mut all = vec![
        "Never reach into a running machine. The machine's manual, the shop's own rules and its trained staff come first.".to_owned(),
        "Ink and cleaning agents: wear gloves, air the room, read the maker's safety sheet.".to_owned(),
    ];
    if let Some(b) = &printing.sheet.booklet {
        all.push(booklet::caution(b).to_owned());
    }
    if printing.sheet.trim.get() > 0.0 || printing.sheet.fold.is_some() || printing.sheet.booklet.is_some() {
        all.push("Scalpels, guillotines and staplers cut and pierce: cut away from your fingers, on a mat, with a steel rule.".to_owned());
    }
    all
}
