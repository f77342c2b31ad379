//! `slipsheet spread`: the press's spread, from printed mark sheets.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;
use slipsheet_core::slip::spread::Deviation;
use slipsheet_core::units::Dpi;
use slipsheet_core::words::count;
use slipsheet_files::scan::Progress;
use slipsheet_files::{marks, store};

use super::values::dpi;
use super::{Ending, Output};

/// Measure how far the press wanders, from printed mark sheets
///
/// First make the marks: every ink has its own beside the others', a plate an ink. Print them in the project's
/// passes, scan 3 or better 20 copies in gray, each cropped to the sheet, and give the scans to this command.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: slipsheet spread walk.slipsheet --plates marks
Example: slipsheet spread walk.slipsheet copy1.png copy2.png copy3.png --save press")]
pub(super) struct SpreadArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Scans of copies
    #[arg(value_name = "SCAN", required_unless_present = "plates")]
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
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &SpreadArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let (mut project, read) = store::load_marked(&args.project)?;
    if let Some(folder) = &args.plates {
        let into = (folder.as_path(), Some(args.project.as_path()));
        for path in marks::write_plates(&project, args.dpi, into, &Progress::new())? {
            output.line(path.display())?;
        }
        return Ok(Ending::Fine);
    }
    let found = marks::read_copies(&project, &args.scans, &Progress::new())?;
    if args.json {
        let four = |d: &[Deviation; 4]| {
            d.map(|d| json!({"value": d.value, "low": d.interval.low, "high": d.interval.high})).to_vec()
        };
        output.json(&json!({
            "copies": found.copies, "figures": ["dx_mm", "dy_mm", "skew_deg", "stretch_percent"],
            "within_pass": found.within.as_ref().map(four), "between_passes": found.between.as_ref().map(four),
        }))?;
    } else {
        output.line(count(found.copies, "copy"))?;
        for (what, figures) in [("within a pass", &found.within), ("between passes", &found.between)] {
            let Some(figures) = figures else { continue };
            let names = ["across, mm", "along, mm", "skew, degrees", "stretch, %"];
            for (name, d) in names.into_iter().zip(figures) {
                output.line(format_args!(
                    "{what}: {name}: {:.3} (95 %: {:.3} to {:.3})",
                    d.value, d.interval.low, d.interval.high
                ))?;
            }
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
