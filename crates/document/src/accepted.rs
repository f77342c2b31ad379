//! Findings that the person lives with.

use serde::{Deserialize, Serialize};

use crate::ids::LayerId;
use slipsheet_paper::fold::Face;

/// Where something was found, so that it is known again while the project does not change there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Place {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layer: Option<LayerId>,
    /// The page, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub page: Option<u32>,
    /// The printed sheet of a booklet, from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<usize>,
    /// The face, and the top left corner in whole mm from the left and the top.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spot: Option<(Face, i32, i32)>,
}

/// A finding that the person has seen and lives with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accepted {
    /// Name of its kind, an identifier.
    pub kind: String,
    #[serde(default)]
    pub place: Place,
    #[serde(default)]
    pub note: String,
}
