//! What was measured: an instrument's table, a calibration, and how far printed marks spread.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_document::printing::Printing;
use slipsheet_files::{Progress, marks};

use super::Done;
use crate::calibration::{self, CalibrationOrder};

pub(super) fn table(path: PathBuf) -> Done {
    let table = calibration::read_table(&path);
    Done::Table(path, table)
}

pub(super) fn calibration(order: CalibrationOrder) -> Done {
    Done::Calibrated(order.read().map(Arc::new))
}

pub(super) fn spread(printing: &Printing, scans: &[PathBuf], progress: &Progress) -> Done {
    let read = marks::read_copies(printing, scans, progress);
    Done::Spread(read.map(Arc::new).map_err(|e| e.to_string()))
}
