//! `slipsheet mix`: the colour that inks make on a stock.

use std::io::BufRead;

use clap::Args;
use serde::Serialize;
use slipsheet_core::colour::{Lab, Xyz};
use slipsheet_core::overprint::{Film, Ground, Overprint, TRAP};

use super::values::{Cover, cover, lab, number};
use super::{Ending, Output, colour_lines};

/// Predict the colour of inks over one another on a stock
///
/// Colours are CIE L*a*b* under D50 for the 2 degree observer. XYZ is scaled so that the reference white has
/// Y = 1. sRGB is what a screen shows; colours outside it are brought inside, which is said.
#[derive(Debug, Args)]
#[command(after_help = "\
With - in place of the options, one JSON object a line is read from the input, such as
  {\"stock\":[93,0,2],\"inks\":[{\"solid\":[55,-37,-50]},{\"solid\":[48,74,-3],\"opacity\":0.2}],\"cover\":[1,0.5]}
and one is answered for each, in order:
  {\"lab\":[L,a,b],\"xyz\":[X,Y,Z],\"srgb\":[r,g,b],\"clipped\":false}
Inks come in printing order. A line may also have \"floor\", \"n\" and \"trapping\", as the options; an ink may have \"on\",
\"opacity\" (0 transparent to 1 opaque), and \"curve\", points [asked for, printed] such as [[0,0],[0.5,0.68],[1,1]].
Blank lines are passed over. A line that cannot be used is answered with {\"error\": \"...\"}, and the exit code is 1.

Example: slipsheet mix --stock 93,0,2 --ink 55,-37,-50 --ink 48,74,-3 --cover 1,0.5")]
pub(super) struct MixArgs {
    /// Read JSON lines from the input
    #[arg(value_name = "-", value_parser = ["-"], conflicts_with_all = ["stock", "inks", "cover", "on"])]
    lines: Option<String>,
    /// Colour of the bare stock
    #[arg(long, value_name = "L,a,b", value_parser = lab, required_unless_present = "lines")]
    stock: Option<Lab>,
    /// Colour of an ink's solid; repeat in printing order
    #[arg(long = "ink", id = "inks", value_name = "L,a,b", value_parser = lab)]
    inks: Vec<Lab>,
    /// How much of the stock each ink covers, 0 to 1, in the same order
    #[arg(long, value_name = "C,C,..", value_parser = cover)]
    cover: Option<Cover>,
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

/// The floor of uncoated paper; a test holds it to the model's.
pub(super) const DEFAULT_FLOOR: f64 = 0.062;
/// Yule-Nielsen n of uncoated paper.
pub(super) const DEFAULT_N: f64 = 2.0;

/// What to mix, checked.
pub(super) struct Mix {
    pub ground: Ground,
    pub films: Vec<Film>,
    /// Effective coverages.
    pub cover: Vec<f64>,
}

/// The colour that came of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub(super) struct Mixed {
    lab: [f64; 3],
    xyz: [f64; 3],
    srgb: [u8; 3],
    clipped: bool,
}

impl Mix {
    pub fn mixed(&self) -> Result<Mixed, String> {
        let (inks, covers) = (self.films.len(), self.cover.len());
        if inks != covers {
            return Err(format!("there must be one coverage for each ink, not {covers} for {inks}"));
        }
        let model = Overprint::new(&self.ground, &self.films).map_err(|e| e.to_string())?;
        Ok(Mixed::of(model.mix(&self.cover)))
    }
}

impl Mixed {
    fn of(xyz: Xyz) -> Self {
        let (lab, shown) = (xyz.lab(), xyz.shown());
        Self {
            lab: [lab.l(), lab.a(), lab.b()],
            xyz: [xyz.x, xyz.y, xyz.z],
            srgb: shown.rgb,
            clipped: shown.clipped,
        }
    }
}

/// A transparent ink.
pub(super) fn film(solid: Lab, on: Lab, floor: f64, opacity: f64) -> Film {
    Film { solid, on, on_floor: floor, opacity, emission: 1.0 }
}

pub(super) fn run(
    args: &MixArgs,
    input: &mut dyn BufRead,
    output: &mut Output<'_>,
) -> anyhow::Result<Ending> {
    if args.lines.is_some() {
        return colour_lines::mix(input, output);
    }
    // Without a stock the arguments were refused, so this is only for the compiler.
    let paper = args.stock.unwrap_or(Lab::WHITE);
    let on = args.on.unwrap_or(paper);
    let mix = Mix {
        ground: Ground { paper, floor: args.floor, trap: args.trapping, n: args.n },
        films: args.inks.iter().map(|solid| film(*solid, on, args.floor, 0.0)).collect(),
        cover: args.cover.as_ref().map(|c| c.0.clone()).unwrap_or_default(),
    };
    let mixed = mix.mixed().map_err(anyhow::Error::msg)?;
    if args.json {
        output.json(&mixed)?;
        return Ok(Ending::Fine);
    }
    let [l, a, b] = mixed.lab;
    let [x, y, z] = mixed.xyz;
    let [red, green, blue] = mixed.srgb;
    let clipped = if mixed.clipped { "  outside sRGB, brought inside" } else { "" };
    output.line(format_args!("Lab   {l:.2} {a:.2} {b:.2}"))?;
    output.line(format_args!("XYZ   {x:.4} {y:.4} {z:.4}"))?;
    output.line(format_args!("sRGB  {red} {green} {blue}  #{red:02x}{green:02x}{blue:02x}{clipped}"))?;
    Ok(Ending::Fine)
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::stock::Finish;

    #[test]
    fn the_defaults_are_those_of_uncoated_paper() {
        assert_eq!((DEFAULT_FLOOR, DEFAULT_N), (Finish::Uncoated.floor(), Finish::Uncoated.yule_nielsen()));
    }
}
