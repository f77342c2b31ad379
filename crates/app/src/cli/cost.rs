//! `slipsheet cost`: what a job costs and how long it takes, by the prices saved with the project.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;
use slipsheet_booking::cost::{Cost, Series, break_even, budget, cost, curve};
use slipsheet_booking::ink_use::ink_use;
use slipsheet_booking::schedule::Step;
use slipsheet_booking::verdict::{Verdict, Whole};
use slipsheet_core::words::count;
use slipsheet_document::terms::JobTerms;
use slipsheet_registration::slip::JobRegister;

use super::accept::AcceptanceArgs;
use super::open::{images, open};
use super::values::whole;
use super::{Ending, Output};

/// Say what a job costs and how long it takes, by the prices saved with the project
///
/// Prices are your own and start at zero; enter them in the Booking view. The exit code is 1 when the booked time
/// is too short.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet cost walk.slipsheet --copies 150 --json")]
pub(super) struct CostArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Copies, in place of the project's
    #[arg(long, value_name = "N", value_parser = whole::<u32>(1..=1_000_000))]
    copies: Option<u32>,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// Share of copies that sell, above 0 to 1, for how many sheets the wanted copies need [default: as a run simulates]
    #[arg(long, value_name = "SHARE", value_parser = share)]
    good: Option<f64>,
    /// Answer with a JSON object
    #[arg(long)]
    json: bool,
}

fn share(text: &str) -> Result<f64, String> {
    text.parse::<f64>()
        .ok()
        .filter(|v| *v > 0.0 && *v <= 1.0)
        .ok_or_else(|| format!("a share is above 0 and at most 1, not “{text}”"))
}

#[derive(Serialize)]
struct Answer<'a> {
    currency: &'a str,
    prices_are_zero: bool,
    /// Of what is on the sheet now, with the copies of the edition that it shows.
    cost: Cost,
    /// Every edition, and all of them together.
    series: &'a Series,
    /// The printing of the wrap, where it has ink.
    wrap: Option<&'a Cost>,
    whole: &'a Verdict,
    break_even_copies: Option<u32>,
    /// The share of copies that sell.
    would_sell: Option<f64>,
    budget_for_good_copies: Cost,
    unit_cost_by_run: Vec<(u32, f64)>,
    slot_minutes: f64,
    machine_minutes: f64,
    hand_minutes: f64,
    warning: Option<String>,
    schedule: &'a [Step],
}

/// Run lengths of the curve.
const RUNS: [u32; 9] = [10, 25, 50, 75, 100, 150, 200, 300, 500];

pub(super) fn run(args: &CostArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut opened = open(&args.project)?;
    if let Some(copies) = args.copies {
        let job = &opened.project.job;
        opened.project.job.overs = job.overs_for(copies);
        opened.project.job.copies = copies;
    }
    opened.accept(args.acceptance.over(opened.project.acceptance));
    let (images, all) = (images(&opened.scans), opened.project.main_printing());
    let simulated = || {
        let whole = opened.scans.iter().all(|(_, scan)| scan.is_ok());
        let register = if whole { JobRegister::of(&all, &images).ok() } else { None };
        Some(register?.sold?.sold)
    };
    let sold = if args.good.is_some() { None } else { simulated() };
    let share = args.good.or(sold.map(|sold| sold.share()));
    let Whole { series, wrap, verdict: whole } =
        Whole::of(&opened.project, &mut |part| ink_use(part, &images));
    let printing = &*all.as_shown();
    let inks = ink_use(printing, &images);
    let job = &printing.job;
    let answer = Answer {
        currency: &job.prices.currency,
        prices_are_zero: job.prices.says_nothing(),
        cost: cost(printing, &inks, job.copies),
        break_even_copies: break_even(printing, &inks),
        would_sell: share,
        budget_for_good_copies: budget(printing, &inks, job.wanted(), share),
        unit_cost_by_run: curve(printing, &inks, &RUNS),
        slot_minutes: whole.slot_minutes,
        machine_minutes: series.schedule.machine_minutes,
        hand_minutes: series.schedule.hand_minutes,
        warning: whole.warning.clone(),
        schedule: &series.schedule.steps,
        series: &series,
        wrap: wrap.as_ref(),
        whole: &whole,
    };
    if args.json {
        output.json(&answer)?;
    } else {
        let hundred =
            sold.map(|sold| sold.of_hundred()).or(args.good.map(|share| (share * 100.0).round() as usize));
        say(&answer, job, hundred, output)?;
    }
    Ok(if answer.warning.is_some() { Ending::Warnings } else { Ending::Fine })
}

fn say(
    answer: &Answer<'_>,
    job: &JobTerms,
    hundred: Option<usize>,
    output: &mut Output<'_>,
) -> anyhow::Result<()> {
    let amount = |v: f64| job.prices.amount(v);
    if answer.prices_are_zero {
        output.line("all prices are zero: enter your shop's in the Booking view")?;
    }
    let several = answer.series.is_several();
    for edition in &answer.series.editions {
        if several {
            output.line(format_args!("{}, on {}", edition.name, edition.stock))?;
        }
        lines_of(&edition.cost, job, output)?;
        if several {
            output.line("")?;
        }
    }
    if let Some(wrap) = answer.wrap {
        output.line("The wrap's printing")?;
        lines_of(wrap, job, output)?;
    }
    let whole = answer.whole;
    if several || answer.wrap.is_some() {
        let copies = format!("{}, {}", count(whole.copies, "copy"), count(whole.sheets, "sheet"));
        output.line(format_args!("{:<14} {copies:<34} {:>12}", "All together", amount(whole.total)))?;
    }
    if several {
        output.line(answer.series.order.instruction())?;
    }
    if let Some(each) = whole.per_copy {
        output.line(format_args!("{:<49} {:>12}", "A copy", amount(each)))?;
    }
    if let Some(hundred) = hundred.filter(|_| job.wanted() > 0) {
        output.line(format_args!("{hundred} of 100 copies would sell"))?;
        let budget = &answer.budget_for_good_copies;
        let sheets = format!("{}, {}", count(job.wanted(), "good copy"), count(budget.sheets, "sheet"));
        output.line(format_args!("{:<14} {:<34} {:>12}", "Budget", sheets, amount(budget.total)))?;
    }
    let selling = job.selling_price.get();
    match answer.break_even_copies {
        // How many of which edition would have to be sold, nobody can say.
        _ if several && selling > 0.0 => {
            let sold = selling * f64::from(whole.copies);
            let (left, than) = (sold - whole.total, amount((sold - whole.total).abs()));
            let than = if left < 0.0 { format!("{than} less") } else { format!("{than} more") };
            output
                .line(format_args!("sold at {} all copies bring {than} than they cost", amount(selling)))?;
        }
        Some(n) => {
            output.line(format_args!("breaks even at {} sold at {}", count(n, "copy"), amount(selling)))?
        }
        None if selling > 0.0 => output.line("never breaks even at its selling price")?,
        None => {}
    }
    output.line(format_args!(
        "at the machine {:.0} min, by hand {:.0} min",
        answer.slot_minutes, answer.hand_minutes
    ))?;
    if let Some(warning) = &answer.warning {
        output.line(format_args!("warning: {warning}"))?;
    }
    Ok(())
}

/// A bill line by line, and its sum.
fn lines_of(cost: &Cost, job: &JobTerms, output: &mut Output<'_>) -> anyhow::Result<()> {
    let amount = |v: f64| job.prices.amount(v);
    for line in &cost.lines {
        output.line(format_args!("{:<14} {:<34} {:>12}", line.kind.name(), line.how, amount(line.amount)))?;
    }
    let copies = format!("{}, {}", count(cost.copies, "copy"), count(cost.sheets, "sheet"));
    output.line(format_args!("{:<14} {copies:<34} {:>12}", "Total", amount(cost.total)))?;
    Ok(())
}
