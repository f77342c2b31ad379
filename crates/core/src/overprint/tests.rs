//! What `overprint` holds to.

use super::*;
use proptest::prelude::*;

fn lab(l: f64, a: f64, b: f64) -> Lab {
    Lab::new(l, a, b).unwrap()
}

fn film(solid: Lab) -> Film {
    Film { solid, on: lab(95.0, 0.0, -2.0), on_floor: 0.075, opacity: 0.0, emission: 1.0 }
}

fn ground() -> Ground {
    Ground { paper: lab(95.0, 0.0, -2.0), floor: 0.075, trap: TRAP, n: 2.0 }
}

fn three() -> [Film; 3] {
    [film(lab(55.0, -37.0, -50.0)), film(lab(48.0, 74.0, -3.0)), film(lab(89.0, -5.0, 93.0))]
}

#[test]
fn a_single_solid_on_its_own_paper_is_itself() {
    for f in three() {
        let m = Overprint::new(&ground(), &[f]).unwrap();
        assert!(m.mix(&[1.0]).lab().ciede2000(f.solid) < 0.7, "{}", m.mix(&[1.0]).lab());
        assert!(m.mix(&[0.0]).lab().ciede2000(ground().paper) < 1e-6);
    }
}

#[test]
fn the_order_of_printing_matters() {
    let [c, m, _] = three();
    let mix = |films: &[Film]| Overprint::new(&ground(), films).unwrap().mix(&[1.0, 1.0]).lab();
    assert!(mix(&[c, m]).ciede2000(mix(&[m, c])) > 0.3);
    let opaque = Film { opacity: 1.0, ..m };
    assert!(mix(&[c, opaque]).ciede2000(m.solid) < 1.0, "{}", mix(&[c, opaque]));
    assert!(mix(&[opaque, c]).ciede2000(m.solid) > 10.0);
}

#[test]
fn an_ink_at_zero_coverage_changes_nothing() {
    let [c, m, y] = three();
    let two = Overprint::new(&ground(), &[c, y]).unwrap().mix(&[0.4, 0.7]).lab();
    let with = Overprint::new(&ground(), &[c, m, y]).unwrap().mix(&[0.4, 0.0, 0.7]).lab();
    assert!(two.ciede2000(with) < 1e-9);
}

#[test]
fn a_glow_is_dimmed_by_the_ink_above_it() {
    let pink = Film { on: lab(80.0, 0.0, 0.0), ..film(lab(70.0, 85.0, 10.0)) };
    let dark = film(lab(30.0, 10.0, -50.0));
    let alone = Overprint::new(&ground(), &[pink]).unwrap().primaries()[1][0];
    let dull = Overprint::new(&ground(), &[Film { emission: 0.0, ..pink }]).unwrap().primaries()[1][0];
    assert!(alone > dull, "{alone} is not above {dull}");
    let under =
        |e| Overprint::new(&ground(), &[Film { emission: e, ..pink }, dark]).unwrap().primaries()[3][0];
    assert!(under(1.0) - under(0.0) < (alone - dull) * 0.6);
}

#[test]
fn a_measured_overprint_takes_the_place_of_the_prediction() {
    let [c, m, _] = three();
    let mut model = Overprint::new(&ground(), &[c, m]).unwrap();
    let measured = lab(20.0, 5.0, -30.0);
    model.replace(3, measured);
    assert!(model.mix(&[1.0, 1.0]).lab().ciede2000(measured) < 1e-4);
    model.replace(99, measured);
}

#[test]
fn numbers_out_of_range_are_refused() {
    let bad = Ground { n: f64::NAN, ..ground() };
    assert!(matches!(Overprint::new(&bad, &[]), Err(OverprintError::Range { what: "n", .. })));
    let nine = [film(Lab::WHITE); 9];
    assert_eq!(Overprint::new(&ground(), &nine), Err(OverprintError::TooManyInks(9)));
}

/// Black of L* 17 on uncoated paper, and a rose: the case that once came out at L* 30.
#[test]
fn black_stays_black_under_and_over_rose() {
    let (black, rose) = (film(lab(17.0, 0.5, 1.0)), film(lab(64.0, 54.0, 36.0)));
    for stack in [[black, rose], [rose, black]] {
        let both = Overprint::new(&ground(), &stack).unwrap().mix(&[1.0, 1.0]).lab();
        assert!(both.l() <= 17.0 + 1e-6, "{both}");
    }
}

/// Where an ink gets darker than the floor allows, nothing jumps.
#[test]
fn a_stack_darkens_without_a_jump_as_one_of_its_inks_does() {
    let rose = film(lab(64.0, 54.0, 36.0));
    let of =
        |l: f64| Overprint::new(&ground(), &[film(lab(l, 4.0, -12.0)), rose]).unwrap().mix(&[1.0, 1.0]).lab();
    for step in 60..480 {
        let (l, next) = (f64::from(step) / 10.0, f64::from(step + 1) / 10.0);
        assert!(of(l).ciede2000(of(next)) < 0.25 && of(next).l() >= of(l).l() - 1e-9, "at {l}");
    }
}

fn any_film() -> impl Strategy<Value = Film> {
    let solid = (2.0..95.0_f64, -60.0..70.0_f64, -60.0..80.0_f64);
    (solid, 0.0..=0.2_f64, prop::bool::weighted(0.2), 0.0..=1.0_f64).prop_map(
        |((l, a, b), on_floor, covers, opacity)| Film {
            solid: lab(l, a, b),
            on: lab(95.0, 0.0, -2.0),
            on_floor,
            opacity: if covers { opacity } else { 0.0 },
            emission: 0.0,
        },
    )
}

proptest! {
    /// Whatever the paper, the finish and the other inks: one more transparent ink that does not glow never
    /// raises a channel, and so never Y, in solids as in tints.
    #[test]
    fn one_more_transparent_ink_never_makes_a_print_lighter(
        films in prop::collection::vec(any_film(), 1..5),
        (l, a, b) in (30.0..97.0_f64, -15.0..15.0_f64, -15.0..30.0_f64),
        floor in 0.0..=0.3_f64, trap in 0.5..=1.2_f64,
        cover in prop::collection::vec(0.0..=1.0_f64, 5), more in 0.0..=1.0_f64,
    ) {
        let ground = Ground { paper: lab(l, a, b), floor, trap, n: 2.0 };
        let model = Overprint::new(&ground, &films).unwrap();
        for (mask, light) in model.primaries().iter().enumerate() {
            for k in (0..films.len()).filter(|k| mask >> k & 1 == 1 && films[*k].opacity == 0.0) {
                let without = model.primaries()[mask & !(1 << k)];
                prop_assert!((0..3).all(|c| light[c] <= without[c] + 1e-12), "{mask:b} without {k}");
            }
        }
        for k in (0..films.len()).filter(|k| films[*k].opacity == 0.0) {
            let mut heavier = cover.clone();
            heavier[k] += (1.0 - heavier[k]) * more;
            prop_assert!(model.mix(&heavier).y <= model.mix(&cover).y + 1e-9);
        }
    }
}

proptest! {
    /// With floor 0 and trapping 1 the mixture of primaries is the product of single-ink factors.
    #[test]
    fn without_floor_the_lerps_equal_the_product(
        a in prop::collection::vec(0.0..=1.0_f64, 3),
        t in prop::collection::vec(0.02..=0.98_f64, 9),
        n in 1.0..3.0_f64,
    ) {
        let ground = Ground { paper: lab(93.0, 1.0, 4.0), floor: 0.0, trap: 1.0, n };
        let paper = ground.paper.light();
        let films: Vec<Film> = t.chunks(3).map(|t| Film {
            solid: Xyz::from_light([t[0], t[1], t[2]]).lab(),
            on: Lab::WHITE, on_floor: 0.0, opacity: 0.0, emission: 1.0,
        }).collect();
        // Only colours that Lab can hold come back unchanged.
        let white = Lab::WHITE.light();
        for film in &films {
            prop_assume!(film.solid.light().iter().all(|c| *c > 1e-3));
        }
        let got = Overprint::new(&ground, &films).unwrap().mix(&a).light();
        for c in 0..3 {
            let product: f64 = films.iter().zip(&a).map(|(f, a)| {
                1.0 - a + a * libm::pow((f.solid.light()[c] / white[c]).min(1.0), 1.0 / n)
            }).product();
            let glow: f64 = films.iter().map(|f| (f.solid.light()[c] - white[c]).max(0.0)).sum();
            prop_assume!(glow == 0.0);
            prop_assert!((got[c] - libm::pow(product, n) * paper[c]).abs() < 1e-5);
        }
    }
}
