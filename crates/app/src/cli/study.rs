//! `slipsheet study`: how far the design may slip before it shows, and where it shows first.

use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use serde_json::{Value, json};
use slipsheet_core::units::Dpi;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::{
    Rose, Shows, Study, StudyOptions, Thin, ThinKind, Tolerance, slip_between_passes, study_dpi,
};

use super::accept::{AcceptanceArgs, accepted, accepted_json};
use super::open::{images, one_sheet, open};
use super::values::{MOST_SHEETS, dpi, whole};
use super::{Ending, Output};

/// Say how far the inks may slip before it shows
///
/// Edges where one ink abuts another are found on the screen-free coverage. The tolerance is the slip that opens
/// a wider gap than you accept along more than the accepted share of them. The exit code is 1 when the press is likely to slip farther.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet study walk.slipsheet --json")]
pub(super) struct StudyArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// Resolution, 10 to 9600
    #[arg(long, value_name = "N", value_parser = dpi, default_value = "300")]
    dpi: Dpi,
    /// Places in the table
    #[arg(long, value_name = "N", default_value_t = 12, value_parser = whole::<usize>(0..=100_000))]
    places: usize,
    /// The back in place of the front
    #[arg(long)]
    back: bool,
    /// Sheet of a booklet, from 1
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole::<usize>(1..=MOST_SHEETS))]
    sheet: usize,
}

pub(super) fn run(args: &StudyArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let opened = open(&args.project)?;
    if let Some((_, Err(e))) = opened.scans.iter().find(|(_, r)| r.is_err()) {
        bail!("{e}");
    }
    let one = one_sheet(&opened.printing, args.sheet)?;
    let printing = &one;
    let face = if args.back { Face::Back } else { Face::Front };
    let acceptance = args.acceptance.over(printing.acceptance);
    let options = StudyOptions { dpi: args.dpi, ..StudyOptions::of(&printing.press, face) };
    let study = Study::of(printing, &images(&opened.scans), &options)?;
    let judged = Judged { tolerance: study.tolerance(&acceptance), study, acceptance };
    let inks = printing.sheet.on(face).filter(|(_, l)| l.visible).count();
    let dpi = study_dpi(printing.sheet.size(), args.dpi, inks);
    if args.json {
        let mut value = as_json(printing, &judged, args.places);
        value["dpi"] = json!(dpi);
        output.json(&value)?;
    } else {
        if dpi != args.dpi {
            output.line(coarser(dpi, args.dpi))?;
        }
        say(printing, &judged, args.places, output)?;
    }
    // What the slip between two passes exceeds in one copy of three.
    let slips = slip_between_passes(&printing.press, 2.0 / 3.0);
    let passes = slipsheet_document::passes::printed_passes(printing, face).len();
    let risky = passes > 1 && judged.tolerance.least().is_some_and(|(slip, _)| slip < slips);
    Ok(if risky { Ending::Warnings } else { Ending::Fine })
}

/// A study and what it comes to.
struct Judged {
    study: Study,
    acceptance: Acceptance,
    tolerance: Tolerance,
}

/// That a sheet is too large for the resolution asked for.
pub(super) fn coarser(dpi: Dpi, asked: Dpi) -> String {
    format!("the sheet is large, so it was studied at {:.0} dpi in place of {:.0}", dpi.get(), asked.get())
}

/// The name of a layer, as the person knows it.
fn name(printing: &Printing, layer: usize) -> &str {
    printing.sheet.layers.get(layer).map_or("", |l| l.name.as_str())
}

fn shows(printing: &Printing, shows: Shows) -> &str {
    match shows {
        Shows::Paper => "paper",
        Shows::Ink(layer) => name(printing, layer),
    }
}

fn say(printing: &Printing, judged: &Judged, places: usize, output: &mut Output<'_>) -> anyhow::Result<()> {
    let Judged { study, acceptance, tolerance } = judged;
    match tolerance.least() {
        Some((slip, degrees)) => output.line(format_args!(
            "tolerance: {slip:.2} mm; a copy would no longer sell first when an ink slips toward {degrees:.0} degrees (clockwise from the right)"
        ))?,
        None => output.line("tolerance: any slip; none up to the widest trap looked for opens a gap that shows")?,
    }
    output.line(format_args!("would sell: {}", accepted(acceptance)))?;
    for (pair, rose) in study.pairs.iter().zip(&tolerance.pairs) {
        let least = rose.least().map_or("any slip".to_owned(), |(slip, _)| format!("{slip:.2} mm"));
        output.line(format_args!(
            "{} against {}: {:.0} mm of edge abut; tolerance {least}",
            name(printing, pair.upper),
            name(printing, pair.lower),
            pair.length
        ))?;
    }
    let worst = study.worst(places);
    if !worst.is_empty() {
        output.line("")?;
        output.line("      x       y  trap mm  normal  length     dE  seen in the gap")?;
    }
    for w in &worst {
        let t = &w.tight;
        let normal = t.normal.y.atan2(t.normal.x).to_degrees().rem_euclid(360.0);
        output.line(format_args!(
            "{:7.1} {:7.1} {:8.2} {:7.0} {:7.1} {:6.1}  {} between {} and {}",
            t.at.x,
            t.at.y,
            t.trap,
            normal,
            w.length,
            t.difference,
            shows(printing, t.shows),
            name(printing, t.lower),
            name(printing, t.upper)
        ))?;
    }
    for thin in study.thin.iter().take(places) {
        output.line(format_args!(
            "{:.1}, {:.1}: {}, {:.2} mm wide, {} with {}",
            thin.at.x,
            thin.at.y,
            thin.name(),
            thin.size,
            name(printing, thin.upper),
            name(printing, thin.lower)
        ))?;
    }
    Ok(())
}

/// A study as scripts read it; layers count from 1 in printing order.
fn as_json(printing: &Printing, judged: &Judged, places: usize) -> Value {
    let Judged { study, acceptance, tolerance } = judged;
    let rose = |rose: &Rose| -> Vec<Value> {
        rose.tolerance
            .iter()
            .enumerate()
            .map(|(i, t)| json!({"degrees": Rose::degrees(i), "mm": t}))
            .collect()
    };
    let pairs: Vec<Value> = study
        .pairs
        .iter()
        .zip(&tolerance.pairs)
        .map(|(p, of_pair)| {
            json!({
                "lower": p.lower + 1, "upper": p.upper + 1, "length_mm": p.length,
                "tolerance_mm": of_pair.least().map(|l| l.0), "rose": rose(of_pair),
            })
        })
        .collect();
    let worst: Vec<Value> = study
        .worst(places)
        .iter()
        .map(|w| {
            let t = &w.tight;
            json!({
                "x_mm": t.at.x, "y_mm": t.at.y, "lower": t.lower + 1, "upper": t.upper + 1, "trap_mm": t.trap,
                "normal": [t.normal.x, t.normal.y], "length_mm": w.length, "difference": t.difference,
                "shows": shows(printing, t.shows),
            })
        })
        .collect();
    let thin: Vec<Value> = study.thin.iter().take(places).map(thin_json).collect();
    let some = |which: &dyn Fn(&Thin) -> bool| -> Vec<Value> {
        study.thin.iter().filter(|t| which(t)).take(places).map(thin_json).collect()
    };
    let knocked = |t: &Thin| t.kind == ThinKind::Knockout;
    let (slip, degrees) = tolerance.least().unzip();
    json!({
        "tolerance_mm": slip, "degrees": degrees, "accepted": accepted_json(acceptance),
        "thin_below_mm": study.options.thin, "rose": rose(&tolerance.rose),
        "pairs": pairs, "worst": worst, "thin": thin,
        "thin_strokes": some(&|t| !knocked(t) && !t.is_dense()), "knocked_out_type": some(&knocked),
        "small_text": some(&|t| !knocked(t) && t.is_dense()),
    })
}

/// Something thin, and what it is.
fn thin_json(t: &Thin) -> Value {
    json!({
        "kind": t.kind.name(), "dense": t.is_dense(), "x_mm": t.at.x, "y_mm": t.at.y, "lower": t.lower + 1,
        "upper": t.upper + 1, "width_mm": t.size, "length_mm": t.length,
    })
}
