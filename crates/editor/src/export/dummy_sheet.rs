//! The dummy to fold by hand.

use std::path::Path;

use slipsheet_files::Progress;
use slipsheet_files::dummy_sheet::{self, DummySheetOptions};

use super::{Export, ExportError, GoesTo, Source};

/// The dummy to fold, drawn so.
#[derive(Debug, Default)]
pub struct DummySheetExport(pub DummySheetOptions);

impl Export for DummySheetExport {
    fn question(&self) -> &'static str {
        "Save the printed dummy as"
    }

    fn label(&self) -> &'static str {
        "Writing the dummy"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::File { kind: "PDF", endings: &["pdf"] }
    }

    fn name(&self, project: &str) -> String {
        format!("{project} dummy.pdf")
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        dummy_sheet::write(&from.printing, self.0, to)?;
        Ok(vec![])
    }
}
