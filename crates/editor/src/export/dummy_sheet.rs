//! The printed dummy.

use std::path::Path;

use slipsheet_files::dummy_sheet::DummySheetOptions;
use slipsheet_files::{Progress, dummy_sheet};

use super::{About, Export, ExportError, GoesTo, Source};

/// The dummy to fold, drawn so.
#[derive(Debug, Default)]
pub struct DummySheetExport(pub DummySheetOptions);

impl Export for DummySheetExport {
    fn about(&self) -> About {
        About {
            question: "Save the printed dummy as",
            label: "Writing the dummy",
            goes_to: GoesTo::File { kind: "PDF", endings: &["pdf"] },
            name: "dummy.pdf",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        dummy_sheet::write(&from.printing, self.0, to)?;
        Ok(vec![])
    }
}
