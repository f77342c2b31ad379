//! The calibration sheet.

use std::path::Path;

use slipsheet_core::calibrate::WedgeSheet;
use slipsheet_files::{Progress, wedge};

use super::{About, Export, ExportError, GoesTo, Source};

/// A calibration sheet of the inks of the sheet that is open.
#[derive(Debug)]
pub struct WedgeExport;

impl Export for WedgeExport {
    fn about(&self) -> About {
        About {
            question: "Save the calibration sheet as",
            label: "Writing the calibration sheet",
            goes_to: GoesTo::File { kind: "PDF", endings: &["pdf"] },
            name: "calibration.pdf",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let sheet = &from.printing.sheet;
        let inks: Vec<String> = sheet.ink_names().into_iter().map(str::to_owned).collect();
        wedge::write_pdf(&WedgeSheet::new(sheet.format.size(), &inks, 0)?, to)?;
        Ok(vec![])
    }
}
