//! What `slipsheet wedge read` and `slipsheet measured` share: shelves, and the words about a calibration.

use std::path::Path;

use serde_json::json;
use slipsheet_core::calibrate::CalibrationResult;
use slipsheet_core::cgats::{Measurements, Table};
use slipsheet_core::stock::Stock;
use slipsheet_core::words::count;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::{atomic, user_file};

use super::{Output, shelf};

/// The starter shelf with a shelf file over it, and that file's own contents, to be added to.
pub(super) struct Shelves {
    pub known: Shelf,
    pub kept: Shelf,
}

impl Shelves {
    /// Reads the file where there is one.
    pub fn with(save: Option<&Path>) -> anyhow::Result<Self> {
        let (mut known, mut kept) = (Shelf::starter()?, Shelf::default());
        if let Some(path) = save.filter(|p| p.exists()) {
            kept = shelf::read(path)?;
            known.merge(kept.clone());
        }
        Ok(Self { known, kept })
    }

    /// The stock of this name.
    pub fn stock(&self, name: Option<&str>) -> anyhow::Result<Option<Stock>> {
        name.map(|name| shelf::stock(&self.known, name)).transpose()
    }

    /// Adds what was measured and writes the file.
    pub fn save(mut self, r: &CalibrationResult, stock: Option<&Stock>, path: &Path) -> anyhow::Result<()> {
        self.kept.merge(Shelf::from_calibration(
            r,
            &self.known,
            stock,
            &r.note(stock.map(|s| s.name.as_str())),
        ));
        Ok(atomic::write_bytes(path, self.kept.to_ron()?.as_bytes())?)
    }
}

/// What was found, for a person.
pub(super) fn show(r: &CalibrationResult, output: &mut Output<'_>) -> anyhow::Result<()> {
    output.line(format_args!("{}", r.source.standing()))?;
    output.line(format_args!("paper  {}", r.paper))?;
    let (low, high) = r.n_range;
    output.line(format_args!("n      {:.2}  ({low:.2} to {high:.2} do nearly as well)", r.n))?;
    let t = &r.tints;
    output.line(format_args!(
        "       {}, rms CIEDE2000 {:.2} before, {:.2} after",
        count(t.count, "step"),
        t.before,
        t.after
    ))?;
    let from = if r.floor_measured { "measured" } else { "that of the finish" };
    output.line(format_args!("floor  {:.3}  {from}; darkest patch {:.3}", r.floor, r.darkest))?;
    match &r.trap {
        Some(t) => output.line(format_args!(
            "trapping  {:.2}  {}, mean CIEDE2000 {:.2} before, {:.2} after",
            t.trap,
            count(t.count, "overprint"),
            t.before,
            t.after
        ))?,
        None => output.line("trapping  no overprints on the sheet")?,
    }
    for ink in &r.inks {
        output.line("")?;
        output.line(format_args!("{}  solid {}  rms residual {:.4}", ink.name, ink.solid, ink.rms))?;
        output.line(format_args!(
            "  lightest tone {:.2}, fill-in from {:.2}; {}",
            ink.curve.lightest(),
            ink.curve.fill_in(),
            ink.curve_from()
        ))?;
        output.line("nominal  Murray-Davies  effective  curve   residual  CIEDE2000")?;
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
        output.line("")?;
        output.line(format_args!("overprint {}  {}", swatch.inks.join(" + "), swatch.lab))?;
    }
    Ok(())
}

/// What was found, for a script.
pub(super) fn as_json(r: &CalibrationResult) -> serde_json::Value {
    let inks = r.inks.iter().map(|ink| {
        let steps = ink.steps.iter().map(|s| {
            json!({ "asked": s.asked, "murray_davies": s.murray_davies, "effective": s.effective,
                "channels": s.channels, "fitted": s.fitted, "residual": s.residual(), "delta_e": s.delta_e })
        });
        json!({ "name": ink.name, "solid": ink.solid, "curve": ink.curve.points(), "rms": ink.rms,
            "weights": ink.weights,
            "channels": ink.channels.iter().map(|c| c.as_ref().map(|c| json!({ "curve": c.curve.points(), "off": c.off }))).collect::<Vec<_>>(),
            "lightest": ink.curve.lightest(), "fill_in": ink.curve.fill_in(), "steps": steps.collect::<Vec<_>>() })
    });
    let trap =
        r.trap.map(|t| json!({ "trapping": t.trap, "before": t.before, "after": t.after, "count": t.count }));
    let overprints = r.swatches("").into_iter().map(|s| json!({ "inks": s.inks, "lab": s.lab }));
    json!({ "source": r.source.standing(), "paper": r.paper, "n": r.n, "n_range": r.n_range,
        "tints": { "before": r.tints.before, "after": r.tints.after, "count": r.tints.count }, "floor": r.floor,
        "floor_measured": r.floor_measured, "darkest": r.darkest, "trapping": trap,
        "inks": inks.collect::<Vec<_>>(), "overprints": overprints.collect::<Vec<_>>() })
}

/// An instrument's table.
pub(super) fn read_table(path: &Path) -> anyhow::Result<Measurements> {
    let bytes = user_file::read(path, "table")?;
    Ok(Table::parse(&String::from_utf8_lossy(&bytes))?.measurements()?)
}
