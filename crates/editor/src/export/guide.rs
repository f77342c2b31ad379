//! The guide to draw on.

use std::path::Path;

use slipsheet_files::{GuideOptions, Progress, guide_pdf, guide_png};

use super::{About, Export, ExportError, GoesTo, Source, ends_in};

/// The guide to draw originals on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GuideExport {
    /// Of the sheet, or of each side of a booklet's sheets.
    Sheets,
    /// Of each page, with marks of its own.
    Pages,
}

impl Export for GuideExport {
    fn about(&self) -> About {
        About {
            question: "Save the guide as",
            label: "Writing the guide",
            goes_to: GoesTo::File { kind: "PDF or PNG", endings: &["pdf", "png"] },
            name: match self {
                Self::Sheets => "guide.pdf",
                Self::Pages => "page-guides.pdf",
            },
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let write = if ends_in(to, "png") { guide_png } else { guide_pdf };
        let options = GuideOptions { pages: *self == Self::Pages, ..GuideOptions::default() };
        write(&from.printing, &options, to)?;
        Ok(vec![])
    }
}
