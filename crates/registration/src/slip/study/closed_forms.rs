//! Gaps, shares and tolerances of squares and discs against their closed forms.
//!
//! A later ink with the outline `r(n)`, over a hole smaller by the trap `t`, that slips by `d` opens a gap of
//! `-d.n - t` at the normal `n`. On a disc the normals lie evenly around; a square has four.

use std::f64::consts::PI;

use super::*;
use crate::slip::testing::{Drawn, covers};

const TRAPS: [f64; 3] = [0.0, 0.3, 1.0];
const GAPS: [f64; 3] = [0.15, 0.5, 1.0];

fn study(shapes: &[Drawn]) -> Study {
    Study::of_covers(&covers(60.0, 40.0, 300.0 / 25.4, shapes), &StudyOptions::default())
}

fn disc(trap: f64) -> Study {
    let hole = Drawn::Holed([4.0, 4.0, 56.0, 36.0], [30.03, 19.96, 12.0 - trap]);
    study(&[hole, Drawn::Disc(30.03, 19.96, 12.0, 1.0)])
}

fn square(trap: f64) -> Study {
    let (x, y, hole) = (30.03, 19.96, 12.0 - trap);
    let frame = Drawn::Framed([4.0, 4.0, 56.0, 36.0], [x - hole, y - hole, x + hole, y + hole]);
    study(&[frame, Drawn::Square(x, y, 24.0, 0.0)])
}

/// How a copy opens whose later ink has slipped by a length in a direction in degrees.
fn slipped(study: &Study, share: f64, slip: f64, degrees: f64) -> Opening {
    let (sin, cos) = libm::sincos(degrees.to_radians());
    study.opening(Acceptance::of(1.0, share, None).share, |_, _| move |_| Point::new(slip * cos, slip * sin))
}

#[test]
fn a_disc_opens_by_the_cosine_of_the_way_around_it() {
    for trap in TRAPS {
        let study = disc(trap);
        for (slip, degrees) in [(0.4, 10.0), (0.9, 75.0), (1.5, 123.0), (2.2, 248.0), (1.5, 342.0)] {
            for share in [0.0, 0.05, 0.2, 0.4] {
                // That share of the edge lies within pi times the share of the direction that the slip leaves.
                let opening = slipped(&study, share, slip, degrees);
                let needs = (slip * libm::cos(PI * share) - trap).max(0.0);
                let what = format!("{slip} mm at {degrees} degrees with a trap of {trap} and {share}");
                // Stretches of 2 mm are taken whole.
                let coarse = slip * (libm::cos(PI * share) - libm::cos(PI * share + 2.0 / 12.0)).min(0.5);
                assert!((opening.needs - needs).abs() < 0.02 + coarse, "{what}: {opening:?} for {needs}");
                let widest = (slip - trap).max(0.0);
                assert!((opening.widest - widest).abs() < 0.02, "{what}: {opening:?} for {widest}");
            }
            for gap in GAPS {
                // The share of the edge that opens wider, which is the least one to accept.
                let open = libm::acos(((trap + gap) / slip).min(1.0)) / PI;
                let sells = |share: f64| slipped(&study, share, slip, degrees).needs <= gap;
                assert!(sells((open + 0.02).min(1.0)), "{slip} mm, trap {trap}, gap {gap}: {open}");
                assert!(open < 0.03 || !sells(open - 0.03), "{slip} mm, trap {trap}, gap {gap}: {open}");
            }
        }
    }
}

#[test]
fn a_square_opens_side_by_side() {
    for trap in TRAPS {
        let study = square(trap);
        for (slip, degrees) in [(0.5, 20.0), (1.2, 100.0), (2.0, 225.0), (2.4, 300.0)] {
            let (sin, cos) = libm::sincos(f64::to_radians(degrees));
            let (more, less) = (slip * sin.abs().max(cos.abs()), slip * sin.abs().min(cos.abs()));
            // The side that opens most is a quarter of the edge, and the next one another.
            // Corners are few, and between them lies the way that the corner itself has moved.
            for (share, moved) in
                [(0.05, more), (0.1, more), (0.2, more), (0.3, less), (0.45, less), (0.55, 0.0)]
            {
                let (opening, needs) = (slipped(&study, share, slip, degrees), (moved - trap).max(0.0));
                assert!((opening.needs - needs).abs() < 0.02, "{slip} at {degrees}, {share}: {opening:?}");
                // Beside a corner a trap is measured along a normal that turns: by some 6 % too short.
                let corner = (slip - 0.93 * trap).max(0.0) + 0.02;
                let sides = (more - trap).max(0.0) - 0.02..corner;
                assert!(sides.contains(&opening.widest), "{slip} at {degrees}: {opening:?}");
            }
        }
    }
}

#[test]
fn a_disc_and_a_square_take_as_much_slip_as_the_closed_forms_say() {
    for trap in TRAPS {
        let (disc, square) = (disc(trap), square(trap));
        for gap in GAPS {
            let acceptance = Acceptance::of(gap, 0.05, None);
            let rose = disc.tolerance(&acceptance).rose.tolerance;
            let wanted = (trap + gap) / libm::cos(PI * 0.05);
            for (i, got) in rose.iter().enumerate() {
                let got = got.unwrap();
                assert!(
                    (got - wanted).abs() < 0.02,
                    "{got} for {wanted} at {}, disc, {trap}",
                    Rose::degrees(i)
                );
            }
            let rose = square.tolerance(&acceptance).rose.tolerance;
            for (i, got) in rose.iter().enumerate() {
                let (sin, cos) = libm::sincos(Rose::degrees(i).to_radians());
                let (got, wanted) = (got.unwrap(), (trap + gap) / sin.abs().max(cos.abs()));
                assert!(
                    (got - wanted).abs() < 0.02,
                    "{got} for {wanted} at {}, square, {trap}",
                    Rose::degrees(i)
                );
            }
        }
    }
}

#[test]
fn the_edges_that_meet_are_as_long_as_the_shapes_are_round() {
    for trap in TRAPS {
        let around = disc(trap).pairs[0].length / (2.0 * PI * 12.0);
        assert!((around - 1.0).abs() < 0.01, "{around} of a disc with a trap of {trap}");
        // At each corner the last of a side, as long as the trap, faces the hole's corner and no side.
        let (square, wanted) = (square(trap).pairs[0].length, 4.0 * (24.0 - 2.0 * trap));
        assert!(square <= 96.5 && square > wanted - 2.0, "{square} of a square with a trap of {trap}");
    }
}
