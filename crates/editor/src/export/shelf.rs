//! The person's shelf.

use std::path::Path;

use slipsheet_document::shelf::Shelf;
use slipsheet_files::{Progress, atomic};

use super::{Export, ExportError, GoesTo, Source};

/// A shelf, as it is now.
#[derive(Debug)]
pub struct ShelfExport(pub Shelf);

impl Export for ShelfExport {
    fn question(&self) -> &'static str {
        "Save the shelf as"
    }

    fn label(&self) -> &'static str {
        "Writing the shelf"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::File { kind: "Shelf", endings: &["ron"] }
    }

    fn name(&self, _: &str) -> String {
        "shelf.ron".to_owned()
    }

    fn write(&self, _: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        atomic::write_bytes(to, self.0.to_ron()?.as_bytes())?;
        Ok(vec![])
    }
}
