//! What work beside the window is done on.

use std::sync::Arc;

use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_render::images::Images;

/// A snapshot to draw from.
#[derive(Clone)]
pub struct Snapshot {
    /// The project.
    pub project: Arc<Project>,
    /// What is printed of the sheet that is open.
    pub printing: Arc<Printing>,
    /// Its pixels.
    pub images: Images,
    /// The session's revision.
    pub revision: u64,
}

#[cfg(test)]
impl Snapshot {
    /// A snapshot of what is printed, without pixels and without the project that it is of.
    pub fn printing(printing: &Printing) -> Self {
        let sheet = &printing.sheet;
        Self {
            project: Arc::new(Project::new("", sheet.format, sheet.stock.clone())),
            printing: Arc::new(printing.clone()),
            images: Images::default(),
            revision: 1,
        }
    }
}
