//! `slipsheet run`: copies as the press will make them, as a contact sheet and in figures.

use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use serde_json::json;
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;
use slipsheet_core::words::percent;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::passes;
use slipsheet_files::{PngMeta, atomic, png_out, store};
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::run::{ContactSheet, contact_sheet, histogram};
use slipsheet_registration::slip::{Copied, RunOptions, RunSummary, SimulatedRun, Study, StudyOptions};

use super::accept::{AcceptanceArgs, accepted, accepted_json};
use super::open::{images, one_sheet, open};
use super::values::{MOST_SHEETS, dpi, ends_in, mm_point, whole};
use super::{Ending, Output};

/// Simulate a run: copies with random slips by the press's figures
///
/// The same seed gives the same copies on every machine. A copy would sell when no more than the accepted share of any
/// pair's abutting edges opens wider than the accepted gap and, where colour counts, 95 % of the sheet differ by less than
/// the limit. The more you accept, the more copies sell.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet run walk.slipsheet --copies 200 --seed 7 -o run.png")]
pub(super) struct RunArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Copies to simulate, 1 to 5000
    #[arg(long, value_name = "N", default_value_t = 1000, value_parser = whole::<u32>(1..=5000))]
    copies: u32,
    /// Seed of the random slips
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole::<u64>(0..=u64::MAX))]
    seed: u64,
    /// Copies to sell, to say how many to print
    #[arg(long, value_name = "N", default_value_t = 100, value_parser = whole::<u64>(1..=100_000))]
    wanted: u64,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// PNG file for a contact sheet of the first copies; one of that name is replaced
    #[arg(short, long, value_name = "PNG")]
    output: Option<PathBuf>,
    /// Middle of the place that the contact sheet shows, in mm; without it the tightest place
    #[arg(long, value_name = "X,Y", value_parser = mm_point)]
    at: Option<Point>,
    /// Resolution of the simulation, 10 to 300
    #[arg(long, value_name = "N", value_parser = dpi, default_value = "100")]
    dpi: Dpi,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
    /// The back in place of the front
    #[arg(long)]
    back: bool,
    /// Sheet of a booklet, from 1
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole::<usize>(1..=MOST_SHEETS))]
    sheet: usize,
}

/// Copies on a contact sheet.
const SHOWN: usize = 60;
/// Side in mm of the place shown, and of a cell in pixels.
const CELL: (f64, usize) = (24.0, 150);
/// Blue-green for copies that would sell, red-brown for others, which differ for every kind of colour vision; gray around.
const COLOURS: [[u8; 4]; 3] = [[27, 100, 128, 255], [168, 58, 12, 255], [120, 120, 120, 255]];

pub(super) fn run(args: &RunArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let opened = open(&args.project)?;
    if let Some((_, Err(e))) = opened.scans.iter().find(|(_, r)| r.is_err()) {
        bail!("{e}");
    }
    if args.dpi.get() > 300.0 {
        bail!("a run is simulated at 300 dpi at most; choose --dpi 100 to see what the eye sees");
    }
    if let Some(path) = &args.output {
        store::refuse_to_replace(path, Some(&args.project), &opened.project)?;
        ends_in(path, "a contact sheet", "PNG")?;
    }
    let mut one = one_sheet(&opened.printing, args.sheet)?;
    one.acceptance = args.acceptance.over(one.acceptance);
    let (printing, images) = (&one, images(&opened.scans));
    let face = if args.back { Face::Back } else { Face::Front };
    if !printing.sheet.on(face).any(|(_, layer)| layer.visible) {
        let other = if args.back { "leave --back out" } else { "say --back, or add a layer" };
        bail!("there is no ink on the {} of the sheet; {other}", face.name().to_lowercase());
    }
    let size = printing.sheet.size();
    let (width, height) = (size.width.get(), size.height.get());
    if let Some(at) = args.at.filter(|p| !(0.0..=width).contains(&p.x) || !(0.0..=height).contains(&p.y)) {
        bail!(
            "the place {}, {} lies off the sheet of {width:.0} x {height:.0} mm; choose one on it",
            at.x,
            at.y
        );
    }
    let study = Study::of(printing, &images, &StudyOptions::of(&printing.press, face))?;
    let options = RunOptions {
        face,
        copies: args.copies as usize,
        seed: args.seed,
        dpi: args.dpi,
        ..RunOptions::default()
    };
    let abut = !study.pairs.is_empty();
    let place = args.at.or_else(|| study.worst(1).first().map(|w| w.tight.at));
    let run = SimulatedRun::new(printing, &images, study, options)?;
    let mut copies: Vec<Copied> = Vec::with_capacity(options.copies);
    let summary = run.each(&|| false, &mut |copy| copies.push(copy.clone()))?;
    if let Some(path) = &args.output {
        let middle = Point::new(width / 2.0, height / 2.0);
        let shown = copies.get(..SHOWN.min(copies.len())).unwrap_or(&[]);
        let sheet = ContactSheet {
            place: place.unwrap_or(middle),
            side: CELL.0,
            columns: 10,
            cell: CELL.1,
            colours: COLOURS,
        };
        let picture = contact_sheet(&run, shown, &printing.acceptance, &sheet);
        let dpi = Dpi::nearest(CELL.1 as f64 / CELL.0 * 25.4);
        let meta = PngMeta { dpi, text: vec![("Software".to_owned(), "Slipsheet".to_owned())] };
        let (width, height) = (u32::try_from(picture.width)?, u32::try_from(picture.height)?);
        let bytes: Vec<u8> = picture.pixels.into_iter().flatten().collect();
        atomic::write(path, |w| png_out::write_rgba(w, width, height, &bytes, &meta))?;
    }
    let (likely, safe) = summary.sold.to_print(args.wanted);
    if args.json {
        output.json(&as_json(args, &printing.acceptance, &copies, &summary))?;
    } else {
        output.line(format_args!("would sell: {}", accepted(&printing.acceptance)))?;
        say(args, &summary, abut, output)?;
        let whole = &opened.printing.sheet;
        if whole.two_sided() || whole.printed_sheets() > 1 {
            let side = face.of_sheet(args.sheet - 1, whole.printed_sheets());
            output.line(format_args!("of the {side} alone; `slipsheet cost` counts every side and sheet"))?;
        }
        // Where there is one pass there is nothing to lie off.
        let passes = passes::printed_passes(printing, face).len();
        if let Some(advice) = printing.press.offset.advice().filter(|_| passes > 1) {
            output.line(advice)?;
        }
    }
    Ok(if likely.is_none() || safe.is_none() { Ending::Warnings } else { Ending::Fine })
}

fn say(args: &RunArgs, summary: &RunSummary, abut: bool, output: &mut Output<'_>) -> anyhow::Result<()> {
    let sold = summary.sold;
    let likely = sold.likely();
    output.line(format_args!(
        "{} of 100 would sell ({} of {} simulated; likely {} to {})",
        sold.of_hundred(),
        sold.sold,
        sold.copies,
        percent(likely.low),
        percent(likely.high)
    ))?;
    match sold.to_print(args.wanted) {
        (Some(likely), Some(safe)) => output
            .line(format_args!("To get {} good copies print {likely} ({safe} to be safe)", args.wanted))?,
        (Some(likely), None) => output.line(format_args!(
            "To get {} good copies print about {likely}; simulate more copies to be surer",
            args.wanted
        ))?,
        (None, _) if !abut => output.line(
            "almost no copy would sell: no inks abut, and the slip itself changes the print by more than the limit; raise --colour",
        )?,
        (None, _) => output.line(
            "almost no copy would sell: accept a wider gap, add trap, or print the inks that abut in one pass",
        )?,
    }
    let [best, middle, worst] = summary.ranked.map(|i| i + 1);
    output.line(format_args!("best copy {best}, middle {middle}, worst {worst} of this run"))?;
    Ok(())
}

/// A run as scripts read it; copies and layers count from 1.
fn as_json(
    args: &RunArgs,
    acceptance: &Acceptance,
    copies: &[Copied],
    summary: &RunSummary,
) -> serde_json::Value {
    let sold = summary.sold;
    let ((likely, safe), [wilson, exact]) = (sold.to_print(args.wanted), [sold.likely(), sold.exact()]);
    let (width, counts) = histogram(copies.iter().map(|c| c.opening.widest), 20);
    let (step, changes) = histogram(copies.iter().map(|c| c.change.most), 20);
    let each: Vec<_> = copies
        .iter()
        .map(|c| {
            let slips: Vec<_> = c
                .slips
                .iter()
                .map(|s| json!({"layer": s.layer + 1, "dx": s.dx, "dy": s.dy, "skew": s.skew, "stretch": s.stretch}))
                .collect();
            json!({
                "copy": c.index + 1, "sells": c.sells(acceptance), "gap_mm": c.opening.widest, "needs_gap_mm": c.opening.needs,
                "mean_difference": c.change.mean, "most_difference": c.change.most, "slips": slips,
            })
        })
        .collect();
    json!({
        "copies": sold.copies, "sold": sold.sold, "share": sold.share(),
        "wilson": [wilson.low, wilson.high], "exact": [exact.low, exact.high], "accepted": accepted_json(acceptance),
        "wanted": args.wanted, "to_print": likely, "to_print_safe": safe, "seed": args.seed,
        "gap_histogram": {"bin_mm": width, "copies": counts},
        "change_histogram": {"bin_ciede2000": step, "copies": changes}, "mean_difference": summary.mean, "each": each,
    })
}
