//! `slipsheet guide`: marks, folds and pages at true size, to draw originals on, as a PDF or a PNG.

use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use slipsheet_core::units::{Dpi, Mm};
use slipsheet_files::guide::{GuideOptions, guide_pdf, guide_png};
use slipsheet_files::store;
use slipsheet_paper::fold::Face;

use super::values::{dpi, length};
use super::{Ending, Output};

/// Make a guide to draw originals on: registration marks, folds and page numbers at true size
///
/// Print it at 100 % on paper larger than the sheet and lay it under every original on a light table. Scans of
/// what was drawn line up by its marks. A booklet has a page for each side of each sheet.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet guide walk.slipsheet -o guide.pdf --margin 12.7")]
pub(super) struct GuideArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// PDF or PNG file to write, by its ending; one of that name is replaced
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Resolution of a PNG, 10 to 9600
    #[arg(long, value_name = "N", value_parser = dpi, default_value = "300")]
    dpi: Dpi,
    /// Paper around the sheet in mm, at least 6; without it the paper that is usual for such a sheet
    #[arg(long, value_name = "MM", value_parser = length)]
    margin: Option<Mm>,
    /// Edge that the press cannot print, in mm; 0 for no line
    #[arg(long, value_name = "MM", value_parser = length, default_value = "5")]
    unprintable: Mm,
    /// Marks and ruler alone, without folds and pages
    #[arg(long)]
    marks_only: bool,
    /// A guide for each page, with marks of its own, in place of those of the sheets: for originals drawn page by page
    #[arg(long, conflicts_with_all = ["back", "sheet"])]
    pages: bool,
    /// All but the marks in pale blue, which a scan's blue channel loses
    #[arg(long)]
    pale: bool,
    /// The back in place of the front; of a booklet with --sheet
    #[arg(long)]
    back: bool,
    /// One sheet of a booklet, from 1, in place of all
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    sheet: Option<u32>,
}

pub(super) fn run(args: &GuideArgs, _output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let ending = args.output.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
    let project = store::load(&args.project)?;
    store::refuse_to_replace(&args.output, Some(&args.project), &project)?;
    let printing = project.main_printing();
    let sheet = printing.sheet.size();
    let most = sheet.width.get().min(sheet.height.get()) / 2.0;
    if args.unprintable.get() >= most {
        bail!(
            "an edge of {} mm that cannot be printed leaves nothing of the sheet; give less than {most:.0} mm",
            args.unprintable.get()
        );
    }
    if args.back && args.sheet.is_none() && printing.sheet.booklet.is_some() {
        bail!(
            "the guide of a booklet has both sides of every sheet; for one back alone give --sheet as well"
        );
    }
    let options = GuideOptions {
        dpi: args.dpi,
        margin: args.margin,
        face: if args.back { Face::Back } else { Face::Front },
        sheet: args.sheet.map(|n| n as usize - 1),
        marks_only: args.marks_only,
        pages: args.pages,
        pale: args.pale,
        unprintable: args.unprintable,
    };
    match ending.as_str() {
        "pdf" => guide_pdf(&printing, &options, &args.output)?,
        "png" => guide_png(&printing, &options, &args.output)?,
        _ => bail!("a guide is a PDF or a PNG; end its name in .pdf or .png: {}", args.output.display()),
    }
    Ok(Ending::Fine)
}
