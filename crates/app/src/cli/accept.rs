//! `slipsheet accept`, and the flags of the commands that judge copies: what would still be sold.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};
use slipsheet_document::acceptance::{Acceptance, ColourLimit, EdgeShare, GapMm, Start};
use slipsheet_files::store;

use super::values::{number, share};
use super::{Ending, Output};

/// What would still be sold, in place of what the project accepts.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct AcceptanceArgs {
    /// Widest gap that may show on a copy that sells, in mm, or close (0.15), easy (0.5) or loose (1.0) [default: the project's]
    #[arg(long, value_name = "MM", value_parser = gap)]
    gap: Option<GapMm>,
    /// Share of the edges of any two inks that may open wider, 0 to 1 [default: the project's]
    #[arg(long, value_name = "SHARE", value_parser = edge_share)]
    share: Option<EdgeShare>,
    /// Colour difference (CIEDE2000) that 95 % of the sheet must stay below, or any [default: the project's]
    #[arg(long, value_name = "DE", value_parser = colour)]
    colour: Option<Colour>,
}

/// Whether colour counts, and how much.
#[derive(Debug, Clone, Copy)]
struct Colour(Option<ColourLimit>);

fn gap(text: &str) -> Result<GapMm, String> {
    if let Some(start) = Start::ALL.into_iter().find(|s| s.name().eq_ignore_ascii_case(text.trim())) {
        return Ok(start.gap());
    }
    let wrong = || format!("a gap is a number of mm from 0.01 to 10, or close, easy or loose, not “{text}”");
    GapMm::try_from(number(text).map_err(|_e| wrong())?).map_err(|_e| wrong())
}

fn edge_share(text: &str) -> Result<EdgeShare, String> {
    share(text).map(EdgeShare::new)
}

fn colour(text: &str) -> Result<Colour, String> {
    if text.trim().eq_ignore_ascii_case("any") {
        return Ok(Colour(None));
    }
    let wrong = || format!("a colour difference is a number from 0.1 to 100, or any, not “{text}”");
    let limit = ColourLimit::try_from(number(text).map_err(|_e| wrong())?).map_err(|_e| wrong())?;
    Ok(Colour(Some(limit)))
}

impl AcceptanceArgs {
    fn is_given(&self) -> bool {
        self.gap.is_some() || self.share.is_some() || self.colour.is_some()
    }

    /// What the project accepts, with what was given in its place.
    pub(super) fn over(&self, project: Acceptance) -> Acceptance {
        Acceptance {
            gap: self.gap.unwrap_or(project.gap),
            share: self.share.unwrap_or(project.share),
            colour: self.colour.map_or(project.colour, |c| c.0),
        }
    }
}

/// An acceptance in a sentence's middle.
pub(super) fn accepted(a: &Acceptance) -> String {
    let colour = match a.colour {
        Some(limit) => format!(", and a colour difference below {} on 95 % of the sheet", limit.get()),
        None => String::new(),
    };
    let start = a.start().map_or(String::new(), |s| format!(" ({})", s.name()));
    format!("gaps to {} mm{start}, {:.0} % of the edges wider{colour}", a.gap.get(), a.share.get() * 100.0)
}

/// An acceptance as scripts read it.
pub(super) fn accepted_json(a: &Acceptance) -> Value {
    json!({"gap_mm": a.gap.get(), "share": a.share.get(), "colour_ciede2000": a.colour.map(ColourLimit::get)})
}

/// Say or change what would still be sold
///
/// The widest gap that may show, the share of the edges that may open wider, and whether colour counts are kept with the
/// project; study, run, check, cost, ticket and pack read them.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: slipsheet accept walk.slipsheet --gap 0.7
Example: slipsheet accept walk.slipsheet --gap easy --share 0.1 --colour any")]
pub(super) struct AcceptArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &AcceptArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let (mut project, read) = store::load_marked(&args.project)?;
    let now = args.acceptance.over(project.acceptance);
    if args.acceptance.is_given() && now != project.acceptance {
        project.acceptance = now;
        store::save_over(&project, &args.project, &read)?;
    }
    if args.json {
        output.json(&accepted_json(&now))?;
    } else {
        output.line(format_args!("would sell: {}", accepted(&now)))?;
    }
    Ok(Ending::Fine)
}
