//! `slipsheet dummy`: the folded thing as a picture, or turning as an animated one.

use std::ops::RangeInclusive;
use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use slipsheet_document::printing::Printing;
use slipsheet_files::dummy_picture::{self, DummyShot};
use slipsheet_files::scan::Progress;
use slipsheet_files::store;
use slipsheet_paper::booklet::MAX_PAGES;
use slipsheet_render::dummy;

use super::open::{images, open};
use super::proof::with_edition;
use super::values::{ends_in, share, whole};
use super::{Ending, Output};

/// Picture the dummy: the folded piece, closed or open, as a PNG
///
/// With --turn-around it turns once about its vertical axis, as an animated PNG that browsers play.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet dummy walk.slipsheet -o dummy.png --open 3\n\
                        Example: slipsheet dummy walk.slipsheet -o round.png --turn-around 36 --size 640x480")]
pub(super) struct DummyArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// PNG file to write; one of that name is replaced
    #[arg(short, long, value_name = "PNG")]
    output: PathBuf,
    /// Opened where this page lies, with the page beside it
    #[arg(long, value_name = "PAGE", value_parser = whole::<u32>(1..=u64::from(MAX_PAGES)))]
    open: Option<u32>,
    /// How far the sheet is folded: 0 flat, 1 folded
    #[arg(long, value_name = "SHARE", value_parser = share, conflicts_with = "open")]
    fold: Option<f64>,
    /// Width and height in pixels; 1200x900, or 640x480 for a turn-around
    #[arg(long, value_name = "WxH", value_parser = size)]
    size: Option<(u32, u32)>,
    /// A whole turn in this many frames, 2 to 360
    #[arg(long, value_name = "FRAMES", value_parser = whole::<u32>(frames()))]
    turn_around: Option<u32>,
    /// Turn to the side, degrees
    #[arg(long, value_name = "DEG", value_parser = degrees, default_value = "-18")]
    yaw: f64,
    /// Tilt, degrees; more looks down on it
    #[arg(long, value_name = "DEG", value_parser = degrees, default_value = "12")]
    pitch: f64,
    /// Show every layer without its slip
    #[arg(long)]
    perfect: bool,
    /// An edition of the project, by its name
    #[arg(long, value_name = "NAME")]
    edition: Option<String>,
}

pub(super) fn run(args: &DummyArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let opened = open(&args.project)?;
    store::refuse_to_replace(&args.output, Some(&args.project), &opened.project)?;
    ends_in(&args.output, "a picture of the dummy", "PNG")?;
    let ending = opened.scans_fit(output)?;
    let printing = with_edition(&opened.printing, args.edition.as_deref())?;
    let (width, height) =
        args.size.unwrap_or(if args.turn_around.is_some() { (640, 480) } else { (1200, 900) });
    let shot = DummyShot {
        width,
        height,
        fold: args.fold.unwrap_or(1.0),
        open: args.open.map_or(Ok(0.0), |page| opening(&printing, page))?,
        yaw: args.yaw,
        pitch: args.pitch,
        turn_around: args.turn_around,
        perfect: args.perfect,
        ..DummyShot::default()
    };
    dummy_picture::write(&printing, &images(&opened.scans), &shot, &args.output, &Progress::new())?;
    Ok(ending)
}

fn opening(printing: &Printing, page: u32) -> anyhow::Result<f64> {
    if printing.sheet.pages() == 0 {
        bail!("this sheet is not folded, so it has no pages to open; leave --open out");
    }
    match dummy::opening_of_page(&printing.sheet.construction(), page) {
        Some(opening) => Ok(opening as f64),
        None if printing.sheet.booklet.is_some() => {
            bail!("there is no page {page}; the booklet has pages 1 to {}", printing.sheet.pages())
        }
        None => bail!("there is no page {page}; the fold has pages 1 to {}", printing.sheet.pages()),
    }
}

fn size(text: &str) -> Result<(u32, u32), String> {
    let read = |side: &str| side.trim().parse::<u32>().ok();
    text.split_once(['x', '×'])
        .and_then(|(w, h)| Some((read(w)?, read(h)?)))
        .ok_or_else(|| format!("a size is WIDTHxHEIGHT in pixels, such as 1200x900, not “{text}”"))
}

/// How many pictures a turn-around may have.
fn frames() -> RangeInclusive<u64> {
    u64::from(*dummy_picture::FRAMES.start())..=u64::from(*dummy_picture::FRAMES.end())
}

fn degrees(text: &str) -> Result<f64, String> {
    let v = text.trim().parse::<f64>().ok().filter(|v| v.abs() <= 360.0);
    v.ok_or_else(|| format!("an angle is a number of degrees from -360 to 360, not “{text}”"))
}
