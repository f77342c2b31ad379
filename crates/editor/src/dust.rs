//! What would be taken for dust on a scan, found beside the window while its size is being chosen.

use std::sync::Arc;

use slipsheet_core::dust::{Speck, find_dust};
use slipsheet_core::raster::Pyramid;
use slipsheet_core::units::Dpi;
use slipsheet_document::layer::DustSize;

use crate::snapshot::Snapshot;
use crate::worker::{Order, Turn};

/// The dust of a scan that was not mended, up to a size.
#[derive(Debug, Clone)]
pub struct DustOrder {
    pub pixels: Arc<Pyramid>,
    pub size: DustSize,
    /// The scan's resolution as the person knows it.
    pub dpi: Dpi,
}

impl Order for DustOrder {
    type Reply = (DustSize, Vec<Speck>);
    type Kept = ();
    const WORK: &'static str = "Looking for dust";

    fn work(self, _: &Snapshot, (): &mut (), turn: &Turn<'_, Self::Reply>) {
        turn.reply((self.size, find_dust(self.pixels.full(), self.dpi, self.size.mm())));
    }
}
