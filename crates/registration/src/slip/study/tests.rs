use proptest::prelude::*;

use super::*;
use crate::slip::testing::{Drawn, covers};

const PPM: f64 = 300.0 / 25.4;

/// As an offset printer would have it.
fn close() -> Acceptance {
    Acceptance::of(0.15, 0.05, None)
}

/// Where the later ink of two has moved to, wherever it is.
fn slipped(study: &Study, share: f64, x: f64, y: f64) -> Opening {
    let by = |lower: usize, upper: usize| (upper - lower) as f64;
    let share = Acceptance::of(0.5, share, None).share;
    study.opening(share, |lower, upper| {
        let by = by(lower, upper);
        move |_| Point::new(x * by, y * by)
    })
}

fn study(shapes: &[Drawn]) -> Study {
    Study::of_covers(&covers(60.0, 40.0, PPM, shapes), &StudyOptions::default())
}

/// Two squares side by side, the second printed over the first's edge by a trap.
fn squares(trap: f64) -> [Drawn; 2] {
    [Drawn::Box(25.07, 5.0, 50.0, 35.0, 1.0), Drawn::Box(5.0, 5.0, 25.07 + trap, 35.0, 1.0)]
}

#[test]
fn two_squares_open_at_their_trap_and_the_visible_gap() {
    // Closed form: straight edges open at (trap + accepted gap) / cos of the angle to their normal.
    for trap in [0.0, 0.1, 0.31, 0.8] {
        let s = study(&squares(trap));
        let (pair, tolerance) = (&s.pairs[0], s.tolerance(&close()));
        assert_eq!((s.pairs.len(), pair.lower, pair.upper), (1, 0, 1));
        // Near the corners the nearest edge is the one around the corner.
        assert!((30.0 - pair.length - trap * 2.0).abs() < 0.6 + trap, "{}", pair.length);
        // The last pixels before a corner have the corner's normal.
        for t in s.tight.iter().filter(|t| t.length > 0.4) {
            assert!((t.trap - trap).abs() < 0.02 && t.normal.x > 0.98, "{t:?}");
            assert!(t.shows == Shows::Paper && t.difference > 20.0, "{t:?}");
        }
        // The later ink moves left, 180 degrees, to open the gap.
        let at = |degrees: usize| tolerance.pairs[0].tolerance[degrees / 5];
        assert!((at(180).unwrap() - (trap + 0.15)).abs() < 0.02, "{:?}", at(180));
        assert!((at(120).unwrap() - (trap + 0.15) / 0.5).abs() < 0.04, "{:?}", at(120));
        assert!(at(0).is_none() && at(90).is_none());
        // Either ink may slip, so the whole sheet breaks both ways.
        assert!((tolerance.rose.tolerance[0].unwrap() - (trap + 0.15)).abs() < 0.02);
        assert!((tolerance.least().unwrap().0 - (trap + 0.15)).abs() < 0.02);
    }
}

#[test]
fn a_disc_in_a_knockout_opens_alike_in_every_direction() {
    // Closed form: with normals all around, the share s of the length within pi s of the slip opens at
    // (trap + accepted gap) / cos(pi s).
    let (r, trap) = (12.0, 0.25);
    let hole = Drawn::Holed([4.0, 4.0, 56.0, 36.0], [30.0, 20.0, r - trap]);
    let s = study(&[hole, Drawn::Disc(30.0, 20.0, r, 1.0)]);
    let wanted = (trap + 0.15) / libm::cos(std::f64::consts::PI * 0.05);
    for (i, t) in s.tolerance(&close()).pairs[0].tolerance.iter().enumerate() {
        assert!((t.unwrap() - wanted).abs() < 0.02, "{t:?} is not {wanted} at {}", Rose::degrees(i));
    }
    let around = 2.0 * std::f64::consts::PI * r;
    assert!((s.pairs[0].length / around - 1.0).abs() < 0.01, "{} of {around}", s.pairs[0].length);
    // The widest gap of a slip of 1 mm is 1 - trap, by the circles themselves.
    let opening = slipped(&s, 0.05, 1.0, 0.0);
    assert!((opening.widest - (1.0 - trap)).abs() < 0.02, "{opening:?}");
    assert!(!opening.sells(&close()));
    // A share s of the edge is open wider than the gap at pi s from the slip: cos(pi s) - trap.
    for share in [0.05, 0.2, 0.35] {
        let needs = libm::cos(std::f64::consts::PI * share) - trap;
        let got = slipped(&s, share, 1.0, 0.0).needs;
        // Stretches are up to two millimetres long, a fortieth of the edge, over which the gap changes so much.
        let step = 0.02 + libm::sin(std::f64::consts::PI * share) * std::f64::consts::PI / 80.0;
        assert!((got - needs).abs() < step, "{got} is not {needs} at {share}");
    }
}

#[test]
fn inks_that_lie_apart_or_inside_one_another_have_no_tight_edge() {
    let apart = [Drawn::Box(5.0, 5.0, 20.0, 35.0, 1.0), Drawn::Box(25.0, 5.0, 50.0, 35.0, 1.0)];
    let inside = [Drawn::Box(5.0, 5.0, 50.0, 35.0, 1.0), Drawn::Box(15.0, 10.0, 40.0, 30.0, 1.0)];
    for shapes in [apart, inside] {
        let s = study(&shapes);
        assert!(s.tight.is_empty() && s.tolerance(&close()).least().is_none(), "{:?}", s.tight);
        assert_eq!(slipped(&s, 0.0, 9.0, 0.0), Opening::default());
    }
}

#[test]
fn a_gap_over_a_third_ink_shows_that_ink() {
    let [a, b] = squares(0.2);
    let s = study(&[Drawn::Box(2.0, 2.0, 58.0, 38.0, 0.6), a, b]);
    let pair = s.tight.iter().find(|t| (t.lower, t.upper) == (1, 2)).unwrap();
    assert_eq!(pair.shows, Shows::Ink(0));
}

#[test]
fn thin_strokes_are_found_with_their_width() {
    let stroke = Drawn::Box(20.0, 5.0, 20.5, 35.0, 1.0);
    let s = study(&[stroke, stroke]);
    let two = s.thin.iter().find(|t| t.kind == ThinKind::TwoInkStroke).unwrap();
    assert!((two.size - 0.5).abs() < 0.1 && (two.at.x - 20.25).abs() < 0.1, "{two:?}");
    // A light stroke of 0.6 mm that fills a knockout of the same width.
    let hole = Drawn::Holed([4.0, 4.0, 56.0, 36.0], [30.0, 20.0, 0.3]);
    let s = study(&[hole, Drawn::Disc(30.0, 20.0, 0.3, 1.0)]);
    let lost = s.thin.iter().find(|t| t.kind == ThinKind::Stroke);
    assert!(lost.is_none_or(|t| t.length < 2.5));
    let [left, right] = [Drawn::Box(5.0, 5.0, 20.0, 35.0, 1.0), Drawn::Box(20.0, 5.0, 20.6, 35.0, 1.0)];
    let s = study(&[left, right]);
    let lost = s.thin.iter().find(|t| t.kind == ThinKind::Stroke).unwrap();
    assert!((lost.size - 0.6).abs() < 0.1, "{lost:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Boxes side by side with traps and gaps of every kind, from well lapped to far apart, and a disc near them.
    #[test]
    fn a_laxer_acceptance_never_gives_a_lower_figure(
        fits in prop::collection::vec((-1.4..0.6_f64, 3.0..9.0_f64), 3),
        disc in (8.0..22.0_f64, 6.0..14.0_f64, 2.0..5.0_f64),
        gaps in (0.0..0.6_f64, 0.0..1.2_f64),
        shares in (0.0..0.4_f64, 0.0..0.7_f64),
        slips in prop::collection::vec((-1.5..1.5_f64, -1.5..1.5_f64), 12),
    ) {
        // Each row of the second ink has its own trap against the first's straight edge.
        let mut top = 1.0;
        let mut rows = Vec::new();
        for (trap, height) in &fits {
            rows.push((top, top + height, 15.0 + trap));
            top += height + 0.3;
        }
        let (cx, cy, r) = disc;
        let shapes = [Drawn::Box(15.0, 1.0, 26.0, 29.0, 1.0), Drawn::Disc(cx, cy, r, 1.0)];
        let mut covers = covers(28.0, 30.0, 150.0 / 25.4, &shapes);
        let (width, ppm) = (covers.width, covers.px_per_mm);
        for (i, v) in covers.inks[1].plane.iter_mut().enumerate() {
            let (x, y) = ((i % width) as f64 / ppm, (i / width) as f64 / ppm);
            if rows.iter().any(|(top, end, right)| (*top..*end).contains(&y) && (2.0..*right).contains(&x)) {
                *v = 255;
            }
        }
        let study = Study::of_covers(&covers, &StudyOptions::default());
        let steps = [(gaps.0, shares.0), (gaps.0 + gaps.1, shares.0), (gaps.0 + gaps.1, shares.0 + shares.1)];
        let [strict, wider, laxer] = steps.map(|(gap, share)| Acceptance::of(gap, share, None));
        for (less, more) in [(&strict, &wider), (&wider, &laxer)] {
            prop_assert!(less.is_at_most(more));
            let (stricter, laxer) = (study.tolerance(less), study.tolerance(more));
            let roses = stricter.pairs.iter().zip(&laxer.pairs);
            for (a, b) in roses.chain([(&stricter.rose, &laxer.rose)]) {
                for (a, b) in a.tolerance.iter().zip(&b.tolerance) {
                    prop_assert!(a.unwrap_or(f64::INFINITY) <= b.unwrap_or(f64::INFINITY), "{a:?} {b:?}");
                }
            }
            for (x, y) in &slips {
                let sells = |a: &Acceptance| slipped(&study, a.share.get(), *x, *y).sells(a);
                prop_assert!(!sells(less) || sells(more), "{x} {y}");
            }
        }
    }
}

#[test]
fn a_gap_drawn_on_purpose_is_none_that_opens_whatever_gap_is_accepted() {
    // A kiss fit above, and half a millimetre apart below: accepting gaps of 1 mm once made the fit worse.
    let shapes = [Drawn::Box(30.0, 2.0, 55.0, 38.0, 1.0), Drawn::Box(5.0, 2.0, 29.5, 38.0, 1.0)];
    let mut covers = covers(60.0, 40.0, PPM, &shapes);
    let (width, ppm) = (covers.width, covers.px_per_mm);
    for (i, v) in covers.inks[1].plane.iter_mut().enumerate() {
        let (x, y) = ((i % width) as f64 / ppm, (i / width) as f64 / ppm);
        *v = if (2.0..20.0).contains(&y) && (5.0..30.0).contains(&x) { 255 } else { *v };
    }
    let study = Study::of_covers(&covers, &StudyOptions::default());
    for gap in [0.15, 0.5, 1.0, 1.5] {
        let tolerance = study.tolerance(&Acceptance::of(gap, 0.25, None)).least().unwrap().0;
        // The fit overlaps by no more than the pixel that its end falls into.
        assert!((-0.02..0.1).contains(&(tolerance - gap)), "{tolerance} with a gap of {gap}");
    }
}

#[test]
fn a_share_of_all_or_nothing_and_no_gap_at_all_are_judged() {
    let covers = covers(60.0, 40.0, PPM, &squares(0.3));
    let study = Study::of_covers(&covers, &StudyOptions::default());
    let least = |gap: f64, share: f64| study.tolerance(&Acceptance::of(gap, share, None)).least();
    assert!(least(0.15, 1.0).is_none() && !study.tight.is_empty());
    assert_eq!(slipped(&study, 1.0, -50.0, 0.0).needs, 0.0);
    let (none, kiss) = (least(0.15, 0.0).unwrap().0, least(0.01, 0.0).unwrap().0);
    // The very tightest stretch may lie at a corner; what is accepted of a gap comes on top of its trap.
    assert!(none < 0.47 && (none - kiss - 0.14).abs() < 0.02, "{none} {kiss}");
    // One layer alone has nothing to abut.
    let one = Study::of_covers(
        &super::super::testing::covers(20.0, 20.0, PPM, &[Drawn::Disc(10.0, 10.0, 4.0, 1.0)]),
        &StudyOptions::default(),
    );
    assert!(one.tolerance(&close()).least().is_none() && one.pairs.is_empty());
}

#[test]
fn the_worst_place_comes_with_the_slip_that_breaks_it() {
    let s = study(&squares(0.3));
    let worst = s.worst(10)[0];
    let slip = worst.breaking_slip(0.15);
    assert!((slip.dx.get() + 0.45).abs() < 0.02 && slip.dy.get().abs() < 0.02, "{slip:?}");
    let gap = worst.tight.gap(Point::new(slip.dx.get(), slip.dy.get()));
    assert!((gap - 0.15).abs() < 1e-9);
}
