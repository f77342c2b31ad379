//! The wrap.

use std::path::Path;

use slipsheet_document::wrap::WrapOrder;
use slipsheet_files::{Progress, wrap_pdf, wrap_svg};

use super::{About, Export, ExportError, GoesTo, Source, ends_in};

/// A wrap, whether the project has it yet or not.
#[derive(Debug)]
pub struct WrapExport(pub WrapOrder);

impl Export for WrapExport {
    fn about(&self) -> About {
        About {
            question: "Save the wrap as",
            label: "Writing the wrap",
            goes_to: GoesTo::File { kind: "PDF or SVG", endings: &["pdf", "svg"] },
            name: "",
            misses_scans: None,
        }
    }

    fn name(&self, project: &str) -> String {
        format!("{project} {}.pdf", self.0.wrap.kind.name().to_lowercase())
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let write = if ends_in(to, "svg") { wrap_svg } else { wrap_pdf };
        write(&from.project.plan_wrap(&self.0)?, &from.project.title, to)?;
        Ok(vec![])
    }
}
