//! The plates of a mark sheet.

use std::path::Path;

use slipsheet_files::{Progress, marks};

use super::{Export, ExportError, GoesTo, Source};

/// The plates of a mark sheet, one for each ink of the front.
#[derive(Debug)]
pub struct MarksExport;

impl Export for MarksExport {
    fn question(&self) -> &'static str {
        "Save the mark sheet's plates in a new folder"
    }

    fn label(&self) -> &'static str {
        "Writing the mark sheet"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::NewFolder
    }

    fn name(&self, project: &str) -> String {
        format!("{project} marks")
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        let dpi = from.printing.press_dpi;
        marks::write_plates(&from.printing, dpi, to, &from.originals(), progress)?;
        Ok(vec![])
    }
}
