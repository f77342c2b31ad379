//! A part of an original that is read otherwise than its layer: type and wash on one sheet.

use serde::{Deserialize, Serialize};

use super::crop::CropMm;
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::reading::Reading;
use slipsheet_core::units::Dpi;

/// A part of an original with a reading of its own. It belongs to the original and moves with it; of parts that overlap
/// the last one counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Region {
    /// Its corners in order, across and down from the scan's top left, in mm at the scan's own resolution. Fewer than
    /// three enclose nothing.
    pub outline: Vec<(CropMm, CropMm)>,
    /// How it is read. Its dots are those of its layer's screen.
    pub reading: Reading,
}

/// The corners that an outline keeps at most.
pub const MOST_CORNERS: usize = 400;

impl Region {
    /// A part whose corners are given in pixels of the scan; of many corners an even share is kept.
    pub fn of_pixels(corners: &[Point], reading: Reading, dpi: Dpi) -> Self {
        let step = corners.len().div_ceil(MOST_CORNERS).max(1);
        let mm = |px: f64| CropMm::new(px / dpi.px_per_mm());
        let outline = corners.iter().step_by(step).map(|p| (mm(p.x), mm(p.y))).collect();
        Self { outline, reading }
    }

    /// Its corners in pixels of the scan.
    pub fn pixels(&self, dpi: Dpi) -> Vec<Point> {
        let px = |mm: CropMm| mm.get() * dpi.px_per_mm();
        self.outline.iter().map(|(x, y)| Point::new(px(*x), px(*y))).collect()
    }

    /// The smallest upright rectangle around it, in mm of the original.
    pub fn bounds(&self) -> Rect {
        let range = |pick: fn(&(CropMm, CropMm)) -> f64| {
            let all = self.outline.iter().map(pick);
            all.fold((f64::INFINITY, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)))
        };
        let ((x, x1), (y, y1)) = (range(|c| c.0.get()), range(|c| c.1.get()));
        Rect { x: x.min(x1), y: y.min(y1), width: (x1 - x).max(0.0), height: (y1 - y).max(0.0) }
    }

    /// The same pixels where the scan turns out to have another resolution.
    #[must_use]
    pub fn at_resolution(&self, was: Dpi, now: Dpi) -> Self {
        let mm = |v: CropMm| CropMm::new(v.get() * was.get() / now.get());
        let outline = self.outline.iter().map(|(x, y)| (mm(*x), mm(*y))).collect();
        Self { outline, ..self.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::reading::Mode;

    #[test]
    fn a_region_stays_on_its_pixels_and_is_read_back() {
        let dpi = |v: f64| Dpi::new(v).unwrap();
        let corners = [(10.0, 20.0), (110.0, 20.0), (60.0, 220.0)].map(|(x, y)| Point::new(x, y));
        let region = Region::of_pixels(&corners, Reading::of(Mode::Line), dpi(254.0));
        assert!((region.bounds().height - 20.0).abs() < 1e-9 && (region.bounds().x - 1.0).abs() < 1e-9);
        let again = region.at_resolution(dpi(254.0), dpi(508.0)).pixels(dpi(508.0));
        assert!(again.iter().zip(&corners).all(|(a, b)| a.distance(*b) < 1e-9), "{again:?}");
        assert_eq!(ron::from_str::<Region>(&ron::to_string(&region).unwrap()).unwrap(), region);
        assert!(ron::from_str::<Region>("(outline:[(NaN,1.0)],reading:())").is_err());
        let many: Vec<Point> = (0..5000).map(|i| Point::new(f64::from(i), 1.0)).collect();
        assert!(Region::of_pixels(&many, Reading::default(), dpi(300.0)).outline.len() <= MOST_CORNERS);
    }
}
