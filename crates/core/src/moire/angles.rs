//! Angles at which screens beat least, two by two and three by three.

use super::{Pattern, Source, pair, shortest_mm, triple};

/// What a beat without end counts as, in mm.
const LONGEST_MM: f64 = 1e6;
/// Rounds in which each of many screens is turned in its turn.
const ROUNDS: usize = 3;

/// Angles, 0 to 90 degrees, for screens of these rulings, so that what shows of their beats, with one another and
/// with the patterns given, is as short as can be.
///
/// Alike rulings come out evenly spread: 45 degrees apart for two, 30 for three. The first screen keeps 45
/// degrees where nothing speaks against it, so name the darkest ink first.
pub fn suggest_angles(rulings_lpi: &[f64], fixed: &[Pattern]) -> Vec<f64> {
    let count = rulings_lpi.len();
    let even_step = 90.0 / count.max(1) as f64;
    let even = |first: f64| -> Vec<f64> {
        (0..count).map(|i| (first + even_step * i as f64).rem_euclid(90.0)).collect()
    };
    let mut best = Best::new(even(45.0), |angles| Score::of(rulings_lpi, angles, fixed));
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
    score: Score,
    of: F,
}

impl<F: Fn(&[f64]) -> Score> Best<F> {
    fn new(angles: Vec<f64>, of: F) -> Self {
        Self { score: of(&angles), angles, of }
    }

    /// Takes angles that are clearly better, so that of equal ones the first stay.
    fn offer(&mut self, angles: Vec<f64>) {
        let score = (self.of)(&angles);
        if score.is_better_than(&self.score) {
            (self.angles, self.score) = (angles, score);
        }
    }
}

/// How much angles are worth, what matters most first; of each number less is better.
struct Score([f64; 3]);

impl Score {
    /// The longest beat that shows of two or three screens in mm; the longest that shows faintly, of harmonics; and,
    /// where neither tells angles apart, how slow the slowest beat of two is, in mm.
    fn of(rulings_lpi: &[f64], angles: &[f64], fixed: &[Pattern]) -> Self {
        let screens = rulings_lpi.iter().zip(angles).map(|(&r, &a)| Pattern::screen(usize::MAX, r, a));
        let all: Vec<Pattern> = screens.chain(fixed.iter().cloned()).collect();
        let [mut shows, mut faintly, mut slowest] = [0.0_f64; 3];
        for (i, a) in all.iter().enumerate().take(rulings_lpi.len()) {
            for (j, b) in all.iter().enumerate().skip(i + 1) {
                let shortest = shortest_mm(&[a, b]);
                for beat in pair(a, b) {
                    // Two screens in step are the worst, but a number all the same.
                    let period = beat.period_mm.min(LONGEST_MM);
                    let visible = if period > shortest { period } else { 0.0 };
                    if beat.orders == (1, 1) {
                        (shows, slowest) = (shows.max(visible), slowest.max(period));
                    } else {
                        faintly = faintly.max(visible);
                    }
                }
                let is_screen = |p: &&Pattern| p.source == Source::Screen;
                if is_screen(&b) {
                    for c in all.iter().skip(j + 1).filter(is_screen) {
                        shows = shows.max(triple::worst([a, b, c]).map_or(0.0, |beat| beat.period_mm));
                    }
                }
            }
        }
        Self([shows, faintly, slowest])
    }

    fn is_better_than(&self, other: &Self) -> bool {
        let pairs = self.0.iter().zip(&other.0);
        pairs.map(|(a, b)| a - b).find(|d| d.abs() > 1e-9).is_some_and(|d| d < 0.0)
    }
}
