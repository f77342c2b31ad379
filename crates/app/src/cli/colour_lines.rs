//! `slipsheet mix -` and `slipsheet match -`: one JSON object a line in, one a line out, in order.

use std::io::{self, BufRead, Read as _};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Film, Ground, TRAP};
use slipsheet_core::separation::Inverse;
use slipsheet_core::tone::ToneCurve;

use super::matching::Match;
use super::mix::{DEFAULT_FLOOR, DEFAULT_N, Mix, Mixed, film};
use super::{Ending, Output};

/// The most bytes that a line may have.
const MAX_LINE: usize = 1 << 20;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MixLine {
    stock: Lab,
    inks: Vec<LineInk>,
    cover: Vec<f64>,
    floor: Option<f64>,
    n: Option<f64>,
    trapping: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MatchLine {
    stock: Lab,
    inks: Vec<LineInk>,
    want: Lab,
    ink_sum: Option<f64>,
    floor: Option<f64>,
    n: Option<f64>,
    trapping: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LineInk {
    solid: Lab,
    on: Option<Lab>,
    curve: Option<Vec<(f64, f64)>>,
    opacity: Option<f64>,
}

#[derive(Serialize)]
struct Refused {
    error: String,
}

/// Mixes what each line describes.
pub(super) fn mix(input: &mut dyn BufRead, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    run(input, output, "mix", mixed)
}

/// Finds the coverages for what each line wants.
pub(super) fn matches(input: &mut dyn BufRead, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    run(input, output, "match", matched)
}

fn run<L: DeserializeOwned, A: Serialize>(
    input: &mut dyn BufRead,
    output: &mut Output<'_>,
    command: &str,
    answer: impl Fn(L) -> Result<A, String>,
) -> anyhow::Result<Ending> {
    let mut ending = Ending::Fine;
    let mut line = Vec::new();
    let mut number = 0_usize;
    while let Some(whole) = next_line(input, &mut line)? {
        number += 1;
        if whole && line.trim_ascii().is_empty() {
            continue;
        }
        let read = || -> Result<L, String> {
            if !whole {
                return Err("the line is longer than 1 MB".to_owned());
            }
            serde_json::from_slice(&line).map_err(|e| {
                // The parser has seen this line alone and counts it as its first.
                let message = e.to_string().replace(" at line 1 column ", " at column ");
                format!(
                    "line {number} is not a JSON object as described by slipsheet {command} --help: {message}"
                )
            })
        };
        match read().and_then(&answer) {
            Ok(answer) => output.json(&answer)?,
            Err(error) => {
                output.json(&Refused { error })?;
                ending = Ending::Warnings;
            }
        }
    }
    Ok(ending)
}

/// Reads a line; whether all of it fits, or `None` at the end. What does not fit is passed over.
fn next_line(input: &mut dyn BufRead, line: &mut Vec<u8>) -> io::Result<Option<bool>> {
    line.clear();
    let mut whole = true;
    loop {
        let got = (&mut *input).take(MAX_LINE as u64).read_until(b'\n', line)?;
        if got < MAX_LINE || line.last() == Some(&b'\n') {
            return Ok((got > 0 || !whole).then_some(whole));
        }
        whole = false;
        line.clear();
    }
}

fn films(inks: &[LineInk], stock: Lab, floor: f64) -> Vec<Film> {
    let of = |ink: &LineInk| film(ink.solid, ink.on.unwrap_or(stock), floor, ink.opacity.unwrap_or(0.0));
    inks.iter().map(of).collect()
}

/// The curve of an ink; what it asks for is printed where none is given.
fn curve(ink: LineInk) -> Result<ToneCurve, String> {
    ToneCurve::new(ink.curve.unwrap_or_else(|| vec![(0.0, 0.0), (1.0, 1.0)])).map_err(|e| e.to_string())
}

fn mixed(line: MixLine) -> Result<Mixed, String> {
    let floor = line.floor.unwrap_or(DEFAULT_FLOOR);
    let films = films(&line.inks, line.stock, floor);
    if let Some(v) = line.cover.iter().find(|v| !(0.0..=1.0).contains(*v)) {
        return Err(format!("a coverage must be from 0 to 1, not {v}"));
    }
    let mut cover = line.cover;
    for (ink, cover) in line.inks.into_iter().zip(&mut cover) {
        *cover = curve(ink)?.effective(*cover);
    }
    let (trap, n) = (line.trapping.unwrap_or(TRAP), line.n.unwrap_or(DEFAULT_N));
    Mix { ground: Ground { paper: line.stock, floor, trap, n }, films, cover }.mixed()
}

fn matched(line: MatchLine) -> Result<Match, String> {
    let floor = line.floor.unwrap_or(DEFAULT_FLOOR);
    let films = films(&line.inks, line.stock, floor);
    let curves: Vec<ToneCurve> = line.inks.into_iter().map(curve).collect::<Result<_, _>>()?;
    let (trap, n) = (line.trapping.unwrap_or(TRAP), line.n.unwrap_or(DEFAULT_N));
    let ground = Ground { paper: line.stock, floor, trap, n };
    let inverse = Inverse::of_films(&ground, &films, &curves.iter().collect::<Vec<_>>(), line.ink_sum);
    Ok(Match::of(&inverse.map_err(|e| e.to_string())?, line.want))
}
