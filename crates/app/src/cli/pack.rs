//! `slipsheet pack`: the folder that a print shop runs the job from.

use std::path::PathBuf;

use anyhow::bail;
use clap::{Args, ValueEnum};
use slipsheet_document::mark_room;
use slipsheet_files::pack::{self, PackOptions};
use slipsheet_files::plates::{PlateFormat, with_crisp_vectors};
use slipsheet_files::scan::Progress;

use super::accept::AcceptanceArgs;
use super::open::{images, open};
use super::plates::Form;
use super::ticket::notes;
use super::values::tolerance;
use super::{Ending, Output};

/// Make the booking pack: proof, plates, separations, ticket, dummy, guide and a list of them, in one folder
///
/// The folder appears whole or not at all. An earlier pack is replaced; a folder that holds anything else is refused.
/// An unchanged project gives the same bytes.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet pack walk.slipsheet -o walk-pack --zip")]
pub(super) struct PackArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Folder to make
    #[arg(short, long, value_name = "FOLDER")]
    output: PathBuf,
    /// Also write the folder as a ZIP file beside it
    #[arg(long)]
    zip: bool,
    /// Also plates, separations, proof and ticket of every edition, each in a folder of its own
    #[arg(long)]
    all_editions: bool,
    /// Kind of plates
    #[arg(long, value_enum, default_value = "png")]
    format: Format,
    /// How much of the reading is in the plates
    #[arg(long, value_enum, default_value = "prepared")]
    form: Form,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// Slip in mm that the design takes before it shows, in place of what the study finds, 0 to 100
    #[arg(long, value_name = "MM", value_parser = tolerance)]
    tolerance: Option<f64>,
}

/// Kinds of plates in a pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// One PNG an ink
    Png,
    /// One TIFF an ink
    Tiff,
    /// One PDF an ink
    Pdf,
}

pub(super) fn run(args: &PackArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut opened = open(&args.project)?;
    opened.accept(args.acceptance.over(opened.project.acceptance));
    let ending = opened.scans_fit(output)?;
    let progress = Progress::new();
    let (loaded, dpi) = (images(&opened.scans), opened.printing.press_dpi);
    let (crisp, images) = with_crisp_vectors(&opened.project, &loaded, Some(&args.project), dpi, &progress)?;
    let options = PackOptions {
        format: match args.format {
            Format::Png => PlateFormat::Png,
            Format::Tiff => PlateFormat::Tiff,
            Format::Pdf => PlateFormat::Pdf,
        },
        form: args.form.into(),
        editions: args.all_editions,
        zip: args.zip,
        notes: notes(&opened.printing, &loaded, args.tolerance)?,
    };
    if args.all_editions && opened.printing.sheet.editions.is_empty() {
        bail!("the project has no editions; add them under Editions in the window first");
    }
    let into = (args.output.as_path(), Some(args.project.as_path()));
    let made = pack::write(&crisp, &images, &options, into, &progress)?;
    for file in &made.manifest.files {
        output.line(format_args!("{:>10}  {}  {}", file.bytes, file.name, file.what))?;
    }
    if let Some(zip) = &made.zip {
        output.line(zip.display())?;
    }
    for note in &made.notes {
        output.problem(note);
    }
    if let Some(trouble) = mark_room::trouble(&opened.printing) {
        output.line(format_args!("note: {trouble}"))?;
    }
    Ok(if made.notes.is_empty() { ending } else { Ending::Warnings })
}
