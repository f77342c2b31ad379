//! Where artwork is meant to lie on the sheet or page. A [`Placement`] is what a person sets; as a map it is
//! [`Placement::target_from_original`], and [`Placement::of_map`] leads back.

use serde::{Deserialize, Serialize};

use slipsheet_base::bounded;
use slipsheet_core::geometry::Affine;
use slipsheet_core::units::{Degrees, Mm};

bounded! {
    /// A scale factor, 0.01 to 100.
    Scale, 0.01..=100.0, default 1.0, "a scale", "from 0.01 to 100";
    /// How much more the width is enlarged than the height, as a factor: 0.5 to 2.
    Stretch, 0.5..=2.0, default 1.0, "a stretch", "from 0.5 to 2";
    /// How far a point moves sideways for each mm that it lies lower: -1 to 1.
    Shear, -1.0..=1.0, default 0.0, "a shear", "from -1 to 1"
}

impl Stretch {
    fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

impl Shear {
    fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

/// Where artwork is meant to lie: its middle against the middle of the sheet or page. Machines line
/// originals up on a centre line, so offsets count from there.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Placement {
    /// To the right, in mm.
    pub dx: Mm,
    /// Downwards, in mm.
    pub dy: Mm,
    /// Clockwise, about the artwork's middle.
    pub rotation: Degrees,
    /// Enlargement.
    pub scale: Scale,
    /// Mirrored left to right, before it is turned.
    pub flip: bool,
    /// How much more the width is enlarged than the height; the scale is their geometric mean.
    #[serde(skip_serializing_if = "Stretch::is_none")]
    pub stretch: Stretch,
    /// Sideways slant, before it is turned: an original that was fed crookedly past a scanner's line.
    #[serde(skip_serializing_if = "Shear::is_none")]
    pub shear: Shear,
}

impl Placement {
    /// From mm on the original to mm on the sheet or page, both from their middles.
    pub fn target_from_original(&self) -> Affine {
        let mirror = if self.flip { -1.0 } else { 1.0 };
        let (scale, side) = (self.scale.get(), libm::sqrt(self.stretch.get()));
        Affine::shift(self.dx.get(), self.dy.get())
            * Affine::turn(self.rotation.get())
            * Affine { c: self.shear.get(), ..Affine::IDENTITY }
            * Affine::scale(mirror * scale * side, scale / side)
    }

    /// The placement that such a map amounts to; what a placement cannot hold is brought within its range.
    pub fn of_map(target_from_original: Affine) -> Self {
        let map = target_from_original;
        let flip = map.a * map.d - map.b * map.c < 0.0;
        // Without the mirror the map is a turn after a slant after an enlargement: its first column is turned alone.
        let (a, b) = if flip { (-map.a, -map.b) } else { (map.a, map.b) };
        let across = libm::hypot(a, b).max(1e-9);
        let (cos, sin) = (a / across, b / across);
        let (sideways, down) = (cos * map.c + sin * map.d, (cos * map.d - sin * map.c).max(1e-9));
        // What is only the noise of the arithmetic is no stretch and no shear.
        let tidy = |v: f64, plain: f64| if (v - plain).abs() < 1e-9 { plain } else { v };
        Self {
            dx: Mm::new(map.e),
            dy: Mm::new(map.f),
            rotation: Degrees::new(libm::atan2(b, a).to_degrees()),
            scale: Scale::new(libm::sqrt(across * down)),
            flip,
            stretch: Stretch::new(tidy(across / down, 1.0)),
            shear: Shear::new(tidy(sideways / down, 0.0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::geometry::Point;

    #[test]
    fn a_map_becomes_the_placement_that_gives_it_back() {
        let map = Affine { a: -0.98, b: 0.11, c: 0.07, d: 1.03, e: 4.0, f: -2.5 };
        for map in [map, Affine { a: 0.98, ..map }, Affine::turn(30.0) * Affine::scale(1.1, 1.1)] {
            let placement = Placement::of_map(map);
            let back = placement.target_from_original();
            for p in [(0.0, 0.0), (100.0, 0.0), (0.0, 100.0)].map(|(x, y)| Point::new(x, y)) {
                assert!((back * p).distance(map * p) < 1e-9, "{placement:?}");
            }
        }
        let plain = Placement::of_map(Affine::turn(30.0) * Affine::scale(1.1, 1.1));
        assert!(!plain.flip && plain.stretch.is_none() && plain.shear.is_none(), "{plain:?}");
        assert!(Placement::of_map(map).flip);
    }
}
