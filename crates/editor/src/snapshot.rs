//! What work beside the window is done on.

use std::sync::Arc;

use slipsheet_document::project::Project;
use slipsheet_render::images::Images;

/// A snapshot to draw from.
#[derive(Clone)]
pub struct Snapshot {
    /// The project.
    pub project: Arc<Project>,
    /// Its pixels.
    pub images: Images,
    /// The session's revision.
    pub revision: u64,
}
