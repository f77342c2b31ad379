//! A proof of every edition.

use std::path::Path;

use slipsheet_files::proof::ProofOptions;
use slipsheet_files::{Progress, proof_series};

use super::{Export, ExportError, GoesTo, Source};

/// A proof of every edition, each drawn so.
#[derive(Debug, Default)]
pub struct ProofsExport(pub ProofOptions);

impl Export for ProofsExport {
    fn question(&self) -> &'static str {
        "Save a proof of every edition in"
    }

    fn label(&self) -> &'static str {
        "Writing the proofs"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::Folder
    }

    fn name(&self, project: &str) -> String {
        format!("{project} editions")
    }

    fn misses_scans(&self) -> Option<&'static str> {
        Some("proof")
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        proof_series::write(&from.printing, &from.images, &self.0, to, &from.originals(), progress)?;
        Ok(vec![])
    }
}
