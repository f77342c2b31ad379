//! A photograph of an original made flat: which part of it is the sheet, seen from straight above.

use serde::{Deserialize, Serialize};

use slipsheet_core::geometry::Point;
use slipsheet_core::units::Dpi;

/// What of a photograph becomes the flat picture, and how large that is.
///
/// It is part of what names a scan's pixels, and so it is kept in whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flat {
    /// Where the corners of the flat picture lie in the photograph as a lens without curvature would have taken it,
    /// from the top left clockwise, in hundredths of a pixel; they may lie outside of it.
    pub corners: [(i32, i32); 4],
    /// The lens: a point at distance 1 from the middle was seen at 1 + this many millionths, where 1 is half the
    /// photograph's diagonal.
    #[serde(default)]
    pub lens: i32,
    /// Width of the flat picture in pixels.
    pub width: u32,
    /// Its height.
    pub height: u32,
    /// Its resolution.
    pub dpi: Dpi,
}

impl Flat {
    /// The corners in pixels of the photograph.
    pub fn points(&self) -> [Point; 4] {
        self.corners.map(|(x, y)| Point::new(f64::from(x) / 100.0, f64::from(y) / 100.0))
    }

    /// Corners in pixels as they are kept.
    pub fn corners_of(points: [Point; 4]) -> [(i32, i32); 4] {
        let part = |v: f64| libm::round(v * 100.0).clamp(f64::from(i32::MIN), f64::from(i32::MAX)) as i32;
        points.map(|p| (part(p.x), part(p.y)))
    }
}
