//! A photograph of a flat sheet made flat.

use super::{Homography, Lens};
use crate::geometry::Point;
use crate::raster::GrayRaster;
use rayon::prelude::*;

/// The most points along a side of an output pixel that are read for it.
const MOST_POINTS: u32 = 8;
/// Paper that the photograph does not show.
const WHITE: f64 = 255.0;

/// Which part of a photograph becomes a flat picture, and of what size.
///
/// The corners are given as a camera without a bending lens would see them: pixels of the photograph after
/// [`Lens::undistort`]. Corners that a person points at in the photograph have to be undistorted first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flatten {
    /// Top left, top right, bottom right and bottom left of the flat picture, in pixels of the undistorted
    /// photograph, corners of pixels at whole numbers.
    pub corners: [Point; 4],
    /// What bends the photograph.
    pub lens: Lens,
    /// Width of the flat picture in pixels.
    pub width: u32,
    /// Height of the flat picture in pixels.
    pub height: u32,
}

impl Flatten {
    /// The flat picture; white where the photograph shows nothing.
    ///
    /// Where the photograph is finer than the flat picture, so many points are read for each pixel that none of
    /// the photograph is left out. `None` when the corners do not stand about a convex four-sided part, or the
    /// size is refused by [`crate::raster::check_size`].
    pub fn apply(&self, raster: &GrayRaster) -> Option<GrayRaster> {
        let map = self.map()?;
        let mut flat = GrayRaster::filled(self.width, self.height, 255).ok()?;
        let points = self.points(map);
        let (step, share) = (1.0 / f64::from(points), 1.0 / f64::from(points * points));
        flat.pixels_mut().par_chunks_mut(self.width as usize).enumerate().for_each(|(y, row)| {
            for (x, pixel) in row.iter_mut().enumerate() {
                let mut sum = 0.0;
                for j in 0..points {
                    for i in 0..points {
                        let at = |whole: usize, part: u32| whole as f64 + (f64::from(part) + 0.5) * step;
                        let ideal = map * Point::new(at(x, i), at(y, j));
                        let seen = self.lens.distort(ideal);
                        let gray = raster.between(seen).filter(|_| self.lens.shows(ideal));
                        sum += gray.unwrap_or(WHITE);
                    }
                }
                *pixel = (sum * share + 0.5) as u8;
            }
        });
        Some(flat)
    }

    /// Where a point of the flat picture lies in the photograph, both in pixels.
    pub fn photo_from_flat(&self, flat: Point) -> Option<Point> {
        let ideal = self.map()? * flat;
        (ideal.x.is_finite() && ideal.y.is_finite()).then(|| self.lens.distort(ideal))
    }

    /// Where a point of the photograph lies in the flat picture, both in pixels.
    pub fn flat_from_photo(&self, photo: Point) -> Option<Point> {
        let flat = self.map()?.inverse()? * self.lens.undistort(photo);
        (flat.x.is_finite() && flat.y.is_finite()).then_some(flat)
    }

    /// From pixels of the flat picture to pixels of the undistorted photograph; `None` where the corners do not
    /// stand about a convex part.
    pub fn map(&self) -> Option<Homography> {
        let flat = self.flat_corners();
        let map = Homography::of_corners(flat, self.corners)?;
        // A quadrilateral that is not convex would have the horizon run through it.
        let side = map.depth(Point::default());
        flat.iter().all(|p| map.depth(*p) * side > 0.0).then_some(map)
    }

    fn flat_corners(&self) -> [Point; 4] {
        let (w, h) = (f64::from(self.width), f64::from(self.height));
        [Point::new(0.0, 0.0), Point::new(w, 0.0), Point::new(w, h), Point::new(0.0, h)]
    }

    /// Points along a side of a pixel: as many as the photograph has pixels there, where it is finest.
    fn points(&self, map: Homography) -> u32 {
        let finest = self.flat_corners().iter().fold(0.0_f64, |most, corner| {
            let near = map.near(*corner);
            most.max(libm::hypot(near.a, near.b)).max(libm::hypot(near.c, near.d))
        });
        // A lens and a tilt add little; a tenth of a pixel left out does no harm.
        libm::ceil(finest - 0.1).clamp(1.0, f64::from(MOST_POINTS)) as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn corners() -> [Point; 4] {
        [Point::new(30.0, 20.0), Point::new(170.0, 35.0), Point::new(160.0, 130.0), Point::new(22.0, 118.0)]
    }

    fn flatten(k: f64) -> Flatten {
        Flatten { corners: corners(), lens: Lens::of_photo(200, 150, k), width: 120, height: 90 }
    }

    /// A smooth picture, whose gray at a point is known.
    fn gray(p: Point) -> f64 {
        128.0 + 60.0 * libm::sin(p.x / 17.0) + 50.0 * libm::cos(p.y / 13.0)
    }

    #[test]
    fn every_pixel_is_what_the_photograph_shows_there() {
        let pixels = (0..200 * 150)
            .map(|i| gray(Point::new(f64::from(i % 200) + 0.5, f64::from(i / 200) + 0.5)).round() as u8);
        let photo = GrayRaster::new(200, 150, pixels.collect()).unwrap();
        for k in [-0.05, 0.0, 0.08] {
            let flatten = flatten(k);
            let flat = flatten.apply(&photo).unwrap();
            for (x, y) in [(0_u32, 0_u32), (119, 89), (60, 45), (13, 77)] {
                let middle = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
                let seen = gray(flatten.photo_from_flat(middle).unwrap());
                let got = f64::from(flat.row(y)[x as usize]);
                assert!((got - seen).abs() < 3.0, "{got} for {seen} at {x} {y}, lens {k}");
            }
        }
    }

    #[test]
    fn a_fine_photograph_is_averaged_and_not_picked_from() {
        // Stripes of one pixel: what reads one point a pixel gets black or white, the mean is gray.
        let photo =
            GrayRaster::new(400, 400, (0..160_000).map(|i| if i % 2 == 0 { 0 } else { 255 }).collect());
        let corner = |x, y| Point::new(x, y);
        let all = [corner(0.0, 0.0), corner(400.0, 0.0), corner(400.0, 400.0), corner(0.0, 400.0)];
        let flatten = Flatten { corners: all, lens: Lens::of_photo(400, 400, 0.0), width: 100, height: 100 };
        let flat = flatten.apply(&photo.unwrap()).unwrap();
        assert!(flat.pixels().iter().all(|p| (120..=136).contains(p)), "{:?}", &flat.row(50)[..9]);
    }

    #[test]
    fn what_the_photograph_does_not_show_is_white_and_a_bow_tie_is_refused() {
        let photo = GrayRaster::filled(200, 150, 90).unwrap();
        let mut beyond = flatten(0.0);
        beyond.corners[0] = Point::new(-80.0, -60.0);
        let flat = beyond.apply(&photo).unwrap();
        assert_eq!((flat.row(0)[0], flat.row(89)[119]), (255, 90));
        let mut crossed = flatten(0.0);
        crossed.corners.swap(0, 1);
        assert!(crossed.apply(&photo).is_none());
        crossed.corners = [Point::new(9.0, 9.0); 4];
        assert!(crossed.apply(&photo).is_none() && crossed.photo_from_flat(Point::default()).is_none());
    }

    proptest! {
        #[test]
        fn from_the_flat_picture_and_back(k in -0.1..0.1_f64, x in 0.0..120.0_f64, y in 0.0..90.0_f64) {
            let (flatten, flat) = (flatten(k), Point::new(x, y));
            let back = flatten.flat_from_photo(flatten.photo_from_flat(flat).unwrap()).unwrap();
            prop_assert!(back.distance(flat) < 1e-6, "{back:?} {flat:?}");
        }
    }
}
