//! The reading: how the duplicator turns a gray original into a master.
//!
//! [`Reading::tones`] gives the gray that the master aims at, at the scan's own resolution: what a view that
//! is zoomed out shows. [`Reading::screen`] is what turns that gray into true dots, for a view
//! that is zoomed in and for plates. The two agree: over a patch, the dots cover what the gray asks for.

mod adjust;
mod alternatives;
mod extent;
mod faint;
mod line;
mod mixed;
mod paper;
mod prepared;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};

use crate::raster::GrayRaster;
use crate::screen::{Clustered, Screen};
use crate::units::{Degrees, Dpi};
pub use adjust::curve;
pub(crate) use faint::flat;
pub use line::{histogram, otsu};
pub use paper::BarePaper;
pub(crate) use paper::Paper;
pub use prepared::{Prepared, Whole};
use slipsheet_base::bounded;

bounded! {
    /// Where a slider stands: -1 to 1, 0 in the middle.
    Swing, -1.0..=1.0, default 0.0, "density and contrast", "from -1 to 1";
    /// The coverage up to which everything counts as background: 0 to 0.5.
    DropOut, 0.0..=0.5, default 0.0, "the background drop-out", "from 0 to 0.5";
    /// The coverage of the original from which on it is full ink: 0.2 to 1, where 1 leaves the original as it is.
    BlackPoint, 0.2..=1.0, default 1.0, "the black point", "from 0.2 to 1";
    /// A screen ruling, 20 to 200 lines per inch; 75 where none is given (common practice, no source).
    Ruling, 20.0..=200.0, default 75.0, "a screen ruling", "from 20 to 200 lines per inch"
}

/// How scattered dots are laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Scatter {
    /// By a threshold tile: even, and any part can be drawn by itself.
    #[default]
    Tile,
    /// By error diffusion: crisper edges.
    Diffusion,
}

/// What kind of master is made.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Mode {
    /// The gray as it is, without dots: a picture of tones alone.
    #[default]
    Continuous,
    /// Ink or none by a threshold, found in the original and moved by the density; contrast does nothing.
    Line,
    Screened {
        /// Lines per inch.
        #[serde(default)]
        ruling: Ruling,
        /// Screen angle, clockwise.
        #[serde(default = "upright")]
        angle: Degrees,
    },
    Stochastic {
        #[serde(default)]
        scatter: Scatter,
    },
    /// Type, thin strokes and hard edges as line, all else in clustered dots. The paper of a scan is found first and
    /// cleaned to white, however unevenly it was lit.
    Mixed {
        /// Lines per inch.
        #[serde(default)]
        ruling: Ruling,
        /// Screen angle, clockwise.
        #[serde(default = "upright")]
        angle: Degrees,
    },
    /// Soft pencil: the paper's own shade is taken out place by place, the stroke is brought to strength with
    /// its grain kept, and dots are scattered.
    Faint,
}

/// Half a right angle, where a single screen shows least.
fn upright() -> Degrees {
    Degrees::new(45.0)
}

/// A layer's reading: the mode and the scan's settings. The default changes nothing.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Reading {
    /// What kind of master is made.
    pub mode: Mode,
    /// Scan density: -1 lighter to 1 darker.
    pub density: Swing,
    /// Contrast about the half tone: -1 softer to 1 harder.
    pub contrast: Swing,
    /// Coverage up to which everything counts as background.
    pub background: DropOut,
    /// Coverage of the original that becomes full ink, before all else; it is no setting of a machine's. A line
    /// reading has none: its threshold lies between the original's own tones, however pale they are.
    #[serde(skip_serializing_if = "BlackPoint::leaves_all")]
    pub black: BlackPoint,
}

impl Reading {
    /// A reading of this mode, nothing else changed.
    pub fn of(mode: Mode) -> Self {
        Self { mode, ..Self::default() }
    }

    /// Whether the raster's gray is taken as it is: [`Reading::tones`] would give a copy.
    pub fn keeps_gray(&self) -> bool {
        let plain = Self { mode: Mode::Continuous, ..*self } == Self::default();
        plain && matches!(self.mode, Mode::Continuous | Mode::Screened { .. } | Mode::Stochastic { .. })
    }

    /// The reading as one table of grays, the same for every scan; `None` where it looks at the scan itself.
    pub fn gray_table(&self) -> Option<[u8; 256]> {
        match self.mode {
            Mode::Continuous | Mode::Screened { .. } | Mode::Stochastic { .. } => Some(curve(self)),
            Mode::Line | Mode::Mixed { .. } | Mode::Faint => None,
        }
    }

    /// How many times at most it strengthens what is pale. Line takes what is darker than its paper for full ink, but
    /// out of much less than Faint does it would take the grain as well.
    pub fn most_gain(&self) -> f64 {
        match self.mode {
            Mode::Line | Mode::Faint => faint::MOST_GAIN,
            Mode::Continuous | Mode::Screened { .. } | Mode::Stochastic { .. } | Mode::Mixed { .. } => 1.0,
        }
    }

    /// The same reading without what only its dots depend on: two readings with the same tones are equal.
    #[must_use]
    pub fn tones_only(&self) -> Self {
        let mode = match self.mode {
            Mode::Mixed { .. } => Mode::Mixed { ruling: Ruling::default(), angle: Degrees::default() },
            mode @ (Mode::Continuous
            | Mode::Screened { .. }
            | Mode::Stochastic { .. }
            | Mode::Line
            | Mode::Faint) => mode,
        };
        Self { mode, ..*self }
    }

    /// The gray that the master aims at, of the raster's own size. `dpi` is the raster's resolution: what is
    /// local (paper shade, stroke width) is measured in mm.
    ///
    /// For Line every pixel comes out 0 or 255. Scan line work at the press's resolution or finer: stairs of a
    /// coarser scan stay stairs.
    #[must_use]
    pub fn tones(&self, raster: &GrayRaster, dpi: Dpi) -> GrayRaster {
        match (self.table(raster), self.mode) {
            _ if self.keeps_gray() => raster.clone(),
            (Some(table), _) => raster.mapped(&table),
            (None, Mode::Faint) => faint::tones(self, raster, dpi),
            (None, _) => mixed::tones(self, raster, dpi),
        }
    }

    /// The reading as one table for all pixels of one raster; `None` where it looks at a pixel's surroundings.
    pub fn table(&self, raster: &GrayRaster) -> Option<[u8; 256]> {
        match self.mode {
            Mode::Line => Some(line::table(raster, self.density, self.background)),
            Mode::Continuous
            | Mode::Screened { .. }
            | Mode::Stochastic { .. }
            | Mode::Mixed { .. }
            | Mode::Faint => self.gray_table(),
        }
    }

    /// The screen that draws this reading's dots on a master of a resolution. `layer` is the layer's index:
    /// layers with scattered dots get tiles that are shifted apart, so that their dots do not fall together.
    pub fn screen(&self, press_dpi: Dpi, layer: usize) -> Screen {
        match self.mode {
            Mode::Continuous => Screen::None,
            Mode::Line => Screen::Threshold,
            Mode::Screened { ruling, angle } | Mode::Mixed { ruling, angle } => {
                Screen::Clustered(Clustered::new(ruling.get(), angle.get(), press_dpi.get()))
            }
            Mode::Stochastic { scatter: Scatter::Tile } | Mode::Faint => {
                // Shifts share no divisor with the tile's side and lie apart for the first layers.
                let shift = |step: usize| (layer * step % crate::screen::TILE_SIDE) as u32;
                Screen::Tile { dx: shift(47), dy: shift(29) }
            }
            Mode::Stochastic { scatter: Scatter::Diffusion } => Screen::Diffusion,
        }
    }
}
