//! The part of a scan that may print. A [`Crop`] is kept in mm of the original, and used in its pixels.

use serde::{Deserialize, Serialize};

use slipsheet_base::bounded;
use slipsheet_core::geometry::Rect;
use slipsheet_core::units::Dpi;

bounded! {
    /// An edge or a side of a crop in mm, 0 to 10000.
    CropMm, 0.0..=10_000.0, default 0.0, "an edge of a crop in mm", "from 0 to 10000"
}

/// The part of a scan that may print; it belongs to the original and moves with it.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crop {
    /// From the left edge of the scan, in mm at the scan's own resolution.
    pub x: CropMm,
    /// From its top edge, in mm.
    pub y: CropMm,
    /// Width in mm.
    pub width: CropMm,
    /// Height in mm.
    pub height: CropMm,
}

impl Crop {
    /// A part of a scan given in its pixels.
    pub fn of_pixels(part: Rect, dpi: Dpi) -> Self {
        let mm = |px: f64| CropMm::new(px / dpi.px_per_mm());
        Self { x: mm(part.x), y: mm(part.y), width: mm(part.width), height: mm(part.height) }
    }

    /// The part in pixels of a scan of this size, no larger than the scan.
    pub fn pixels(self, width: u32, height: u32, dpi: Dpi) -> Rect {
        let px = |mm: CropMm| mm.get() * dpi.px_per_mm();
        let (w, h) = (f64::from(width), f64::from(height));
        let (x, y) = (px(self.x).min(w), px(self.y).min(h));
        Rect { x, y, width: px(self.width).min(w - x), height: px(self.height).min(h - y) }
    }

    /// The same pixels where the scan turns out to have another resolution.
    #[must_use]
    pub fn at_resolution(self, was: Dpi, now: Dpi) -> Self {
        let mm = |v: CropMm| CropMm::new(v.get() * was.get() / now.get());
        Self { x: mm(self.x), y: mm(self.y), width: mm(self.width), height: mm(self.height) }
    }
}
