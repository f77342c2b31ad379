//! `slipsheet separate`: a colour picture into plates, as a project.

use std::path::PathBuf;

use anyhow::bail;
use clap::{Args, ValueEnum};
use serde_json::json;
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::separation::{
    DetailShare, InkSum, Intent, Inverse, MOST_INKS, OUT_OF_REACH, Separation, choose,
};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_core::words::percent;
use slipsheet_document::edit::{Edit, NewSource, SheetEdit, apply};
use slipsheet_document::layer::{Placement, Target};
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::file_name;
use slipsheet_files::scan::{PictureOptions, Profile, Progress};
use slipsheet_files::store;

use super::shelf::{self, ShelfArgs};
use super::values::{dpi, lab, number, sheet, whole};
use super::{Ending, Output};

/// Separate a colour picture into plates, one for each ink, as a project
///
/// The picture is laid on the sheet at its own resolution, or so that it fits. The project keeps the picture and how it is
/// separated, and its plates follow the stock, the inks and their order; `slipsheet plates` writes them. The exit code is
/// 1 when a part of the picture is out of the inks' reach.
#[derive(Debug, Args)]
#[command(after_help = "\
An ink or a stock is named as on the shelf, or given as a colour L,a,b (CIE L*a*b* under D50, 2 degree observer).

Example: slipsheet separate gull.jpg --stock \"Cream uncoated\" --ink \"Pool green-blue\" --ink \"Hip-berry red\" -o gull.slipsheet
Example: slipsheet separate gull.jpg --choose 3 -o gull.slipsheet")]
pub(super) struct SeparateArgs {
    /// Picture in colour: PNG, JPEG, TIFF, WebP, BMP, a layer of an .ora file or a page of a PDF
    #[arg(value_name = "PICTURE")]
    picture: PathBuf,
    /// Stock by its name on the shelf, or its colour [default: the first]
    #[arg(long, value_name = "NAME|L,a,b")]
    stock: Option<String>,
    /// Ink by its name on the shelf, or the colour of its solid; repeat in printing order
    #[arg(long = "ink", id = "inks", value_name = "NAME|L,a,b", required_unless_present = "choose")]
    inks: Vec<String>,
    /// Take so many inks of the shelf that print the picture nearest
    #[arg(long, value_name = "N", value_parser = whole::<usize>(1..=4), conflicts_with = "inks")]
    choose: Option<usize>,
    /// Project file to write
    #[arg(short, long, value_name = "PROJECT")]
    output: PathBuf,
    /// Replace a project of that name
    #[arg(long)]
    force: bool,
    /// Format of the sheet by name, or width x height in mm
    #[arg(long, default_value = "letter", value_parser = sheet)]
    sheet: SheetFormat,
    /// What becomes of colours that the inks cannot print
    #[arg(long, value_enum, default_value = "perceptual")]
    intent: IntentArg,
    /// Most that the coverages of a place may add up to, 0.5 to 6
    #[arg(long, value_name = "S", default_value_t = InkSum::default().get(), value_parser = number)]
    ink_sum: f64,
    /// Share of detail that the darkest ink prints alone, 0 to 1, so that it survives slips
    #[arg(long, value_name = "D", default_value_t = 0.0, value_parser = number)]
    detail: f64,
    /// Page of the file, or layer of an .ora file from the bottom, from 1
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole::<u32>(1..=100_000))]
    page: u32,
    /// Resolution of the picture [default: what the file says, or so that it fits the sheet]
    #[arg(long, value_name = "N", value_parser = dpi)]
    dpi: Option<Dpi>,
    #[command(flatten)]
    shelf: ShelfArgs,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
}

/// The intents, in the open standard's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum IntentArg {
    Perceptual,
    RelativeColorimetric,
    Saturation,
}

impl From<IntentArg> for Intent {
    fn from(arg: IntentArg) -> Self {
        match arg {
            IntentArg::Perceptual => Self::Perceptual,
            IntentArg::RelativeColorimetric => Self::RelativeColorimetric,
            IntentArg::Saturation => Self::Saturation,
        }
    }
}

/// The share of a picture that may be out of reach before it is said.
const WORTH_A_WORD: f64 = 0.01;

pub(super) fn run(args: &SeparateArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    if args.output.exists() && !args.force {
        bail!("there is a file of this name; say --force to replace it: {}", args.output.display());
    }
    let same = matches!((args.picture.canonicalize(), args.output.canonicalize()), (Ok(a), Ok(b)) if a == b);
    if same {
        bail!("the project would replace the picture; choose another name: {}", args.output.display());
    }
    let separation = Separation {
        intent: args.intent.into(),
        ink_sum: InkSum::try_from(args.ink_sum)?,
        detail: DetailShare::try_from(args.detail)?,
    };
    let known = args.shelf.known()?;
    let stock = stock(&known, args.stock.as_deref())?;
    let mut project = Project::new(&file_name::stem(&args.output), args.sheet, stock);
    let progress = Progress::new();
    let options = PictureOptions { page: args.page - 1, ..PictureOptions::default() };
    let room = project.main.size();
    let added = store::add_picture(Some(&args.output), &args.picture, &options, (args.dpi, room), &progress)?;
    let raster = &added.picture.raster;
    if raster.width() > raster.height() && project.main.format.can_turn() {
        project.main.landscape = true;
    }
    let inks = match args.choose {
        None => args.inks.iter().map(|name| ink(&known, name)).collect::<anyhow::Result<Vec<_>>>()?,
        Some(count) => {
            let all: Vec<&Ink> = known.inks.iter().collect();
            let stocks = [&project.main.stock];
            let best = choose(raster, (&stocks, &all), &known.overprints, (count, 1), &|| false)?;
            let best = best.first().map(|chosen| chosen.inks.as_slice()).unwrap_or_default();
            best.iter().filter_map(|i| known.inks.get(*i).cloned()).collect()
        }
    };
    if inks.len() > MOST_INKS {
        bail!("a picture is separated into {MOST_INKS} inks at most, not {}", inks.len());
    }
    let (target, placement, crop) = (Target::Sheet, Placement::default(), None);
    let new = NewSource { picture: added.scan, target, placement, crop, inks, separation };
    let sheet = project.main.id;
    apply(&mut project, Edit::Sheet(sheet, SheetEdit::AddSource(Box::new(new))), &known)?;
    let Some(source) = project.main.sources.first() else { bail!("the picture has no plates") };
    let recipe = project.main.recipe(source, &project.overprints);
    let inks: Vec<&Ink> = recipe.inks.iter().collect();
    let inverse = Inverse::of(&recipe.stock, &inks, &recipe.overprints, Some(separation.ink_sum.get()))?;
    let Some(made) = separation.plates(raster, recipe.px_per_mm, &inverse, &|| false) else {
        bail!("the separation was stopped");
    };
    store::save(&project, &args.output)?;
    let names: Vec<&str> = inks.iter().map(|ink| ink.name.as_str()).collect();
    if args.json {
        output.json(&json!({
            "inks": names, "stock": recipe.stock.name, "intent": separation.intent.name(),
            "mean_ciede2000": made.mean_difference, "out_of_reach": made.out_of_reach,
            "profile": added.picture.profile.words(), "dpi": source.picture.dpi.get(),
        }))?;
    } else {
        output.line(format_args!(
            "{} on {}, {}",
            names.join(", "),
            recipe.stock.name,
            separation.intent.name()
        ))?;
        output.line(format_args!(
            "differs by {:.1} CIEDE2000 on the mean from the picture with its white as paper",
            made.mean_difference
        ))?;
        if made.out_of_reach > 0.0 {
            output.line(format_args!(
                "{} of it is out of reach: more than {OUT_OF_REACH:.0} from what these inks could hold",
                percent(made.out_of_reach)
            ))?;
        }
        output.line(format_args!("colours: {}", added.picture.profile.words()))?;
    }
    if added.picture.profile == Profile::Unusable {
        output.problem(format_args!("{}: {}", added.picture.profile.words(), args.picture.display()));
    }
    let far = made.out_of_reach > WORTH_A_WORD || added.picture.profile == Profile::Unusable;
    Ok(if far { Ending::Warnings } else { Ending::Fine })
}

fn stock(shelf: &Shelf, name: Option<&str>) -> anyhow::Result<Stock> {
    match name {
        None => shelf.stocks.first().cloned().ok_or_else(|| anyhow::anyhow!("the shelf has no stock")),
        Some(text) => match lab(text) {
            Ok(lab) => Ok(Stock::new(text, Swatch::Estimated { lab })),
            Err(_) => shelf::stock(shelf, text),
        },
    }
}

fn ink(shelf: &Shelf, name: &str) -> anyhow::Result<Ink> {
    match lab(name) {
        Ok(solid) => Ok(Ink { on: Lab::WHITE, ..Ink::estimated(name, solid) }),
        Err(_) => shelf::ink(shelf, name),
    }
}
