//! A calibration on its way into a session: what the person is asked first, what is read, what came of it.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::calibrate::{
    self, CalibrationResult, Compared, Encoding, KnownPatches, Recognised, ScanPixels, WedgeSheet,
};
use slipsheet_core::cgats::{Measurements, Table};
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::SheetFormat;
use slipsheet_files::wedge;

use crate::landing::Landing;

/// What the person says more about before it is read.
#[derive(Debug, Clone)]
pub enum CalibrationOffer {
    /// A scan of a printed sheet. Where it was let go to be a layer (`dropped`): what was seen, and what it would have
    /// been added to.
    Scan { path: PathBuf, dropped: Option<(Recognised, Landing)> },
    /// An instrument's table.
    Table { path: PathBuf, table: Arc<Measurements> },
}

/// What is read.
#[derive(Debug, Clone)]
pub enum CalibrationSource {
    Scan(PathBuf, SheetFormat),
    /// These channels of a table, one for each ink.
    Table(Arc<Measurements>, Vec<usize>),
}

/// A calibration to be read, with everything that is known before.
#[derive(Debug, Clone)]
pub struct CalibrationOrder {
    pub source: CalibrationSource,
    /// Inks as they are known now, in printing order.
    pub inks: Vec<Ink>,
    /// The stock that was printed on, as it is known now.
    pub stock: Stock,
    /// Measured overprints as they are known now.
    pub overprints: Vec<OverprintSwatch>,
}

/// A calibration that was read; nothing has changed yet.
#[derive(Debug, Clone)]
pub struct Calibrated {
    pub order: CalibrationOrder,
    pub result: CalibrationResult,
    /// Solids and overprints as they were foreseen and as they are.
    pub compared: Vec<Compared>,
}

impl CalibrationOrder {
    /// Reads the source and fits the press to it.
    ///
    /// # Errors
    /// One sentence for the person.
    pub fn read(self) -> Result<Calibrated, String> {
        let names: Vec<String> = self.inks.iter().map(|i| i.name.clone()).collect();
        let result = match &self.source {
            CalibrationSource::Scan(path, format) => {
                let plan = WedgeSheet::new(format.size(), &names, 0).map_err(|e| e.to_string())?;
                let scan = wedge::read_colour(path).map_err(|e| e.to_string())?;
                let (width, height) = (scan.width, scan.height);
                let pixels = ScanPixels { width, height, rgb: &scan.rgb, encoding: Encoding::Srgb };
                let paper = Some(self.stock.colour.lab());
                let known = KnownPatches { paper, finish: self.stock.finish, grays: Vec::new() };
                calibrate::read_sheet(&pixels, &plan, &known).and_then(|reading| calibrate::fit(&reading))
            }
            CalibrationSource::Table(table, channels) => {
                calibrate::fit_measured(&table.of(channels), &names, self.stock.finish)
            }
        };
        let result = result.map_err(|e| e.to_string())?;
        let inks: Vec<&Ink> = self.inks.iter().collect();
        let compared = result.compare(&self.stock, &inks, &self.overprints).map_err(|e| e.to_string())?;
        Ok(Calibrated { order: self, result, compared })
    }
}

pub(crate) fn read_table(path: &std::path::Path) -> Result<Arc<Measurements>, String> {
    let bytes = slipsheet_files::user_file::read(path, "table").map_err(|e| e.to_string())?;
    let table = Table::parse(&String::from_utf8_lossy(&bytes)).and_then(|t| t.measurements());
    table.map(Arc::new).map_err(|e| format!("{e}: {}", path.display()))
}
