//! `slipsheet press`: the press of a project, what its figures rest on, and profiles of it.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;
use serde_json::{Value, json};
use slipsheet_core::press::{Basis, Figure, Press};
use slipsheet_core::words::count;
use slipsheet_files::{press_file, store};

use super::shelf::ShelfArgs;
use super::{Ending, Output};

/// Print a project's press and what each of its figures rests on, or take one in or out
///
/// A figure is measured from printed mark sheets (see slipsheet spread) or an estimate; with an estimate stands what
/// it usually is. A press profile carries a press from one project to another.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: slipsheet press walk.slipsheet
Example: slipsheet press walk.slipsheet --export ours.slipsheet-press
Example: slipsheet press other.slipsheet --import ours.slipsheet-press
Example: slipsheet press --list --shelf mine.ron --json")]
pub(super) struct PressArgs {
    /// Project
    #[arg(value_name = "PROJECT", required_unless_present = "list")]
    project: Option<PathBuf>,
    /// Write the project's press into this profile
    #[arg(long, value_name = "FILE", value_parser = profile, conflicts_with = "json")]
    export: Option<PathBuf>,
    /// Make the press of this profile the project's
    #[arg(long, value_name = "FILE", conflicts_with_all = ["export", "json"])]
    import: Option<PathBuf>,
    /// Print the presses on the shelf
    #[arg(long, conflicts_with_all = ["project", "export", "import"])]
    list: bool,
    #[command(flatten)]
    shelf: ShelfArgs,
    /// Answer with JSON: an object, with --list an array of them
    #[arg(long)]
    json: bool,
}

/// A name that ends as profiles do, so that a project or a scan is not named by mistake.
fn profile(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case(press_file::ENDING)) {
        Ok(path)
    } else {
        Err(format!("a press profile's name ends in .{}", press_file::ENDING))
    }
}

pub(super) fn run(args: &PressArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let Some(path) = &args.project else { return list(args, output) };
    if let Some(from) = &args.import {
        return import(path, from, output);
    }
    let project = store::load(path)?;
    if let Some(to) = &args.export {
        store::refuse_to_replace(to, Some(path), &project)?;
        press_file::write(&project.press, to)?;
        output.line(to.display())?;
    } else if args.json {
        output.json(&told(&project.press))?;
    } else {
        print(&project.press, output)?;
    }
    Ok(Ending::Fine)
}

fn import(path: &Path, from: &Path, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let (mut project, read) = store::load_marked(path)?;
    project.press = press_file::read(from)?;
    store::save_over(&project, path, &read)?;
    let press = &project.press;
    output.line(format_args!(
        "the press of {} is “{}” now; its figures are {}",
        path.display(),
        press.name,
        press.standing()
    ))?;
    Ok(Ending::Fine)
}

fn list(args: &PressArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let shelf = args.shelf.known()?;
    if shelf.presses.is_empty() {
        bail!("there is no press on the shelf");
    }
    if args.json {
        output.json(&shelf.presses.iter().map(told).collect::<Vec<_>>())?;
        return Ok(Ending::Fine);
    }
    for press in &shelf.presses {
        let drums = count(usize::from(press.drums), "drum");
        output.line(format_args!("{}: {drums}; {}", press.name, press.standing()))?;
    }
    Ok(Ending::Fine)
}

/// The figures that a press has.
fn figures(press: &Press) -> impl Iterator<Item = Figure> + '_ {
    Figure::all().filter(|f| f.applies(press))
}

fn print(press: &Press, output: &mut Output<'_>) -> anyhow::Result<()> {
    let (small, large) = (press.smallest, press.largest);
    output.line(format_args!("{}, {}", press.name, count(usize::from(press.drums), "drum")))?;
    output.line(format_args!(
        "sheets from {} x {} to {} x {} mm, of {} to {} gsm",
        small.width.get(),
        small.height.get(),
        large.width.get(),
        large.height.get(),
        press.lightest.get(),
        press.heaviest.get()
    ))?;
    output.line(format_args!("its figures are {}", press.standing()))?;
    for figure in figures(press) {
        let rests_on = match figure.basis(press) {
            Basis::Measured => "measured from printed mark sheets".to_owned(),
            Basis::Estimated => format!("estimated; {}", figure.usual_words()),
        };
        let side = match figure {
            Figure::LateFeed if press.late_feed.is_some() => {
                format!(", {}", press.late_feed.side.name())
            }
            _ => String::new(),
        };
        let value = rounded(figure.of(press));
        output.line(format_args!("{}{side}: {value}{} ({rests_on})", figure.name(), figure.unit()))?;
    }
    for step in &press.density_steps {
        output.line(format_args!("density step “{}”: {}", step.name, rounded(step.density.get())))?;
    }
    if press.density_steps.is_empty() {
        output.line("density steps: not known")?;
    }
    if let Some(advice) = press.offset.advice() {
        output.line(advice)?;
    }
    Ok(())
}

/// To a ten-thousandth, past which no figure says anything.
fn rounded(v: f64) -> f64 {
    (v * 1e4).round() / 1e4
}

fn told(press: &Press) -> Value {
    let figure = |f: Figure| {
        json!({
            "name": f.name(), "value": f.of(press), "unit": f.unit().trim(),
            "basis": f.basis(press).name(), "usual": f.usual(),
        })
    };
    let size = |s: slipsheet_core::units::Size| json!([s.width.get(), s.height.get()]);
    let steps: Vec<Value> =
        press.density_steps.iter().map(|s| json!({"name": s.name, "density": s.density.get()})).collect();
    json!({
        "name": press.name, "drums": press.drums, "standing": press.standing(),
        "smallest_mm": size(press.smallest), "largest_mm": size(press.largest),
        "lightest_gsm": press.lightest.get(), "heaviest_gsm": press.heaviest.get(),
        "figures": figures(press).map(figure).collect::<Vec<_>>(),
        "late_side": press.late_feed.is_some().then(|| press.late_feed.side.name()),
        "density_steps": steps,
        "offset_advice": press.offset.advice(),
    })
}
