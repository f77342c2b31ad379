//! The proof.

use std::path::Path;

use slipsheet_files::Progress;
use slipsheet_files::proof::{self, ProofOptions};

use super::{Export, ExportError, GoesTo, Source};

/// A proof drawn so.
#[derive(Debug, Default)]
pub struct ProofExport(pub ProofOptions);

impl Export for ProofExport {
    fn question(&self) -> &'static str {
        "Save the proof as"
    }

    fn label(&self) -> &'static str {
        "Writing the proof"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::File { kind: "PNG", endings: &["png"] }
    }

    fn name(&self, project: &str) -> String {
        format!("{project} proof.png")
    }

    fn misses_scans(&self) -> Option<&'static str> {
        Some("proof")
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        proof::write(&from.printing, &from.images, &self.0, to, progress)?;
        Ok(vec![])
    }
}
