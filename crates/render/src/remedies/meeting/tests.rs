use proptest::prelude::*;

use super::*;
use crate::remedies::remedied;
use slipsheet_base::morph::spread;
use slipsheet_document::ids::LayerId;
use slipsheet_document::remedy::{Growth, Remedy};

/// Pixels per mm, as at 254 dpi.
const PPM: f64 = 10.0;
const SIDE: u32 = 300;

/// A plate of 30 x 30 mm from a coverage (0..=1) at a point in mm, by 8 x 8 samples a pixel.
fn drawn(cover: impl Fn(f64, f64) -> f64) -> GrayRaster {
    let pixel = |i: u32| {
        let (x, y) = (f64::from(i % SIDE), f64::from(i / SIDE));
        let sample = |s: u32| {
            let (dx, dy) = ((f64::from(s % 8) + 0.5) / 8.0, (f64::from(s / 8) + 0.5) / 8.0);
            cover((x + dx) / PPM, (y + dy) / PPM)
        };
        let corners = [cover(x / PPM, y / PPM), cover((x + 1.0) / PPM, y / PPM)];
        let below = [cover(x / PPM, (y + 1.0) / PPM), cover((x + 1.0) / PPM, (y + 1.0) / PPM)];
        // No shape here is smaller than a pixel.
        if corners.iter().chain(&below).all(|c| *c == corners[0]) {
            return 255 - (corners[0] * 255.0 + 0.5) as u8;
        }
        255 - ((0..64).map(sample).sum::<f64>() / 64.0 * 255.0 + 0.5) as u8
    };
    GrayRaster::new(SIDE, SIDE, (0..SIDE * SIDE).map(pixel).collect()).unwrap()
}

fn within(x: f64, y: f64, [x0, y0, x1, y1]: [f64; 4]) -> f64 {
    f64::from((x0..x1).contains(&x) && (y0..y1).contains(&y))
}

/// Ink along the row at a height in mm, as a width of solid ink in mm.
fn width(plate: &GrayRaster, y: f64) -> f64 {
    plate.row((y * PPM) as u32).iter().map(|g| f64::from(255 - g)).sum::<f64>() / 255.0 / PPM
}

fn with_trap(plate: &GrayRaster, other: &GrayRaster, mm: f64) -> GrayRaster {
    let trap = Remedy::Trap { with: LayerId::new(9), by: Growth::new(mm) };
    remedied(plate.clone(), &[trap], PPM, |id| (id == LayerId::new(9)).then(|| other.clone()))
}

fn with_gap(plate: &GrayRaster, other: &GrayRaster, mm: f64) -> GrayRaster {
    let gap = Remedy::Gap { from: LayerId::new(9), by: Growth::new(mm) };
    remedied(plate.clone(), &[gap], PPM, |_| Some(other.clone()))
}

/// A square to the left of x = 15.03 mm in a tint, with type and dust beside it, and one in solid to its right.
fn neighbours(overlap: f64) -> (GrayRaster, GrayRaster) {
    let left = drawn(|x, y| {
        let square = within(x, y, [3.0, 5.0, 15.03 + overlap, 25.0]) * 0.6;
        let stem = within(x, y, [17.0, 8.0, 17.5, 12.0]);
        let dust = f64::from(libm::hypot(x - 20.0, y - 20.0) < 0.3);
        square.max(stem).max(dust)
    });
    (left, drawn(|x, y| within(x, y, [15.03, 5.0, 27.0, 25.0])))
}

#[test]
fn a_trap_is_as_wide_as_asked_for_and_as_dark_as_its_edge() {
    for overlap in [0.0, 0.25, 0.8] {
        let (left, right) = neighbours(overlap);
        for trap in [0.1, 0.37, 1.0] {
            let trapped = with_trap(&left, &right, trap);
            let grown = (width(&trapped, 15.0) - width(&left, 15.0)) / 0.6;
            assert!((grown - trap).abs() < 0.02, "{grown} mm of {trap} at an overlap of {overlap}");
            let darkest = trapped.row(150).iter().min();
            assert_eq!(darkest, left.row(150).iter().min());
        }
    }
}

#[test]
fn a_disc_in_its_knockout_grows_into_what_surrounds_it_by_the_trap() {
    // Closed form: a disc of radius r grown by t has the area of one of radius r + t.
    let in_disc = |x: f64, y: f64| libm::hypot(x - 15.0, y - 15.0) < 6.0;
    let disc = drawn(|x, y| f64::from(in_disc(x, y)));
    let ground = drawn(|x, y| within(x, y, [2.0, 2.0, 28.0, 28.0]) * f64::from(!in_disc(x, y)));
    let area =
        |p: &GrayRaster| p.pixels().iter().map(|g| f64::from(255 - g)).sum::<f64>() / 255.0 / PPM / PPM;
    let radius = |p: &GrayRaster| libm::sqrt(area(p) / std::f64::consts::PI);
    for trap in [0.3, 0.45, 1.0] {
        let got = radius(&with_trap(&disc, &ground, trap)) - 6.0;
        assert!((got - trap).abs() < 0.03, "{got} for {trap}");
        // The other way around the hole gets smaller.
        let lost = radius(&disc)
            - libm::sqrt((26.0 * 26.0 - area(&with_trap(&ground, &disc, trap))) / std::f64::consts::PI);
        assert!((lost - trap).abs() < 0.03, "{lost} for {trap}");
    }
}

#[test]
fn a_trap_leaves_bare_paper_type_and_dust_alone() {
    let (left, right) = neighbours(0.0);
    let trapped = with_trap(&left, &right, 1.0);
    for (i, (was, is)) in left.pixels().iter().zip(trapped.pixels()).enumerate() {
        let (x, y) = ((i % SIDE as usize) as f64 / PPM, (i / SIDE as usize) as f64 / PPM);
        if x > 16.2 || !(4.9..25.1).contains(&y) || x < 14.8 {
            assert_eq!(was, is, "at {x}, {y}");
        }
    }
    // The stem of a letter is not grown into, whatever meets it.
    let stem = drawn(|x, y| within(x, y, [15.03, 5.0, 15.5, 25.0]));
    assert_eq!(with_trap(&left, &stem, 0.4), left);
    // Nor does it grow itself.
    assert_eq!(with_trap(&stem, &left, 0.4), stem);
}

#[test]
fn what_prints_over_another_has_no_trap_and_leaves_no_gap() {
    let wash = drawn(|x, y| within(x, y, [2.0, 2.0, 28.0, 28.0]) * 0.5);
    let over = drawn(|x, y| within(x, y, [10.0, 10.0, 20.0, 20.0]));
    let across = drawn(|x, y| within(x, y, [20.0, 10.0, 29.5, 20.0]));
    for other in [&over, &across] {
        assert_eq!(with_trap(other, &wash, 0.5), *other);
        assert_eq!(with_gap(other, &wash, 0.5), *other);
        assert_eq!(with_gap(&wash, other, 0.5), wash);
    }
    // A grainy wash over another keeps its grain.
    let grain = drawn(|x, y| {
        let pore = (x * 2.0).fract() < 0.3 && (y * 2.0).fract() < 0.3;
        within(x, y, [6.0, 6.0, 24.0, 24.0]) * f64::from(!pore)
    });
    assert_eq!(with_trap(&grain, &wash, 0.5), grain);
}

#[test]
fn a_hairline_between_two_shapes_is_closed_and_a_gap_on_purpose_is_not() {
    let left = drawn(|x, y| within(x, y, [3.0, 5.0, 15.0, 25.0]));
    let beside = |gap: f64| drawn(move |x, y| within(x, y, [15.0 + gap, 5.0, 27.0, 25.0]));
    let closed = with_trap(&left, &beside(0.1), 0.4);
    assert!((width(&closed, 15.0) - 12.4).abs() < 0.03, "{}", width(&closed, 15.0));
    for far in [0.5, 2.0] {
        assert_eq!(with_trap(&left, &beside(far), 1.0), left);
    }
}

#[test]
fn a_gap_leaves_white_of_its_width_where_two_meet_and_only_there() {
    for overlap in [0.0, 0.25, 0.8] {
        let (left, right) = neighbours(overlap);
        for gap in [0.2, 0.6, 1.5] {
            let cut = with_gap(&left, &right, gap);
            let white = 12.03 - width(&cut, 15.0) / 0.6;
            assert!((white - gap).abs() < 0.03, "{white} for {gap} at an overlap of {overlap}");
            assert_eq!(cut.row(100)[170..176], left.row(100)[170..176], "type stays");
            assert_eq!(cut.row(200)[195..206], left.row(200)[195..206], "dust stays");
            assert_eq!(cut.row(100)[..130], left.row(100)[..130]);
        }
    }
    let far = drawn(|x, y| within(x, y, [16.5, 5.0, 27.0, 25.0]));
    let (left, _) = neighbours(0.0);
    assert_eq!(with_gap(&left, &far, 1.0), left);
}

/// A few rectangles and discs in tints, large and small, anywhere.
fn shapes() -> impl Strategy<Value = GrayRaster> {
    let shape = (0.0..28.0, 0.0..28.0, 0.1..12.0, 0.1..12.0, 0.15..1.0, any::<bool>());
    prop::collection::vec(shape, 1..6).prop_map(|shapes| {
        drawn(|x, y| {
            let one = |(x0, y0, w, h, tone, round): &(f64, f64, f64, f64, f64, bool)| {
                let inside = if *round {
                    f64::from(libm::hypot(x - x0, y - y0) < *w / 2.0)
                } else {
                    within(x, y, [*x0, *y0, x0 + w, y0 + h])
                };
                inside * tone
            };
            shapes.iter().map(one).fold(0.0, f64::max)
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn a_trap_only_adds_ink_only_where_the_other_prints_and_more_of_it_when_it_is_wider(
        own in shapes(), other in shapes(), narrow in 0.05..1.0, more in 0.0..0.8,
    ) {
        prop_assert_eq!(&with_trap(&own, &other, 0.0), &own);
        let (small, large) = (with_trap(&own, &other, narrow), with_trap(&own, &other, narrow + more));
        let near_other = spread(&other, 0.2 * PPM);
        let pixels = own.pixels().iter().zip(small.pixels()).zip(large.pixels()).zip(near_other.pixels());
        for (((was, small), large), other) in pixels {
            prop_assert!(small <= was && large <= small, "{was} {small} {large}");
            prop_assert!(*other < 255 || large == was, "{was} became {large} away from the other");
        }
    }

    #[test]
    fn a_gap_never_adds_ink_and_a_wider_one_never_leaves_more(
        own in shapes(), other in shapes(), narrow in 0.0..1.0, more in 0.0..0.8,
    ) {
        let (small, large) = (with_gap(&own, &other, narrow), with_gap(&own, &other, narrow + more));
        let near_other = spread(&other, (narrow + more + 0.2) * PPM);
        let pixels = own.pixels().iter().zip(small.pixels()).zip(large.pixels()).zip(near_other.pixels());
        for (((was, small), large), other) in pixels {
            prop_assert!(small >= was && large >= small, "{was} {small} {large}");
            prop_assert!(*other < 255 || large == was, "{was} became {large} away from the other");
        }
    }
}
