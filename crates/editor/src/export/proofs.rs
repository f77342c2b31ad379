//! A proof of every edition.

use std::path::Path;

use slipsheet_files::proof::ProofOptions;
use slipsheet_files::{Progress, proof_series};

use super::{About, Export, ExportError, GoesTo, Source};

/// A proof of every edition, each drawn so.
#[derive(Debug, Default)]
pub struct ProofsExport(pub ProofOptions);

impl Export for ProofsExport {
    fn about(&self) -> About {
        About {
            question: "Save a proof of every edition in",
            label: "Writing the proofs",
            goes_to: GoesTo::Folder,
            name: "editions",
            misses_scans: Some("proof"),
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        proof_series::write(&from.printing, &from.images, &self.0, to, &from.originals(), progress)?;
        Ok(vec![])
    }
}
