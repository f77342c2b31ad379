//! Beats of three screens: one wave of each, whose sum is slow although no two of them beat.
//!
//! Three screens keep in step where `f1 + f2 + f3 = 0` for a wave of each or its opposite, as those of one ruling
//! do 30 degrees apart; near that they beat at what is left of the sum (Amidror, "The Theory of the Moire
//! Phenomenon", volume I, chapters 2 and 3, on moires between three layers; from memory). Sums with second
//! harmonics are left out: they are fainter than what passes for grain (common practice, no source).

use super::{Beat, IN_STEP_MM, Pattern, Source, period_mm, shortest_mm};
use crate::geometry::Point;

/// A beat of three screens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TripleBeat {
    pub layers: [usize; 3],
    /// Cycles per mm, to the right and down.
    pub frequency: Point,
    /// Length of the beat in mm.
    pub period_mm: f64,
}

/// Every sum of one wave of each of three patterns, or its opposite; of two sums that are opposites, one.
pub(super) fn sums<'a>([a, b, c]: [&'a Pattern; 3]) -> impl Iterator<Item = Point> + 'a {
    let signs = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)];
    a.waves.iter().flat_map(move |f| {
        b.waves.iter().flat_map(move |g| {
            c.waves.iter().flat_map(move |h| {
                signs.map(|(s, t)| Point::new(f.x + s * g.x + t * h.x, f.y + s * g.y + t * h.y))
            })
        })
    })
}

/// Every three screens of different layers that beat visibly, the longest beat first; of three only their worst.
///
/// Where two of them beat already and not faintly (`pairs`), those are to be put right first. Screens that are in step over the
/// whole sheet show no beat.
pub fn triple_beats(patterns: &[Pattern], pairs: &[Beat]) -> Vec<TripleBeat> {
    let screens: Vec<&Pattern> = patterns.iter().filter(|p| p.source == Source::Screen).collect();
    let beat_already = |a: &Pattern, b: &Pattern| {
        let of = |beat: &Beat| [beat.first, beat.second];
        let (a, b) = ((a.layer, Source::Screen), (b.layer, Source::Screen));
        let strong = pairs.iter().filter(|beat| beat.orders == (1, 1));
        strong.map(of).any(|two| two == [a, b] || two == [b, a])
    };
    let apart = |a: &Pattern, b: &Pattern| a.layer != b.layer && !beat_already(a, b);
    let mut found = Vec::new();
    for (i, a) in screens.iter().enumerate() {
        for (j, b) in screens.iter().enumerate().skip(i + 1).filter(|(_, b)| apart(a, b)) {
            for c in screens.iter().skip(j + 1).filter(|c| apart(a, c) && apart(b, c)) {
                found.extend(worst([a, b, c]));
            }
        }
    }
    found.sort_by(|a, b| b.period_mm.total_cmp(&a.period_mm));
    found
}

/// The longest beat of three screens that shows.
pub(super) fn worst(three: [&Pattern; 3]) -> Option<TripleBeat> {
    let visible = shortest_mm(&three)..=IN_STEP_MM;
    let beat =
        |frequency| TripleBeat { layers: three.map(|p| p.layer), frequency, period_mm: period_mm(frequency) };
    let seen = sums(three).map(beat).filter(|b| visible.contains(&b.period_mm));
    seen.max_by(|a, b| a.period_mm.total_cmp(&b.period_mm))
}

impl TripleBeat {
    /// One sentence that says what will show and what to do. `name` gives a layer's name.
    pub fn sentence(&self, name: impl Fn(usize) -> String) -> String {
        let [a, b, c] = self.layers.map(name);
        format!(
            "Moire: the screens of “{a}”, “{b}” and “{c}” together beat every {:.1} mm: turn a screen, give all three one ruling, or choose scattered dots.",
            self.period_mm
        )
    }
}

#[cfg(test)]
mod tests {
    use super::super::{beats, suggest_angles};
    use super::*;
    use proptest::prelude::*;

    fn screens(list: &[(f64, f64)]) -> Vec<Pattern> {
        list.iter().enumerate().map(|(i, (lpi, angle))| Pattern::screen(i, *lpi, *angle)).collect()
    }

    fn triples(list: &[(f64, f64)]) -> Vec<TripleBeat> {
        let patterns = screens(list);
        triple_beats(&patterns, &beats(&patterns))
    }

    #[test]
    fn three_screens_beat_although_no_two_of_them_do() {
        // Waves at 15 and 135 degrees add up to one of the same length at 75 degrees: 75 less 70 lines are left.
        let list = [(75.0, 15.0), (70.0, 45.0), (75.0, 75.0)];
        assert!(beats(&screens(&list)).is_empty());
        let found = triples(&list);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].period_mm - 25.4 / 5.0).abs() < 1e-9 && found[0].layers == [0, 1, 2]);
        let message = found[0].sentence(|i| ["sea", "sand", "weed"][i].to_owned());
        assert!(message.contains("“sea”, “sand” and “weed” together beat every 5.1 mm"), "{message}");
    }

    #[test]
    fn screens_in_step_three_alike_and_fewer_than_three_give_no_beat_of_three() {
        assert!(triples(&[(75.0, 15.0), (75.0, 45.0), (75.0, 75.0)]).is_empty());
        // Three alike beat in pairs, and are told so.
        let alike = [(75.0, 45.0); 3];
        assert!(triples(&alike).is_empty() && beats(&screens(&alike)).len() == 3);
        assert!(triples(&[(75.0, 45.0), (70.0, 15.0)]).is_empty() && triples(&[]).is_empty());
        // A texture is no screen.
        let mut patterns = screens(&[(75.0, 15.0), (70.0, 45.0), (75.0, 75.0)]);
        patterns[1].source = Source::Texture;
        assert!(triple_beats(&patterns, &[]).is_empty());
    }

    #[test]
    fn better_angles_leave_no_beat_of_two_or_three() {
        for rulings in
            [[75.0, 70.0, 75.0], [75.0, 75.0, 70.0], [75.0; 3], [60.0, 70.0, 80.0], [50.0, 75.0, 100.0]]
        {
            let angles = suggest_angles(&rulings, &[]);
            let list: Vec<(f64, f64)> = rulings.into_iter().zip(angles).collect();
            // Where the rulings leave no better place, harmonics beat faintly and hardly longer than grain.
            let (two, three) = (beats(&screens(&list)), triples(&list));
            assert!(two.iter().all(|b| b.orders != (1, 1) && b.period_mm < 1.1), "{list:?} {two:?}");
            assert!(three.is_empty(), "{list:?} {three:?}");
        }
    }

    proptest! {
        #[test]
        fn three_screens_near_step_beat_by_the_closed_formula(f in 30.0..90.0_f64, off in 0.03..2.0_f64, turn in 0.0..90.0_f64) {
            // One of three screens in step turned by a small angle: what is left is the chord of that angle.
            let patterns = screens(&[(f, turn), (f, turn + 30.0), (f, turn + 60.0 + off)]);
            let chord = 2.0 * f / 25.4 * libm::sin(off.to_radians() / 2.0);
            let slowest = sums([&patterns[0], &patterns[1], &patterns[2]])
                .map(|f| libm::hypot(f.x, f.y))
                .fold(f64::INFINITY, f64::min);
            prop_assert!((slowest / chord - 1.0).abs() < 1e-6, "{slowest} {chord}");
        }
    }
}
