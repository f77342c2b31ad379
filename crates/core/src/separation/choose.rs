//! Which inks print a picture nearest: sets of the shelf's inks, tried on a picture's main colours.

use rayon::prelude::*;

use super::MOST_INKS;
use super::intent::{Intent, Target};
use super::inverse::{Inverse, SeparationError};
use super::solve::{Bounds, nearest};
use crate::colour::{Lab, Xyz, linear_from_srgb};
use crate::ink::{Ink, OverprintSwatch};
use crate::raster::ColourRaster;
use crate::stock::Stock;

/// A set of inks on a stock, and how near it prints.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// Index of the stock.
    pub stock: usize,
    /// Indices of the inks, the lightest first, as they are printed (common practice, no source).
    pub inks: Vec<usize>,
    /// The mean over the picture of the difference of the print from it with its white as paper, CIEDE2000.
    pub mean_difference: f64,
}

/// Colours that a picture is judged by.
const COLOURS: usize = 96;
/// Sets of a size that are grown by one more ink.
const GROWN: usize = 48;
/// Sets that are tried without a choice among them.
const ALL: usize = 2000;

/// The sets of `count` inks that print a picture nearest, the best first, at most `most`; fewer where `stop` says so.
///
/// Up to some two thousand sets all are tried. Of more, the best sets of one ink less are grown by each other ink.
pub fn choose(
    picture: &ColourRaster,
    (stocks, inks): (&[&Stock], &[&Ink]),
    measured: &[OverprintSwatch],
    (count, most): (usize, usize),
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<Chosen>, SeparationError> {
    if !(1..=MOST_INKS).contains(&count) || count > inks.len() {
        return Err(SeparationError::Inks(count));
    }
    let colours = main_colours(picture);
    let mut order: Vec<usize> = (0..inks.len()).collect();
    let light = |i: usize| inks.get(i).map_or(0.0, |ink| ink.solid.lab().l());
    order.sort_by(|a, b| light(*b).total_cmp(&light(*a)).then(a.cmp(b)));
    let rate = |stock: usize, set: &[usize]| -> Option<Chosen> {
        if stop() {
            return None;
        }
        let of_set: Vec<&Ink> = set.iter().filter_map(|i| inks.get(*i).copied()).collect();
        let inverse = Inverse::of(stocks.get(stock)?, &of_set, measured, None).ok()?;
        let mean_difference = mean_difference(&inverse, &colours);
        Some(Chosen { stock, inks: set.to_vec(), mean_difference })
    };
    let mut best: Vec<Chosen> = Vec::new();
    for stock in 0..stocks.len() {
        let mut sets: Vec<Vec<usize>> = vec![Vec::new()];
        let mut rated: Vec<Chosen> = Vec::new();
        for size in 1..=count {
            sets = grown(&sets, &order);
            // Smaller sets are rated only to choose those that are grown.
            let next = sets.len() * order.len() / (size + 1);
            if size < count && next <= ALL {
                continue;
            }
            rated = sets.par_iter().filter_map(|set| rate(stock, set)).collect();
            rated.sort_by(|a, b| a.mean_difference.total_cmp(&b.mean_difference).then(a.inks.cmp(&b.inks)));
            if size < count {
                sets = rated.iter().take(GROWN).map(|chosen| chosen.inks.clone()).collect();
            }
        }
        best.extend(rated.into_iter().take(most));
    }
    best.sort_by(|a, b| a.mean_difference.total_cmp(&b.mean_difference));
    best.truncate(most);
    Ok(best)
}

/// Every set with one more ink, each once, its inks in this order.
fn grown(sets: &[Vec<usize>], order: &[usize]) -> Vec<Vec<usize>> {
    let place = |ink: &usize| order.iter().position(|i| i == ink);
    let with = |set: &Vec<usize>| {
        order
            .iter()
            .filter(|ink| !set.contains(ink))
            .map(|ink| {
                let mut more = set.clone();
                more.push(*ink);
                more.sort_by_key(place);
                more
            })
            .collect::<Vec<_>>()
    };
    let mut all: Vec<Vec<usize>> = sets.iter().flat_map(with).collect();
    all.sort();
    all.dedup();
    all
}

/// The mean difference of the nearest prints, by how often each colour is there.
fn mean_difference(inverse: &Inverse, colours: &[(Lab, f64)]) -> f64 {
    let free = Bounds::exact(inverse.sum);
    let mut start = [0.3; MOST_INKS];
    let mut sum = 0.0;
    for (colour, share) in colours {
        let target = Target::of(*colour, Intent::RelativeColorimetric, &inverse.paper, 0.0);
        let from_paper = nearest(&inverse.forward, &target, &free, &[0.05; MOST_INKS], None);
        let from_last = nearest(&inverse.forward, &target, &free, &start, None);
        let (asked, _) = if from_paper.1 < from_last.1 { from_paper } else { from_last };
        start = asked;
        let parts = target.difference(inverse.forward.light(&asked));
        sum += share * libm::sqrt(parts.iter().map(|p| p * p).sum());
    }
    sum
}

/// The colours of a picture that stand for most of it, with the share of each.
fn main_colours(picture: &ColourRaster) -> Vec<(Lab, f64)> {
    let mut cells: std::collections::BTreeMap<[u8; 3], ([f64; 3], usize)> = std::collections::BTreeMap::new();
    // Some hundred thousand pixels tell as much as all of them.
    let every = (picture.pixels().len() / 3 / 120_000).max(1);
    for px in picture.pixels().as_chunks::<3>().0.iter().step_by(every) {
        let (sum, count) = cells.entry(px.map(|v| v >> 4)).or_default();
        sum.iter_mut().zip(px).for_each(|(s, v)| *s += linear_from_srgb(f64::from(*v) / 255.0));
        *count += 1;
    }
    let mut cells: Vec<([f64; 3], usize)> = cells.into_values().collect();
    cells.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.partial_cmp(&b.0).unwrap_or(std::cmp::Ordering::Equal)));
    cells.truncate(COLOURS);
    let all: usize = cells.iter().map(|c| c.1).sum();
    let colour = |(sum, count): ([f64; 3], usize)| {
        let linear = sum.map(|s| s / count as f64);
        let xyz = if picture.is_wide() { Xyz::from_light(linear) } else { Xyz::from_linear_srgb(linear) };
        (xyz.lab(), count as f64 / all.max(1) as f64)
    };
    // From light to dark, so that each is near the one before.
    let mut colours: Vec<(Lab, f64)> = cells.into_iter().map(colour).collect();
    colours.sort_by(|a, b| b.0.l().total_cmp(&a.0.l()));
    colours
}
