//! `slipsheet proof`: what should come off the press, as a PNG.

use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::Args;
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_files::proof::{self, ProofOptions};
use slipsheet_files::proof_series;
use slipsheet_files::scan::Progress;
use slipsheet_files::store::{self, Originals};
use slipsheet_paper::booklet::MAX_PAGES;
use slipsheet_paper::fold::Face;

use super::open::{images, open};
use super::values::{LayerSlip, MOST_SHEETS, dpi, ends_in, layer_slip, whole};
use super::{Ending, Output};

/// Draw a proof: one face of the sheet, or one page, as a PNG
///
/// The slips saved with the project are shown; --slip replaces them layer by layer, and the project itself is
/// never changed.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: slipsheet proof walk.slipsheet -o walk.png --dpi 600 --slip 2=0.4,-0.2 --guides"
)]
pub(super) struct ProofArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// PNG file to write, or with --all-editions a folder; what has that name is replaced
    #[arg(short, long, value_name = "PNG")]
    output: PathBuf,
    /// Resolution, 10 to 9600
    #[arg(long, value_name = "N", value_parser = dpi, default_value = "300")]
    dpi: Dpi,
    /// Shift of a layer in mm, right and down, and twist in degrees clockwise; layers count from 1 in printing order
    #[arg(long = "slip", id = "slips", value_name = "N=dx,dy[,deg]", value_parser = layer_slip)]
    slips: Vec<LayerSlip>,
    /// One page, standing upright
    #[arg(long, value_name = "N", value_parser = whole::<u32>(1..=u64::from(MAX_PAGES)), conflicts_with = "back")]
    page: Option<u32>,
    /// Sheet of a booklet, from 1
    #[arg(long, value_name = "N", default_value = "1", value_parser = whole::<usize>(1..=MOST_SHEETS), conflicts_with = "page")]
    sheet: usize,
    /// The back in place of the front
    #[arg(long)]
    back: bool,
    /// An edition of the project, by its name
    #[arg(long, value_name = "NAME")]
    edition: Option<String>,
    /// A proof of every edition, each named after it, into the folder -o
    #[arg(long, conflicts_with = "edition")]
    all_editions: bool,
    /// The wrap's sheet in place of the booklet's
    #[arg(long, conflicts_with = "page")]
    wrap: bool,
    /// Show every layer without its slip
    #[arg(long, conflicts_with = "slips")]
    perfect: bool,
    /// Creases, slits and trimmed edges over the print
    #[arg(long)]
    guides: bool,
    /// What shows through from the other face, by an estimate from the stock's weight
    #[arg(long)]
    show_through: bool,
    /// Without registration marks
    #[arg(long)]
    no_marks: bool,
    /// Without title, inks and overprints
    #[arg(long)]
    no_legend: bool,
}

pub(super) fn run(args: &ProofArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut opened = open(&args.project)?;
    store::refuse_to_replace(&args.output, Some(&args.project), &opened.project)?;
    if !args.all_editions {
        ends_in(&args.output, "a proof", "PNG")?;
    }
    if args.wrap {
        let wrap = opened.project.wrap_printing();
        opened.printing = wrap.context("the project has no wrap; make one with slipsheet wrap --keep, or in the window under Edit, Wrap…")?;
    }
    set_slips(&mut opened.printing, &args.slips)?;
    let printing = with_edition(&opened.printing, args.edition.as_deref())?;
    let ending = opened.scans_fit(output)?;
    let options = ProofOptions {
        dpi: args.dpi,
        page: args.page,
        face: if args.back { Face::Back } else { Face::Front },
        sheet: args.sheet - 1,
        perfect: args.perfect,
        fold_guides: args.guides,
        trim_guides: args.guides,
        marks: !args.no_marks,
        legend: !args.no_legend,
        show_through: args.show_through,
    };
    let images = images(&opened.scans);
    if args.all_editions {
        let originals = Originals::of(&opened.project, Some(&args.project));
        let (folder, progress) = (&args.output, Progress::new());
        for file in proof_series::write(&printing, &images, &options, folder, &originals, &progress)? {
            output.line(file.display())?;
        }
    } else {
        proof::write(&printing, &images, &options, &args.output, &Progress::new())?;
    }
    Ok(ending)
}

/// The project as one of its editions prints it, or as it is.
pub(super) fn with_edition(printing: &Printing, name: Option<&str>) -> anyhow::Result<Printing> {
    let Some(name) = name else { return Ok(printing.clone()) };
    let names: Vec<&str> = printing.sheet.editions.iter().map(|e| e.name.as_str()).collect();
    match printing.sheet.editions.iter().find(|e| e.name.eq_ignore_ascii_case(name)) {
        Some(edition) => Ok(printing.in_edition(edition)),
        None if names.is_empty() => {
            bail!("there is no edition “{name}”: the project has none; leave --edition out")
        }
        None => bail!("there is no edition “{name}”; the project has {}", names.join(", ")),
    }
}

fn set_slips(printing: &mut Printing, slips: &[LayerSlip]) -> anyhow::Result<()> {
    let layers = printing.sheet.layers.len();
    for (i, wanted) in slips.iter().enumerate() {
        if slips.iter().skip(i + 1).any(|s| s.layer == wanted.layer) {
            bail!("layer {} has two slips; give each layer one --slip", wanted.layer);
        }
        let Some(layer) = printing.sheet.layers.get_mut(wanted.layer - 1) else {
            bail!("there is no layer {}; the project has {layers}, counted from 1", wanted.layer);
        };
        layer.slip = wanted.slip;
    }
    Ok(())
}
