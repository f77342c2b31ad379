//! Angles at which screens beat least, two by two and three by three.

use super::{IN_STEP_MM, Pattern, Source, pair, period_mm, triple};
use crate::geometry::Point;

/// Rounds in which each of many screens is turned in its turn.
const ROUNDS: usize = 3;

/// Angles, 0 to 90 degrees, for screens of these rulings, so that the slowest beat of any two or three, and with
/// the patterns given, is as fast as it can be.
///
/// Alike rulings come out evenly spread: 45 degrees apart for two, 30 for three. The first screen keeps 45
/// degrees where nothing speaks against it, so name the darkest ink first.
pub fn suggest_angles(rulings_lpi: &[f64], fixed: &[Pattern]) -> Vec<f64> {
    let count = rulings_lpi.len();
    let even_step = 90.0 / count.max(1) as f64;
    let even = |first: f64| -> Vec<f64> {
        (0..count).map(|i| (first + even_step * i as f64).rem_euclid(90.0)).collect()
    };
    let mut best = Best::new(even(45.0), |angles| slowest(rulings_lpi, angles, fixed));
    for degree in 0..90 {
        best.offer(even(45.0 + f64::from(degree)));
    }
    // Unlike rulings and textures may leave room elsewhere. By itself a set of screens may turn as a whole.
    let first = usize::from(fixed.is_empty());
    if count.saturating_sub(first) <= 2 {
        let set = |angles: &mut Vec<f64>, i: usize, degree: u32| {
            if let Some(a) = angles.get_mut(i) {
                *a = f64::from(degree);
            }
        };
        for a in 0..90 {
            for b in 0..90 {
                let mut angles = even(45.0);
                set(&mut angles, first, a);
                set(&mut angles, first + 1, b);
                best.offer(angles);
            }
        }
    } else {
        for _ in 0..ROUNDS {
            for i in 0..count {
                for degree in 0..90 {
                    let mut angles = best.angles.clone();
                    if let Some(a) = angles.get_mut(i) {
                        *a = f64::from(degree);
                    }
                    best.offer(angles);
                }
            }
        }
    }
    best.angles
}

/// The best angles so far.
struct Best<F> {
    angles: Vec<f64>,
    score: f64,
    of: F,
}

impl<F: Fn(&[f64]) -> f64> Best<F> {
    fn new(angles: Vec<f64>, of: F) -> Self {
        Self { score: of(&angles), angles, of }
    }

    /// Takes angles that are clearly better, so that of equal ones the first stay.
    fn offer(&mut self, angles: Vec<f64>) {
        let score = (self.of)(&angles);
        if score > self.score + 1e-9 {
            (self.angles, self.score) = (angles, score);
        }
    }
}

/// The slowest beat of screens with one another and with fixed patterns, in cycles per mm. Three that are in step
/// over the whole sheet do not beat.
fn slowest(rulings_lpi: &[f64], angles: &[f64], fixed: &[Pattern]) -> f64 {
    let screens = rulings_lpi.iter().zip(angles).map(|(&r, &a)| Pattern::screen(usize::MAX, r, a));
    let all: Vec<Pattern> = screens.chain(fixed.iter().cloned()).collect();
    let size = |f: Point| libm::hypot(f.x, f.y);
    let mut slowest = f64::INFINITY;
    for (i, a) in all.iter().enumerate().take(rulings_lpi.len()) {
        for (j, b) in all.iter().enumerate().skip(i + 1) {
            // Harmonics beat faintly, and count as twice as fast.
            let two = pair(a, b)
                .into_iter()
                .map(|beat| size(beat.frequency) * if beat.orders == (1, 1) { 1.0 } else { 2.0 });
            slowest = two.fold(slowest, f64::min);
            let is_screen = |p: &&Pattern| p.source == Source::Screen;
            if is_screen(&b) {
                for c in all.iter().skip(j + 1).filter(is_screen) {
                    let three = triple::sums([a, b, c]).filter(|f| period_mm(*f) <= IN_STEP_MM);
                    slowest = three.map(size).fold(slowest, f64::min);
                }
            }
        }
    }
    slowest
}
