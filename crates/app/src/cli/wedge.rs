//! `slipsheet wedge`: a calibration sheet to print, and what its scan says about the press.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use clap::{Args, Subcommand};
use serde_json::json;
use slipsheet_core::calibrate::{self, CalibrationResult, Encoding, KnownPatches, ScanPixels, WedgeSheet};
use slipsheet_core::cgats::Table;
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::shelf::Shelf;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_files::{atomic, wedge};

use super::values::{dpi, sheet};
use super::{Ending, Output};

/// Make a calibration sheet, or read the scan of a printed one
///
/// Print the plates with the inks named, in that order, let the sheet dry, scan it in colour without any
/// correction, and give the scan to wedge read.
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "\
Example: slipsheet wedge --ink Rosehip --ink \"Bottled-ink blue\" -o wedge-plates
Example: slipsheet wedge --ink Rosehip --pdf -o wedge.pdf
Example: slipsheet wedge read scan.png --ink Rosehip --stock \"Cream uncoated\" --save measured.ron"
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
    #[arg(long, value_name = "N", default_value_t = 0)]
    reading: u8,
}

/// Read the scan of a printed calibration sheet, or an instrument's table
///
/// A text file (CGATS.17, ISO 28178 or CTI3) is read as measured data. Colours from a scan are estimates.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: slipsheet wedge read scan.png --ink Rosehip --stock \"Cream uncoated\" --save measured.ron"
)]
struct ReadArgs {
    /// Scan, or a table ending in .txt, .ti3 or .cgats
    #[arg(value_name = "SCAN")]
    scan: PathBuf,
    #[command(flatten)]
    plan: PlanArgs,
    /// Stock by its name, whose colour is the paper's
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
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
    if args.pdf {
        wedge::write_pdf(&sheet, to)?;
        output.line(to.display())?;
        return Ok(Ending::Fine);
    }
    std::fs::create_dir_all(to).with_context(|| format!("the folder cannot be made: {}", to.display()))?;
    for ink in 0..sheet.inks.len() {
        let path = to.join(format!("wedge-plate-{}.png", ink + 1));
        wedge::write_plate(&sheet, ink, args.dpi, &path)?;
        output.line(path.display())?;
    }
    let shelf = Shelf::starter()?;
    let gray = |name: &String| Ink::estimated(name, slipsheet_core::colour::Lab::WHITE);
    let inks: Vec<Ink> =
        sheet.inks.iter().map(|n| shelf.ink(n).cloned().unwrap_or_else(|| gray(n))).collect();
    if let (Some(stock), true) = (shelf.stocks.first(), sheet.inks.iter().all(|n| shelf.ink(n).is_some())) {
        let films: Vec<Film> = inks.iter().map(Film::of).collect();
        let model = Overprint::new(&Ground::of(stock), &films)?;
        let curves: Vec<_> = inks.iter().map(|i| i.curve.clone()).collect();
        let path = to.join("wedge-preview.png");
        let small = Dpi::new(args.dpi.get().min(150.0))?;
        wedge::write_preview(&sheet, &model, &curves, (small, &path))?;
        output.line(path.display())?;
    }
    Ok(Ending::Fine)
}

fn read_scan(args: &ReadArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut shelf = Shelf::starter()?;
    let mut kept = Shelf::default();
    if let Some(path) = args.save.as_ref().filter(|p| p.exists()) {
        let text = std::fs::read_to_string(path)
            .with_context(|| format!("the shelf cannot be read: {}", path.display()))?;
        kept = Shelf::from_ron(&text)?;
        shelf.merge(kept.clone());
    }
    let stock = match &args.stock {
        Some(name) => Some(shelf.stock(name).with_context(|| {
            let names = shelf.stocks.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", ");
            format!("no stock has the name “{name}”; there are {names}")
        })?),
        None => None,
    };
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
        save(&result, &shelf, kept, (stock, path))?;
    }
    Ok(Ending::Fine)
}

fn result(args: &ReadArgs, stock: Option<&Stock>) -> anyhow::Result<CalibrationResult> {
    let finish = stock.map(|s| s.finish).unwrap_or_default();
    let ending = args.scan.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    if matches!(ending.as_str(), "txt" | "ti3" | "cgats" | "it8") {
        let bytes = std::fs::read(&args.scan)
            .with_context(|| format!("the table cannot be read: {}", args.scan.display()))?;
        let measured = Table::parse(&String::from_utf8_lossy(&bytes))?.measurements()?;
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
    let known = KnownPatches { paper: stock.map(|s| s.colour.lab()), finish, grays: Vec::new() };
    Ok(calibrate::fit(&calibrate::read_sheet(&pixels, &plan(&args.plan)?, &known)?)?)
}

fn show(r: &CalibrationResult, output: &mut Output<'_>) -> anyhow::Result<()> {
    output.line(format_args!("{}", r.source.standing()))?;
    output.line(format_args!("paper  {}", r.paper))?;
    let (low, high) = r.n_range;
    output.line(format_args!("n      {:.2}  ({low:.2} to {high:.2} do nearly as well)", r.n))?;
    let from = if r.floor_measured { "measured" } else { "that of the finish" };
    output.line(format_args!("floor  {:.3}  {from}; darkest patch {:.3}", r.floor, r.darkest))?;
    match &r.trap {
        Some(t) => output.line(format_args!(
            "trap   {:.2}  {} overprints, mean CIEDE2000 {:.2} before, {:.2} after",
            t.trap, t.count, t.before, t.after
        ))?,
        None => output.line("trap   no overprints on the sheet")?,
    }
    for ink in &r.inks {
        output.line(format_args!("\n{}  solid {}  rms residual {:.4}", ink.name, ink.solid, ink.rms))?;
        output.line("  asked  Murray-Davies  effective  curve   residual  CIEDE2000")?;
        for s in &ink.steps {
            output.line(format_args!(
                "  {:5.2}  {:13.3}  {:9.3}  {:5.3}  {:+9.4}  {:9.2}",
                s.asked,
                s.murray_davies,
                s.effective,
                s.fitted,
                s.residual(),
                s.delta_e
            ))?;
        }
    }
    for swatch in r.swatches("") {
        output.line(format_args!("\noverprint {}  {}", swatch.inks.join(" + "), swatch.lab))?;
    }
    Ok(())
}

fn as_json(r: &CalibrationResult) -> serde_json::Value {
    let inks = r.inks.iter().map(|ink| {
        let steps = ink.steps.iter().map(|s| {
            json!({ "asked": s.asked, "murray_davies": s.murray_davies, "effective": s.effective,
                "channels": s.channels, "fitted": s.fitted, "residual": s.residual(), "delta_e": s.delta_e })
        });
        json!({ "name": ink.name, "solid": ink.solid, "curve": ink.curve.points(), "rms": ink.rms,
            "lightest": ink.curve.lightest(), "fill_in": ink.curve.fill_in(), "steps": steps.collect::<Vec<_>>() })
    });
    let trap =
        r.trap.map(|t| json!({ "trap": t.trap, "before": t.before, "after": t.after, "count": t.count }));
    let overprints = r.swatches("").into_iter().map(|s| json!({ "inks": s.inks, "lab": s.lab }));
    json!({ "source": r.source.standing(), "paper": r.paper, "n": r.n, "n_range": r.n_range, "floor": r.floor,
        "floor_measured": r.floor_measured, "darkest": r.darkest, "trap": trap,
        "inks": inks.collect::<Vec<_>>(), "overprints": overprints.collect::<Vec<_>>() })
}

fn save(
    r: &CalibrationResult,
    known: &Shelf,
    mut kept: Shelf,
    (stock, path): (Option<&Stock>, &Path),
) -> anyhow::Result<()> {
    let place = stock.map_or_else(String::new, |s| format!(" on {}", s.name));
    let note = format!("calibration sheet{place}, {}", r.source.standing());
    let inks = r.inks.iter().map(|fit| r.ink(fit, known.ink(&fit.name), &note)).collect();
    let mut fresh = Shelf { inks, ..Shelf::default() };
    if let Some(stock) = stock {
        let floor = r.floor_measured.then_some(r.floor).or(stock.floor);
        fresh.stocks.push(Stock { floor, ..stock.clone() });
        fresh.overprints = r.swatches(&stock.name);
    }
    kept.merge(fresh);
    Ok(atomic::write_bytes(path, kept.to_ron()?.as_bytes())?)
}
