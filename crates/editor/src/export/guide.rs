//! The page guide.

use std::path::Path;

use slipsheet_files::{GuideOptions, Progress, guide_pdf, guide_png};

use super::{Export, ExportError, GoesTo, Source, ends_in};

/// The guide to draw originals on.
#[derive(Debug)]
pub struct GuideExport;

impl Export for GuideExport {
    fn question(&self) -> &'static str {
        "Save the page guide as"
    }

    fn label(&self) -> &'static str {
        "Writing the page guide"
    }

    fn goes_to(&self) -> GoesTo {
        GoesTo::File { kind: "PDF or PNG", endings: &["pdf", "png"] }
    }

    fn name(&self, project: &str) -> String {
        format!("{project} guide.pdf")
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let write = if ends_in(to, "png") { guide_png } else { guide_pdf };
        write(&from.printing, &GuideOptions::default(), to)?;
        Ok(vec![])
    }
}
