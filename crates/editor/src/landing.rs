//! Where scans that are added go.

use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Target;

/// Where scans that are added go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Landing {
    /// Into this layer, or each into a new one, laid on this.
    Each(Option<LayerId>, Target),
    /// On one page each, from this one on: into this layer, or into a new one of one ink, and its like on the other face.
    Pages(Option<LayerId>, u32),
}
