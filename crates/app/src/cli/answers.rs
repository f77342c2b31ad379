//! `slipsheet answers`: passes and remedies together, so that as many copies would sell as are wanted.

use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use serde_json::{Value, json};
use slipsheet_core::words::{count, percent};
use slipsheet_document::edit::{Edit, SheetEdit, apply};
use slipsheet_document::printing::Printing;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::store;
use slipsheet_paper::fold::Face;
use slipsheet_registration::propose::{Outcome, Proposal, Proposals, ProposeOptions, propose};
use slipsheet_registration::slip::job::seed_of;

use super::accept::{AcceptanceArgs, accepted, accepted_json};
use super::open::{images, one_sheet, open};
use super::values::{MOST_SHEETS, share, whole};
use super::{Ending, Output};

/// Propose passes and remedies so that more copies would sell, and apply one
///
/// Every proposal says what is done, how many of 1,000 simulated copies would sell with it, how many to print, how long
/// that takes and how much the colours change. The smallest change that reaches the wanted share comes first. Type,
/// hairlines and dust are never fattened. The exit code is 1 when no proposal reaches the wanted share.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: slipsheet answers walk.slipsheet
Example: slipsheet answers walk.slipsheet --wanted-share 0.95 --apply 1 -o better.slipsheet")]
pub(super) struct AnswersArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Share of copies that should sell, 0 to 1
    #[arg(long, value_name = "SHARE", value_parser = share, default_value = "0.9")]
    wanted_share: f64,
    /// Copies to be sold, to say how many to print [default: the job's copies]
    #[arg(long, value_name = "N", value_parser = whole::<u64>(1..=100_000))]
    wanted: Option<u64>,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// Proposal to apply, from 1
    #[arg(long, value_name = "N", value_parser = whole::<usize>(1..=9), requires = "output")]
    apply: Option<usize>,
    /// Project file with the proposal applied; one of that name is replaced
    #[arg(short, long, value_name = "PROJECT", requires = "apply")]
    output: Option<PathBuf>,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
    /// The back in place of the front
    #[arg(long)]
    back: bool,
    /// Sheet of a booklet, from 1
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole::<usize>(1..=MOST_SHEETS))]
    sheet: usize,
}

pub(super) fn run(args: &AnswersArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut opened = open(&args.project)?;
    let fits = opened.scans_fit(output)?;
    if let Some(path) = &args.output {
        store::refuse_to_replace(path, None, &opened.project)?;
    }
    let kept = opened.project.acceptance;
    opened.accept(args.acceptance.over(kept));
    let printing = one_sheet(&opened.printing, args.sheet)?;
    let face = if args.back { Face::Back } else { Face::Front };
    let mut options = ProposeOptions::of(&printing, face);
    (options.wanted_share, options.seed) = (args.wanted_share, seed_of(args.sheet - 1));
    options.weights.wanted = args.wanted.unwrap_or(options.weights.wanted);
    let found = propose(&printing, &images(&opened.scans), &options, &|| false)?;
    let chosen = match args.apply {
        Some(n) => Some(chosen(&found, n)?),
        None => None,
    };
    if args.json {
        output.json(&as_json(&printing, &found))?;
    } else {
        say(&printing, &found, options.weights.wanted, output)?;
    }
    if let (Some(proposal), Some(path)) = (chosen, &args.output) {
        opened.project.acceptance = kept;
        let edit = SheetEdit::Answer(proposal.answer.clone());
        let sheet = opened.project.main.id;
        apply(&mut opened.project, Edit::Sheet(sheet, edit), &Shelf::default())?;
        store::save(&opened.project, path)?;
    }
    let reached = found.is_enough() || found.list.iter().any(|p| p.reaches);
    Ok(if reached { fits } else { Ending::Warnings })
}

fn chosen(found: &Proposals, n: usize) -> anyhow::Result<&Proposal> {
    if let Some(proposal) = found.list.get(n - 1) {
        return Ok(proposal);
    }
    match found.list.len() {
        0 if found.is_enough() => bail!("the design sells enough as it is; there is nothing to apply"),
        0 => bail!("nothing that was tried helps; there is nothing to apply"),
        some => bail!("there is no proposal {n}: name one from 1 to {some}"),
    }
}

fn say(printing: &Printing, found: &Proposals, wanted: u64, output: &mut Output<'_>) -> anyhow::Result<()> {
    output.line(format_args!("would sell: {}", accepted(&printing.acceptance)))?;
    output.line(format_args!("now: {}", outcome(&found.now, wanted)))?;
    if found.is_enough() {
        return Ok(output.line("the design sells enough as it is; there is nothing to do")?);
    }
    if found.list.is_empty() {
        return Ok(output.line(
            "nothing that was tried helps: print less of the inks that meet, or accept a wider gap",
        )?);
    }
    for (i, proposal) in found.list.iter().enumerate() {
        output.line("")?;
        output.line(format_args!("{}. {}", i + 1, proposal.title))?;
        let short = if proposal.reaches { "" } else { " (fewer than wanted)" };
        output.line(format_args!("   {}{short}", outcome(&proposal.outcome, wanted)))?;
        output.line(format_args!(
            "   mean colour change over the sheet {:.2} (CIEDE2000)",
            proposal.change.colour
        ))?;
        if let Some(at) = proposal.places.first() {
            output.line(format_args!("   look at {:.0}, {:.0} mm", at.x, at.y))?;
        }
    }
    Ok(())
}

fn outcome(outcome: &Outcome, wanted: u64) -> String {
    let passes = count(outcome.passes as u64, "pass");
    let sold = percent(outcome.sold.share());
    match (outcome.copies, outcome.minutes) {
        (Some(copies), Some(minutes)) => {
            format!(
                "{sold} of copies would sell; print {copies} for {wanted}; {passes}, about {minutes:.0} min"
            )
        }
        (Some(_), None) | (None, _) => {
            format!("{sold} of copies would sell, too few to say how many to print; {passes}")
        }
    }
}

fn as_json(printing: &Printing, found: &Proposals) -> Value {
    let of = |o: &Outcome| {
        json!({
            "share": o.sold.share(), "sold": o.sold.sold, "copies": o.sold.copies, "to_print": o.copies,
            "passes": o.passes, "minutes": o.minutes,
        })
    };
    let place = |id| printing.sheet.position(id).map(|at| at + 1);
    let name = |id| printing.sheet.layer(id).map(|l| l.name.as_str());
    let proposal = |p: &Proposal| {
        let remedies: Vec<Value> = p
            .answer
            .remedies
            .iter()
            .map(|(id, remedy)| json!({"layer": place(*id), "remedy": remedy.words(name)}))
            .collect();
        let passes = p.answer.passes.as_ref().map(|passes| -> Vec<Vec<Option<usize>>> {
            passes.iter().map(|pass| pass.iter().map(|id| place(*id)).collect()).collect()
        });
        let places: Vec<[f64; 2]> = p.places.iter().map(|at| [at.x, at.y]).collect();
        json!({
            "title": p.title, "reaches": p.reaches, "outcome": of(&p.outcome), "passes": passes,
            "remedies": remedies, "width_mm": p.change.width, "colour_ciede2000": p.change.colour,
            "places_mm": places,
        })
    };
    json!({
        "accepted": accepted_json(&printing.acceptance), "wanted_share": found.wanted_share,
        "now": of(&found.now), "enough": found.is_enough(),
        "proposals": found.list.iter().map(proposal).collect::<Vec<_>>(),
    })
}
