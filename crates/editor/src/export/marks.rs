//! The mark sheet.

use std::path::Path;

use slipsheet_files::{Progress, marks};

use super::{About, Export, ExportError, GoesTo, Source};

/// The plates of a mark sheet, one for each ink of the front.
#[derive(Debug)]
pub struct MarksExport;

impl Export for MarksExport {
    fn about(&self) -> About {
        About {
            question: "Save the mark sheet's plates in a new folder",
            label: "Writing the mark sheet",
            goes_to: GoesTo::NewFolder,
            name: "marks",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        let dpi = from.printing.press_dpi;
        marks::write_plates(&from.printing, dpi, to, &from.originals(), progress)?;
        Ok(vec![])
    }
}
