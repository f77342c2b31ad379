//! Where scans that are added go.

use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Target;

/// Where scans that are added go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Landing {
    /// Into this layer, or each into a new one, laid on this.
    Each(Option<LayerId>, Target),
    /// On one page each, from this one on: into this layer, or into one new layer of one ink.
    Pages(Option<LayerId>, u32),
}
