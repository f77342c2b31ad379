//! `slipsheet spread`: the press's register scatter and offset, from printed mark sheets.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;
use slipsheet_core::press::Offset;
use slipsheet_core::units::Dpi;
use slipsheet_core::words::count;
use slipsheet_files::scan::Progress;
use slipsheet_files::store::Originals;
use slipsheet_files::{marks, store};
use slipsheet_registration::slip::spread::{Deviation, Mean};
use slipsheet_registration::slip::stats::Interval;

use super::values::dpi;
use super::{Ending, Output};

/// Measure the press's register scatter from printed mark sheets
///
/// First make the marks: every ink has its own beside the others', a plate an ink. Print them in the project's
/// passes, scan 3 or better 20 copies in gray, each cropped to the sheet, and give the scans to this command. It
/// tells the register scatter, and how far the later passes lie off the first on every copy.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: slipsheet spread walk.slipsheet --plates marks
Example: slipsheet spread walk.slipsheet copy1.png copy2.png copy3.png --save press
Example: slipsheet spread walk.slipsheet --no-offset")]
pub(super) struct SpreadArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Scans of copies
    #[arg(value_name = "SCAN", required_unless_present_any = ["plates", "no_offset"])]
    scans: Vec<PathBuf>,
    /// Write the plates of the mark sheet into this folder instead
    #[arg(long, value_name = "DIR", conflicts_with_all = ["scans", "save"])]
    plates: Option<PathBuf>,
    /// Resolution of the plates
    #[arg(long, value_name = "N", value_parser = dpi, default_value = "600")]
    dpi: Dpi,
    /// Keep what was measured: “press” puts it into the project
    #[arg(long, value_name = "press", value_parser = ["press"])]
    save: Option<String>,
    /// Set the press's offset to 0, once it was set out on the machine
    #[arg(long, conflicts_with_all = ["scans", "plates", "save", "json"])]
    no_offset: bool,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &SpreadArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let (mut project, read) = store::load_marked(&args.project)?;
    let printing = project.main_printing();
    if let Some(folder) = &args.plates {
        let originals = Originals::of(&project, Some(&args.project));
        for path in marks::write_plates(&printing, args.dpi, folder, &originals, &Progress::new())? {
            output.line(path.display())?;
        }
        return Ok(Ending::Fine);
    }
    if args.no_offset {
        project.press.offset = Offset::default();
        // That nothing is left of it was set, and not measured.
        project.press.measured.offset = false;
        store::save_over(&project, &args.project, &read)?;
        output.line(format_args!("the press of {} has no offset now", args.project.display()))?;
        return Ok(Ending::Fine);
    }
    let found = marks::read_copies(&printing, &args.scans, &Progress::new())?;
    if args.json {
        let figure = |value: f64, i: Interval| json!({"value": value, "low": i.low, "high": i.high});
        let four = |d: &[Deviation; 4]| d.map(|d| figure(d.value, d.interval)).to_vec();
        let means = |m: &[Mean; 4]| m.map(|m| figure(m.value, m.interval)).to_vec();
        output.json(&json!({
            "copies": found.copies, "figures": ["dx_mm", "dy_mm", "skew_deg", "stretch_percent"],
            "within_pass": found.within.as_ref().map(four), "between_passes": found.between.as_ref().map(four),
            "offset": found.offset.as_ref().map(means),
        }))?;
    } else {
        output.line(count(found.copies, "copy"))?;
        for (what, figures) in [("within a pass", &found.within), ("between passes", &found.between)] {
            let Some(figures) = figures else { continue };
            let names = ["across, mm", "along, mm", "twist, degrees", "stretch, %"];
            for (name, d) in names.into_iter().zip(figures) {
                output.line(format_args!(
                    "{what}: {name}: {:.3} (95 %: {:.3} to {:.3})",
                    d.value, d.interval.low, d.interval.high
                ))?;
            }
        }
        if let Some(means) = &found.offset {
            let names = ["right, mm", "down, mm", "clockwise, degrees", "stretch, %"];
            for (name, m) in names.into_iter().zip(means) {
                let chance = if m.is_sure() { "" } else { "; may be chance" };
                output.line(format_args!(
                    "later passes against the first: {name}: {:.3} (95 %: {:.3} to {:.3}{chance})",
                    m.value, m.interval.low, m.interval.high
                ))?;
            }
        }
        if let Some(advice) = found.sure_offset().and_then(|o| o.advice()) {
            output.line(advice)?;
        }
    }
    if args.save.is_some() {
        project.press = found.onto(&project.press);
        store::save_over(&project, &args.project, &read)?;
        if !args.json {
            output.line(format_args!("the press of {} has these figures now", args.project.display()))?;
        }
    }
    Ok(Ending::Fine)
}
