//! `slipsheet new`: a project from scans, one layer each.

mod plan;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::bail;
use clap::Args;
use slipsheet_booking::preflight;
use slipsheet_core::ink::Ink;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_document::layer::Art;
use slipsheet_document::sheet::Sheet;
use slipsheet_files::file_name;
use slipsheet_files::scan::{Progress, ScanOptions};
use slipsheet_files::store::{self, AddedScan};
use slipsheet_paper::booklet::MAX_PAGES;
use slipsheet_render::images::Images;

use self::plan::{Plan, plan};
use super::shelf::ShelfArgs;
use super::values::{dpi, sheet, whole};
use super::{Ending, Output};

/// Make a project from scans: one layer each, in printing order
///
/// In a fold that is printed on both faces the first half of the scans is for the front and the second for the
/// back, in the same inks; --front-only puts all of them on the front. Each layer of an .ora file counts as a
/// scan, the bottom one first; of a PDF the first page is taken. With --by-page a scan lies on one page of a fold or
/// a booklet, and an ink takes as many scans as there are pages.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: slipsheet new --sheet letter --fold slit8 -o walk.slipsheet --ink \"Pool green-blue\" --ink \"Hip-berry red\" sea.png weed.png
Example: slipsheet new --sheet a4 --booklet 8 --by-page -o tales.slipsheet page1.png page2.png ... page8.png")]
pub(super) struct NewArgs {
    /// Format of the sheet by name, or width x height in mm such as 200x280
    #[arg(long, value_parser = sheet)]
    sheet: SheetFormat,
    /// Fold scheme by its short name, or none
    #[arg(long, value_name = "NAME", default_value = "none", conflicts_with = "booklet")]
    fold: String,
    /// Pages of a stitched booklet of several sheets, two pages a side, in place of a fold
    #[arg(long, value_name = "PAGES", value_parser = whole::<u32>(1..=u64::from(MAX_PAGES)))]
    booklet: Option<u32>,
    /// Project file to write
    #[arg(short, long, value_name = "PROJECT")]
    output: PathBuf,
    /// Title [default: the project file's name]
    #[arg(long)]
    title: Option<String>,
    #[command(flatten)]
    shelf: ShelfArgs,
    /// Stock by its name on the shelf [default: the first]
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
    /// Ink by its name on the shelf, one a scan of a face [default: inks that differ]
    #[arg(long = "ink", id = "inks", value_name = "NAME")]
    inks: Vec<String>,
    /// Drums of the press, 1 or 2; with two the inks of a face pair up into passes [default: 2]
    #[arg(long, value_name = "N", value_parser = whole::<u8>(1..=2), conflicts_with = "press")]
    drums: Option<u8>,
    /// Press profile, as the window and `slipsheet press --export` write it
    #[arg(long, value_name = "FILE")]
    press: Option<PathBuf>,
    /// Resolution of the scans [default: what the files say, and 600 for PDF]
    #[arg(long, value_name = "N", value_parser = dpi)]
    dpi: Option<Dpi>,
    /// Resolution at which PDF pages are read, 150 to 1200 [default: --dpi, or 600]
    #[arg(long, value_name = "N", value_parser = pdf_dpi)]
    pdf_dpi: Option<Dpi>,
    /// Landscape sheet, where no fold or booklet decides [default: as the first scan]
    #[arg(long, alias = "lying")]
    landscape: bool,
    /// One scan on each page: pages 1, 2, 3 ... of the first ink, then again of the next
    #[arg(long, conflicts_with = "front_only")]
    by_page: bool,
    /// All scans on the front, whatever the fold
    #[arg(long)]
    front_only: bool,
    /// Leave the paper of scans as gray as it is [default: bare paper is cleaned to white]
    #[arg(long)]
    keep_paper: bool,
    /// Replace a project of that name
    #[arg(long)]
    force: bool,
    /// Scans, first printed first; none for a project to make a guide of
    #[arg(value_name = "SCAN")]
    scans: Vec<PathBuf>,
}

fn pdf_dpi(text: &str) -> Result<Dpi, String> {
    let within = dpi(text)?;
    if (150.0..=1200.0).contains(&within.get()) {
        Ok(within)
    } else {
        Err("a PDF is read at 150 to 1200 dpi".to_owned())
    }
}

pub(super) fn run(args: &NewArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    refuse_to_replace(args)?;
    let Plan { mut project, originals } = plan(args)?;
    let (mut ending, mut images) = (Ending::Fine, Images::default());
    for (i, original) in originals.iter().enumerate() {
        let file = &original.file;
        let page = original.page;
        let resolution = args.pdf_dpi.or(args.dpi);
        let options = ScanOptions { page, resolution, clean: !args.keep_paper, ..ScanOptions::default() };
        let added = store::add_scan(Some(&args.output), file, &options, args.dpi, &Progress::new())?;
        for notice in &added.notices {
            output.problem(format_args!("{notice}: {}", file.display()));
        }
        if let Some(paper) = added.paper {
            let text = format!("its paper, gray {:.0} of 255, was cleaned to white", paper.gray);
            output.line(format_args!("note: {text}; --keep-paper leaves it: {}", file.display()))?;
        }
        if !added.had_resolution {
            output
                .problem(format_args!("300 dpi was assumed; say --dpi if that is wrong: {}", file.display()));
            ending = Ending::Warnings;
        }
        let pixels = added.pixels.full();
        // A photograph, which says no resolution, may be taken any way round.
        if i == 0 && added.had_resolution && pixels.width() > pixels.height() {
            turn(&mut project.main);
        }
        images.insert(added.scan.key.clone(), Arc::clone(&added.pixels));
        if let Some(layer) = project.main.layers.get_mut(original.layer) {
            if !args.by_page {
                layer.name = name(file, &layer.ink, &added);
            }
            layer.art.push(Art::new(project.ids.art(), added.scan, original.target));
        }
    }
    store::save(&project, &args.output)?;
    // What shows at once whether the originals are of this sheet.
    for finding in preflight::not_lined_up(&project.main_printing(), &images) {
        output.problem(format_args!(
            "{}; line it up with slipsheet line-up or in the window; if it is of another sheet, see --sheet",
            finding.sentence
        ));
        ending = Ending::Warnings;
    }
    if project.main.booklet.is_some() && !args.by_page && originals.len() > 1 {
        output.line(
            "note: each scan is an ink on every sheet of the booklet; --by-page lays one scan on each page",
        )?;
    }
    Ok(ending)
}

/// Lays an unfolded sheet of a named format on its long side; a fold and a booklet say themselves how it lies,
/// and a size in mm is as it was given.
fn turn(sheet: &mut Sheet) {
    sheet.landscape |= sheet.format.can_turn() && sheet.fold.is_none() && sheet.booklet.is_none();
}

fn name(file: &Path, ink: &Ink, added: &AddedScan) -> String {
    let stem = file_name::stem(file);
    let otherwise = if stem.is_empty() { &ink.name } else { &stem };
    added.layer_name().unwrap_or(otherwise).to_owned()
}

fn refuse_to_replace(args: &NewArgs) -> anyhow::Result<()> {
    if !args.output.exists() {
        return Ok(());
    }
    let same = |scan: &PathBuf| matches!((scan.canonicalize(), args.output.canonicalize()), (Ok(a), Ok(b)) if a == b);
    if args.scans.iter().any(same) {
        bail!("the project would replace one of its scans; choose another name: {}", args.output.display());
    }
    if !args.force {
        bail!("there is a file of this name; say --force to replace it: {}", args.output.display());
    }
    Ok(())
}
