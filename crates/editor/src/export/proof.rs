//! A proof of one sheet.

use std::path::Path;

use slipsheet_files::proof::ProofOptions;
use slipsheet_files::{Progress, proof};

use super::{About, Export, ExportError, GoesTo, Source};

#[derive(Debug, Default)]
pub struct ProofExport(pub ProofOptions);

impl Export for ProofExport {
    fn about(&self) -> About {
        About {
            question: "Save the proof as",
            label: "Writing the proof",
            goes_to: GoesTo::File { kind: "PNG", endings: &["png"] },
            name: "proof.png",
            misses_scans: Some("proof"),
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        proof::write(&from.printing, &from.images, &self.0, to, progress)?;
        Ok(vec![])
    }
}
