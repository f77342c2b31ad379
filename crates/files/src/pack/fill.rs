//! What is in a pack: each file is written and named here.

use std::path::Path;

use slipsheet_booking::schedule::printed_sides;
use slipsheet_core::units::Dpi;
use slipsheet_document::edition::Edition;
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

use super::{PackError, PackOptions, dummy_print, folder};
use crate::atomic::{self, WriteError};
use crate::dummy_sheet::{self, DummySheetOptions};
use crate::file_name;
use crate::guide::{GuideOptions, guide_pdf};
use crate::log_file::logged;
use crate::plates::{self, PlateOptions, sheet_name};
use crate::proof::{self, ProofOptions, ProofPageOptions};
use crate::proof_series::file_names;
use crate::scan::Progress;
use crate::spot_pdf;
use crate::ticket::{self, Ticket, TicketNotes};
use crate::wrap_sheet::wrap_pdf;

/// Folder of a wrap's files.
pub(super) const WRAP: &str = "wrap/";

/// Writes every file of the pack; gives the name of each and what it is.
pub(super) fn fill(
    project: &Project,
    images: &Images,
    options: &PackOptions,
    into: &Path,
    progress: &Progress,
) -> Result<Vec<(String, String)>, PackError> {
    let main = project.main_printing();
    let wrap = project.wrap_printing();
    let editions: &[Edition] = if options.editions { &main.sheet.editions } else { &[] };
    let parts = 1 + usize::from(wrap.as_ref().is_some_and(has_ink)) + editions.len();
    let mut filling = Filling { images, options, into, progress, parts, done: 0, files: Vec::new() };
    filling.sheet(&main, &options.notes, "")?;
    filling.dummies(&main)?;
    filling.ticket(&main, &options.notes, "")?;
    if let Some(wrap) = wrap {
        filling.wrap(&wrap)?;
    }
    for (edition, name) in editions.iter().zip(file_names(editions)) {
        let prefix = format!("editions/{name}/");
        filling.with_ticket(&main.in_edition(edition), &prefix)?;
    }
    Ok(filling.files)
}

/// Whether anything is printed.
pub(super) fn has_ink(printing: &Printing) -> bool {
    !printed_sides(printing).is_empty()
}

struct Filling<'a> {
    images: &'a Images,
    options: &'a PackOptions,
    into: &'a Path,
    progress: &'a Progress,
    /// Sheets that are written one after another, and how many are.
    parts: usize,
    done: usize,
    files: Vec<(String, String)>,
}

impl Filling<'_> {
    fn list(&mut self, name: String, what: &str) {
        self.files.push((name, what.to_owned()));
    }

    /// Plates, separations, proofs and guides of what is printed on one kind of sheet, in a folder whose name ends
    /// the path or is empty.
    fn sheet(&mut self, printing: &Printing, notes: &TicketNotes, prefix: &str) -> Result<(), PackError> {
        let (images, into, progress) = (self.images, self.into, self.progress);
        let at = |name: &str| into.join(format!("{prefix}{name}"));
        let (done, parts) = (self.done as f32, self.parts as f32);
        let span = |from: f32, to: f32| progress.set_span((done + from) / parts, (done + to) / parts);

        span(0.0, 0.35);
        folder::make(&at("plates"))?;
        let plate = PlateOptions { format: self.options.format, form: self.options.form, dpi: None };
        for written in plates::write(printing, images, &plate, &at("plates"), progress)? {
            let name = file_name::last(&written.path);
            let one = printing.number(written.sheet);
            let reading = one.sheet.layers.get(written.layer).map(|l| l.reading).unwrap_or_default();
            let what = plate.form.what(&reading);
            self.list(format!("{prefix}plates/{name}"), &format!("plate, {what}, 0 is full ink"));
        }
        span(0.35, 0.65);
        spot_pdf::write(printing, images, &plate, &at("separations.pdf"), progress)?;
        let separations = format!("all plates as spot separations in one PDF, {}", plate.form.id());
        self.list(format!("{prefix}separations.pdf"), &separations);

        span(0.65, 0.85);
        for (sheet, face) in printed_sides(printing) {
            let name = proof_name(printing, sheet, face);
            let dpi = Dpi::nearest(300.0);
            let shown = ProofOptions { dpi, face, sheet, perfect: true, ..ProofOptions::default() };
            proof::write(printing, images, &shown, &at(&name), progress)?;
            self.list(format!("{prefix}{name}"), "what should come off the press, at true size");
        }
        span(0.85, 1.0);
        let page = ProofPageOptions { notes: notes.clone(), ..ProofPageOptions::default() };
        proof::write_page(printing, images, &page, &at("proof.pdf"), progress)?;
        self.list(format!("{prefix}proof.pdf"), "the proof with every ink over ink that occurs");
        for (sheet, face) in guides(printing) {
            let name = guide_name(printing, sheet, face);
            let options = GuideOptions { face, sheet: Some(sheet), ..GuideOptions::default() };
            guide_pdf(printing, &options, &at(&name))?;
            self.list(format!("{prefix}{name}"), "marks, folds and page numbers at true size");
        }
        self.done += 1;
        Ok(())
    }

    /// The thing to make by hand, printed and bare.
    fn dummies(&mut self, printing: &Printing) -> Result<(), PackError> {
        let print = dummy_print::document(printing, self.images)?;
        atomic::write_bytes(&self.into.join("dummy-print.pdf"), &print)?;
        let what = "the print with its folds, and the folded thing as it comes out";
        self.list("dummy-print.pdf".to_owned(), what);
        if folds(printing) {
            dummy_sheet::write(printing, DummySheetOptions::default(), &self.into.join("dummy.pdf"))?;
            let what = "page numbers, folds and steps at true size, to print and fold by hand";
            self.list("dummy.pdf".to_owned(), what);
        }
        Ok(())
    }

    fn ticket(&mut self, printing: &Printing, notes: &TicketNotes, prefix: &str) -> Result<(), PackError> {
        let ticket = Ticket::new(printing, self.images, notes, self.options.form);
        let unwritten = |e| WriteError::from_io(&self.into.join("ticket.json"), e);
        let kinds = [
            (
                "pdf",
                "the job ticket, with fields to fill in",
                ticket::document(&ticket, printing, self.images)?,
            ),
            ("txt", "the job ticket as plain text", ticket.text().into_bytes()),
            ("json", "the job ticket for programs", ticket.json().map_err(unwritten)?.into_bytes()),
        ];
        for (ending, what, bytes) in kinds {
            let name = format!("{prefix}ticket.{ending}");
            atomic::write_bytes(&self.into.join(&name), &bytes)?;
            self.list(name, what);
        }
        Ok(())
    }

    /// The wrap: its net to cut and score, and where it has inks of its own all that a sheet has.
    fn wrap(&mut self, wrap: &Printing) -> Result<(), PackError> {
        folder::make(&self.into.join(WRAP))?;
        if let Some(plan) = wrap.own_wrap() {
            let name = format!("{WRAP}net.pdf");
            wrap_pdf(&plan, &wrap.title, &self.into.join(&name))?;
            self.list(name, "the wrap's net at true size, to cut, score and glue");
        }
        if has_ink(wrap) { self.with_ticket(wrap, WRAP) } else { Ok(()) }
    }

    /// All that a sheet has and its ticket, with a study of its own.
    fn with_ticket(&mut self, printing: &Printing, prefix: &str) -> Result<(), PackError> {
        folder::make(&self.into.join(prefix))?;
        let notes = TicketNotes::of(printing, self.images);
        let notes = logged("the notes of a ticket", notes).unwrap_or_default();
        self.sheet(printing, &notes, prefix)?;
        self.ticket(printing, &notes, prefix)
    }
}

pub(super) fn proof_name(printing: &Printing, sheet: usize, face: Face) -> String {
    let side = face.name().to_lowercase();
    match printing.sheet.printed_sheets() {
        1 => format!("proof-{side}.png"),
        sheets => format!("proof-{}-{side}.png", sheet_name((sheet, sheets))),
    }
}

/// The sides that have a page guide.
pub(super) fn guides(printing: &Printing) -> impl Iterator<Item = (usize, Face)> {
    let faces = if printing.sheet.printed_sheets() > 1 || printing.sheet.two_sided() { 2 } else { 1 };
    (0..printing.sheet.printed_sheets())
        .flat_map(move |sheet| [Face::Front, Face::Back].into_iter().take(faces).map(move |f| (sheet, f)))
}

pub(super) fn guide_name(printing: &Printing, sheet: usize, face: Face) -> String {
    match printing.sheet.printed_sheets() {
        1 if !printing.sheet.two_sided() => "guide.pdf".to_owned(),
        1 => format!("guide-{}.pdf", face.name().to_lowercase()),
        sheets => format!("guide-{}-{}.pdf", sheet_name((sheet, sheets)), face.name().to_lowercase()),
    }
}

/// Whether there is something to fold by hand.
pub(super) fn folds(printing: &Printing) -> bool {
    printing.sheet.fold.is_some() || printing.sheet.booklet.is_some()
}
