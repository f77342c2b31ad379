//! Remedies against slips: steps that change a layer's plate on the sheet, kept beside the artwork and never
//! done to it.
//!
//! They work on the plate where it is meant to lie, after readings that need the whole scan and before the
//! ink's curve, so everything that draws a layer sees them. A remedy that looks at another layer sees that
//! layer's artwork without remedies of its own, so none can chase its own tail.

use serde::{Deserialize, Serialize};

use crate::ids::LayerId;
use slipsheet_base::bounded;

bounded! {
    /// A width in mm by which shapes grow.
    Growth, 0.0..=5.0, default 0.0, "a spread, choke or trap in mm", "from 0 to 5"
}

/// One step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Remedy {
    /// The layer's shapes grow by so many mm all around.
    Spread(Growth),
    /// They shrink.
    Choke(Growth),
    /// Where another layer prints, this one is left out, but for a trap along the edge.
    Knockout {
        /// The other layer, on the same face.
        under: LayerId,
        /// How far this layer reaches under the other's edge.
        trap: Growth,
    },
    /// Where another layer prints, this one is filled from what surrounds the hole: a knockout becomes an
    /// overprint.
    Fill {
        /// The other layer, on the same face.
        under: LayerId,
    },
}

impl Remedy {
    /// What lists show; `names` gives a layer's name.
    pub fn words<'n>(&self, names: impl Fn(LayerId) -> Option<&'n str>) -> String {
        let name = |id: &LayerId| names(*id).unwrap_or("a layer that is gone");
        match self {
            Self::Spread(by) => format!("Spread by {:.2} mm", by.get()),
            Self::Choke(by) => format!("Choke by {:.2} mm", by.get()),
            Self::Knockout { under, trap } => {
                format!("Knock out {} with {:.2} mm trap", name(under), trap.get())
            }
            Self::Fill { under } => format!("Print under {} as well", name(under)),
        }
    }

    pub fn other(&self) -> Option<LayerId> {
        match self {
            Self::Spread(_) | Self::Choke(_) => None,
            Self::Knockout { under, .. } | Self::Fill { under } => Some(*under),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remedy_comes_back_as_it_was_saved_and_stays_within_its_range() {
        let trap = Growth::new(0.1);
        let remedies = vec![Remedy::Knockout { under: LayerId::new(1), trap }, Remedy::Spread(trap)];
        let text = ron::to_string(&remedies).unwrap();
        assert_eq!(ron::from_str::<Vec<Remedy>>(&text).unwrap(), remedies);
        assert!(ron::from_str::<Remedy>("Spread(99.0)").unwrap_err().to_string().contains("from 0 to 5"));
        let words = remedies[0].words(|id| (id == LayerId::new(1)).then_some("sea"));
        assert_eq!(words, "Knock out sea with 0.10 mm trap");
    }
}
