//! `slipsheet match`: the coverages of inks that print nearest to a colour.

use std::io::BufRead;

use clap::Args;
use serde::Serialize;
use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Ground, TRAP};
use slipsheet_core::separation::Inverse;
use slipsheet_core::tone::ToneCurve;

use super::mix::{DEFAULT_FLOOR, DEFAULT_N, film};
use super::values::{lab, number};
use super::{Ending, Output, colour_lines};

/// Find the coverages of inks on a stock that print nearest to a colour
///
/// It is the inverse of mix: nearest by CIEDE2000, with less ink where two ways are as near. Colours are CIE L*a*b* under
/// D50 for the 2 degree observer. Coverages are what is asked for, before an ink's curve.
#[derive(Debug, Args)]
#[command(after_help = "\
With - in place of the options, one JSON object a line is read from the input, as mix takes them with \"want\" in place of
\"cover\", such as
  {\"stock\":[93,0,2],\"inks\":[{\"solid\":[55,-37,-50]},{\"solid\":[48,74,-3]}],\"want\":[60,10,-20],\"ink_sum\":1.5}
and one is answered for each, in order:
  {\"cover\":[C,C],\"lab\":[L,a,b],\"de00\":d}
Inks come in printing order, 1 to 6 of them. A line may also have \"ink_sum\", the most that the coverages may add up to,
and \"floor\", \"n\" and \"trapping\". A line that cannot be used is answered with {\"error\": \"...\"}, and the exit code is 1.

Example: slipsheet match --stock 93,0,2 --ink 55,-37,-50 --ink 48,74,-3 --want 60,10,-20")]
pub(super) struct MatchArgs {
    /// Read JSON lines from the input
    #[arg(value_name = "-", value_parser = ["-"], conflicts_with_all = ["stock", "inks", "want", "on", "ink_sum"])]
    lines: Option<String>,
    /// Colour of the bare stock
    #[arg(long, value_name = "L,a,b", value_parser = lab, required_unless_present = "lines")]
    stock: Option<Lab>,
    /// Colour of an ink's solid; repeat in printing order
    #[arg(long = "ink", id = "inks", value_name = "L,a,b", value_parser = lab)]
    inks: Vec<Lab>,
    /// Colour that is wanted
    #[arg(long, value_name = "L,a,b", value_parser = lab, required_unless_present = "lines")]
    want: Option<Lab>,
    /// Most that the coverages may add up to
    #[arg(long, value_name = "S", value_parser = number)]
    ink_sum: Option<f64>,
    /// Colour of the paper that the solids were read on [default: the stock]
    #[arg(long, value_name = "L,a,b", value_parser = lab)]
    on: Option<Lab>,
    /// Light that no ink takes away, as a share of the paper's
    #[arg(long, value_name = "F", default_value_t = DEFAULT_FLOOR, value_parser = number)]
    floor: f64,
    /// Yule-Nielsen n
    #[arg(long, value_name = "N", default_value_t = DEFAULT_N, value_parser = number)]
    n: f64,
    /// Exponent of an ink that lands on ink
    #[arg(long, value_name = "T", default_value_t = TRAP, value_parser = number)]
    trapping: f64,
    /// Answer with one JSON object
    #[arg(long)]
    json: bool,
}

/// The coverages that were found, and what they print.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Match {
    cover: Vec<f64>,
    lab: [f64; 3],
    de00: f64,
}

impl Match {
    pub(super) fn of(inverse: &Inverse, want: Lab) -> Self {
        let found = inverse.matched(want);
        Self { cover: found.cover, lab: [found.lab.l(), found.lab.a(), found.lab.b()], de00: found.de00 }
    }
}

pub(super) fn run(
    args: &MatchArgs,
    input: &mut dyn BufRead,
    output: &mut Output<'_>,
) -> anyhow::Result<Ending> {
    if args.lines.is_some() {
        return colour_lines::matches(input, output);
    }
    // Without them the arguments were refused, so these are only for the compiler.
    let (paper, want) = (args.stock.unwrap_or(Lab::WHITE), args.want.unwrap_or(Lab::WHITE));
    let on = args.on.unwrap_or(paper);
    let ground = Ground { paper, floor: args.floor, trap: args.trapping, n: args.n };
    let films: Vec<_> = args.inks.iter().map(|solid| film(*solid, on, args.floor, 0.0)).collect();
    let straight = ToneCurve::new(vec![(0.0, 0.0), (1.0, 1.0)])?;
    let inverse = Inverse::of_films(&ground, &films, &vec![&straight; films.len()], args.ink_sum)?;
    let found = Match::of(&inverse, want);
    if args.json {
        output.json(&found)?;
        return Ok(Ending::Fine);
    }
    let [l, a, b] = found.lab;
    let cover: Vec<String> = found.cover.iter().map(|c| format!("{c:.3}")).collect();
    output.line(format_args!("cover  {}", cover.join(" ")))?;
    output.line(format_args!("Lab    {l:.2} {a:.2} {b:.2}"))?;
    output.line(format_args!("de00   {:.2}", found.de00))?;
    Ok(Ending::Fine)
}
