//! A lens that bends straight lines outwards or inwards.

use crate::geometry::Point;

/// One radial term about a middle (Brown, "Decentering Distortion of Lenses", 1966, kept to its first term).
///
/// `distorted = middle + (p - middle) (1 + k r²)`, where `r` is the distance of the undistorted `p` from the middle
/// in units. Below 0 `k` bulges lines outwards (barrel), above 0 inwards (pincushion).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lens {
    /// The point that stays, in pixels of the photograph.
    pub middle: Point,
    /// Half the photograph's diagonal in pixels, above 0.
    pub unit: f64,
    /// Usually within -0.1..=0.1.
    pub k: f64,
}

impl Lens {
    /// The lens of a photograph of this size in pixels, its axis through the middle.
    pub fn of_photo(width: u32, height: u32, k: f64) -> Self {
        let (w, h) = (f64::from(width), f64::from(height));
        Self { middle: Point::new(w / 2.0, h / 2.0), unit: libm::hypot(w, h) / 2.0, k }
    }

    /// The distance in units from which on a barrel would fold the picture back over itself.
    pub fn fold(self) -> f64 {
        if self.k < 0.0 { (-1.0 / (3.0 * self.k)).sqrt() } else { f64::INFINITY }
    }

    /// Whether the lens can show a point of the undistorted picture at all: it lies nearer than the fold.
    #[inline]
    pub fn shows(self, p: Point) -> bool {
        1.0 + 3.0 * self.k * self.square(p) > 0.0
    }

    /// Where the lens puts a point of the undistorted picture.
    #[inline]
    pub fn distort(self, p: Point) -> Point {
        let grow = 1.0 + self.k * self.square(p);
        Point::new(self.middle.x + (p.x - self.middle.x) * grow, self.middle.y + (p.y - self.middle.y) * grow)
    }

    /// Where a point of the photograph would be without the lens, by Newton's rounds; beyond the fold of a
    /// barrel, which no point of an undistorted picture reaches, the fold itself.
    pub fn undistort(self, p: Point) -> Point {
        let seen = self.square(p).sqrt();
        if seen == 0.0 || self.k == 0.0 {
            return p;
        }
        let most = self.fold();
        let mut r = seen.min(most);
        for _ in 0..25 {
            let slope = 1.0 + 3.0 * self.k * r * r;
            let step = (r * (1.0 + self.k * r * r) - seen) / slope.max(1e-6);
            r = (r - step).clamp(0.0, most);
            if step.abs() < 1e-14 {
                break;
            }
        }
        let grow = r / seen;
        Point::new(self.middle.x + (p.x - self.middle.x) * grow, self.middle.y + (p.y - self.middle.y) * grow)
    }

    /// Squared distance from the middle in units.
    #[inline]
    fn square(self, p: Point) -> f64 {
        let (x, y) = (p.x - self.middle.x, p.y - self.middle.y);
        (x * x + y * y) / (self.unit * self.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_a_lens_does_is_undone(k in -0.15..0.3_f64, x in 0.0..4000.0_f64, y in 0.0..3000.0_f64) {
            let lens = Lens::of_photo(4000, 3000, k);
            let p = Point::new(x, y);
            prop_assert!(lens.shows(p));
            let back = lens.undistort(lens.distort(p));
            prop_assert!(back.distance(p) < 1e-6, "{back:?} {p:?}");
        }
    }

    #[test]
    fn a_barrel_moves_a_corner_inwards_by_its_share() {
        let lens = Lens::of_photo(400, 300, -0.05);
        let corner = lens.distort(Point::new(400.0, 300.0));
        assert!(corner.distance(Point::new(390.0, 292.5)) < 1e-9, "{corner:?}");
        assert_eq!(lens.distort(lens.middle), lens.middle);
    }

    #[test]
    fn nothing_lies_beyond_the_fold() {
        let lens = Lens::of_photo(400, 300, -0.2);
        let far = lens.undistort(Point::new(9000.0, 150.0));
        assert!(((far.x - 200.0) / 250.0 - lens.fold()).abs() < 1e-6, "{far:?}");
        assert!(!lens.shows(Point::new(200.0 + 251.0 * lens.fold(), 150.0)));
    }
}
