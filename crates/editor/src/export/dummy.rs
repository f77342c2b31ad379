//! A picture of the dummy.

use std::path::Path;

use slipsheet_files::Progress;
use slipsheet_files::dummy_picture::{self, DummyShot};

use super::{Export, ExportError, GoesTo, Source};

/// The dummy pictured so.
#[derive(Debug, Default)]
pub struct DummyExport(pub DummyShot);

impl Export for DummyExport {
    fn question(&self) -> &'static str {
        "Save the picture as"
    }

    fn label(&self) -> &'static str {
        "Drawing the dummy"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::File { kind: "PNG", endings: &["png"] }
    }

    fn name(&self, project: &str) -> String {
        format!("{project} dummy.png")
    }

    fn misses_scans(&self) -> Option<&'static str> {
        Some("picture")
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        dummy_picture::write(&from.printing, &from.images, &self.0, to, progress)?;
        Ok(vec![])
    }
}
