//! Lining up a photograph by pairs of points: the projective map and the lens that fit them, and the choice of
//! the plainest map that explains what marks say.

use super::solve::{FitKind, SolveError, solve};
use slipsheet_base::projective::{Flatten, Homography, Lens};
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::units::Dpi;

/// Pairs that fix a projective map.
const PAIRS_NEEDED: usize = 4;
/// So many pairs leave enough over to measure a lens by.
const PAIRS_FOR_LENS: usize = 7;
/// A lens is believed when it takes the residuals' root mean square below this share of what it was: at seven
/// pairs chance does that about once in thirty times (F-test with one parameter against five freedoms), at nine once
/// in three hundred.
const LENS_GAIN: f64 = 0.6;
/// The strongest lens looked for, either way.
const MOST_BEND: f64 = 0.15;
/// Residuals below this root mean square, in mm, are what marks drawn by hand are anyway.
const GOOD_ENOUGH: f64 = 0.1;
/// How seldom chance may make two more freedoms look needed.
const CHANCE: f64 = 0.01;
/// What an affine map may be off at worst through four marks, in mm; no flat-bed is that bad.
const NO_SCAN: f64 = 1.0;

/// The plainest map that explains the marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Chosen {
    /// As a sound flat-bed scans: a shift, a turn and a scale.
    #[default]
    Similarity,
    /// As a scanner whose carriage runs long or slanted scans.
    Affine,
    /// As a camera sees a sheet.
    Perspective,
}

/// Which map the marks ask for, from pairs `(in pixels, in mm on the sheet)`.
///
/// A step from four to six, and from six to eight freedoms is taken when the plainer map leaves more than 0.1 mm
/// (root mean square) and chance would explain the gain less than once in a hundred times. Two more freedoms against
/// `d` left over gain by chance with the probability `(S₁ / S₀)^(d/2)`, where `S₀` and `S₁` are the sums of squared
/// residuals before and after (F distribution with two and `d` freedoms). Through four marks every projective map
/// fits, so there the affine one has to be off by more than a millimetre.
pub fn choose_fit(pairs: &[(Point, Point)]) -> Chosen {
    let sum = |residuals: &[f64]| residuals.iter().map(|r| r * r).sum::<f64>();
    let n = pairs.len() as f64;
    let (Ok(similar), Ok(affine)) = (solve(FitKind::Similarity, pairs), solve(FitKind::Affine, pairs)) else {
        return Chosen::Similarity;
    };
    let (s_similar, s_affine) = (sum(&similar.residuals_mm), sum(&affine.residuals_mm));
    let needed = |rms: f64, before: f64, after: f64, free: f64| {
        rms > GOOD_ENOUGH && free > 0.0 && libm::pow(after / before, free / 2.0) < CHANCE
    };
    let perspective = match Homography::of_pairs(pairs) {
        Some(_) if pairs.len() == PAIRS_NEEDED => affine.residuals_mm.iter().any(|r| *r > NO_SCAN),
        Some(map) => {
            let residuals: Vec<f64> = pairs.iter().map(|(p, q)| (map * *p).distance(*q)).collect();
            needed(affine.rms_mm, s_affine, sum(&residuals), 2.0 * n - 8.0)
        }
        None => false,
    };
    if perspective {
        Chosen::Perspective
    } else if needed(similar.rms_mm, s_similar, s_affine, 2.0 * n - 6.0) {
        Chosen::Affine
    } else {
        Chosen::Similarity
    }
}

/// How a camera saw a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct PerspectiveFit {
    /// From mm on the sheet to pixels of the photograph without its lens; [`Lens::distort`] comes after it.
    pub photo_from_sheet: Homography,
    /// What bends the photograph; its `k` is 0 where no lens was measured.
    pub lens: Lens,
    /// Distance in mm on the sheet between where the map puts each pair's first point and its second.
    pub residuals_mm: Vec<f64>,
    /// Root of the mean square of the residuals of the pairs used.
    pub rms_mm: f64,
    /// Which pairs were used; all of them unless outliers were set aside.
    pub used: Vec<bool>,
}

impl PerspectiveFit {
    /// Where a point of the sheet, in mm, lies in the photograph, in pixels.
    pub fn in_photo(&self, on_sheet: Point) -> Point {
        self.lens.distort(self.photo_from_sheet * on_sheet)
    }

    /// Which point of the sheet, in mm, a pixel of the photograph shows; `None` beyond the horizon.
    pub fn on_sheet(&self, in_photo: Point) -> Option<Point> {
        let at = self.photo_from_sheet.inverse()? * self.lens.undistort(in_photo);
        (at.x.is_finite() && at.y.is_finite()).then_some(at)
    }

    /// How to make a flat picture of a part of the sheet, in mm; it may reach beyond the sheet.
    pub fn flatten(&self, part: Rect, dpi: Dpi) -> Flatten {
        let (x1, y1) = (part.x + part.width, part.y + part.height);
        let corners = [(part.x, part.y), (x1, part.y), (x1, y1), (part.x, y1)];
        let pixels = |mm: f64| libm::round(mm * dpi.px_per_mm()).max(1.0) as u32;
        Flatten {
            corners: corners.map(|(x, y)| self.photo_from_sheet * Point::new(x, y)),
            lens: self.lens,
            width: pixels(part.width),
            height: pixels(part.height),
        }
    }

    /// The greatest residual of the pairs used, in mm.
    pub fn max_mm(&self) -> f64 {
        let used = self.residuals_mm.iter().zip(&self.used).filter(|(_, used)| **used);
        used.fold(0.0, |most, (r, _)| most.max(*r))
    }
}

/// The projective map with the least squared distances on the sheet, from pairs `(in pixels of the photograph, in mm
/// on the sheet)` and the photograph's width and height in pixels.
///
/// The lens is measured where that is asked for, at least seven pairs are given, and the residuals' root mean square
/// falls below 0.6 of what it is without.
///
/// # Errors
/// When there are fewer than four pairs, or their points do not fix such a map.
pub fn solve_perspective(
    pairs: &[(Point, Point)],
    photo_size: (u32, u32),
    with_lens: bool,
) -> Result<PerspectiveFit, SolveError> {
    if pairs.len() < PAIRS_NEEDED {
        return Err(SolveError::TooFew { needed: PAIRS_NEEDED, got: pairs.len() });
    }
    let straight = Lens::of_photo(photo_size.0, photo_size.1, 0.0);
    let plain = through(pairs, straight).ok_or(SolveError::Degenerate)?;
    let measured = if with_lens { bent(pairs, plain) } else { plain };
    rated(measured, pairs, vec![true; pairs.len()])
}

/// As [`solve_perspective`], but of at least six pairs one, or one in eight, that contradicts the others by more
/// than `limit_mm` is set aside, and the lens starts as one that something else has measured.
///
/// Of the maps through four pairs and a few lenses, that with the least sum of squared residuals decides, where no
/// residual counts for more than the limit (Torr and Zisserman 2000).
pub(super) fn solve_rejecting(
    pairs: &[(Point, Point)],
    first: Lens,
    limit_mm: f64,
) -> Result<PerspectiveFit, SolveError> {
    if pairs.len() < PAIRS_NEEDED {
        return Err(SolveError::TooFew { needed: PAIRS_NEEDED, got: pairs.len() });
    }
    let start = through(pairs, first).ok_or(SolveError::Degenerate)?;
    // Four pairs fit with any lens, so nothing speaks against the one measured.
    let straight = through(pairs, Lens { k: 0.0, ..first })
        .filter(|plain| pairs.len() > PAIRS_NEEDED && plain.sum < start.sum);
    let all = rated(bent(pairs, straight.unwrap_or(start)), pairs, vec![true; pairs.len()])?;
    if pairs.len() < 6 || all.max_mm() <= limit_mm {
        return Ok(all);
    }
    let Some(mut view) = most_agreed(pairs, first, limit_mm) else { return Ok(all) };
    let mut used = vec![true; pairs.len()];
    // A map through few pairs is coarse: what it keeps gives a better one, which is asked again.
    for slack in [2.0, 1.0, 1.0] {
        used = pairs.iter().map(|pair| view.residual(pair) <= slack * limit_mm).collect();
        let kept: Vec<_> = pairs.iter().zip(&used).filter(|(_, used)| **used).map(|(p, _)| *p).collect();
        if pairs.len() - kept.len() > (pairs.len() / 8).max(1) {
            return Ok(all);
        }
        view = match through(&kept, view.lens) {
            Some(plain) => bent(&kept, plain),
            None => return Ok(all),
        };
    }
    rated(view, pairs, used)
}

/// A map with its lens, and the sum of its squared residuals.
#[derive(Debug, Clone, Copy)]
struct View {
    sheet_from_photo: Homography,
    lens: Lens,
    sum: f64,
}

impl View {
    fn residual(&self, (photo, sheet): &(Point, Point)) -> f64 {
        (self.sheet_from_photo * self.lens.undistort(*photo)).distance(*sheet)
    }
}

fn through(pairs: &[(Point, Point)], lens: Lens) -> Option<View> {
    let ideal: Vec<_> = pairs.iter().map(|(photo, sheet)| (lens.undistort(*photo), *sheet)).collect();
    let sheet_from_photo = Homography::of_pairs(&ideal)?;
    let view = View { sheet_from_photo, lens, sum: 0.0 };
    let sum = pairs.iter().map(|pair| view.residual(pair)).map(|r| r * r).sum();
    Some(View { sum, ..view })
}

/// The view with the lens that fits best, or as it was where there are few pairs or that does not clearly help.
fn bent(pairs: &[(Point, Point)], plain: View) -> View {
    if pairs.len() < PAIRS_FOR_LENS {
        return plain;
    }
    let sum = |k: f64| through(pairs, Lens { k, ..plain.lens }).map_or(f64::INFINITY, |view| view.sum);
    let k = least(MOST_BEND, sum);
    let better = through(pairs, Lens { k, ..plain.lens });
    better.filter(|view| view.sum < LENS_GAIN * LENS_GAIN * plain.sum).unwrap_or(plain)
}

/// Where within `-most..=most` a smooth function is least: the best of an even row, then golden sections
/// (Kiefer 1953).
pub(super) fn least(most: f64, f: impl Fn(f64) -> f64) -> f64 {
    let step = most / 6.0;
    let row = (-6..=6).map(|i| f64::from(i) * step);
    let best = row.map(|k| (k, f(k))).min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0.0, |(k, _)| k);
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = ((best - step).max(-most), (best + step).min(most));
    let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_a, mut at_b) = (f(a), f(b));
    for _ in 0..24 {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - golden * (high - low);
            at_a = f(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + golden * (high - low);
            at_b = f(b);
        }
    }
    f64::midpoint(low, high)
}

/// The map through four pairs that the others agree with most.
fn most_agreed(pairs: &[(Point, Point)], first: Lens, limit_mm: f64) -> Option<View> {
    let bends = [first.k, 0.0, -0.06, -0.03, 0.03, 0.06];
    // Fewer pairs than measure a lens cannot tell which of several is right.
    let bends = bends.get(..if pairs.len() < PAIRS_FOR_LENS { 1 } else { bends.len() })?;
    let mut best: Option<View> = None;
    for k in bends {
        let lens = Lens { k: *k, ..first };
        let ideal: Vec<_> = pairs.iter().map(|(photo, sheet)| (lens.undistort(*photo), *sheet)).collect();
        for four in fours(&ideal) {
            let Some(map) = Homography::of_corners(four.map(|p| p.0), four.map(|p| p.1)) else { continue };
            let cost = |(from, to): &(Point, Point)| {
                let r = (map * *from).distance(*to).min(2.0 * limit_mm);
                r * r
            };
            let sum: f64 = ideal.iter().map(cost).sum();
            if best.is_none_or(|b| sum < b.sum) {
                best = Some(View { sheet_from_photo: map, lens, sum });
            }
        }
    }
    best
}

/// Every choice of four, or an even share of them where there would be many.
pub(super) fn fours<T: Copy>(items: &[T]) -> Vec<[T; 4]> {
    let mut all = Vec::new();
    for (i, a) in items.iter().enumerate() {
        for (j, b) in items.iter().enumerate().skip(i + 1) {
            for (k, c) in items.iter().enumerate().skip(j + 1) {
                all.extend(items.iter().skip(k + 1).map(|d| [*a, *b, *c, *d]));
            }
        }
    }
    let step = all.len().div_ceil(2000).max(1);
    all.into_iter().step_by(step).collect()
}

fn rated(view: View, pairs: &[(Point, Point)], used: Vec<bool>) -> Result<PerspectiveFit, SolveError> {
    let residuals_mm: Vec<f64> = pairs.iter().map(|pair| view.residual(pair)).collect();
    let kept = residuals_mm.iter().zip(&used).filter(|(_, u)| **u);
    let (count, sum) = kept.fold((0.0, 0.0), |(n, s), (r, _)| (n + 1.0, s + r * r));
    Ok(PerspectiveFit {
        photo_from_sheet: view.sheet_from_photo.inverse().ok_or(SolveError::Degenerate)?,
        lens: view.lens,
        residuals_mm,
        rms_mm: libm::sqrt(sum / f64::max(count, 1.0)),
        used,
    })
}

#[cfg(test)]
mod tests;
