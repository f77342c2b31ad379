//! Strokes: dark runs between light ones that go on from row to row, nearly as wide and nearly in line.
//!
//! A run is as wide as it is at half of its own depth, so that pale and blurred strokes are measured as well; the
//! mean over the rows of a stroke takes the steps of its pixels out. A grain of crayon or a wash's texture makes runs
//! that do not go on.

use super::profile::Step;
use crate::units::Dpi;

/// The least length of a stroke: in mm, in pixels, and in its own widths. A stem of small type is about so long.
const LONG_MM: f64 = 0.8;
const LONG_PX: f64 = 6.0;
const LONG_WIDTHS: f64 = 3.0;
/// The widest stroke that is looked for, in pixels.
const WIDEST: f32 = 40.0;
/// A run goes a stroke on when it lies this near to where that leads, in pixels, and is wider or narrower by no more
/// than this share and a pixel.
const NEAR: f32 = 1.0;
const STEADY: f32 = 0.3;
/// A stroke that moves by more pixels a row is measured along the columns.
const STEEP: f32 = 1.25;
/// How far the middle of a run may jump beside that, in pixels: of a thin stroke at 45 degrees it does in every few rows.
const JUMP: f32 = 0.5;
/// One side of a run may be this much less deep than the other.
const ONE_SIDED: f32 = 0.4;
/// The share of all strokes, by length, that may be finer than the finest that are noticed.
const FINER: f64 = 0.05;
/// Strokes are there from this length on, all in all, and from this share of the art's area on.
const ENOUGH_MM: f64 = 30.0;
const ENOUGH_AREA: f64 = 0.01;
/// Of the runs of about a width this share must go on as strokes for it to be one of strokes, and not of grain, and
/// so many times wider is about the same width. Of type and of drawings 0.3 to 0.9 go on, of crayon and of washes less
/// than 0.15 (found by measuring some).
const GO_ON: f64 = 0.25;
const ABOUT: f64 = 1.3;
/// Counts for a pixel of width.
const BINS_A_PX: f32 = 20.0;
const BINS: usize = 800;

/// A dark run of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Valley {
    centre: f32,
    width: f32,
}

impl Valley {
    /// What lies between a step down and the next one up.
    pub fn between((down, up): (&Step, &Step)) -> Option<Self> {
        let width = up.at - down.at;
        let (less, more) = (down.height.min(up.height), down.height.max(up.height));
        let is_run = down.falls && !up.falls && width <= WIDEST && less >= ONE_SIDED * more;
        is_run.then_some(Self { centre: (down.at + up.at) / 2.0, width })
    }
}

/// Strokes by their width.
#[derive(Debug, Clone)]
pub(super) struct Strokes {
    /// Length in pixels, by width in parts of a pixel.
    lengths: Vec<f64>,
    /// The same of runs that do not go on.
    grain: Vec<f64>,
}

impl Default for Strokes {
    fn default() -> Self {
        Self { lengths: vec![0.0; BINS], grain: vec![0.0; BINS] }
    }
}

impl Strokes {
    fn add(&mut self, width: f32, length: f64, goes_on: bool) {
        let sums = if goes_on { &mut self.lengths } else { &mut self.grain };
        if let Some(sum) = sums.get_mut((width * BINS_A_PX) as usize) {
            *sum += length;
        }
    }

    pub fn with(mut self, other: &Self) -> Self {
        self.lengths.iter_mut().zip(&other.lengths).for_each(|(a, b)| *a += b);
        self.grain.iter_mut().zip(&other.grain).for_each(|(a, b)| *a += b);
        self
    }

    /// Lengths by width without the widths of which most runs are grain.
    fn strokes(&self) -> Vec<f64> {
        let about = |sums: &[f64], bin: usize| -> f64 {
            let (from, to) = (bin as f64 / ABOUT, bin as f64 * ABOUT);
            sums.get(from as usize..(to as usize + 1).min(BINS)).unwrap_or(&[]).iter().sum()
        };
        let of_bin = |(bin, length): (usize, &f64)| {
            let (strokes, grain) = (about(&self.lengths, bin), about(&self.grain, bin));
            if strokes >= GO_ON * (strokes + grain) { *length } else { 0.0 }
        };
        self.lengths.iter().enumerate().map(of_bin).collect()
    }

    /// Width in pixels of the finest strokes that are noticed; `None` where strokes are too few for `art` pixels.
    pub fn finest(&self, art: u64, dpi: Dpi) -> Option<f64> {
        let width = |bin: usize| (bin as f64 + 0.5) / f64::from(BINS_A_PX);
        let lengths = self.strokes();
        let length: f64 = lengths.iter().sum();
        let area: f64 = lengths.iter().enumerate().map(|(bin, n)| width(bin) * n).sum();
        if length < ENOUGH_MM * dpi.px_per_mm() || area < ENOUGH_AREA * art as f64 {
            return None;
        }
        let mut seen = 0.0;
        let finest = lengths.iter().position(|n| {
            seen += n;
            seen > FINER * length
        });
        finest.map(width)
    }
}

/// A stroke that is being followed from row to row.
#[derive(Debug, Clone, Copy)]
struct Chain {
    last: Valley,
    /// Pixels that it moves aside a row.
    slope: f32,
    rows: f32,
    /// Sums over its rows, square to its direction.
    widths: f64,
    length: f64,
    went_on: bool,
}

/// The strokes that a row has been left with.
pub(super) struct Chains {
    open: Vec<Chain>,
    next: Vec<Chain>,
    least: f64,
}

impl Chains {
    pub fn new(dpi: Dpi) -> Self {
        let least = (LONG_MM * dpi.px_per_mm()).max(LONG_PX);
        Self { open: Vec::new(), next: Vec::new(), least }
    }

    /// Goes on with the next row's runs, from left to right.
    pub fn row(&mut self, valleys: &[Valley], strokes: &mut Strokes) {
        self.next.clear();
        let mut from = 0;
        for valley in valleys {
            while self.open.get(from).is_some_and(|c| c.last.centre < valley.centre - 2.0 - STEEP) {
                from += 1;
            }
            let near = self.open.iter_mut().skip(from);
            let near = near.take_while(|c| c.last.centre <= valley.centre + 2.0 + STEEP);
            let fits = near.filter(|c| !c.went_on && c.leads_to(valley));
            let off = |c: &Chain| (valley.centre - c.last.centre - c.slope).abs();
            let best = fits.min_by(|a, b| off(a).total_cmp(&off(b)));
            self.next.push(match best {
                Some(chain) => {
                    chain.went_on = true;
                    chain.onto(*valley)
                }
                None => Chain::new(*valley),
            });
        }
        self.open.iter().filter(|c| !c.went_on).for_each(|c| c.end(self.least, strokes));
        std::mem::swap(&mut self.open, &mut self.next);
    }

    pub fn end(&mut self, strokes: &mut Strokes) {
        self.open.drain(..).for_each(|c| c.end(self.least, strokes));
    }
}

impl Chain {
    fn new(valley: Valley) -> Self {
        let widths = f64::from(valley.width);
        Self { last: valley, slope: 0.0, rows: 1.0, widths, length: 1.0, went_on: false }
    }

    fn leads_to(&self, valley: &Valley) -> bool {
        let moved = valley.centre - self.last.centre;
        // After a few rows it is known where it leads.
        let off = if self.rows < 3.0 { 0.0 } else { moved - self.slope };
        let wider = (valley.width - self.last.width).abs();
        moved.abs() <= STEEP + JUMP && off.abs() <= NEAR && wider <= 1.0 + STEADY * self.last.width
    }

    fn onto(&self, valley: Valley) -> Self {
        let rows = self.rows + 1.0;
        // Over the last rows, for the middles of runs jump by parts of a pixel.
        let part = 1.0 / rows.min(5.0);
        let slope = self.slope + (valley.centre - self.last.centre - self.slope) * part;
        let long = (1.0 + slope * slope).sqrt();
        Self {
            last: valley,
            slope,
            rows,
            widths: self.widths + f64::from(valley.width / long),
            length: self.length + f64::from(long),
            went_on: false,
        }
    }

    fn end(&self, least: f64, strokes: &mut Strokes) {
        let width = self.widths / f64::from(self.rows);
        let goes_on = self.length >= least.max(LONG_WIDTHS * width) && self.slope.abs() <= STEEP;
        strokes.add(width as f32, self.length, goes_on);
    }
}
