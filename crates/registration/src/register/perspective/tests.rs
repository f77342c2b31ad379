use super::*;
use proptest::prelude::*;
use slipsheet_base::random::SplitMix;
use slipsheet_core::geometry::Affine;

const PHOTO: (u32, u32) = (4000, 3000);

/// Where the marks of a guide lie on a letter sheet, about.
fn marks() -> Vec<Point> {
    let (w, h) = (215.9, 279.4);
    let at =
        [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h), (w + 3.1, h / 2.0), (-3.1, h / 2.0), (w / 2.0, h + 6.0)];
    at.into_iter().chain([(w / 2.0, -7.0), (w / 2.0, 0.0)]).map(|(x, y)| Point::new(x, y)).collect()
}

fn view(tilt: f64, turn: f64) -> Homography {
    let tilted =
        Homography { rows: [[1.0, 0.0, -108.0], [0.0, 0.95, -133.0], [tilt * 1e-3, -tilt * 6e-4, 1.0]] };
    Homography::from(Affine::shift(2000.0, 1500.0) * Affine::turn(turn) * Affine::scale(9.0, 9.0)) * tilted
}

fn pairs(view: Homography, k: f64, noise_px: f64, seed: u64) -> Vec<(Point, Point)> {
    let lens = Lens::of_photo(PHOTO.0, PHOTO.1, k);
    let mut random = SplitMix::new(seed);
    let mut pair = |p: Point| {
        let q = lens.distort(view * p);
        (Point::new(q.x + noise_px * random.normal(), q.y + noise_px * random.normal()), p)
    };
    marks().into_iter().map(&mut pair).collect()
}

proptest! {
    #[test]
    fn a_view_and_its_lens_come_back(
        tilt in -0.8..0.8_f64, turn in -180.0..180.0_f64, k in -0.06..0.06_f64, x in 0.0..216.0_f64, y in 0.0..279.0_f64
    ) {
        let (view, lens) = (view(tilt, turn), Lens::of_photo(PHOTO.0, PHOTO.1, k));
        let fit = solve_perspective(&pairs(view, k, 0.0, 1), PHOTO, true).unwrap();
        prop_assert!((fit.lens.k - k).abs() < 1e-5 && fit.rms_mm < 1e-4, "{} for {k}", fit.lens.k);
        let (on_sheet, in_photo) = (Point::new(x, y), lens.distort(view * Point::new(x, y)));
        prop_assert!(fit.in_photo(on_sheet).distance(in_photo) < 0.01);
        prop_assert!(fit.on_sheet(in_photo).unwrap().distance(on_sheet) < 1e-3);
    }

    #[test]
    fn wrong_marks_are_set_aside_however_the_lens_bends(
        tilt in -0.6..0.6_f64, k in -0.05..0.05_f64, wrong in 0..9_usize, by in 40.0..900.0_f64, seed in any::<u64>()
    ) {
        let mut pairs = pairs(view(tilt, 90.0), k, 0.3, seed);
        pairs[wrong].0.x += by;
        let fit = solve_rejecting(&pairs, Lens::of_photo(PHOTO.0, PHOTO.1, 0.0), 0.8).unwrap();
        prop_assert!(fit.used.iter().enumerate().all(|(i, u)| *u != (i == wrong)), "{:?} {wrong}", fit);
        prop_assert!(fit.max_mm() < 0.4 && fit.residuals_mm[wrong] > 1.5, "{fit:?}");
    }
}

#[test]
fn a_lens_is_not_read_out_of_noise_or_of_few_marks() {
    for seed in 0..40 {
        let fit = solve_perspective(&pairs(view(0.3, 10.0), 0.0, 1.0, seed), PHOTO, true).unwrap();
        assert!(fit.lens.k.abs() < 0.02, "{fit:?}");
    }
    let six: Vec<_> = pairs(view(0.3, 10.0), 0.05, 0.0, 1).into_iter().take(6).collect();
    assert_eq!(solve_perspective(&six, PHOTO, true).unwrap().lens.k, 0.0);
    let nine = pairs(view(0.3, 10.0), 0.05, 0.0, 1);
    assert_eq!(solve_perspective(&nine, PHOTO, false).unwrap().lens.k, 0.0);
}

#[test]
fn too_few_pairs_and_pairs_on_a_line_are_refused() {
    let some = pairs(view(0.0, 0.0), 0.0, 0.0, 1);
    assert_eq!(solve_perspective(&some[..3], PHOTO, true), Err(SolveError::TooFew { needed: 4, got: 3 }));
    let line: Vec<_> = (0..6).map(|i| Point::new(f64::from(i), 0.0)).map(|p| (p, p)).collect();
    assert_eq!(solve_perspective(&line, PHOTO, false), Err(SolveError::Degenerate));
}

/// Marks seen through an affine map at 300 dpi, with noise in mm.
fn scanned(slanted: Affine, noise: f64, seed: u64) -> Vec<(Point, Point)> {
    let mut random = SplitMix::new(seed);
    let mut off = || noise * random.normal();
    let scan_from_sheet = Affine::scale(11.8, 11.8) * slanted;
    marks().into_iter().map(|p| (scan_from_sheet * Point::new(p.x + off(), p.y + off()), p)).collect()
}

#[test]
fn the_plainest_map_that_explains_the_marks_is_chosen() {
    let turned = Affine::turn(1.5);
    let long = Affine { a: 1.0, b: 0.0, c: 0.0, d: 1.006, e: 0.0, f: 0.0 } * turned;
    let count = |wanted: Chosen, make: &dyn Fn(u64) -> Vec<(Point, Point)>| {
        (0..100).filter(|seed| choose_fit(&make(*seed)) == wanted).count()
    };
    // A sound scan, also one whose marks were drawn a fifth of a millimetre off, is hardly ever bent.
    assert_eq!(count(Chosen::Similarity, &|seed| scanned(turned, 0.02, seed)), 100);
    assert!(count(Chosen::Similarity, &|seed| scanned(turned, 0.2, seed)) >= 96);
    assert_eq!(count(Chosen::Affine, &|seed| scanned(long, 0.05, seed)), 100);
    assert_eq!(count(Chosen::Perspective, &|seed| pairs(view(0.4, 20.0), 0.0, 1.0, seed)), 100);
    assert_eq!(count(Chosen::Perspective, &|seed| pairs(view(-0.5, 90.0), 0.03, 0.5, seed)), 100);
}

#[test]
fn four_marks_or_fewer_are_chosen_for_with_care() {
    let four = |pairs: Vec<(Point, Point)>| pairs.into_iter().take(4).collect::<Vec<_>>();
    assert_eq!(choose_fit(&four(pairs(view(0.4, 20.0), 0.0, 0.5, 3))), Chosen::Perspective);
    assert_eq!(choose_fit(&four(scanned(Affine::turn(2.0), 0.15, 3))), Chosen::Similarity);
    assert_eq!(choose_fit(&pairs(view(0.4, 20.0), 0.0, 0.0, 3)[..3]), Chosen::Similarity);
    assert_eq!(choose_fit(&[]), Chosen::Similarity);
}
