//! A press, as a profile for others.

use std::path::Path;

use slipsheet_core::press::Press;
use slipsheet_files::{Progress, press_file};

use super::{About, Export, ExportError, GoesTo, Source};

#[derive(Debug)]
pub struct PressExport(pub Press);

impl Export for PressExport {
    fn about(&self) -> About {
        About {
            question: "Export the press as",
            label: "Writing the press profile",
            goes_to: GoesTo::File { kind: "Press profile", endings: &[press_file::ENDING] },
            name: "",
            misses_scans: None,
        }
    }

    fn name(&self, _: &str) -> String {
        press_file::name(&self.0)
    }

    fn write(&self, _: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        press_file::write(&self.0, to)?;
        Ok(vec![])
    }
}
