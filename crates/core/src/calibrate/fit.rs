//! From colours of patches to tone curves, n, floor and trapping.
//!
//! Coverage follows Murray and Davies, and Yule and Nielsen. In one channel every n has a curve that fits; it is
//! the three channels together that tell which n is right, as only there do all of them ask for the same
//! coverage.

use super::CalibrateError;
use super::read::{SheetReading, Source};
use super::result::{CalibrationResult, ChannelFit, InkFit, StepFit, TrapFit, model};
use super::tones::{coverage, curve, fit_n, halftone, tint_fit, weights};
use crate::cgats::MeasuredPatch;
use crate::colour::{Lab, Light, Xyz};
use crate::overprint::{FLOOR_UNDER_INK, Ground, MAX_INKS, TRAP};
use crate::stock::Finish;
use crate::tone::{ToneCurve, murray_davies, yule_nielsen};

/// A channel tells coverage only where ink and paper differ by this share of the paper.
const CONTRAST: f64 = 0.15;

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
pub fn fit_measured(
    patches: &[MeasuredPatch],
    names: &[String],
    finish: Finish,
) -> Result<CalibrationResult, CalibrateError> {
    fit_patches(patches, names, finish, Source::Instrument)
}

/// A ramp: coverages asked for and the light that came.
pub(super) struct Ramp {
    pub solid: Light,
    pub tints: Vec<(f64, Light)>,
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
    let tints = tint_fit(paper, &ramps, finish.yule_nielsen(), n);
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
        tints,
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

/// The floor lies as far under the darkest patch as under any ink, and the trapping the one that predicts the overprints best over it; where
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
    let measured = (result.darkest < DARK_ENOUGH).then_some(FLOOR_UNDER_INK * result.darkest.max(0.0));
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
    let channels = std::array::from_fn(|c| {
        let points: Vec<(f64, f64)> =
            steps.iter().filter_map(|s| Some((s.asked, s.channels.get(c).copied()??))).collect();
        (points.len() == steps.len()).then(|| channel_fit(&points, &curve)).flatten()
    });
    let weights = weights(paper, ramp.solid, n);
    Ok(InkFit { name: name.to_owned(), solid, curve, steps, rms: square.sqrt(), channels, weights })
}

fn channel_fit(points: &[(f64, f64)], whole: &ToneCurve) -> Option<ChannelFit> {
    let curve = curve(points)?;
    let off = |i: i32| {
        let asked = f64::from(i) / 100.0;
        (curve.effective(asked) - whole.effective(asked)).abs()
    };
    Some(ChannelFit { off: (0..=100).map(off).fold(0.0, f64::max), curve })
}
