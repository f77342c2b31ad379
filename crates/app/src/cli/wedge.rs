//! `slipsheet wedge`: a calibration sheet to print, and what its scan says about the press.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::{Args, Subcommand};
use slipsheet_core::calibrate::{self, CalibrationResult, Encoding, KnownPatches, ScanPixels, WedgeSheet};
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_core::words::count;
use slipsheet_files::file_set::FileSet;
use slipsheet_files::wedge;

use super::calibration::{Shelves, as_json, read_table, show};
use super::shelf::ShelfArgs;
use super::values::{Gray, dpi, ends_in, gray, sheet, whole};
use super::{Ending, Output};

/// Make a calibration sheet, or read the scan of a printed one
///
/// Print the plates with the inks named, in that order, let the sheet dry, scan it in colour without any
/// correction, and give the scan to wedge read.
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "\
Example: slipsheet wedge --ink \"Hip-berry red\" --ink \"Ink-bottle blue\" -o wedge-plates
Example: slipsheet wedge --ink \"Hip-berry red\" --pdf -o wedge.pdf
Example: slipsheet wedge read scan.png --ink \"Hip-berry red\" --stock \"Cream uncoated\" --save measured.ron"
)]
pub(super) struct WedgeArgs {
    #[command(subcommand)]
    read: Option<WedgeJob>,
    #[command(flatten)]
    make: MakeArgs,
}

#[derive(Debug, Subcommand)]
enum WedgeJob {
    Read(Box<ReadArgs>),
}

#[derive(Debug, Args)]
struct MakeArgs {
    #[command(flatten)]
    plan: PlanArgs,
    #[command(flatten)]
    shelf: ShelfArgs,
    /// Folder for the plates and the preview, or the PDF file with --pdf
    #[arg(short, long, value_name = "DIR_OR_FILE")]
    output: Option<PathBuf>,
    /// One PDF of vector shapes, a page a plate
    #[arg(long)]
    pdf: bool,
    /// Resolution of the plates
    #[arg(long, value_name = "N", value_parser = dpi, default_value = "300")]
    dpi: Dpi,
}

#[derive(Debug, Args)]
struct PlanArgs {
    /// Ink by its name; repeat in printing order
    #[arg(long = "ink", id = "inks", value_name = "NAME")]
    inks: Vec<String>,
    /// Format of the sheet by name, or width x height in mm
    #[arg(long, value_parser = sheet, default_value = "letter")]
    sheet: SheetFormat,
    /// Code for the reading that the masters are made with, 0 to 7, kept on the sheet
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = whole::<u8>(0..=7))]
    reading: u8,
}

/// Read the scan of a printed calibration sheet, or an instrument's table
///
/// A text file (CGATS.17 or ISO 28178) is read as measured data. Colours from a scan are estimates.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: slipsheet wedge read scan.png --ink \"Hip-berry red\" --stock \"Cream uncoated\" --save measured.ron"
)]
struct ReadArgs {
    /// Scan, or a table ending in .txt or .cgats
    #[arg(value_name = "SCAN")]
    scan: PathBuf,
    #[command(flatten)]
    plan: PlanArgs,
    /// Stock by its name, whose colour is the paper's
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
    /// Gray patch of known colour on the sheet, in mm from its upper left corner; repeat for more
    #[arg(long = "gray", value_name = "X,Y,SIDE=L,a,b", value_parser = gray)]
    grays: Vec<Gray>,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
    /// Put measured inks and overprints into this shelf file; one that is there is kept and added to
    #[arg(long, value_name = "SHELF.ron")]
    save: Option<PathBuf>,
}

pub(super) fn run(args: &WedgeArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    match (&args.read, &args.make.output) {
        (Some(WedgeJob::Read(read)), _) => read_scan(read, output),
        (None, Some(to)) => make_sheet(&args.make, to, output),
        (None, None) => {
            bail!("name the inks with --ink and where to write with -o; see slipsheet wedge --help")
        }
    }
}

fn plan(args: &PlanArgs) -> anyhow::Result<WedgeSheet> {
    if args.inks.is_empty() {
        bail!("name the inks with --ink, in printing order; see slipsheet wedge --help");
    }
    Ok(WedgeSheet::new(args.sheet.size(), &args.inks, args.reading)?)
}

fn make_sheet(args: &MakeArgs, to: &Path, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let sheet = plan(&args.plan)?;
    let shelf = args.shelf.known()?;
    let unknown: Vec<&str> =
        sheet.inks.iter().filter(|n| shelf.ink(n).is_none()).map(String::as_str).collect();
    if args.pdf {
        ends_in(to, "a sheet with --pdf", "PDF")?;
    }
    let ending = if unknown.is_empty() { Ending::Fine } else { Ending::Warnings };
    for name in &unknown {
        output.problem(format_args!(
            "no ink has the name “{name}”; check its spelling, or name your shelf file with --shelf"
        ));
    }
    if args.pdf {
        wedge::write_pdf(&sheet, to)?;
        output.line(to.display())?;
        return Ok(ending);
    }
    let set = FileSet::for_folder(to)?;
    for ink in 0..sheet.inks.len() {
        wedge::write_plate(&sheet, ink, args.dpi, &set.place(&format!("wedge-plate-{}.png", ink + 1)))?;
    }
    let gray = |name: &String| Ink::estimated(name, slipsheet_core::colour::Lab::WHITE);
    let inks: Vec<Ink> =
        sheet.inks.iter().map(|n| shelf.ink(n).cloned().unwrap_or_else(|| gray(n))).collect();
    if let (Some(stock), true) = (shelf.stocks.first(), unknown.is_empty()) {
        let films: Vec<Film> = inks.iter().map(Film::of).collect();
        let model = Overprint::new(&Ground::of(stock), &films)?;
        let curves: Vec<_> = inks.iter().map(|i| i.curve.clone()).collect();
        let small = Dpi::new(args.dpi.get().min(150.0))?;
        wedge::write_preview(&sheet, &model, &curves, (small, &set.place("wedge-preview.png")))?;
    }
    let written = set.put()?;
    // Plates first, as they are printed.
    let (previews, plates): (Vec<_>, Vec<_>) = written.iter().partition(|p| p.ends_with("wedge-preview.png"));
    for path in plates.iter().chain(&previews) {
        output.line(path.display())?;
    }
    if previews.is_empty() {
        output.line("no preview: an ink's colour is not known")?;
    }
    Ok(ending)
}

fn read_scan(args: &ReadArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let shelves = Shelves::with(args.save.as_deref())?;
    let stock = shelves.stock(args.stock.as_deref())?;
    let stock = stock.as_ref();
    if args.save.is_some() && args.plan.inks.len() > 1 && stock.is_none() {
        bail!("overprints belong to a stock; name it with --stock to save them");
    }
    let result = result(args, stock)?;
    if args.json {
        output.json(&as_json(&result))?;
    } else {
        show(&result, output)?;
    }
    if let Some(path) = &args.save {
        shelves.save(&result, stock, path)?;
    }
    Ok(Ending::Fine)
}

fn result(args: &ReadArgs, stock: Option<&Stock>) -> anyhow::Result<CalibrationResult> {
    let finish = stock.map(|s| s.finish).unwrap_or_default();
    let ending = args.scan.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    if matches!(ending.as_str(), "txt" | "cgats") {
        let measured = read_table(&args.scan)?;
        let (wanted, got) = (measured.channels.len(), args.plan.inks.len());
        if wanted != got {
            bail!(
                "the table has {wanted} channels ({}); name as many inks with --ink, not {got}",
                measured.channels.join(", ")
            );
        }
        return Ok(calibrate::fit_measured(&measured.patches, &args.plan.inks, finish)?);
    }
    let scan = wedge::read_colour(&args.scan)?;
    let pixels =
        ScanPixels { width: scan.width, height: scan.height, rgb: &scan.rgb, encoding: Encoding::Srgb };
    let known = KnownPatches {
        paper: stock.map(|s| s.colour.lab()),
        finish,
        grays: args.grays.iter().map(|g| (g.area, g.lab)).collect(),
    };
    let plan = plan(&args.plan)?;
    let (printed, named) = (wedge::inks_of(&scan, args.plan.sheet), plan.inks.len());
    let reading = calibrate::read_sheet(&pixels, &plan, &known);
    match printed {
        // A quick look in gray may miss a pale ink, so fewer are believed only where the reading failed too.
        Some(printed) if printed > named || (printed < named && reading.is_err()) => bail!(
            "the sheet was printed with {}, not {named}; name each with --ink, in printing order",
            count(printed, "ink")
        ),
        _ => Ok(calibrate::fit(&reading?)?),
    }
}
