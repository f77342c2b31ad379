//! Ink over ink over paper: the colours that a set of inks makes on a stock.
//!
//! Inks mix in linear Rec.2020 light. A solid's transmittance is `T = solid / reference paper` per channel.
//! Paper and ink surfaces send back a floor `r` that no ink takes away: `t = (T - r) / (1 - r)` is what is
//! left above it. On a surface that scatters, dark inks take less from one another than densities that add
//! would have it: above the floor `t^-b - 1` adds from ink to ink, with `b = 1.5 sqrt(r)`; as b goes to 0 this is
//! the plain product. An ink that lands on ink counts with the trapping exponent. The floor gives way to an
//! ink that is darker than it in a channel, and no stack is lighter in any channel than the same stack without
//! one of its transparent inks. Every subset of inks gives a *primary* (Neugebauer); a halftone mixes them by
//! Demichel's weights in the `1/n` power space (Yule and Nielsen).
//!
//! The form of the rule, the two floors of the finishes and the 1.5 were chosen on the solids over solids of
//! FOGRA39L (coated), 29L and 30L (uncoated), black among them, each set predicted by what the others gave.
//!
//! For floor 0 and trapping 1 this equals `(prod (1 - a_k + a_k T_k^(1/n)))^n * paper`; a test holds
//! both to each other.

mod kernel;

pub use kernel::{BLOCK, Kernel, Power};

use crate::colour::{Lab, Light, Xyz};
use crate::ink::{Ink, OverprintSwatch};
use crate::stock::Stock;

/// The most inks that one side of a sheet can have.
pub const MAX_INKS: usize = 8;

/// Default trapping: the exponent of an ink that lands on ink (fitted to open press characterisations).
pub const TRAP: f64 = 0.97;

/// How strongly scattering keeps dark inks from darkening one another: `b = SATURATION * sqrt(floor)`.
const SATURATION: f64 = 1.5;

/// The floor stays below this share of the darkest ink of a stack, channel by channel.
pub(crate) const FLOOR_UNDER_INK: f64 = 0.8;

/// No film lets less through above the floor; keeps the powers finite.
const LEAST: f64 = 1e-9;

/// What the paper and the press bring to an overprint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    pub paper: Lab,
    /// Light that no ink takes away, as a share of the paper's, 0..=0.9.
    pub floor: f64,
    /// Exponent of an ink that lands on ink, 0.1..=1.5.
    pub trap: f64,
    /// Yule-Nielsen n, 1..=10.
    pub n: f64,
}

/// One ink as a film: what the model needs of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Film {
    /// Colour of the solid on the reference paper.
    pub solid: Lab,
    /// Colour of the reference paper.
    pub on: Lab,
    /// Floor of the reference paper.
    pub on_floor: f64,
    /// 0 transparent .. 1 opaque.
    pub opacity: f64,
    /// Share of the excess over the reference paper that is the ink's own glow, 0..=1.
    pub emission: f64,
}

/// Why a model could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OverprintError {
    /// More than [`MAX_INKS`].
    #[error("{0} inks on one side are more than the {MAX_INKS} that can be predicted together")]
    TooManyInks(usize),
    #[error("{what} must be {wanted}, not {got}")]
    Range { what: &'static str, wanted: &'static str, got: f64 },
}

/// The primaries of a set of inks on a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Overprint {
    primaries: Vec<Light>,
    inks: usize,
    n: f64,
}

impl Ground {
    /// A stock, with the trapping that was fitted to it or else the default.
    pub fn of(stock: &Stock) -> Self {
        let trap = stock.trap.unwrap_or(TRAP);
        Self { paper: stock.colour.lab(), floor: stock.floor(), trap, n: stock.yule_nielsen() }
    }

    fn check(&self) -> Result<(), OverprintError> {
        let within = |what, wanted, got, range: std::ops::RangeInclusive<f64>| {
            if range.contains(&got) { Ok(()) } else { Err(OverprintError::Range { what, wanted, got }) }
        };
        within("the floor", "from 0 to 0.9", self.floor, 0.0..=0.9)?;
        within("the trapping", "from 0.1 to 1.5", self.trap, 0.1..=1.5)?;
        within("n", "from 1 to 10", self.n, 1.0..=10.0)
    }
}

impl Film {
    /// An ink of the shelf as a film.
    pub fn of(ink: &Ink) -> Self {
        Self {
            solid: ink.solid.lab(),
            on: ink.on,
            on_floor: ink.on_floor.unwrap_or_else(|| ink.on_finish.floor()),
            opacity: ink.opacity.get(),
            emission: ink.emission.get(),
        }
    }

    fn check(&self) -> Result<(), OverprintError> {
        let unit = |what, got: f64| {
            if (0.0..=1.0).contains(&got) {
                Ok(())
            } else {
                Err(OverprintError::Range { what, wanted: "from 0 to 1", got })
            }
        };
        unit("an ink's opacity", self.opacity)?;
        unit("an ink's emission", self.emission)
    }
}

/// A film reduced to one channel.
#[derive(Clone, Copy)]
struct Channel {
    /// Transmittance on the reference paper, 0..=1.
    through: f64,
    /// Floor of the reference paper.
    floor: f64,
    /// Own light.
    glow: f64,
    /// The solid itself, as light.
    solid: f64,
    /// 0 transparent .. 1 opaque.
    opacity: f64,
}

impl Channel {
    fn of(film: &Film, c: usize) -> Self {
        let (solid, on) = (film.solid.light()[c].max(0.0), film.on.light()[c].max(1e-6));
        Self {
            through: (solid / on).min(1.0),
            floor: film.on_floor,
            glow: (solid - on).max(0.0) * film.emission,
            solid,
            opacity: film.opacity,
        }
    }

    /// The share of its paper's floor that this ink leaves: below 1 where it is darker than the floor allows.
    fn floor_left(self) -> f64 {
        if self.floor > 0.0 { (FLOOR_UNDER_INK * self.through / self.floor).min(1.0) } else { 1.0 }
    }

    /// What it lets through above a share of its paper's floor.
    fn above(self, share: f64) -> f64 {
        let floor = self.floor * share;
        ((self.through - floor) / (1.0 - floor)).max(LEAST)
    }

    /// How much lighter than the stack without it a stack may be, as a share of the difference: an ink that only
    /// absorbs allows none, one that covers what lies below as much as it covers, one that glows all of it.
    fn may_lighten(self, lies_on: Option<f64>) -> f64 {
        if self.glow > 0.0 {
            1.0
        } else if lies_on.is_some_and(|paper| self.solid <= paper) {
            0.0
        } else {
            self.opacity
        }
    }
}

impl Overprint {
    /// The primaries of films in printing order, first printed first.
    ///
    /// # Errors
    /// When there are too many inks or a number is out of range.
    pub fn new(ground: &Ground, films: &[Film]) -> Result<Self, OverprintError> {
        if films.len() > MAX_INKS {
            return Err(OverprintError::TooManyInks(films.len()));
        }
        ground.check()?;
        films.iter().try_for_each(Film::check)?;
        let paper = ground.paper.light();
        let channels: [Vec<Channel>; 3] =
            std::array::from_fn(|c| films.iter().map(|f| Channel::of(f, c)).collect());
        let mut primaries: Vec<Light> = Vec::with_capacity(1 << films.len());
        for mask in 0..1_usize << films.len() {
            let light = std::array::from_fn(|c| {
                let printed = || (0..films.len()).filter(|k| mask >> k & 1 == 1);
                let stack: Vec<Channel> = printed().filter_map(|k| channels[c].get(k).copied()).collect();
                let alone = stacked(paper[c].max(0.0), ground, &stack);

                // One more ink that only absorbs never makes a print lighter.
                printed().zip(&stack).enumerate().fold(alone, |least, (place, (k, ink))| {
                    let without = primaries.get(mask & !(1 << k)).map_or(alone, |light| light[c]);
                    let lies_on = (place == 0).then_some(paper[c]);
                    least.min(without + ink.may_lighten(lies_on) * (alone - without).max(0.0))
                })
            });
            primaries.push(light);
        }
        Ok(Self { primaries, inks: films.len(), n: ground.n })
    }

    /// The primaries of inks on a stock, with the measured overprints that are known for them.
    pub fn of(stock: &Stock, inks: &[&Ink], measured: &[OverprintSwatch]) -> Result<Self, OverprintError> {
        let films: Vec<Film> = inks.iter().map(|i| Film::of(i)).collect();
        let mut model = Self::new(&Ground::of(stock), &films)?;
        for swatch in measured.iter().filter(|s| s.stock == stock.name) {
            for mask in 0..model.primaries.len() {
                let names = inks.iter().enumerate().filter(|(k, _)| mask >> k & 1 == 1).map(|(_, i)| &i.name);
                if names.eq(swatch.inks.iter()) {
                    model.replace(mask, swatch.lab);
                }
            }
        }
        Ok(model)
    }

    /// Puts a measured colour in the place of a predicted primary. Bit k of the mask is ink k in
    /// printing order; a mask past the last primary is ignored.
    pub fn replace(&mut self, mask: usize, measured: Lab) {
        if let Some(p) = self.primaries.get_mut(mask) {
            *p = measured.light().map(|v| v.max(0.0));
        }
    }

    pub fn inks(&self) -> usize {
        self.inks
    }

    /// Yule-Nielsen n.
    pub fn n(&self) -> f64 {
        self.n
    }

    /// All primaries as light; bit k of the index is ink k in printing order, 0 is the bare paper.
    pub fn primaries(&self) -> &[Light] {
        &self.primaries
    }

    /// One primary as a colour; the paper for a mask that does not exist.
    pub fn primary(&self, mask: usize) -> Xyz {
        Xyz::from_light(self.primaries.get(mask).or(self.primaries.first()).copied().unwrap_or([1.0; 3]))
    }

    /// The colour of a halftone with these effective coverages, 0..=1 each, in printing order; inks
    /// without a coverage are left out. Demichel's weights, then Yule-Nielsen.
    pub fn mix(&self, cover: &[f64]) -> Xyz {
        let mut light = [0.0; 3];
        for (mask, primary) in self.primaries.iter().enumerate() {
            let weight: f64 = (0..self.inks)
                .map(|k| {
                    let a = cover.get(k).copied().unwrap_or(0.0).clamp(0.0, 1.0);
                    if mask >> k & 1 == 1 { a } else { 1.0 - a }
                })
                .product();
            for (sum, p) in light.iter_mut().zip(primary) {
                *sum += weight * libm::pow(*p, 1.0 / self.n);
            }
        }
        Xyz::from_light(light.map(|v| libm::pow(v, self.n)))
    }
}

/// One channel of a primary: paper, then each printed ink in order with its opacity.
fn stacked(paper: f64, ground: &Ground, printed: &[Channel]) -> f64 {
    let share = printed.iter().map(|ink| ink.floor_left()).fold(1.0, f64::min);
    let (r, b) = (ground.floor * share, SATURATION * libm::sqrt(ground.floor));

    // What gets through above the floor, and own light, of everything printed so far.
    let (mut above, mut glow) = (1.0_f64, 0.0);
    for (count, ink) in printed.iter().enumerate() {
        let film = libm::pow(ink.above(share), if count == 0 { 1.0 } else { ground.trap });
        // An opaque ink shows its own solid whatever lies below.
        let own = (ink.solid / paper.max(1e-6) - r) / (1.0 - r);
        above = (1.0 - ink.opacity) * joined(above, film, b) + ink.opacity * own;
        glow = (1.0 - ink.opacity) * (glow * film + ink.glow);
    }
    (paper * (r + (1.0 - r) * above) + glow).max(0.0)
}

/// Two films over one another: `t^-b - 1` adds, and for b = 0 their densities do.
fn joined(below: f64, film: f64, b: f64) -> f64 {
    if b < 1e-6 || film >= 1.0 {
        return below * film;
    }
    let below = below.max(LEAST);
    libm::pow(libm::pow(below, -b) + libm::pow(film, -b) - 1.0, -1.0 / b)
}

#[cfg(test)]
mod tests;
