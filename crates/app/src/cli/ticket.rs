//! `slipsheet ticket`: the job ticket, as a PDF, as text or as JSON.

use std::path::PathBuf;

use clap::Args;
use slipsheet_document::printing::Printing;
use slipsheet_files::ticket::TicketNotes;
use slipsheet_files::{store, ticket};
use slipsheet_registration::slip::SlipError;
use slipsheet_render::images::Images;

use super::accept::AcceptanceArgs;
use super::open::{images, open};
use super::plates::Form;
use super::proof::with_edition;
use super::values::tolerance;
use super::{Ending, Output};

/// Make the job ticket: everything that the shop needs to run the job, with fields to fill in
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet ticket walk.slipsheet -o ticket.pdf")]
pub(super) struct TicketArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// PDF, text or JSON file to write, by its ending; one of that name is replaced
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// An edition of the project, by its name: its copies, overs, stock and inks
    #[arg(long, value_name = "NAME")]
    edition: Option<String>,
    /// The form of the plates that it goes with
    #[arg(long, value_enum, default_value = "prepared")]
    form: Form,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// Slip in mm that the design takes before it shows, in place of what the study finds, 0 to 100
    #[arg(long, value_name = "MM", value_parser = tolerance)]
    tolerance: Option<f64>,
}

pub(super) fn run(args: &TicketArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut opened = open(&args.project)?;
    opened.accept(args.acceptance.over(opened.project.acceptance));
    store::refuse_to_replace(&args.output, Some(&args.project), &opened.project)?;
    let ending = opened.scans_fit(output)?;
    let loaded = images(&opened.scans);
    let printing = with_edition(&opened.printing, args.edition.as_deref())?;
    let notes = notes(&printing, &loaded, args.tolerance)?;
    ticket::write(&printing, &loaded, &notes, args.form.into(), &args.output)?;
    Ok(ending)
}

/// What the study of the register finds, with the tolerance that the person gives in its place.
pub(super) fn notes(
    printing: &Printing,
    images: &Images,
    tolerance: Option<f64>,
) -> Result<TicketNotes, SlipError> {
    let found = TicketNotes::of(printing, images)?;
    Ok(TicketNotes { tolerance_mm: tolerance.or(found.tolerance_mm), ..found })
}
