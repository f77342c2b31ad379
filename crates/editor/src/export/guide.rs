//! The page guide.

use std::path::Path;

use slipsheet_files::{GuideOptions, Progress, guide_pdf, guide_png};

use super::{About, Export, ExportError, GoesTo, Source, ends_in};

/// The guide to draw originals on.
#[derive(Debug)]
pub struct GuideExport;

impl Export for GuideExport {
    fn about(&self) -> About {
        About {
            question: "Save the page guide as",
            label: "Writing the page guide",
            goes_to: GoesTo::File { kind: "PDF or PNG", endings: &["pdf", "png"] },
            name: "guide.pdf",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let write = if ends_in(to, "png") { guide_png } else { guide_pdf };
        write(&from.printing, &GuideOptions::default(), to)?;
        Ok(vec![])
    }
}
