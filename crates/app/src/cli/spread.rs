//! `slipsheet spread`: the press's spread, from printed mark sheets.

use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::Args;
use rayon::prelude::*;
use serde_json::json;
use slipsheet_core::fold::Face;
use slipsheet_core::plan;
use slipsheet_core::project::Project;
use slipsheet_core::slip::spread::{Deviation, Lying, SpreadSheet, estimate, station_plate};
use slipsheet_core::units::{Dpi, Size};
use slipsheet_files::scan::{self, Progress, ScanOptions};
use slipsheet_files::{PngMeta, atomic, png_out, store};

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
    let mut project = store::load(&args.project)?;
    let sheet = project.sheet_size();
    // Inks in printing order; passes by their place among them.
    let layers: Vec<usize> = project.on(Face::Front).map(|(i, _)| i).collect();
    let place = |layer: &usize| layers.iter().position(|l| l == layer);
    let passes: Vec<Vec<usize>> =
        plan::passes(&project, Face::Front).iter().map(|p| p.iter().filter_map(place).collect()).collect();
    let marks = SpreadSheet::new(sheet, layers.len());
    if let Some(folder) = &args.plates {
        return plates(&project, &marks, (sheet, args.dpi), folder, output);
    }
    let read = |path: &PathBuf| -> anyhow::Result<Vec<Lying>> {
        let scan = scan::read(path, &ScanOptions::default(), &Progress::new())?;
        let Some(dpi) = scan.dpi else {
            bail!(
                "the scan does not say its resolution; scan it again and keep that in the file: {}",
                path.display()
            )
        };
        marks.read(&scan.raster, dpi).with_context(|| path.display().to_string())
    };
    let copies = args.scans.par_iter().map(read).collect::<anyhow::Result<Vec<_>>>()?;
    let found = estimate(&copies, &passes)?;
    if args.json {
        let four = |d: &[Deviation; 4]| {
            d.map(|d| json!({"value": d.value, "low": d.interval.low, "high": d.interval.high})).to_vec()
        };
        output.json(&json!({
            "copies": found.copies, "figures": ["dx_mm", "dy_mm", "skew_deg", "stretch_percent"],
            "within_pass": found.within.as_ref().map(four), "between_passes": found.between.as_ref().map(four),
        }))?;
    } else {
        output.line(format_args!("{} copies", found.copies))?;
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
        store::save(&project, &args.project)?;
    }
    Ok(Ending::Fine)
}

fn plates(
    project: &Project,
    marks: &SpreadSheet,
    (sheet, dpi): (Size, Dpi),
    folder: &std::path::Path,
    output: &mut Output<'_>,
) -> anyhow::Result<Ending> {
    if marks.marks.len() < 2 {
        bail!("one ink alone has nothing to slip against; add a second layer first");
    }
    std::fs::create_dir_all(folder)
        .with_context(|| format!("the folder cannot be made: {}", folder.display()))?;
    let names = project.on(Face::Front).map(|(_, l)| l.ink.name.clone());
    for (i, (of_ink, name)) in marks.marks.iter().zip(names).enumerate() {
        let plate = station_plate(sheet, of_ink, dpi, |p| p)?;
        let path = folder.join(format!("marks-{}.png", i + 1));
        let meta = PngMeta { dpi, text: vec![("Title".to_owned(), format!("Marks, {name}"))] };
        atomic::write(&path, |w| {
            png_out::write_gray(w, plate.width(), plate.height(), plate.pixels(), &meta)
        })?;
        output.line(path.display())?;
    }
    Ok(Ending::Fine)
}
