//! Where the layers of each copy lie.

use crate::slip::random::SplitMix;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::press::{Offset, Press, Spread};
use slipsheet_core::units::Size;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

/// Where one layer of a copy lies against where it was meant to.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LayerSlip {
    /// Index of the layer in the project.
    pub layer: usize,
    /// To the right, in mm.
    pub dx: f64,
    /// Downwards, in mm.
    pub dy: f64,
    /// Clockwise about the middle of the sheet, in degrees.
    pub skew: f64,
    /// Lengthening along the sheet's travel (downwards) about the middle, in percent.
    pub stretch: f64,
}

impl LayerSlip {
    /// From where a point was meant to lie to where it lies, both on the sheet in mm.
    pub fn slipped_from_meant(&self, sheet: Size) -> Affine {
        let centre = Point::new(sheet.width.get() / 2.0, sheet.height.get() / 2.0);
        Affine::shift(self.dx + centre.x, self.dy + centre.y)
            * Affine::turn(self.skew)
            * Affine::scale(1.0, 1.0 + self.stretch / 100.0)
            * Affine::shift(-centre.x, -centre.y)
    }

    /// How it lies against another layer of the copy, to first order in the skew.
    #[must_use]
    pub fn against(&self, other: &Self) -> Self {
        Self {
            layer: self.layer,
            dx: self.dx - other.dx,
            dy: self.dy - other.dy,
            skew: self.skew - other.skew,
            stretch: self.stretch - other.stretch,
        }
    }

    /// How far a point moves, in mm, to first order in the skew.
    pub fn shift_at(&self, at: Point, sheet: Size) -> Point {
        let (x, y) = (at.x - sheet.width.get() / 2.0, at.y - sheet.height.get() / 2.0);
        let turn = self.skew.to_radians();
        Point::new(self.dx - turn * y, self.dy + turn * x + self.stretch / 100.0 * y)
    }
}

/// Draws the slips of a run.
#[derive(Debug, Clone)]
pub struct Slipper {
    passes: Vec<Vec<usize>>,
    press: Press,
    seed: u64,
}

impl Slipper {
    /// For a face of a project, with the passes that it has.
    pub fn of(printing: &Printing, face: Face, seed: u64) -> Self {
        Self::with_passes(passes::passes(printing, face), &printing.press, seed)
    }

    /// For passes of layers, in printing order.
    pub(crate) fn with_passes(passes: Vec<Vec<usize>>, press: &Press, seed: u64) -> Self {
        Self { passes, press: press.clone(), seed }
    }

    /// Every layer's slip on a copy. A layer's own part depends on the seed, the copy and the layer alone, and
    /// that of a pass on its lowest layer, so that other passes are compared with the same luck.
    pub fn slips(&self, copy: u64) -> Vec<LayerSlip> {
        self.slips_at(copy, copy as f64)
    }

    /// The slips of a copy's luck after so many sheets, by which the passes have drifted.
    pub(crate) fn slips_at(&self, copy: u64, sheets: f64) -> Vec<LayerSlip> {
        let mut slips = Vec::new();
        for (at, pass) in self.passes.iter().enumerate() {
            let lead = pass.iter().copied().min().unwrap_or(0) as u64;
            let together = self.drawn(copy, 2 * lead, &self.press.between_passes);
            let drift = self.press.drift.get() * at as f64 * sheets / 1000.0;
            // The first pass is what the others lie off.
            let offset = if at > 0 { self.press.offset } else { Offset::default() };
            for &layer in pass {
                let own = if pass.len() > 1 {
                    self.drawn(copy, 2 * layer as u64 + 1, &self.press.within_pass)
                } else {
                    LayerSlip::default()
                };
                slips.push(LayerSlip {
                    layer,
                    dx: together.dx + own.dx + offset.dx.get(),
                    dy: together.dy + own.dy + offset.dy.get() + drift,
                    skew: together.skew + own.skew + offset.skew.get(),
                    stretch: together.stretch + own.stretch + offset.stretch.get(),
                });
            }
        }
        slips
    }

    fn drawn(&self, copy: u64, stream: u64, spread: &Spread) -> LayerSlip {
        let mut random = SplitMix::keyed(self.seed, copy, stream);
        LayerSlip {
            layer: 0,
            dx: random.normal() * spread.dx.get(),
            dy: random.normal() * spread.dy.get(),
            skew: random.normal() * spread.skew.get(),
            stretch: random.normal() * spread.stretch.get(),
        }
    }
}
