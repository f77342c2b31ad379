//! `slipsheet measured`: an instrument's table of solids, ramps and overprints, and what it says of the press.

use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::Args;
use slipsheet_core::calibrate;
use slipsheet_core::cgats::Measurements;

use super::calibration::{Shelves, as_json, read_table, show};
use super::{Ending, Output};

/// Read measured data: solids, ramps and overprints as Lab, XYZ or spectra
///
/// The table is text after CGATS.17 or ISO 28178. Name an ink for each column
/// of coverages that was printed, in printing order; patches with any other column's ink are left out.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: slipsheet measured press.txt --ink CMYK_C=\"Ink-bottle blue\" --ink CMYK_M=\"Hip-berry red\" --stock \"Cream uncoated\" --save measured.ron"
)]
pub(super) struct MeasuredArgs {
    /// Table of measurements
    #[arg(value_name = "FILE")]
    table: PathBuf,
    /// Column of the table and the ink it stands for; repeat in printing order
    #[arg(long = "ink", id = "inks", value_name = "COLUMN=NAME", required = true, value_parser = column)]
    inks: Vec<(String, String)>,
    /// Stock by its name, which was printed on
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
    /// Put measured inks, the stock and overprints into this shelf file; one that is there is kept and added to
    #[arg(long, value_name = "SHELF.ron")]
    save: Option<PathBuf>,
}

fn column(text: &str) -> Result<(String, String), String> {
    let parts = text.split_once('=').map(|(c, n)| (c.trim().to_owned(), n.trim().to_owned()));
    let filled = parts.filter(|(c, n)| !c.is_empty() && !n.is_empty());
    filled.ok_or_else(|| "give the column and the ink, such as CMYK_C=Hip-berry red".to_owned())
}

pub(super) fn run(args: &MeasuredArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let shelves = Shelves::with(args.save.as_deref())?;
    let stock = shelves.stock(args.stock.as_deref())?;
    if args.save.is_some() && args.inks.len() > 1 && stock.is_none() {
        bail!("overprints belong to a stock; name it with --stock to save them");
    }
    let table = read_table(&args.table)?;
    let channels = channels(args, &table)?;
    let names: Vec<String> = args.inks.iter().map(|(_, name)| name.clone()).collect();
    let finish = stock.as_ref().map(|s| s.finish).unwrap_or_default();
    let result = calibrate::fit_measured(&table.of(&channels), &names, finish)?;
    if args.json {
        output.json(&as_json(&result))?;
    } else {
        show(&result, output)?;
    }
    if let Some(path) = &args.save {
        shelves.save(&result, stock.as_ref(), path)?;
    }
    Ok(Ending::Fine)
}

/// The table's channels in the order of the inks.
fn channels(args: &MeasuredArgs, table: &Measurements) -> anyhow::Result<Vec<usize>> {
    let mut channels = Vec::new();
    for (k, (column, name)) in args.inks.iter().enumerate() {
        let channel = table.channel(column).with_context(|| {
            format!("the table has no column “{column}”; there are {}", table.fields.join(", "))
        })?;
        if channels.contains(&channel) {
            bail!("the column “{column}” is named twice; give each ink its own");
        }
        if args.inks[..k].iter().any(|(_, n)| n.eq_ignore_ascii_case(name)) {
            bail!("the ink “{name}” is named twice; give each column its own");
        }
        channels.push(channel);
    }
    Ok(channels)
}
