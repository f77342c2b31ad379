//! The shelf.

use std::path::Path;

use slipsheet_document::shelf::Shelf;
use slipsheet_files::{Progress, atomic};

use super::{About, Export, ExportError, GoesTo, Source};

#[derive(Debug)]
pub struct ShelfExport(pub Shelf);

impl Export for ShelfExport {
    fn about(&self) -> About {
        About {
            question: "Save the shelf as",
            label: "Writing the shelf",
            goes_to: GoesTo::File { kind: "Shelf", endings: &["ron"] },
            name: "",
            misses_scans: None,
        }
    }

    fn name(&self, _: &str) -> String {
        "shelf.ron".to_owned()
    }

    fn write(&self, _: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        atomic::write_bytes(to, self.0.to_ron()?.as_bytes())?;
        Ok(vec![])
    }
}
