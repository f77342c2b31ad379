//! Tone curves: from the coverage that is asked for to the coverage that the paper gets.
//!
//! A curve is a monotone cubic through points (Fritsch and Carlson, "Monotone piecewise cubic
//! interpolation", SIAM Journal on Numerical Analysis 17(2), 1980), with a lightest tone that still
//! prints and a shadow above which the dots fill in.

use serde::{Deserialize, Serialize};

/// A tone curve. Both axes are coverage, 0..=1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "RawCurve", into = "RawCurve")]
pub struct ToneCurve {
    points: Vec<(f64, f64)>,
    tangents: Vec<f64>,
    lightest: f64,
    fill_in: f64,
}

/// Why points do not make a tone curve.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CurveError {
    /// Fewer than 2 points or more than 256.
    #[error("a tone curve needs 2 to 256 points, not {0}")]
    Count(usize),
    /// A coordinate is not within 0..=1.
    #[error("tone curve point {0} must have both values from 0 to 1")]
    Range(usize),
    /// The asked-for coverage does not grow, or the effective coverage falls.
    #[error("tone curve point {0} must lie to the right of the one before and not below it")]
    Order(usize),
    /// The limits are not within 0..=1 or are crossed.
    #[error("the lightest tone must lie from 0 to 0.5 and the fill-in shadow from 0.5 to 1")]
    Limits,
}

#[derive(Serialize, Deserialize)]
#[serde(rename = "ToneCurve", deny_unknown_fields)]
struct RawCurve {
    points: Vec<(f64, f64)>,
    #[serde(default)]
    lightest: f64,
    #[serde(default = "one")]
    fill_in: f64,
}

fn one() -> f64 {
    1.0
}

impl TryFrom<RawCurve> for ToneCurve {
    type Error = CurveError;
    fn try_from(raw: RawCurve) -> Result<Self, CurveError> {
        Self::new(raw.points)?.with_limits(raw.lightest, raw.fill_in)
    }
}

impl From<ToneCurve> for RawCurve {
    fn from(c: ToneCurve) -> Self {
        Self { points: c.points, lightest: c.lightest, fill_in: c.fill_in }
    }
}

impl Default for ToneCurve {
    /// A dot gain of 18 points at the half tone, the lightest tone 3 %, fill-in from 95 %
    /// (common practice, no source; a measured curve replaces it).
    fn default() -> Self {
        let gain = |x: f64| x + 0.18 * 4.0 * x * (1.0 - x);
        let points = [0.0, 0.125, 0.25, 0.5, 0.75, 0.875, 1.0].map(|x| (x, gain(x).min(1.0)));
        let (points, tangents) = (points.to_vec(), fritsch_carlson(&points));
        Self { points, tangents, lightest: 0.03, fill_in: 0.95 }
    }
}

impl ToneCurve {
    /// A curve through points (asked-for, effective), each 0..=1, in rising order.
    pub fn new(points: Vec<(f64, f64)>) -> Result<Self, CurveError> {
        if !(2..=256).contains(&points.len()) {
            return Err(CurveError::Count(points.len()));
        }
        let unit = 0.0..=1.0;
        if let Some(i) = points.iter().position(|(x, y)| !unit.contains(x) || !unit.contains(y)) {
            return Err(CurveError::Range(i + 1));
        }
        if let Some(i) = points.windows(2).position(|w| w[1].0 <= w[0].0 || w[1].1 < w[0].1) {
            return Err(CurveError::Order(i + 2));
        }
        Ok(Self { tangents: fritsch_carlson(&points), points, lightest: 0.0, fill_in: 1.0 })
    }

    /// The same curve with a lightest printable tone and a fill-in shadow, both as asked-for coverage.
    ///
    /// # Errors
    /// [`CurveError::Limits`].
    pub fn with_limits(mut self, lightest: f64, fill_in: f64) -> Result<Self, CurveError> {
        if !(0.0..=0.5).contains(&lightest) || !(0.5..=1.0).contains(&fill_in) {
            return Err(CurveError::Limits);
        }
        (self.lightest, self.fill_in) = (lightest, fill_in);
        Ok(self)
    }

    /// The points given.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Asked-for coverage below which nothing prints.
    pub fn lightest(&self) -> f64 {
        self.lightest
    }

    /// Asked-for coverage above which dots fill in to a solid.
    pub fn fill_in(&self) -> f64 {
        self.fill_in
    }

    /// Effective coverage, 0..=1, for an asked-for coverage. What is not a number prints nothing.
    pub fn effective(&self, asked: f64) -> f64 {
        if asked.is_nan() || asked <= 0.0 || asked < self.lightest {
            return 0.0;
        }
        if asked >= 1.0 || asked > self.fill_in {
            return self.at(1.0);
        }
        self.at(asked)
    }

    /// The same without the lightest tone and the fill-in: what the curve alone makes of it.
    pub fn without_limits(&self, asked: f64) -> f64 {
        self.at(asked.clamp(0.0, 1.0))
    }

    /// Effective coverage for every gray of an original, 0 (black) to 255 (white).
    pub fn table(&self) -> [f32; 256] {
        std::array::from_fn(|gray| self.effective(1.0 - gray as f64 / 255.0) as f32)
    }

    /// The cubic itself, without the limits.
    fn at(&self, x: f64) -> f64 {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else { return x };
        if x <= first.0 {
            // Left of the first point the curve runs straight to nothing.
            return if first.0 > 0.0 { first.1 * x / first.0 } else { first.1 };
        }
        if x >= last.0 {
            return last.1;
        }
        let right = self.points.partition_point(|p| p.0 <= x).min(self.points.len() - 1);
        let ((x0, y0), (x1, y1)) = (self.points[right - 1], self.points[right]);
        let (m0, m1) = (self.tangents[right - 1], self.tangents[right]);
        let h = x1 - x0;
        let t = (x - x0) / h;
        let (t2, t3) = (t * t, t * t * t);
        let y = (2.0 * t3 - 3.0 * t2 + 1.0) * y0
            + (t3 - 2.0 * t2 + t) * h * m0
            + (3.0 * t2 - 2.0 * t3) * y1
            + (t3 - t2) * h * m1;
        y.clamp(0.0, 1.0)
    }
}

/// Tangents that keep the cubic monotone: three-point differences, then limited to the circle of
/// radius 3 (Fritsch and Carlson 1980, section 4).
fn fritsch_carlson(points: &[(f64, f64)]) -> Vec<f64> {
    let slopes: Vec<f64> = points.windows(2).map(|w| (w[1].1 - w[0].1) / (w[1].0 - w[0].0)).collect();
    let (Some(&first), Some(&last)) = (slopes.first(), slopes.last()) else { return vec![1.0; points.len()] };
    let mut m = vec![first];
    m.extend(slopes.windows(2).map(|s| if s[0] * s[1] <= 0.0 { 0.0 } else { (s[0] + s[1]) / 2.0 }));
    m.push(last);
    for (i, &slope) in slopes.iter().enumerate() {
        if slope == 0.0 {
            (m[i], m[i + 1]) = (0.0, 0.0);
            continue;
        }
        let (alpha, beta) = (m[i] / slope, m[i + 1] / slope);
        let length = libm::hypot(alpha, beta);
        if length > 3.0 {
            (m[i], m[i + 1]) = (3.0 * alpha / length * slope, 3.0 * beta / length * slope);
        }
    }
    m
}

/// Effective coverage by Murray and Davies from luminance factors of paper, solid and tint:
/// `(paper - tint) / (paper - solid)`, not limited to 0..=1 (ISO 13655 reflectances; Murray 1936).
pub fn murray_davies(paper: f64, solid: f64, tint: f64) -> f64 {
    (paper - tint) / (paper - solid)
}

/// Effective coverage by Yule and Nielsen (TAPPI Journal 34, 1951): Murray-Davies in the `1/n` power space,
/// for a channel of light that the ink absorbs well. Not limited to 0..=1.
pub fn yule_nielsen(paper: f64, solid: f64, tint: f64, n: f64) -> f64 {
    let root = |v: f64| libm::pow(v.max(0.0), 1.0 / n);
    murray_davies(root(paper), root(solid), root(tint))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn straight() -> ToneCurve {
        ToneCurve::new(vec![(0.0, 0.0), (1.0, 1.0)]).unwrap()
    }

    #[test]
    fn a_curve_passes_through_its_points() {
        let points = vec![(0.0, 0.0), (0.2, 0.5), (0.5, 0.68), (1.0, 1.0)];
        let c = ToneCurve::new(points.clone()).unwrap();
        for (x, y) in points {
            assert!((c.effective(x) - y).abs() < 1e-12);
        }
    }

    #[test]
    fn below_the_lightest_tone_nothing_prints_and_above_the_shadow_dots_fill() {
        let c = straight().with_limits(0.04, 0.9).unwrap();
        assert!(c.effective(0.039) == 0.0 && c.effective(0.05) > 0.0);
        assert!(c.effective(0.91) == 1.0 && c.effective(0.89) < 1.0);
        assert!(straight().with_limits(0.6, 0.9).is_err());
    }

    #[test]
    fn bad_points_are_named() {
        assert_eq!(ToneCurve::new(vec![(0.0, 0.0)]), Err(CurveError::Count(1)));
        assert_eq!(ToneCurve::new(vec![(0.0, 0.0), (1.0, f64::NAN)]), Err(CurveError::Range(2)));
        assert_eq!(ToneCurve::new(vec![(0.0, 0.5), (1.0, 0.4)]), Err(CurveError::Order(2)));
    }

    #[test]
    fn white_paper_gets_no_ink_and_black_a_solid() {
        let t = ToneCurve::default().table();
        assert!(t[255] == 0.0 && t[0] == 1.0 && t[128] > 0.6 && t[128] < 0.72);
    }

    proptest! {
        #[test]
        fn curves_never_fall(ys in prop::collection::vec(0.0..1.0_f64, 2..12), x in 0.0..1.0_f64, d in 0.0..0.2_f64) {
            let mut ys = ys;
            ys.sort_by(f64::total_cmp);
            let n = ys.len() as f64 - 1.0;
            let c = ToneCurve::new(ys.iter().enumerate().map(|(i, y)| (i as f64 / n, *y)).collect()).unwrap();
            prop_assert!(c.at((x + d).min(1.0)) >= c.at(x) - 1e-12);
        }
    }
}
