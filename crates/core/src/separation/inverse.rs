//! One colour at a time: the coverages that print nearest to it.

use super::MOST_INKS;
use std::sync::OnceLock;

use super::forward::{Covers, Forward};
use super::intent::{Intent, Target};
use super::solve::{Bounds, nearest, objective};
use crate::colour::{Lab, Light};
use crate::ink::{Ink, OverprintSwatch};
use crate::overprint::{Film, Ground, Overprint, OverprintError};
use crate::stock::Stock;
use crate::tone::ToneCurve;

/// Why a picture could not be separated.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SeparationError {
    #[error("a picture is separated into 1 to {MOST_INKS} inks, not {0}")]
    Inks(usize),
    #[error(transparent)]
    Model(#[from] OverprintError),
    #[error("the ink of a picture may add up to 0.1 to {MOST_INKS}, not {0}")]
    Sum(f64),
}

/// The inverse of the overprint model for a set of inks on a stock.
#[derive(Debug, Clone)]
pub struct Inverse {
    pub(super) forward: Forward,
    /// The most that the asked-for coverages of a place may add up to.
    pub(super) sum: f64,
    pub(super) paper: Light,
    /// The luminance of the darkest print, as a share of the paper's.
    darkest: OnceLock<f64>,
}

/// Coverages that print near a wanted colour.
#[derive(Debug, Clone, PartialEq)]
pub struct Matched {
    /// What is asked of each ink before its curve, 0..=1, in printing order.
    pub cover: Vec<f64>,
    /// What is printed.
    pub lab: Lab,
    /// How far that is from the wanted colour, CIEDE2000.
    pub de00: f64,
}

impl Inverse {
    /// Of inks in printing order on a stock, with the measured overprints that are known for them.
    ///
    /// # Errors
    /// [`SeparationError`].
    pub fn of(
        stock: &Stock,
        inks: &[&Ink],
        measured: &[OverprintSwatch],
        sum: Option<f64>,
    ) -> Result<Self, SeparationError> {
        let curves: Vec<&ToneCurve> = inks.iter().map(|ink| &ink.curve).collect();
        Self::of_model(&Overprint::of(stock, inks, measured)?, &curves, sum)
    }

    /// Of films with their curves on a ground.
    ///
    /// # Errors
    /// [`SeparationError`].
    pub fn of_films(
        ground: &Ground,
        films: &[Film],
        curves: &[&ToneCurve],
        sum: Option<f64>,
    ) -> Result<Self, SeparationError> {
        Self::of_model(&Overprint::new(ground, films)?, curves, sum)
    }

    /// Of an overprint model with a curve for each of its inks.
    ///
    /// # Errors
    /// [`SeparationError`].
    pub fn of_model(
        model: &Overprint,
        curves: &[&ToneCurve],
        sum: Option<f64>,
    ) -> Result<Self, SeparationError> {
        if !(1..=MOST_INKS).contains(&model.inks()) || curves.len() != model.inks() {
            return Err(SeparationError::Inks(model.inks()));
        }
        let sum = sum.unwrap_or(MOST_INKS as f64);
        if !(0.1..=MOST_INKS as f64).contains(&sum) {
            return Err(SeparationError::Sum(sum));
        }
        let forward = Forward::of(model, curves);
        let paper = forward.light(&[0.0; MOST_INKS]).map(|c| c.max(1e-4));
        Ok(Self { forward, sum, paper, darkest: OnceLock::new() })
    }

    pub fn inks(&self) -> usize {
        self.forward.inks
    }

    /// The colour that coverages print.
    pub fn lab(&self, cover: &[f64]) -> Lab {
        self.forward.lab(&covers(cover))
    }

    /// The luminance of the darkest print within the limit, as a share of the paper's.
    pub(super) fn darkest(&self) -> f64 {
        *self.darkest.get_or_init(|| self.darkest_print())
    }

    fn darkest_print(&self) -> f64 {
        let black = Target::Lab([0.0; 3]);
        let best = self.settled(&black, &Bounds::exact(self.sum), None).0;
        (luminance(self.forward.light(&best)) / luminance(self.paper)).clamp(0.0, 0.95)
    }

    /// The coverages that print nearest to a colour on the sheet, by CIEDE2000. No ink is asked for less than its
    /// lightest tone or for a tone that fills in: such a tone prints as nothing or as a solid.
    pub fn matched(&self, wanted: Lab) -> Matched {
        let (best, _) = self.settled(&Target::exactly(wanted), &Bounds::exact(self.sum), None);
        self.told(&best, wanted)
    }

    /// The coverages for a colour of a picture, brought within reach by an intent.
    pub fn separated(&self, source: Lab, intent: Intent) -> Vec<f64> {
        let target = Target::of(source, intent, &self.paper, self.darkest());
        self.settled(&target, &Bounds::even(self.sum), None).0.get(..self.inks()).unwrap_or(&[]).to_vec()
    }

    pub(super) fn told(&self, asked: &Covers, wanted: Lab) -> Matched {
        let lab = self.forward.lab(asked);
        let cover = asked.get(..self.inks()).unwrap_or(&[]).to_vec();
        Matched { cover, lab, de00: wanted.ciede2000(lab) }
    }

    /// The nearest without any tone that does not print as it is asked for.
    ///
    /// A tone that would be lost is either left out, or kept between the lightest one and the fill-in, or made a solid,
    /// whichever comes nearest with the other inks anew.
    pub(super) fn settled(&self, target: &Target, bounds: &Bounds, start: Option<&Covers>) -> (Covers, f64) {
        let (free, worth) = match start {
            Some(start) => nearest(&self.forward, target, bounds, start, None),
            None => self.best_of_starts(target, bounds),
        };
        let lost = self.forward.tones.iter().zip(&free).position(|(tone, asked)| tone.is_lost(*asked));
        let Some((k, tone)) = lost.and_then(|k| Some((k, self.forward.tones.get(k)?))) else {
            return (free, worth);
        };
        let between = |low: f64, high: f64| {
            let mut tighter = *bounds;
            (tighter.low[k], tighter.high[k]) = (low.max(bounds.low[k]), high.min(bounds.high[k]));
            (tighter.low[k] <= tighter.high[k]).then(|| self.settled(target, &tighter, Some(&free)))
        };
        let ends = [
            (free[k] < tone.lightest).then(|| between(0.0, 0.0)).flatten(),
            between(tone.lightest, tone.fill_in),
            (free[k] > tone.fill_in).then(|| between(1.0, 1.0)).flatten(),
        ];
        let better = ends.into_iter().flatten().min_by(|a, b| a.1.total_cmp(&b.1));
        better.unwrap_or((free, worth))
    }

    /// The nearest from several starts, so that no other way to the colour is overlooked.
    pub(super) fn best_of_starts(&self, target: &Target, bounds: &Bounds) -> (Covers, f64) {
        let inks = self.inks();
        let levels: &[f64] = if inks <= 4 { &[0.05, 0.45, 0.95] } else { &[0.1, 0.9] };
        let mut starts: Vec<(f64, Covers)> = (0..levels.len().pow(inks as u32))
            .map(|i| {
                let mut asked = [0.0; MOST_INKS];
                let mut rest = i;
                for asked in asked.iter_mut().take(inks) {
                    *asked = levels.get(rest % levels.len()).copied().unwrap_or(0.0);
                    rest /= levels.len();
                }
                let asked = bounds.within(&asked, inks);
                (objective(&self.forward, target, &asked, (bounds.ink, None)), asked)
            })
            .collect();
        starts.sort_by(|a, b| a.0.total_cmp(&b.0));
        let tried =
            starts.iter().take(STARTS).map(|(_, start)| nearest(&self.forward, target, bounds, start, None));
        tried.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or(([0.0; MOST_INKS], f64::INFINITY))
    }
}

/// Starts that are followed down.
const STARTS: usize = 4;

pub(super) fn covers(cover: &[f64]) -> Covers {
    let mut all: Covers = [0.0; MOST_INKS];
    all.iter_mut().zip(cover).for_each(|(all, own)| *all = own.clamp(0.0, 1.0));
    all
}

/// Y of light; the weights are those of Rec.2020 (ITU-R BT.2020).
pub(super) fn luminance(light: Light) -> f64 {
    0.2627 * light[0] + 0.6780 * light[1] + 0.0593 * light[2]
}
