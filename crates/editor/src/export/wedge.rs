//! The calibration sheet.

use std::path::Path;

use slipsheet_core::calibrate::WedgeSheet;
use slipsheet_files::{Progress, wedge};

use super::{Export, ExportError, GoesTo, Source};

/// A calibration sheet of the inks of the sheet that is open.
#[derive(Debug)]
pub struct WedgeExport;

impl Export for WedgeExport {
    fn question(&self) -> &'static str {
        "Save the calibration sheet as"
    }

    fn label(&self) -> &'static str {
        "Writing the calibration sheet"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::File { kind: "PDF", endings: &["pdf"] }
    }

    fn name(&self, project: &str) -> String {
        format!("{project} calibration.pdf")
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let sheet = &from.printing.sheet;
        let inks: Vec<String> = sheet.ink_names().into_iter().map(str::to_owned).collect();
        wedge::write_pdf(&WedgeSheet::new(sheet.format.size(), &inks, 0)?, to)?;
        Ok(vec![])
    }
}
