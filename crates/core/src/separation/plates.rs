//! A picture into plates: the lattice read off for every pixel.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use slipsheet_base::bounded;

use super::detail::Detail;
use super::forward::Tone;
use super::intent::{Intent, Target, aim};
use super::inverse::{Inverse, covers, luminance};
use super::lattice::{Lattice, Used};
use crate::colour::{Lab, Light, Xyz, lab_and_slope, linear_from_srgb};
use crate::raster::{ColourRaster, GrayRaster, RasterError};

bounded! {
    /// The most that the coverages asked for at a place may add up to.
    InkSum, 0.5..=6.0, default 2.4, "an ink sum", "from 0.5 to 6"
}

bounded! {
    /// How much of a picture's detail the darkest ink prints alone: 0 none, 1 all.
    DetailShare, 0.0..=1.0, default 0.0, "a share of detail", "from 0 to 1"
}

/// How a picture is separated, whatever the inks.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Separation {
    pub intent: Intent,
    /// On the mean of presses more than this sets off on the next sheet (common practice, no source).
    pub ink_sum: InkSum,
    /// Detail that goes into the darkest ink alone, so that it survives slips.
    pub detail: DetailShare,
}

/// The plates of a picture, ink by ink in printing order: 0 full ink, as they are asked for before the curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Plates {
    pub plates: Vec<GrayRaster>,
    /// The mean over the picture of the difference of the print from the picture with its white as paper, CIEDE2000.
    pub mean_difference: f64,
    /// The share of the picture whose print is farther than [`OUT_OF_REACH`] from what it aims at: the same with its black
    /// as the darkest print, where the intent compensates it.
    pub out_of_reach: f64,
}

/// What differs by more than this, CIEDE2000, counts as out of the inks' reach.
pub const OUT_OF_REACH: f64 = 5.0;

/// Exactly even areas of at least so many pixels are solved for themselves.
const FLAT: usize = 1 << 10;
/// Even colours that are solved for themselves.
const MOST_FLATS: usize = 64;

/// Encoded bytes to what a lattice is read by.
struct ToLab {
    linear: [f64; 256],
    wide: bool,
}

impl ToLab {
    fn of(picture: &ColourRaster) -> Self {
        Self { linear: std::array::from_fn(|v| linear_from_srgb(v as f64 / 255.0)), wide: picture.is_wide() }
    }

    fn lab(&self, px: [u8; 3]) -> [f32; 3] {
        self.of_linear(px.map(|v| self.linear[usize::from(v)]))
    }

    fn of_encoded(&self, px: [f32; 3]) -> [f32; 3] {
        let linear = |v: f32| {
            let x = f64::from(v.clamp(0.0, 1.0)) * 255.0;
            let i = (x as usize).min(254);
            self.linear[i] + (self.linear[i + 1] - self.linear[i]) * (x - i as f64)
        };
        self.of_linear(px.map(linear))
    }

    fn of_linear(&self, linear: [f64; 3]) -> [f32; 3] {
        let light: Light = if self.wide { linear } else { Xyz::from_linear_srgb(linear).light() };
        lab_and_slope(light).0.map(|v| v as f32)
    }
}

impl Separation {
    /// Separates a picture into plates; `px_per_mm` is how fine it will lie on the sheet. Stops where `stop` says so.
    pub fn plates(
        &self,
        picture: &ColourRaster,
        px_per_mm: f64,
        inverse: &Inverse,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Option<Plates> {
        let to_lab = ToLab::of(picture);
        let width = picture.width() as usize;
        let share = self.detail.get() as f32;
        let detail = if share > 0.0 { Detail::of(picture.pixels(), width, px_per_mm) } else { None };
        let darkest = inverse.darkest_ink();
        // What is printed by all inks, and how much lighter the picture itself is there.
        let split = |at: (usize, usize), px: [u8; 3]| -> ([f32; 3], f32) {
            let Some(detail) = &detail else { return (to_lab.lab(px), 0.0) };
            let base = detail.base(at, px);
            let own = px.map(|v| f32::from(v) / 255.0);
            let joined = std::array::from_fn(|c| own[c] + (base[c] - own[c]) * share);
            let lab = to_lab.of_encoded(joined);
            (lab, to_lab.lab(px)[0] - lab[0])
        };
        let rows = || picture.pixels().par_chunks(width * 3).enumerate();
        let used = rows()
            .fold(Used::default, |mut used, (y, row)| {
                let mut before = None;
                for (x, px) in row.as_chunks::<3>().0.iter().enumerate() {
                    if detail.is_none() && before == Some(*px) {
                        continue;
                    }
                    before = Some(*px);
                    used.add(split((x, y), *px).0);
                }
                used
            })
            .reduce(Used::default, |a, b| a.and(&b));
        if stop() {
            return None;
        }
        let lattice = Lattice::of(inverse, self.intent, &used, darkest);
        let flats = if detail.is_none() { flats(picture) } else { Vec::new() };
        let flats: Vec<([u8; 3], Vec<u8>)> = flats
            .into_par_iter()
            .map(|px| {
                let [l, a, b] = to_lab.lab(px).map(f64::from);
                let asked =
                    inverse.separated(Lab::new(l.clamp(0.0, 100.0), a, b).unwrap_or(Lab::WHITE), self.intent);
                (px, asked.iter().map(|a| (a * 255.0 + 0.5) as u8).collect())
            })
            .collect();
        if stop() {
            return None;
        }
        let inks = inverse.inks();
        let settled: Vec<[u8; 256]> = inverse.forward.tones.iter().map(levels).collect();
        let mut out: Vec<Vec<u8>> = vec![vec![255; width * picture.height() as usize]; inks];
        let misses = fill(&mut out, width, |y, rows| {
            let row = picture.row(y as u32);
            let mut before: Option<[u8; 3]> = None;
            // Levels, and how far off the picture and what the print aims at.
            let mut last = ([0_u8; super::MOST_INKS], [0.0_f32; 2]);
            let (mut sum, mut far) = (0.0_f64, 0_usize);
            for (x, px) in row.as_chunks::<3>().0.iter().enumerate() {
                if detail.is_some() || before != Some(*px) {
                    let (lab, lighter) = split((x, y), *px);
                    let node = lattice.read(lab);
                    let mut asked = node.asked;
                    if lighter != 0.0 {
                        in_detail(&mut asked, (darkest, inks), (lighter, node.by_detail), inverse.sum as f32);
                    }
                    last.1 = [node.off, node.miss];
                    let flat = flats.iter().find(|(flat, _)| flat == px);
                    for (k, (to, settled)) in last.0.iter_mut().zip(&settled).enumerate() {
                        let level = flat.and_then(|(_, levels)| levels.get(k)).copied();
                        let level = level.unwrap_or((asked[k].clamp(0.0, 1.0) * 255.0 + 0.5) as u8);
                        *to = settled[usize::from(level)];
                    }
                    before = Some(*px);
                }
                for (row, level) in rows.iter_mut().zip(last.0) {
                    if let Some(g) = row.get_mut(x) {
                        *g = 255 - level;
                    }
                }
                let [off, miss] = last.1.map(f64::from);
                sum += off;
                far += usize::from(miss > OUT_OF_REACH);
            }
            (sum, far)
        });
        let pixels = (width * picture.height() as usize).max(1) as f64;
        let plates =
            out.into_iter().filter_map(|p| GrayRaster::new(picture.width(), picture.height(), p).ok());
        let plates: Vec<GrayRaster> = plates.collect();
        (plates.len() == inks && !stop()).then(|| Plates {
            plates,
            mean_difference: misses.0 / pixels,
            out_of_reach: misses.1 as f64 / pixels,
        })
    }
}

/// More or less of one ink, so that the print is as much lighter as the picture is.
fn in_detail(asked: &mut [f32], (ink, inks): (usize, usize), (lighter, by): (f32, f32), sum: f32) {
    let all: f32 = asked.iter().take(inks).sum();
    let Some(own) = asked.get_mut(ink) else { return };
    // Where more of the ink hardly darkens, none of it shows a shape.
    let step = lighter / by.min(-LEAST_SLOPE);
    *own = (*own + step).clamp(0.0, (1.0_f32).min((sum - (all - *own)).max(0.0)));
}

/// Lightness that a whole coverage of the detail's ink takes away at least, L*.
const LEAST_SLOPE: f32 = 10.0;

/// Each level of a plate, 0 none to 255 a solid, as the nearest one that prints as it is asked for.
fn levels(tone: &Tone) -> [u8; 256] {
    std::array::from_fn(|level| {
        let asked = level as f64 / 255.0;
        if !tone.is_lost(asked) {
            return level as u8;
        }
        let to = tone.settled(asked) * 255.0;
        // Rounded so that the level itself is not lost.
        let level = if asked < 0.5 { libm::ceil(to - 1e-9) } else { libm::floor(to + 1e-9) };
        level.clamp(0.0, 255.0) as u8
    })
}

/// Works row by row on several planes at once; the sums of what each row gives.
fn fill(
    planes: &mut [Vec<u8>],
    width: usize,
    work: impl Fn(usize, &mut [&mut [u8]]) -> (f64, usize) + Sync,
) -> (f64, usize) {
    let mut rows: Vec<Vec<&mut [u8]>> = Vec::new();
    for plane in planes {
        for (y, row) in plane.chunks_mut(width).enumerate() {
            if rows.len() <= y {
                rows.push(Vec::new());
            }
            if let Some(of_row) = rows.get_mut(y) {
                of_row.push(row);
            }
        }
    }
    let each: Vec<(f64, usize)> = rows.par_iter_mut().enumerate().map(|(y, rows)| work(y, rows)).collect();
    each.into_iter().fold((0.0, 0), |a, b| (a.0 + b.0, a.1 + b.1))
}

/// Colours that fill areas exactly, those that fill most first.
fn flats(picture: &ColourRaster) -> Vec<[u8; 3]> {
    let width = picture.width() as usize;
    let runs = |row: &[u8]| {
        let mut found: std::collections::BTreeMap<[u8; 3], usize> = std::collections::BTreeMap::new();
        let pixels = row.as_chunks::<3>().0;
        for run in pixels.chunk_by(|a, b| a == b).filter(|run| run.len() >= 16) {
            if let Some(px) = run.first() {
                *found.entry(*px).or_default() += run.len();
            }
        }
        found
    };
    let found = picture.pixels().par_chunks(width * 3).map(runs).reduce(Default::default, |mut a, b| {
        b.into_iter().for_each(|(px, n)| *a.entry(px).or_default() += n);
        a
    });
    let mut found: Vec<([u8; 3], usize)> = found.into_iter().filter(|(_, n)| *n >= FLAT).collect();
    found.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    found.into_iter().take(MOST_FLATS).map(|(px, _)| px).collect()
}

impl Inverse {
    /// The ink that prints darkest alone.
    pub fn darkest_ink(&self) -> usize {
        let alone = |k: usize| {
            let mut asked = [0.0; super::MOST_INKS];
            asked.iter_mut().skip(k).take(1).for_each(|a| *a = 1.0);
            luminance(self.forward.light(&asked))
        };
        (0..self.inks()).min_by(|a, b| alone(*a).total_cmp(&alone(*b))).unwrap_or(0)
    }

    /// How far the light of a print is from what a picture's colour aims at, CIEDE2000: its white is paper, and its black
    /// the darkest print with the intents that compensate it.
    pub(super) fn difference(&self, source: Lab, intent: Intent, light: Light) -> f64 {
        let aim = Xyz::from_light(aim(source, intent, &self.paper, self.darkest())).lab();
        let parts = Target::exactly(aim).difference(light);
        libm::sqrt(parts.iter().map(|p| p * p).sum())
    }
}

/// The difference of the print from what it aims at for every pixel, CIEDE2000 in tenths, 255 for all beyond.
pub fn out_of_reach(
    picture: &ColourRaster,
    plates: &[GrayRaster],
    (inverse, intent): (&Inverse, Intent),
) -> Result<GrayRaster, RasterError> {
    let to_lab = ToLab::of(picture);
    let width = picture.width() as usize;
    let mut out = GrayRaster::filled(picture.width(), picture.height(), 0)?;
    out.pixels_mut().par_chunks_mut(width).enumerate().for_each(|(y, out)| {
        let row = picture.row(y as u32).as_chunks::<3>().0;
        for (x, (out, px)) in out.iter_mut().zip(row).enumerate() {
            let cover: Vec<f64> = plates
                .iter()
                .map(|p| 1.0 - f64::from(p.row(y as u32).get(x).copied().unwrap_or(255)) / 255.0)
                .collect();
            let [l, a, b] = to_lab.lab(*px).map(f64::from);
            let source = Lab::new(l.clamp(0.0, 100.0), a, b).unwrap_or(Lab::WHITE);
            let light = inverse.forward.lab(&covers(&cover)).light();
            *out = (inverse.difference(source, intent, light) * 10.0).min(255.0) as u8;
        }
    });
    Ok(out)
}
