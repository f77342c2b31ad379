//! Draws the originals of “Tidewrack”, an invented zine of eight pages about a walk along the shore:
//! three gray sheets, one for each ink, made of nothing but noise, curves and two open fonts, and the project
//! that prints them.
//!
//! `cargo run -p slipsheet-demo --release -- [OUTDIR] [--preview PNG]`

mod cover;
mod crayon;
mod field;
mod finds;
mod lettering;
mod noise;
mod pages;
mod project;
mod scenery;
mod shape;
mod sheet;
mod wash;
mod weed;

use std::io::Write as _;
use std::path::PathBuf;

use anyhow::Context as _;

/// The resolution that the originals are drawn for.
const DPI: f64 = 300.0;

/// What was asked for on the command line.
struct Request {
    folder: PathBuf,
    preview: Option<PathBuf>,
}

fn request(mut args: impl Iterator<Item = std::ffi::OsString>) -> anyhow::Result<Request> {
    let mut asked =
        Request { folder: PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tidewrack")), preview: None };
    while let Some(arg) = args.next() {
        if arg == "--preview" {
            asked.preview =
                Some(args.next().context("give --preview the name of a PNG file to write")?.into());
        } else {
            asked.folder = arg.into();
        }
    }
    Ok(asked)
}

fn main() -> anyhow::Result<()> {
    let asked = request(std::env::args_os().skip(1))?;
    std::fs::create_dir_all(&asked.folder)
        .with_context(|| format!("cannot make the folder {}", asked.folder.display()))?;
    let drawn = sheet::originals(DPI)?;
    if let Some(path) = &asked.preview {
        sheet::write_preview(path, &drawn)?;
    }
    let mut out = std::io::stdout();
    for (name, raster) in [("sea", &drawn.sea), ("weed", &drawn.weed), ("ink", &drawn.ink)] {
        let path = asked.folder.join(format!("tidewrack-{name}.png"));
        let bytes = sheet::write_png(&path, raster, DPI)?;
        writeln!(out, "{}  {} KB", path.display(), bytes / 1000)?;
    }
    writeln!(out, "{}", project::write(&asked.folder)?.display())?;
    Ok(())
}
