//! The boxes of a sheet's page in a PDF (ISO 32000-1, 14.11.2).
//!
//! The page is whole pixels of the plate, so that a program that rasterises it at the plate's resolution gives
//! the plate back pixel for pixel; that is within half a pixel of the sheet.

use pdf_writer::Rect;
use pdf_writer::writers::Page;
use slipsheet_core::units::{Dpi, Size};

use crate::pdf_parts::PT_PER_MM;

/// Media, trim and bleed box in points.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PageBoxes {
    width: f64,
    height: f64,
    trim: f64,
    pt_per_px: f64,
}

impl PageBoxes {
    /// The boxes of a sheet of which `trim` mm are cut off each edge; artwork bleeds to the edge of the sheet.
    pub fn new(sheet: Size, trim: f64, dpi: Dpi) -> Self {
        let (w, h) = sheet.pixels(dpi);
        let pt_per_px = 72.0 / dpi.get();
        let (width, height) = (f64::from(w) * pt_per_px, f64::from(h) * pt_per_px);
        let most = width.min(height) / 2.0 - 1.0;
        Self { width, height, trim: (trim * PT_PER_MM).clamp(0.0, most.max(0.0)), pt_per_px }
    }

    /// Width and height of an image of so many pixels, in points.
    pub fn image(&self, width: u32, height: u32) -> [f32; 2] {
        [width, height].map(|n| (f64::from(n) * self.pt_per_px) as f32)
    }

    pub fn set(&self, page: &mut Page<'_>) {
        let sheet = Rect::new(0.0, 0.0, self.width as f32, self.height as f32);
        let t = self.trim;
        let cut = Rect::new(t as f32, t as f32, (self.width - t) as f32, (self.height - t) as f32);
        page.media_box(sheet).bleed_box(sheet).trim_box(cut);
    }
}
