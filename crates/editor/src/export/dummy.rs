//! A picture of the dummy.

use std::path::Path;

use slipsheet_files::dummy_picture::DummyShot;
use slipsheet_files::{Progress, dummy_picture};

use super::{About, Export, ExportError, GoesTo, Source};

#[derive(Debug, Default)]
pub struct DummyExport(pub DummyShot);

impl Export for DummyExport {
    fn about(&self) -> About {
        About {
            question: "Save the picture as",
            label: "Drawing the dummy",
            goes_to: GoesTo::File { kind: "PNG", endings: &["png"] },
            name: "dummy.png",
            misses_scans: Some("picture"),
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        dummy_picture::write(&from.printing, &from.images, &self.0, to, progress)?;
        Ok(vec![])
    }
}
