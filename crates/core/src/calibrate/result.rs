//! What a calibration says of a press, and how it is taken over.

use super::read::Source;
use crate::colour::Lab;
use crate::ink::{Ink, OverprintSwatch, Swatch};
use crate::overprint::{Film, Ground, Overprint, OverprintError, TRAP};
use crate::stock::{Finish, Stock};
use crate::tone::ToneCurve;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepFit {
    /// Coverage asked for, 0..=1.
    pub asked: f64,
    /// Effective coverage by Murray and Davies from luminance; not limited to 0..=1.
    pub murray_davies: f64,
    /// By Yule and Nielsen with the fitted n, all channels together; not limited to 0..=1.
    pub effective: f64,
    /// The same of each channel of linear Rec.2020 that tells.
    pub channels: [Option<f64>; 3],
    /// What the curve gives.
    pub fitted: f64,
    /// CIEDE2000 between the colour predicted with the curve and the one read.
    pub delta_e: f64,
}

impl StepFit {
    /// What the step gave beyond the curve.
    pub fn residual(&self) -> f64 {
        self.effective - self.fitted
    }
}

/// One ink's behaviour.
#[derive(Debug, Clone, PartialEq)]
pub struct InkFit {
    pub name: String,
    pub solid: Lab,
    /// Monotone curve through the steps.
    pub curve: ToneCurve,
    /// Steps, lightest first.
    pub steps: Vec<StepFit>,
    /// Root of the mean square residual, in coverage.
    pub rms: f64,
    /// What each channel of linear Rec.2020 says by itself; `None` where ink and paper hardly differ in it.
    pub channels: [Option<ChannelFit>; 3],
    /// How much each channel weighs in the one curve, together 1.
    pub weights: [f64; 3],
}

impl InkFit {
    /// Which channels the one curve was taken from, and how far they disagree with it.
    pub fn curve_from(&self) -> String {
        let names = ["red", "green", "blue"];
        let most = (0..3).max_by(|a, b| self.weights[*a].total_cmp(&self.weights[*b])).unwrap_or(0);
        let off = self.channels.iter().flatten().map(|c| c.off).fold(0.0, f64::max);
        format!(
            "one curve for all channels, {:.0} % by {}; single channels lie up to {:.3} off it",
            self.weights[most] * 100.0,
            names[most],
            off
        )
    }
}

/// What one channel of linear Rec.2020 says of an ink's tones.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelFit {
    /// Monotone curve through this channel's coverages.
    pub curve: ToneCurve,
    /// The farthest that it lies from the ink's one curve, in coverage.
    pub off: f64,
}

/// How well tints are predicted before and after n was fitted, each with its own curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TintFit {
    /// Root mean square CIEDE2000 of the steps with the finish's usual n.
    pub before: f64,
    /// The same with the fitted n.
    pub after: f64,
    /// Number of steps.
    pub count: usize,
}

/// One solid, or solids over one another: foreseen and measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Names of the inks, in printing order.
    pub inks: Vec<String>,
    pub measured: Lab,
    /// As the shelf had it before.
    pub before: Lab,
    /// As the fitted press has it, without measured overprints.
    pub after: Lab,
}

/// How the overprints led to a trapping.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrapFit {
    /// The exponent for ink on ink.
    pub trap: f64,
    /// Mean CIEDE2000 of the overprints with the default trapping and the finish's floor.
    pub before: f64,
    /// The same with the fitted trapping and the floor of [`CalibrationResult::floor`].
    pub after: f64,
    /// Number of overprints.
    pub count: usize,
}

/// What a sheet, or an instrument's table, says about a press.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationResult {
    pub source: Source,
    pub paper: Lab,
    pub finish: Finish,
    /// Inks in printing order.
    pub inks: Vec<InkFit>,
    /// Yule-Nielsen n, 1..=4.
    pub n: f64,
    /// Values of n that predict the ramps nearly as well (within 0.05 CIEDE2000); a wide range says that the
    /// inks do not tell n.
    pub n_range: (f64, f64),
    pub tints: TintFit,
    /// Luminance of the darkest patch over that of the paper.
    pub darkest: f64,
    /// Floor in force: the darkest patch's where it is dark enough to be one, else the finish's.
    pub floor: f64,
    /// Whether the floor was measured.
    pub floor_measured: bool,
    /// Trapping, where there were overprints.
    pub trap: Option<TrapFit>,
    /// Overprinted solids: bit mask of the inks and colour.
    pub overprints: Vec<(usize, Lab)>,
}

impl CalibrationResult {
    /// An ink for the shelf: what was measured, and the rest as it was before.
    pub fn ink(&self, fit: &InkFit, before: Option<&Ink>, note: &str) -> Ink {
        let base = before.cloned().unwrap_or_else(|| Ink::estimated(&fit.name, fit.solid));
        Ink {
            solid: Swatch::Measured { lab: fit.solid, note: note.to_owned() },
            on: self.paper,
            on_finish: self.finish,
            on_floor: self.floor_measured.then_some(self.floor),
            curve: fit.curve.clone(),
            ..base
        }
    }

    pub fn swatches(&self, stock: &str) -> Vec<OverprintSwatch> {
        let swatch = |(mask, lab): &(usize, Lab)| OverprintSwatch {
            inks: self.names(*mask),
            stock: stock.to_owned(),
            lab: *lab,
        };
        self.overprints.iter().map(swatch).collect()
    }

    /// The stock as it was measured. A scan takes the paper's colour from the stock, so that stays; the floor
    /// is the one that the trapping was fitted over.
    pub fn stock(&self, before: &Stock, note: &str) -> Stock {
        let floor = match (self.floor_measured, self.trap) {
            (true, _) => Some(self.floor),
            (false, Some(_)) => None,
            (false, None) => before.floor,
        };
        let measured = Swatch::Measured { lab: self.paper, note: note.to_owned() };
        let colour = if self.source == Source::Instrument { measured } else { before.colour.clone() };
        Stock {
            colour,
            floor,
            trap: self.trap.map(|t| t.trap).or(before.trap),
            n: Some(self.n),
            ..before.clone()
        }
    }

    /// What is kept beside every measured colour: where it comes from.
    pub fn note(&self, stock: Option<&str>) -> String {
        let place = stock.map_or_else(String::new, |s| format!(" on {s}"));
        let what = if self.source == Source::Instrument { "table" } else { "calibration sheet" };
        format!("{what}{place}, {}", self.source.standing())
    }

    /// Solids and overprints as they were foreseen and as they are, solids first.
    pub fn compare(
        &self,
        stock: &Stock,
        inks: &[&Ink],
        known: &[OverprintSwatch],
    ) -> Result<Vec<Compared>, OverprintError> {
        let (before, after) = (Overprint::of(stock, inks, known)?, self.model()?);
        let solids = self.inks.iter().enumerate().map(|(k, i)| (1 << k, i.solid));
        let compared = |(mask, measured): (usize, Lab)| Compared {
            inks: self.names(mask),
            measured,
            before: before.primary(mask).lab(),
            after: after.primary(mask).lab(),
        };
        Ok(solids.chain(self.overprints.iter().copied()).map(compared).collect())
    }

    fn names(&self, mask: usize) -> Vec<String> {
        let printed = self.inks.iter().enumerate().filter(|(k, _)| mask >> k & 1 == 1);
        printed.map(|(_, i)| i.name.clone()).collect()
    }

    /// The press as it was measured, without the measured overprints.
    pub fn model(&self) -> Result<Overprint, OverprintError> {
        let trap = self.trap.map_or(TRAP, |t| t.trap);
        let solids: Vec<Lab> = self.inks.iter().map(|i| i.solid).collect();
        model(self.paper, &solids, Ground { paper: self.paper, floor: self.floor, trap, n: self.n })
    }
}

pub(super) fn model(paper: Lab, solids: &[Lab], ground: Ground) -> Result<Overprint, OverprintError> {
    let film =
        |solid: &Lab| Film { solid: *solid, on: paper, on_floor: ground.floor, opacity: 0.0, emission: 1.0 };
    Overprint::new(&ground, &solids.iter().map(film).collect::<Vec<_>>())
}
