use proptest::prelude::*;

use super::*;
use crate::slip::testing::{Drawn, covers};

const PPM: f64 = 300.0 / 25.4;

fn study(shapes: &[Drawn]) -> Study {
    Study::of_covers(&covers(60.0, 40.0, PPM, shapes), &StudyOptions::default())
}

/// Two squares side by side, the second printed over the first's edge by a trap.
fn squares(trap: f64) -> [Drawn; 2] {
    [Drawn::Box(25.07, 5.0, 50.0, 35.0, 1.0), Drawn::Box(5.0, 5.0, 25.07 + trap, 35.0, 1.0)]
}

#[test]
fn two_squares_open_at_their_trap_and_the_visible_gap() {
    // Closed form: straight edges open at (trap + visible gap) / cos of the angle to their normal.
    for trap in [0.0, 0.1, 0.31, 0.8] {
        let s = study(&squares(trap));
        let pair = &s.pairs[0];
        assert_eq!((s.pairs.len(), pair.lower, pair.upper), (1, 0, 1));
        // Near the corners the nearest edge is the one around the corner.
        assert!((30.0 - pair.length - trap * 2.0).abs() < 0.6 + trap, "{}", pair.length);
        // The last pixels before a corner have the corner's normal.
        for t in s.tight.iter().filter(|t| t.length > 0.4) {
            assert!((t.trap - trap).abs() < 0.02 && t.normal.x > 0.98, "{t:?}");
            assert!(t.shows == Shows::Paper && t.difference > 20.0, "{t:?}");
        }
        // The later ink moves left, 180 degrees, to open the gap.
        let at = |degrees: usize| pair.rose.tolerance[degrees / 5];
        assert!((at(180).unwrap() - (trap + 0.15)).abs() < 0.02, "{:?}", at(180));
        assert!((at(120).unwrap() - (trap + 0.15) / 0.5).abs() < 0.04, "{:?}", at(120));
        assert!(at(0).is_none() && at(90).is_none());
        // Either ink may slip, so the whole sheet breaks both ways.
        assert!((s.rose.tolerance[0].unwrap() - (trap + 0.15)).abs() < 0.02);
        assert!((s.tolerance().unwrap().0 - (trap + 0.15)).abs() < 0.02);
    }
}

#[test]
fn two_inks_alone_are_studied_as_among_the_others() {
    let [left, right] = squares(0.2);
    let covers = covers(60.0, 40.0, PPM, &[left, Drawn::Disc(20.0, 20.0, 8.0, 1.0), right]);
    let options = StudyOptions::default();
    let all = Study::of_covers(&covers, &options);
    for (lower, upper) in [(0, 1), (0, 2), (1, 2)] {
        let among = all.pairs.iter().find(|p| (p.lower, p.upper) == (lower, upper));
        assert_eq!(Study::of_pair(&covers, &options, lower, upper).as_ref(), among, "{lower} {upper}");
    }
    assert!(Study::of_pair(&covers, &options, 0, 2).is_some());
    assert!(Study::of_pair(&covers, &options, 0, 3).is_none());
}

#[test]
fn a_disc_in_a_knockout_opens_alike_in_every_direction() {
    // Closed form: with normals all around, the share s of the length within pi s of the slip opens at
    // (trap + visible gap) / cos(pi s).
    let (r, trap) = (12.0, 0.25);
    let hole = Drawn::Holed([4.0, 4.0, 56.0, 36.0], [30.0, 20.0, r - trap]);
    let s = study(&[hole, Drawn::Disc(30.0, 20.0, r, 1.0)]);
    let wanted = (trap + 0.15) / libm::cos(std::f64::consts::PI * 0.05);
    for (i, t) in s.pairs[0].rose.tolerance.iter().enumerate() {
        assert!((t.unwrap() - wanted).abs() < 0.02, "{t:?} is not {wanted} at {}", Rose::degrees(i));
    }
    let around = 2.0 * std::f64::consts::PI * r;
    assert!((s.pairs[0].length / around - 1.0).abs() < 0.01, "{} of {around}", s.pairs[0].length);
    // The widest gap of a slip of 1 mm is 1 - trap, by the circles themselves.
    let opened = s.opened(|layer, _| Point::new(f64::from(layer as u32), 0.0));
    assert!((opened.gap - (1.0 - trap)).abs() < 0.02, "{opened:?}");
    assert!(!s.holds(&opened));
    // cos of the half angle at which the gap is still visible.
    let share = libm::acos((trap + 0.15) / 1.0) / std::f64::consts::PI;
    assert!((opened.share - share).abs() < 0.02, "{opened:?} {share}");
}

#[test]
fn inks_that_lie_apart_or_inside_one_another_have_no_tight_edge() {
    let apart = [Drawn::Box(5.0, 5.0, 20.0, 35.0, 1.0), Drawn::Box(25.0, 5.0, 50.0, 35.0, 1.0)];
    let inside = [Drawn::Box(5.0, 5.0, 50.0, 35.0, 1.0), Drawn::Box(15.0, 10.0, 40.0, 30.0, 1.0)];
    for shapes in [apart, inside] {
        let s = study(&shapes);
        assert!(s.tight.is_empty() && s.tolerance().is_none(), "{:?}", s.tight);
        assert!(s.holds(&s.opened(|layer, _| Point::new(layer as f64 * 9.0, 0.0))));
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
    fn a_laxer_wish_never_gives_a_lower_figure(
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
        let study = |visible_gap: f64, share: f64| {
            Study::of_covers(&covers, &StudyOptions { visible_gap, share, ..StudyOptions::default() })
        };
        let steps = [(gaps.0, shares.0), (gaps.0 + gaps.1, shares.0), (gaps.0 + gaps.1, shares.0 + shares.1)];
        let [strict, wider, laxer] = steps.map(|(gap, share)| study(gap, share.min(1.0)));
        for (less, more) in [(&strict, &wider), (&wider, &laxer)] {
            // What abuts is drawn; acceptance only judges it.
            prop_assert_eq!(&less.tight, &more.tight);
            prop_assert_eq!(less.thin.len(), more.thin.len());
            let roses = less.pairs.iter().zip(&more.pairs).map(|(a, b)| (&a.rose, &b.rose));
            for (a, b) in roses.chain([(&less.rose, &more.rose)]) {
                for (a, b) in a.tolerance.iter().zip(&b.tolerance) {
                    prop_assert!(a.unwrap_or(f64::INFINITY) <= b.unwrap_or(f64::INFINITY), "{a:?} {b:?}");
                }
            }
            let good = |s: &Study, (x, y): (f64, f64)| {
                s.holds(&s.opened(|layer, _| Point::new(x * layer as f64, y * layer as f64)))
            };
            for slip in &slips {
                prop_assert!(!good(less, *slip) || good(more, *slip), "{slip:?}");
            }
        }
    }
}

#[test]
fn a_gap_drawn_on_purpose_is_none_that_opens_whatever_gap_is_accepted() {
    // A kiss fit above, and half a millimetre apart below: accepting gaps of 1 mm once made the fit worse.
    let s = |visible_gap: f64| {
        let shapes = [Drawn::Box(30.0, 2.0, 55.0, 38.0, 1.0), Drawn::Box(5.0, 2.0, 29.5, 38.0, 1.0)];
        let mut covers = covers(60.0, 40.0, PPM, &shapes);
        let (width, ppm) = (covers.width, covers.px_per_mm);
        for (i, v) in covers.inks[1].plane.iter_mut().enumerate() {
            let (x, y) = ((i % width) as f64 / ppm, (i / width) as f64 / ppm);
            *v = if (2.0..20.0).contains(&y) && (5.0..30.0).contains(&x) { 255 } else { *v };
        }
        Study::of_covers(&covers, &StudyOptions { visible_gap, share: 0.25, ..StudyOptions::default() })
    };
    for gap in [0.15, 0.5, 1.0, 1.5] {
        let tolerance = s(gap).tolerance().unwrap().0;
        // The fit overlaps by no more than the pixel that its end falls into.
        assert!((-0.02..0.1).contains(&(tolerance - gap)), "{tolerance} with a gap of {gap}");
    }
}

#[test]
fn a_share_of_all_or_nothing_and_no_gap_at_all_are_judged() {
    let covers = covers(60.0, 40.0, PPM, &squares(0.3));
    let study = |visible_gap: f64, share: f64| {
        Study::of_covers(&covers, &StudyOptions { visible_gap, share, ..StudyOptions::default() })
    };
    let all = study(0.15, 1.0);
    assert!(all.tolerance().is_none() && !all.tight.is_empty());
    assert!(all.holds(&all.opened(|layer, _| Point::new(layer as f64 * -50.0, 0.0))));
    let (none, kiss) = (study(0.15, 0.0).tolerance().unwrap().0, study(0.0, 0.0).tolerance().unwrap().0);
    // The very tightest stretch may lie at a corner; what is accepted of a gap comes on top of its trap.
    assert!(none < 0.47 && (none - kiss - 0.15).abs() < 0.02, "{none} {kiss}");
    // One layer alone has nothing to abut.
    let one = Study::of_covers(
        &super::super::testing::covers(20.0, 20.0, PPM, &[Drawn::Disc(10.0, 10.0, 4.0, 1.0)]),
        &StudyOptions::default(),
    );
    assert!(one.tolerance().is_none() && one.pairs.is_empty());
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
