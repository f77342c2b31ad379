//! Where the layers of each copy lie.

use super::alike::Luck;
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

/// The sheet as the press takes it in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Feed {
    /// Across the travel, in mm.
    width: f64,
    /// Whether the foot of the face, as the model keeps it, goes in first.
    foot_leads: bool,
}

impl Feed {
    /// For a face of a sheet: the foot leads the back where the stack is turned head over foot.
    pub fn of(printing: &Printing, face: Face) -> Self {
        let sheet = &printing.sheet;
        let foot_leads = face == Face::Back && sheet.turning.leads_with_the_foot();
        Self { width: sheet.size().width.get(), foot_leads }
    }
}

/// Draws the slips of a run.
#[derive(Debug, Clone)]
pub struct Slipper {
    passes: Vec<Vec<usize>>,
    press: Press,
    feed: Feed,
    luck: Luck,
}

impl Slipper {
    /// For a face of a project, with the passes that are printed of it.
    pub fn of(printing: &Printing, face: Face, seed: u64) -> Self {
        let passes = passes::printed_passes(printing, face);
        Self::with_passes(passes, &printing.press, Feed::of(printing, face), seed)
    }

    /// For passes of layers, in printing order.
    pub(crate) fn with_passes(passes: Vec<Vec<usize>>, press: &Press, feed: Feed, seed: u64) -> Self {
        Self { passes, press: press.clone(), feed, luck: Luck::new(seed, press.correlation) }
    }

    /// Every layer's slip on a copy. A layer's own part depends on the seed, the copy and the layer alone, and
    /// that of a pass on its lowest layer, so that other passes are compared with the same luck.
    ///
    /// Where slips are alike from copy to copy, the copies about it have a part in it too.
    pub fn slips(&self, copy: u64) -> Vec<LayerSlip> {
        self.slips_at(copy, copy as f64)
    }

    /// The slips of a copy's luck after so many sheets, by which the passes have drifted.
    pub(crate) fn slips_at(&self, copy: u64, sheets: f64) -> Vec<LayerSlip> {
        let mut slips = Vec::new();
        for (at, pass) in self.passes.iter().enumerate() {
            let lead = pass.iter().copied().min().unwrap_or(0) as u64;
            let together = self.of_pass(copy, 2 * lead);
            let drift = self.press.drift.get() * at as f64 * sheets / 1000.0;
            // The first pass is what the others lie off.
            let offset = if at > 0 { self.press.offset } else { Offset::default() };
            for &layer in pass {
                let own = if pass.len() > 1 {
                    let drawn = self.luck.of::<4>(copy, 2 * layer as u64 + 1);
                    scattered(drawn, &self.press.within_pass)
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

    /// What all inks of a pass share: how it scatters, and how late its sheet was.
    fn of_pass(&self, copy: u64, stream: u64) -> LayerSlip {
        let late_feed = &self.press.late_feed;
        if !late_feed.is_some() {
            return scattered(self.luck.of::<4>(copy, stream), &self.press.between_passes);
        }
        let [dx, dy, skew, stretch, late] = self.luck.of::<5>(copy, stream);
        let slip = scattered([dx, dy, skew, stretch], &self.press.between_passes);
        let (shift, twist) = late_feed.slip(late.abs() * late_feed.deviation.get(), self.feed.width);
        // Half a turn of the face turns the shift around and leaves the twist.
        let shift = if self.feed.foot_leads { -shift } else { shift };
        LayerSlip { dy: slip.dy + shift, skew: slip.skew + twist, ..slip }
    }
}

fn scattered([dx, dy, skew, stretch]: [f64; 4], spread: &Spread) -> LayerSlip {
    LayerSlip {
        layer: 0,
        dx: dx * spread.dx.get(),
        dy: dy * spread.dy.get(),
        skew: skew * spread.skew.get(),
        stretch: stretch * spread.stretch.get(),
    }
}

#[cfg(test)]
mod tests;
