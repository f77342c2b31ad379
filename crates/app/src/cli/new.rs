//! `slipsheet new`: a project from scans, one layer each.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context as _, bail};
use clap::Args;
use slipsheet_core::booklet::{Booklet, MAX_PAGES};
use slipsheet_core::fold::{Face, Scheme};
use slipsheet_core::ink::Ink;
use slipsheet_core::layer::{Art, Layer, Target};
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::preflight;
use slipsheet_core::project::{Images, Project};
use slipsheet_core::shelf::Shelf;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_files::scan::{self, Progress, ScanFormat, ScanOptions};
use slipsheet_files::store::{self, AddedScan};

use super::shelf::{ShelfArgs, fold, ink, stock};
use super::values::{dpi, sheet, whole};
use super::{Ending, Output};

/// Make a project from scans: one layer each, in printing order
///
/// In a fold that is printed on both faces the first half of the scans is for the front and the second for the
/// back, in the same inks; --front-only puts all of them on the front. Each layer of an .ora file counts as a
/// scan, the bottom one first; of a PDF the first page is taken.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: slipsheet new --sheet letter --fold slit8 -o walk.slipsheet --ink \"Pool green-blue\" --ink Rosehip sea.png weed.png")]
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
    /// Resolution of the scans [default: what the files say, and 600 for PDF]
    #[arg(long, value_name = "N", value_parser = dpi)]
    dpi: Option<Dpi>,
    /// Resolution at which PDF pages are read, 150 to 1200 [default: --dpi, or 600]
    #[arg(long, value_name = "N", value_parser = pdf_dpi)]
    pdf_dpi: Option<Dpi>,
    /// All scans on the front, whatever the fold
    #[arg(long)]
    front_only: bool,
    /// Replace a project of that name
    #[arg(long)]
    force: bool,
    /// Scans, first printed first
    #[arg(value_name = "SCAN", required = true)]
    scans: Vec<PathBuf>,
}

/// Inks that tell layers apart when none are named, for one ink and for more.
const ONE_INK: [&str; 1] = ["Bottled-ink blue"];
const MORE_INKS: [&str; MAX_INKS] = [
    "Pool green-blue",
    "Rosehip",
    "Bottled-ink blue",
    "Egg yolk",
    "Meadow green",
    "Beetroot",
    "Sweet-pea pink",
    "Chestnut",
];

fn pdf_dpi(text: &str) -> Result<Dpi, String> {
    let within = dpi(text)?;
    if (150.0..=1200.0).contains(&within.get()) {
        Ok(within)
    } else {
        Err("a PDF is read at 150 to 1200 dpi".to_owned())
    }
}

/// The arguments, checked against the shelf and one another.
struct Plan {
    project: Project,
    /// Each scan with its page, ink and face.
    layers: Vec<(PathBuf, u32, Ink, Face)>,
}

pub(super) fn run(args: &NewArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    refuse_to_replace(args)?;
    let Plan { mut project, layers } = plan(args)?;
    let (mut ending, mut images) = (Ending::Fine, Images::default());
    for (file, page, ink, face) in layers {
        let options = ScanOptions { page, resolution: args.pdf_dpi.or(args.dpi), ..ScanOptions::default() };
        let added = store::add_scan(Some(&args.output), &file, &options, args.dpi, &Progress::new())?;
        for notice in &added.notices {
            output.problem(format_args!("{notice}: {}", file.display()));
        }
        if !added.had_resolution {
            output
                .problem(format_args!("300 dpi was assumed; say --dpi if that is wrong: {}", file.display()));
            ending = Ending::Warnings;
        }
        images.insert(added.scan.key.clone(), Arc::clone(&added.pixels));
        project.layers.push(layer(&file, ink, face, added));
    }
    store::save(&project, &args.output)?;
    // What shows at once whether the originals are of this sheet.
    for finding in preflight::not_lined_up(&project, &images) {
        output.problem(format_args!("{}; line it up in the window, or see --sheet", finding.sentence));
        ending = Ending::Warnings;
    }
    Ok(ending)
}

fn layer(file: &Path, ink: Ink, face: Face, added: AddedScan) -> Layer {
    let stem = || file.file_stem().map_or_else(|| ink.name.clone(), |s| s.to_string_lossy().into_owned());
    let name = added.layer_name().map_or_else(stem, str::to_owned);
    let art = Art::new(added.scan, Target::Sheet);
    Layer { face, art: vec![art], ..Layer::new(name, ink) }
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

fn plan(args: &NewArgs) -> anyhow::Result<Plan> {
    let shelf = args.shelf.known()?;
    let scheme = fold(&shelf, &args.fold)?;
    let both = !args.front_only && scheme.as_ref().is_some_and(Scheme::two_sided);
    let originals: Vec<(&Path, u32)> = args.scans.iter().flat_map(|f| originals(f)).collect();
    let scans = originals.len();
    if both && !scans.is_multiple_of(2) {
        bail!(
            "this fold is printed on both faces: give as many scans for the back as for the front, or say --front-only"
        );
    }
    let a_face = if both { scans / 2 } else { scans };
    if a_face > MAX_INKS {
        bail!("{a_face} scans on one face are more than the {MAX_INKS} inks that it can have; give fewer");
    }
    let inks = inks(&shelf, &args.inks, a_face)?;
    let stem = args.output.file_stem().map(|s| s.to_string_lossy().into_owned());
    let title = args.title.clone().or(stem).unwrap_or_default();
    let paper = match &args.stock {
        Some(name) => stock(&shelf, name)?,
        None => shelf.stocks.first().cloned().context("the shelf has no stock")?,
    };
    let mut project = Project::new(&title, args.sheet, paper);
    project.fold = scheme;
    project.booklet = args.booklet.map(|pages| Booklet { pages, ..Booklet::default() });
    let face = |i| if i < a_face { Face::Front } else { Face::Back };
    let layers = originals.into_iter().zip(inks.into_iter().cycle()).enumerate();
    let layers = layers.map(|(i, ((file, page), ink))| (file.to_owned(), page, ink, face(i))).collect();
    Ok(Plan { project, layers })
}

/// A file with each of its pages that becomes a layer. What cannot be read is said when it is taken in.
fn originals(file: &Path) -> impl Iterator<Item = (&Path, u32)> {
    let layered = scan::probe(file).ok().filter(|info| info.format == ScanFormat::OpenRaster);
    (0..layered.map_or(1, |info| info.pages)).map(move |page| (file, page))
}

fn inks(shelf: &Shelf, named: &[String], wanted: usize) -> anyhow::Result<Vec<Ink>> {
    if !named.is_empty() && named.len() != wanted {
        bail!("give one ink for each scan of a face: {wanted}, not {}", named.len());
    }
    let default: &[&str] = if wanted == 1 { &ONE_INK } else { &MORE_INKS };
    let names: Vec<&str> =
        if named.is_empty() { default.to_vec() } else { named.iter().map(String::as_str).collect() };
    names.into_iter().take(wanted).map(|name| ink(shelf, name)).collect()
}
