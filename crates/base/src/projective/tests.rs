use super::*;
use proptest::prelude::*;

type Pairs = Vec<(Point, Point)>;

/// A camera's view of a sheet, as a matrix: tilted, turned and shifted.
fn views() -> impl Strategy<Value = Homography> {
    (-0.8..0.8_f64, -0.8..0.8_f64, -3.0..3.0_f64, 0.3..4.0_f64, -900.0..900.0_f64).prop_map(
        |(tilt_x, tilt_y, turn, scale, shift)| {
            let tilted = Homography {
                rows: [[1.0, 0.1 * tilt_x, 0.0], [0.0, 1.0, 0.0], [tilt_x * 1e-3, tilt_y * 1e-3, 1.0]],
            };
            let lain =
                Affine::shift(shift, 100.0 - shift) * Affine::turn(turn * 57.0) * Affine::scale(scale, scale);
            Homography::from(lain) * tilted
        },
    )
}

fn points() -> Vec<Point> {
    (0..9).map(|i| Point::new(f64::from(i % 3) * 104.0 + f64::from(i), f64::from(i / 3) * 131.0)).collect()
}

proptest! {
    #[test]
    fn a_view_comes_back_from_its_corners_and_from_its_pairs(view in views()) {
        let pairs: Vec<_> = points().into_iter().map(|p| (p, view * p)).collect();
        let four = [0, 2, 8, 6].map(|i| pairs[i]);
        let of_corners = Homography::of_corners(four.map(|p| p.0), four.map(|p| p.1)).unwrap();
        let of_pairs = Homography::of_pairs(&pairs).unwrap();
        let of_four = Homography::of_pairs(&four).unwrap();
        for (p, q) in &pairs {
            for map in [of_corners, of_pairs, of_four] {
                prop_assert!((map * *p).distance(*q) < 1e-6, "{map:?} puts {p:?} off {q:?}");
            }
            prop_assert!((view.inverse().unwrap() * *q).distance(*p) < 1e-6);
        }
    }

    #[test]
    fn maps_in_a_row_are_their_product(first in views(), second in views(), x in 0.0..200.0_f64) {
        let p = Point::new(x, 70.0);
        let (one, other) = ((second * first) * p, second * (first * p));
        prop_assume!(one.x.is_finite() && first.depth(p) > 0.1 && second.depth(first * p).abs() > 0.1);
        prop_assert!(one.distance(other) < 1e-6 * (1.0 + one.distance(Point::default())));
    }

    #[test]
    fn no_change_of_a_fitted_map_comes_nearer_to_its_pairs(
        view in views(), noise in prop::collection::vec(-1.0..1.0_f64, 18), cell in 0..8_usize
    ) {
        let with_noise = |(i, p): (usize, Point)| {
            let q = view * p;
            (p, Point::new(q.x + noise[2 * i], q.y + noise[2 * i + 1]))
        };
        let pairs: Vec<_> = points().into_iter().enumerate().map(with_noise).collect();
        let fit = Homography::of_pairs(&pairs).unwrap();
        let cost = |m: Homography| pairs.iter().map(|(p, q)| (m * *p).distance(*q).powi(2)).sum::<f64>();
        for by in [-1e-5, 1e-5] {
            let mut other = fit;
            other.rows[cell / 3][cell % 3] *= 1.0 + by;
            prop_assert!(cost(other) >= cost(fit) * (1.0 - 1e-9), "{} {}", cost(other), cost(fit));
        }
    }

    #[test]
    fn near_a_point_a_map_is_its_affine(view in views(), x in 0.0..200.0_f64, y in 0.0..250.0_f64) {
        let (p, q) = (Point::new(x, y), Point::new(x + 1e-4, y - 2e-4));
        prop_assert!((view.near(p) * q).distance(view * q) < 1e-6);
    }
}

#[test]
fn what_does_not_fix_a_map_is_refused() {
    let p = |x: f64, y: f64| Point::new(x, y);
    let square = [p(0.0, 0.0), p(1.0, 0.0), p(1.0, 1.0), p(0.0, 1.0)];
    let line = [p(0.0, 0.0), p(1.0, 0.0), p(2.0, 0.0), p(0.0, 1.0)];
    assert!(Homography::of_corners(square, line).is_none() && Homography::of_corners(line, square).is_none());
    assert!(Homography::of_corners([p(1.0, 1.0); 4], square).is_none());
    assert!(Homography::of_corners([p(f64::NAN, 1.0); 4], square).is_none());
    let pairs = |from: [Point; 4], to: [Point; 4]| from.into_iter().zip(to).collect::<Vec<_>>();
    assert!(Homography::of_pairs(&pairs(square, square)[..3]).is_none());
    for (from, to) in [(line, square), (square, line), ([p(2.0, 2.0); 4], square)] {
        assert!(Homography::of_pairs(&pairs(from, to)).is_none(), "{from:?} {to:?}");
    }
    let bow_tie = [square[0], square[2], square[1], square[3]];
    assert!(Homography::of_pairs(&pairs(square, bow_tie)).is_none(), "part of it lies behind the camera");
    assert!(Homography { rows: [[1.0, 2.0, 3.0], [2.0, 4.0, 6.0], [0.0, 0.0, 1.0]] }.inverse().is_none());
    assert!(Homography { rows: [[f64::NAN; 3]; 3] }.inverse().is_none());
}

/// Noisy points and what `OpenCV` makes of them, by `tests/fixtures/make_homography.py`.
#[test]
fn a_fit_is_the_one_that_opencv_finds() {
    let text = include_str!("../../../../tests/data/homography.csv");
    let mut cases: Vec<(Vec<f64>, Pairs)> = Vec::new();
    for line in text.lines().skip(1) {
        let (what, numbers) = line.split_once(',').unwrap();
        let numbers: Vec<f64> =
            numbers.split(',').filter(|v| !v.is_empty()).map(|v| v.parse().unwrap()).collect();
        match what {
            "matrix" => cases.push((numbers, Vec::new())),
            _ => {
                let n = &numbers;
                cases.last_mut().unwrap().1.push((Point::new(n[0], n[1]), Point::new(n[2], n[3])));
            }
        }
    }
    assert_eq!(cases.len(), 4);
    for (matrix, pairs) in cases {
        let m = &matrix;
        let theirs = Homography { rows: [[m[0], m[1], m[2]], [m[3], m[4], m[5]], [m[6], m[7], m[8]]] };
        let ours = Homography::of_pairs(&pairs).unwrap();
        let cost = |h: Homography| pairs.iter().map(|(p, q)| (h * *p).distance(*q).powi(2)).sum::<f64>();
        // Both are the least there is; theirs stops a little earlier.
        assert!(cost(ours) <= cost(theirs) * (1.0 + 1e-9), "{} {}", cost(ours), cost(theirs));
        for (p, _) in &pairs {
            let off = (ours * *p).distance(theirs * *p);
            assert!(off < 1e-3, "{off} at {p:?} of {} points", pairs.len());
        }
    }
}
