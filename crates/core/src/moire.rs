//! Moire: what two things that repeat make of one another.
//!
//! Two waves beat at the difference of their frequency vectors, and so do their low harmonics (Amidror, "The
//! Theory of the Moire Phenomenon", volume I, 2nd edition, Springer 2009, chapter 2). Screens of different
//! layers beat, and a texture in an original beats with its own layer's screen and with the others. Three
//! screens beat where a sum of one wave of each comes out slow ([`triple_beats`]). Which inks share a pass makes
//! no difference to any of them.

mod angles;
mod texture;
mod triple;

use crate::geometry::{Affine, Point};
use crate::units::Dpi;
pub use angles::suggest_angles;
pub use texture::{Texture, textures};
pub use triple::{TripleBeat, triple_beats};

/// Beats shorter than this pass for grain (common practice, no source).
const VISIBLE_MM: f64 = 1.0;
/// Beats longer than this do not show on a sheet as a pattern: the dots fall in step instead.
pub const IN_STEP_MM: f64 = 300.0;
/// A beat no longer than this many periods of the coarser pattern is a rosette, as screens 30 degrees apart make.
const ROSETTE: f64 = 2.2;

/// What repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    Screen,
    /// Something in the layer's original.
    Texture,
}

/// Something that repeats, in one layer.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// Index of the layer.
    pub layer: usize,
    pub source: Source,
    /// Frequency vectors in cycles per mm on the sheet, to the right and down. A screen has two.
    pub waves: Vec<Point>,
}

/// A beat between two patterns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beat {
    /// Layer and source of one.
    pub first: (usize, Source),
    /// Layer and source of the other.
    pub second: (usize, Source),
    /// Harmonics that meet: 1 and 1 is the strongest.
    pub orders: (u32, u32),
    /// Cycles per mm, to the right and down.
    pub frequency: Point,
    /// Length of the beat in mm; infinite when the two repeat alike.
    pub period_mm: f64,
}

impl Pattern {
    /// A screen by its ruling in lines per inch and its angle in degrees, clockwise.
    pub fn screen(layer: usize, ruling_lpi: f64, angle_deg: f64) -> Self {
        let (sin, cos) = libm::sincos(angle_deg.to_radians());
        let f = ruling_lpi / 25.4;
        let waves = vec![Point::new(f * cos, f * sin), Point::new(-f * sin, f * cos)];
        Self { layer, source: Source::Screen, waves }
    }

    /// A texture found in an original, which is laid on the sheet by a map from its pixels to mm. `None` when
    /// the map flattens the plane.
    pub fn texture(layer: usize, texture: &Texture, dpi: Dpi, sheet_from_scan: Affine) -> Option<Self> {
        // A wave's phase stays the same, so its frequency goes by the inverse map, transposed.
        let scan_from_sheet = sheet_from_scan.inverse()?;
        let per_px = 1.0 / dpi.px_per_mm();
        let f = Point::new(texture.frequency.x * per_px, texture.frequency.y * per_px);
        let m = scan_from_sheet;
        let wave = Point::new(m.a * f.x + m.b * f.y, m.c * f.x + m.d * f.y);
        Some(Self { layer, source: Source::Texture, waves: vec![wave] })
    }

    /// Harmonics of order 1 and 2, one of each opposite pair.
    fn harmonics(&self) -> Vec<(u32, Point)> {
        let mut list: Vec<(u32, Point)> = self.waves.iter().map(|&w| (1, w)).collect();
        list.extend(self.waves.iter().map(|w| (2, Point::new(2.0 * w.x, 2.0 * w.y))));
        if let (Source::Screen, [a, b]) = (self.source, self.waves.as_slice()) {
            list.push((2, Point::new(a.x + b.x, a.y + b.y)));
            list.push((2, Point::new(a.x - b.x, a.y - b.y)));
        }
        list
    }

    fn coarsest_mm(&self) -> f64 {
        self.waves.iter().map(|w| 1.0 / libm::hypot(w.x, w.y)).fold(0.0, f64::max)
    }
}

/// The slower of the two beats of two waves, in cycles per mm: the difference, or the sum, since a wave and its
/// opposite are the same.
pub fn beat(f: Point, g: Point) -> Point {
    let (less, more) = (Point::new(f.x - g.x, f.y - g.y), Point::new(f.x + g.x, f.y + g.y));
    if libm::hypot(less.x, less.y) <= libm::hypot(more.x, more.y) { less } else { more }
}

/// Length in mm of a wave of a frequency; infinite when it does not change at all.
pub fn period_mm(f: Point) -> f64 {
    1.0 / libm::hypot(f.x, f.y)
}

/// Every pair of patterns that beats visibly, the strongest and longest first; of a pair only its worst beat.
///
/// Patterns of one kind in one layer are not compared.
pub fn beats(patterns: &[Pattern]) -> Vec<Beat> {
    let mut found = Vec::new();
    for (i, first) in patterns.iter().enumerate() {
        for second in patterns.iter().skip(i + 1) {
            if first.layer == second.layer && first.source == second.source {
                continue;
            }
            let shortest = shortest_mm(&[first, second]);
            let worst = pair(first, second).into_iter().filter(|b| b.period_mm > shortest).min_by(strength);
            found.extend(worst);
        }
    }
    found.sort_by(strength);
    found
}

/// Beats of these patterns that are no longer than this do not show, in mm.
fn shortest_mm(patterns: &[&Pattern]) -> f64 {
    VISIBLE_MM.max(ROSETTE * patterns.iter().map(|p| p.coarsest_mm()).fold(0.0, f64::max))
}

/// Low orders before high ones, then long beats before short ones.
fn strength(a: &Beat, b: &Beat) -> std::cmp::Ordering {
    let order = |b: &Beat| b.orders.0 + b.orders.1;
    order(a).cmp(&order(b)).then(b.period_mm.total_cmp(&a.period_mm))
}

fn pair(first: &Pattern, second: &Pattern) -> Vec<Beat> {
    let others = second.harmonics();
    let mut list = Vec::new();
    for (m, f) in first.harmonics() {
        for &(n, g) in &others {
            // Twice each is the same beat, twice as fast.
            if (m, n) == (2, 2) {
                continue;
            }
            let frequency = beat(f, g);
            list.push(Beat {
                first: (first.layer, first.source),
                second: (second.layer, second.source),
                orders: (m, n),
                frequency,
                period_mm: period_mm(frequency),
            });
        }
    }
    list
}

impl Beat {
    /// One sentence that says what will show and what to do. `name` gives a layer's name.
    pub fn sentence(&self, name: impl Fn(usize) -> String) -> String {
        let thing = |(layer, source): (usize, Source)| match source {
            Source::Screen => format!("the screen of “{}”", name(layer)),
            Source::Texture => format!("the texture in “{}”", name(layer)),
        };
        let (a, b) = (thing(self.first), thing(self.second));
        if self.period_mm > IN_STEP_MM {
            format!(
                "The dots of {a} and {b} fall in step, so the colour drifts with the registration: turn one screen by 30 or 45 degrees."
            )
        } else {
            let faint = if self.orders == (1, 1) { "" } else { " faintly" };
            format!(
                "Moire: {a} and {b} beat{faint} every {:.1} mm: turn a screen, change its ruling, or choose scattered dots.",
                self.period_mm
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn equal_gratings_at_a_small_angle_beat_by_the_closed_formula(p in 0.1..2.0_f64, theta in 0.5..40.0_f64, turn in 0.0..180.0_f64) {
            let wave = |deg: f64| {
                let (sin, cos) = libm::sincos(deg.to_radians());
                Point::new(cos / p, sin / p)
            };
            let got = period_mm(beat(wave(turn), wave(turn + theta)));
            let want = p / (2.0 * libm::sin(theta.to_radians() / 2.0));
            prop_assert!((got / want - 1.0).abs() < 1e-9);
        }

        #[test]
        fn parallel_gratings_beat_by_the_difference_of_their_rulings(a in 20.0..100.0_f64, b in 20.0..100.0_f64) {
            prop_assume!((a - b).abs() > 0.01);
            let got = period_mm(beat(Point::new(a / 25.4, 0.0), Point::new(b / 25.4, 0.0)));
            prop_assert!((got - 25.4 / (a - b).abs()).abs() < 1e-6 * got);
        }
    }

    #[test]
    fn screens_30_degrees_apart_make_no_moire_and_5_degrees_do() {
        let apart = |deg: f64| beats(&[Pattern::screen(0, 75.0, 45.0), Pattern::screen(1, 75.0, 45.0 + deg)]);
        assert!(apart(30.0).is_empty() && apart(45.0).is_empty());
        let near = apart(5.0);
        assert_eq!(near.len(), 1);
        let want = 25.4 / 75.0 / (2.0 * libm::sin(2.5_f64.to_radians()));
        assert!((near[0].period_mm - want).abs() < 1e-9 && near[0].orders == (1, 1));
        let text = near[0].sentence(|i| ["moss", "rust"][i].to_owned());
        assert!(text.contains("the screen of “moss” and the screen of “rust” beat every 3.9 mm"), "{text}");
        assert!(apart(0.0)[0].sentence(|i| i.to_string()).contains("fall in step"));
    }

    #[test]
    fn a_texture_beats_with_its_own_screen_and_with_its_second_harmonic() {
        let texture = |f: f64| Pattern { layer: 0, source: Source::Texture, waves: vec![Point::new(f, 0.0)] };
        let screen = Pattern::screen(0, 76.2, 0.0);
        let direct = beats(&[texture(2.8), screen.clone()]);
        assert!((direct[0].period_mm - 5.0).abs() < 1e-9 && direct[0].orders == (1, 1));
        let second = beats(&[texture(1.45), screen]);
        assert!((second[0].period_mm - 10.0).abs() < 1e-6 && second[0].orders == (2, 1), "{second:?}");
    }

    #[test]
    fn a_texture_turns_and_grows_with_its_artwork() {
        let t = Texture { frequency: Point::new(1.0, 0.0), contrast: 20.0 };
        let dpi = Dpi::new(254.0).unwrap();
        let laid = Affine::turn(90.0) * Affine::scale(0.2, 0.2);
        let p = Pattern::texture(3, &t, dpi, laid).unwrap();
        assert!(p.waves[0].distance(Point::new(0.0, 0.5)) < 1e-9, "{p:?}");
    }

    #[test]
    fn suggested_angles_are_30_and_45_degrees_apart() {
        assert_eq!(suggest_angles(&[75.0], &[]), [45.0]);
        assert_eq!(suggest_angles(&[75.0, 75.0], &[]), [45.0, 0.0]);
        assert_eq!(suggest_angles(&[75.0; 3], &[]), [45.0, 75.0, 15.0]);
        assert!(suggest_angles(&[], &[]).is_empty());
    }

    #[test]
    fn a_texture_moves_the_suggestion_away() {
        let weave = Pattern::screen(9, 70.0, 45.0);
        let got = suggest_angles(&[75.0, 75.0], std::slice::from_ref(&weave));
        let patterns = [Pattern::screen(0, 75.0, got[0]), Pattern::screen(1, 75.0, got[1]), weave];
        // With 70 lines among 75 some harmonic always beats, here hardly longer than grain.
        let left = beats(&patterns);
        assert!(left.iter().all(|b| b.orders != (1, 1) && b.period_mm < 1.1), "{got:?} {left:?}");
        assert!(triple_beats(&patterns, &left).is_empty(), "{got:?}");
    }
}
