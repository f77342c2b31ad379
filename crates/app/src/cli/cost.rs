//! `slipsheet cost`: what a job costs and how long it takes, by the prices saved with the project.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;
use slipsheet_booking::cost::{Cost, break_even, budget, cost, curve};
use slipsheet_booking::ink_use::ink_use;
use slipsheet_booking::schedule::{Schedule, Step};
use slipsheet_core::words::count;

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
    /// Share of good copies from a simulated run, above 0 to 1: how many sheets the wanted copies need
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
    cost: Cost,
    break_even_copies: Option<u32>,
    budget_for_good_copies: Cost,
    unit_cost_by_run: Vec<(u32, f64)>,
    slot_minutes: f64,
    machine_minutes: f64,
    hand_minutes: f64,
    warning: Option<String>,
    schedule: Vec<Step>,
}

/// Run lengths of the curve.
const RUNS: [u32; 9] = [10, 25, 50, 75, 100, 150, 200, 300, 500];

pub(super) fn run(args: &CostArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut opened = open(&args.project)?;
    let printing = &mut opened.printing;
    if let Some(copies) = args.copies {
        printing.job.overs = printing.job.overs_for(copies);
        printing.job.copies = copies;
    }
    let inks = ink_use(printing, &images(&opened.scans));
    let job = &printing.job;
    let schedule = Schedule::new(printing);
    let answer = Answer {
        currency: &job.prices.currency,
        prices_are_zero: job.prices.says_nothing(),
        cost: cost(printing, &inks, job.copies),
        break_even_copies: break_even(printing, &inks),
        budget_for_good_copies: budget(printing, &inks, job.wanted(), args.good),
        unit_cost_by_run: curve(printing, &inks, &RUNS),
        slot_minutes: schedule.slot_minutes,
        machine_minutes: schedule.machine_minutes,
        hand_minutes: schedule.hand_minutes,
        warning: schedule.warning.clone(),
        schedule: schedule.steps,
    };
    let ending = if answer.warning.is_some() { Ending::Warnings } else { Ending::Fine };
    if args.json {
        output.json(&answer)?;
        return Ok(ending);
    }
    let amount = |v: f64| job.prices.amount(v);
    if answer.prices_are_zero {
        output.line("all prices are zero: enter your shop's in the Booking view")?;
    }
    for line in &answer.cost.lines {
        output.line(format_args!("{:<14} {:<34} {:>12}", line.kind.name(), line.how, amount(line.amount)))?;
    }
    let copies = format!("{}, {}", count(answer.cost.copies, "copy"), count(answer.cost.sheets, "sheet"));
    output.line(format_args!("{:<14} {:<34} {:>12}", "Total", copies, amount(answer.cost.total)))?;
    if let Some(each) = answer.cost.per_copy {
        output.line(format_args!("{:<49} {:>12}", "A copy", amount(each)))?;
    }
    if args.good.is_some() {
        let budget = &answer.budget_for_good_copies;
        let sheets = format!("{}, {}", count(job.wanted(), "good copy"), count(budget.sheets, "sheet"));
        output.line(format_args!("{:<14} {:<34} {:>12}", "Budget", sheets, amount(budget.total)))?;
    }
    match answer.break_even_copies {
        Some(n) => output.line(format_args!(
            "breaks even at {} sold at {}",
            count(n, "copy"),
            amount(job.selling_price.get())
        ))?,
        None if job.selling_price.get() > 0.0 => output.line("never breaks even at its selling price")?,
        None => {}
    }
    output.line(format_args!(
        "at the machine {:.0} min, by hand {:.0} min",
        answer.slot_minutes, answer.hand_minutes
    ))?;
    if let Some(warning) = &answer.warning {
        output.line(format_args!("warning: {warning}"))?;
    }
    Ok(ending)
}
