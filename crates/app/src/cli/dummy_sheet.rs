//! `slipsheet dummy-sheet`: page numbers, folds and steps at true size, to be folded by hand, as a PDF.

use std::path::PathBuf;

use clap::Args;
use slipsheet_files::dummy_sheet::{self, DummySheetOptions};
use slipsheet_files::store;

use super::values::ends_in;
use super::{Ending, Output};

/// Make a dummy to fold: page numbers, folds, slits and scores at true size
///
/// Print it at 100 %, both faces where there are two. Blades cut and staplers pierce: keep your fingers clear, and
/// follow the machine's manual.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet dummy-sheet walk.slipsheet -o dummy.pdf")]
pub(super) struct DummySheetArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// PDF file to write; one of that name is replaced
    #[arg(short, long, value_name = "PDF")]
    output: PathBuf,
    /// In pale blue, to draw over
    #[arg(long)]
    faint: bool,
}

pub(super) fn run(args: &DummySheetArgs, _output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let project = store::load(&args.project)?;
    store::refuse_to_replace(&args.output, Some(&args.project), &project)?;
    ends_in(&args.output, "a dummy to fold", "PDF")?;
    dummy_sheet::write(&project.main_printing(), DummySheetOptions { faint: args.faint }, &args.output)?;
    Ok(Ending::Fine)
}
