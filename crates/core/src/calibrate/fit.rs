//! From colours of patches to tone curves, n, floor and trapping.
//!
//! Coverage follows Murray and Davies, and Yule and Nielsen. In one channel every n has a curve that fits; it is
//! the three channels together that tell which n is right, as only there do all of them ask for the same
//! coverage.

use super::CalibrateError;
use super::read::{SheetReading, Source};
use crate::cgats::MeasuredPatch;
use crate::colour::{Lab, Light, Xyz};
use crate::ink::{Ink, OverprintSwatch, Swatch};
use crate::overprint::{Film, Ground, MAX_INKS, Overprint, OverprintError, TRAP};
use crate::stock::Finish;
use crate::tone::{ToneCurve, murray_davies, yule_nielsen};

/// A channel tells coverage only where ink and paper differ by this share of the paper.
const CONTRAST: f64 = 0.15;

/// One step of a ramp.
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
    /// Name.
    pub name: String,
    /// Colour of the solid.
    pub solid: Lab,
    /// Monotone curve through the steps.
    pub curve: ToneCurve,
    /// Steps, lightest first.
    pub steps: Vec<StepFit>,
    /// Root of the mean square residual, in coverage.
    pub rms: f64,
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
    /// Where the colours come from.
    pub source: Source,
    /// Colour of the paper.
    pub paper: Lab,
    /// Its surface.
    pub finish: Finish,
    /// Inks in printing order.
    pub inks: Vec<InkFit>,
    /// Yule-Nielsen n, 1..=4.
    pub n: f64,
    /// Values of n that predict the ramps nearly as well (within 0.05 CIEDE2000); a wide range says that the
    /// inks do not tell n.
    pub n_range: (f64, f64),
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
            curve: fit.curve.clone(),
            ..base
        }
    }

    /// The overprints as swatches on a stock.
    pub fn swatches(&self, stock: &str) -> Vec<OverprintSwatch> {
        let names = |mask: usize| {
            let printed = self.inks.iter().enumerate().filter(move |(k, _)| mask >> k & 1 == 1);
            printed.map(|(_, i)| i.name.clone()).collect()
        };
        let swatch = |(mask, lab): &(usize, Lab)| OverprintSwatch {
            inks: names(*mask),
            stock: stock.to_owned(),
            lab: *lab,
        };
        self.overprints.iter().map(swatch).collect()
    }

    /// The press as it was measured, without the measured overprints.
    ///
    /// # Errors
    /// As [`Overprint::new`].
    pub fn model(&self) -> Result<Overprint, OverprintError> {
        let trap = self.trap.map_or(TRAP, |t| t.trap);
        let solids: Vec<Lab> = self.inks.iter().map(|i| i.solid).collect();
        model(self.paper, &solids, Ground { paper: self.paper, floor: self.floor, trap, n: self.n })
    }
}

/// Fits a press to a sheet that was read.
///
/// # Errors
/// When paper or a solid is missing, or a solid cannot be told from the paper.
pub fn fit(reading: &SheetReading) -> Result<CalibrationResult, CalibrateError> {
    let cover = |kind: super::PatchKind| (0..reading.inks.len()).map(|k| kind.asked(k)).collect();
    let patches: Vec<MeasuredPatch> = reading
        .patches
        .iter()
        .map(|p| MeasuredPatch { name: String::new(), cover: cover(p.kind), lab: p.lab })
        .collect();
    fit_patches(&patches, &reading.inks, reading.finish, reading.source)
}

/// Fits a press to an instrument's patches: ramps, solids and overprints are found by their coverages.
/// Patches of several inks in tints are passed over.
///
/// # Errors
/// As [`fit`].
pub fn fit_measured(
    patches: &[MeasuredPatch],
    names: &[String],
    finish: Finish,
) -> Result<CalibrationResult, CalibrateError> {
    fit_patches(patches, names, finish, Source::Instrument)
}

/// A ramp: coverages asked for and the light that came.
struct Ramp {
    solid: Light,
    tints: Vec<(f64, Light)>,
}

fn fit_patches(
    patches: &[MeasuredPatch],
    names: &[String],
    finish: Finish,
    source: Source,
) -> Result<CalibrationResult, CalibrateError> {
    if !(1..=MAX_INKS).contains(&names.len()) {
        return Err(CalibrateError::Inks(names.len()));
    }
    let only = |keep: &dyn Fn(&MeasuredPatch) -> bool| {
        mean(patches.iter().filter(|p| keep(p)).map(|p| p.lab.light()))
    };
    let paper = only(&|p| p.cover.iter().all(|c| *c <= 0.0)).ok_or(CalibrateError::NoPaper)?;
    let ramps: Vec<Ramp> = (0..names.len())
        .map(|k| ramp(patches, k, paper, &names[k]))
        .collect::<Result<_, CalibrateError>>()?;
    let (n, n_range) = fit_n(paper, &ramps, finish.yule_nielsen());
    let inks: Vec<InkFit> =
        ramps.iter().zip(names).map(|(r, name)| ink_fit(paper, r, n, name)).collect::<Result<_, _>>()?;
    let solid = |c: &f64| *c <= 0.0 || *c >= 1.0;
    let overprints: Vec<(usize, Lab)> = (1..1_usize << names.len())
        .filter(|mask| mask.count_ones() > 1)
        .filter_map(|mask| {
            let same = |p: &MeasuredPatch| {
                p.cover.iter().all(solid)
                    && (0..names.len()).all(|k| (p.cover.get(k) >= Some(&1.0)) == (mask >> k & 1 == 1))
            };
            Some((mask, Xyz::from_light(only(&same)?).lab()))
        })
        .collect();
    let lab = Xyz::from_light(paper).lab();
    let darkest = patches.iter().map(|p| p.lab.xyz().y).fold(f64::INFINITY, f64::min) / lab.xyz().y;
    let mut result = CalibrationResult {
        source,
        paper: lab,
        finish,
        inks,
        n,
        n_range,
        darkest,
        floor: finish.floor(),
        floor_measured: false,
        trap: None,
        overprints,
    };
    fit_floor_and_trap(&mut result);
    Ok(result)
}

/// A patch lighter than this share of the paper says nothing about the floor: newsprint has 0.17.
const DARK_ENOUGH: f64 = 0.2;

/// The floor is the darkest patch's, and the trapping the one that predicts the overprints best over it; where
/// that is worse than the finish's floor with its own best trapping, the finish's floor stays.
fn fit_floor_and_trap(result: &mut CalibrationResult) {
    let solids: Vec<Lab> = result.inks.iter().map(|i| i.solid).collect();
    let error = |floor: f64, trap: f64| {
        let ground = Ground { paper: result.paper, floor, trap, n: result.n };
        let model = model(result.paper, &solids, ground).ok()?;
        let all = result.overprints.iter().map(|(mask, lab)| model.primary(*mask).lab().ciede2000(*lab));
        Some(all.sum::<f64>() / result.overprints.len() as f64)
    };
    let usual = result.finish.floor();
    let measured = (result.darkest < DARK_ENOUGH).then_some(result.darkest.max(0.0));
    let best = |floor: f64| {
        let all =
            (30..=150).filter_map(|t| Some((error(floor, f64::from(t) / 100.0)?, f64::from(t) / 100.0)));
        all.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(after, trap)| (after, trap, floor))
    };
    if result.overprints.is_empty() {
        (result.floor, result.floor_measured) = (measured.unwrap_or(usual), measured.is_some());
        return;
    }
    let found = [measured.and_then(best), best(usual)].into_iter().flatten();
    let (Some((after, trap, floor)), Some(before)) =
        (found.min_by(|a, b| a.0.total_cmp(&b.0)), error(usual, TRAP))
    else {
        return;
    };
    let count = result.overprints.len();
    result.floor_measured = measured.is_some_and(|m| (m - floor).abs() < 1e-12);
    result.floor = floor;
    result.trap = Some(TrapFit { trap, before, after, count });
}

fn model(paper: Lab, solids: &[Lab], ground: Ground) -> Result<Overprint, OverprintError> {
    let film =
        |solid: &Lab| Film { solid: *solid, on: paper, on_floor: ground.floor, opacity: 0.0, emission: 1.0 };
    Overprint::new(&ground, &solids.iter().map(film).collect::<Vec<_>>())
}

/// One ink's patches, those of the same coverage as one.
fn ramp(patches: &[MeasuredPatch], ink: usize, paper: Light, name: &str) -> Result<Ramp, CalibrateError> {
    let mut all: Vec<(f64, Light)> = patches
        .iter()
        .filter(|p| p.cover.iter().enumerate().all(|(k, c)| k == ink || *c <= 0.0))
        .filter_map(|p| Some((*p.cover.get(ink)?, p.lab.light())))
        .filter(|(asked, _)| *asked > 0.0)
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut tints: Vec<(f64, Light)> = all
        .chunk_by(|a, b| b.0 - a.0 < 1e-6)
        .filter_map(|same| Some((same.first()?.0, mean(same.iter().map(|s| s.1))?)))
        .collect();
    let solid = tints.pop().filter(|(asked, _)| *asked >= 1.0);
    let (_, solid) = solid.ok_or_else(|| CalibrateError::NoSolid { ink: name.to_owned() })?;
    if (0..3).all(|c| (paper[c] - solid[c]).abs() < 0.03 * paper[c]) {
        return Err(CalibrateError::Pale { ink: name.to_owned() });
    }
    tints.push((1.0, solid));
    Ok(Ramp { solid, tints })
}

fn mean(lights: impl Iterator<Item = Light>) -> Option<Light> {
    let (mut sum, mut n) = ([0.0; 3], 0.0);
    for light in lights {
        for (s, v) in sum.iter_mut().zip(light) {
            *s += v.max(0.0);
        }
        n += 1.0;
    }
    (n > 0.0).then(|| sum.map(|s| s / n))
}

fn root(light: Light, n: f64) -> Light {
    light.map(|v| libm::pow(v.max(0.0), 1.0 / n))
}

/// Coverage by least squares over the channels in the `1/n` power space, where it is linear.
fn coverage(paper: Light, solid: Light, tint: Light, n: f64) -> f64 {
    let (p, s, t) = (root(paper, n), root(solid, n), root(tint, n));
    let (mut up, mut down) = (0.0, 0.0);
    for c in 0..3 {
        up += (p[c] - t[c]) * (p[c] - s[c]);
        down += (p[c] - s[c]) * (p[c] - s[c]);
    }
    up / down.max(1e-12)
}

fn halftone(paper: Light, solid: Light, cover: f64, n: f64) -> Lab {
    let (p, s) = (root(paper, n), root(solid, n));
    let light = std::array::from_fn(|c| libm::pow((p[c] + cover * (s[c] - p[c])).max(0.0), n));
    Xyz::from_light(light).lab()
}

/// The n whose coverages predict the ramps' colours best, and the range that does nearly as well.
fn fit_n(paper: Light, ramps: &[Ramp], usual: f64) -> (f64, (f64, f64)) {
    let error = |n: f64| {
        let (mut sum, mut count) = (0.0, 0.0);
        for r in ramps {
            for (_, tint) in &r.tints {
                let cover = coverage(paper, r.solid, *tint, n).clamp(0.0, 1.0);
                let off = halftone(paper, r.solid, cover, n).ciede2000(Xyz::from_light(*tint).lab());
                sum += off * off;
                count += 1.0;
            }
        }
        (sum / f64::max(count, 1.0)).sqrt()
    };
    let all: Vec<(f64, f64)> = (0..=150).map(|i| 1.0 + f64::from(i) * 0.02).map(|n| (n, error(n))).collect();
    // Where the ramps say nothing, as those of a neutral ink, n stays at what the paper usually has.
    let pulled = |(n, e): &(f64, f64)| e + 0.002 * (n - usual) * (n - usual);
    let Some(best) = all.iter().min_by(|a, b| pulled(a).total_cmp(&pulled(b))) else {
        return (usual, (1.0, 4.0));
    };
    let near = || all.iter().filter(|(_, e)| *e <= best.1 + 0.05).map(|(n, _)| *n);
    (best.0, (near().fold(4.0, f64::min), near().fold(1.0, f64::max)))
}

fn ink_fit(paper: Light, ramp: &Ramp, n: f64, name: &str) -> Result<InkFit, CalibrateError> {
    let effective: Vec<(f64, f64)> =
        ramp.tints.iter().map(|(asked, tint)| (*asked, coverage(paper, ramp.solid, *tint, n))).collect();
    let curve = curve(&effective).ok_or_else(|| CalibrateError::Colour { what: name.to_owned() })?;
    let y = |light: Light| Xyz::from_light(light).y;
    let steps: Vec<StepFit> = ramp
        .tints
        .iter()
        .zip(&effective)
        .map(|((asked, tint), (_, effective))| {
            let fitted = curve.effective(*asked);
            StepFit {
                asked: *asked,
                murray_davies: murray_davies(y(paper), y(ramp.solid), y(*tint)),
                effective: *effective,
                channels: std::array::from_fn(|c| {
                    let (p, s) = (paper[c], ramp.solid[c]);
                    ((p - s).abs() > CONTRAST * p).then(|| yule_nielsen(p, s, tint[c], n))
                }),
                fitted,
                delta_e: halftone(paper, ramp.solid, fitted, n).ciede2000(Xyz::from_light(*tint).lab()),
            }
        })
        .collect();
    let square = steps.iter().map(|s| s.residual() * s.residual()).sum::<f64>() / steps.len() as f64;
    let solid = Xyz::from_light(ramp.solid).lab();
    Ok(InkFit { name: name.to_owned(), solid, curve, steps, rms: square.sqrt() })
}

/// A monotone curve through measured points: nothing at 0, a solid at 1, between them the nearest rising
/// sequence (pool adjacent violators; Ayer and others, Annals of Mathematical Statistics 26, 1955). What stays
/// within 1 % of nothing or of a solid sets the lightest tone and the fill-in shadow.
fn curve(points: &[(f64, f64)]) -> Option<ToneCurve> {
    let inner: Vec<(f64, f64)> = points.iter().copied().filter(|(x, _)| *x > 0.0 && *x < 1.0).collect();
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (_, y) in &inner {
        pools.push((y.clamp(0.0, 1.0), 1));
        while let [.., a, b] = pools[..] {
            if a.0 <= b.0 {
                break;
            }
            pools.truncate(pools.len() - 2);
            let count = a.1 + b.1;
            pools.push(((a.0 * a.1 as f64 + b.0 * b.1 as f64) / count as f64, count));
        }
    }
    let rising = pools.iter().flat_map(|(y, count)| std::iter::repeat_n(*y, *count));
    let mut all = vec![(0.0, 0.0)];
    all.extend(inner.iter().zip(rising).map(|((x, _), y)| (*x, y)));
    all.push((1.0, 1.0));
    let lightest = all.iter().take_while(|(_, y)| *y < 0.01).last().map_or(0.0, |p| p.0.min(0.5));
    let fill_in = all.iter().find(|(_, y)| *y > 0.99).map_or(1.0, |p| p.0.max(0.5));
    ToneCurve::new(all).ok()?.with_limits(lightest, fill_in).ok()
}
