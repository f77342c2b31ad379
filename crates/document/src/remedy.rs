//! Remedies against slips: steps that change a layer's plate on the sheet, kept beside the artwork and never
//! done to it.
//!
//! They work on the plate where it is meant to lie, after readings that need the whole scan and before the
//! ink's curve, so everything that draws a layer sees them. A remedy that looks at another layer sees that
//! layer's artwork without remedies of its own, so none can chase its own tail.

use serde::{Deserialize, Serialize};

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
        /// Index of the other layer.
        under: usize,
        /// How far this layer reaches under the other's edge.
        trap: Growth,
    },
    /// Where another layer prints, this one is filled from what surrounds the hole: a knockout becomes an
    /// overprint.
    Fill {
        /// Index of the other layer.
        under: usize,
    },
}

impl Remedy {
    /// What lists show; `names` gives a layer's name.
    pub fn words<'n>(&self, names: impl Fn(usize) -> Option<&'n str>) -> String {
        let name = |i: &usize| names(*i).unwrap_or("a layer that is gone");
        match self {
            Self::Spread(by) => format!("Spread by {:.2} mm", by.get()),
            Self::Choke(by) => format!("Choke by {:.2} mm", by.get()),
            Self::Knockout { under, trap } => {
                format!("Knock out {} with {:.2} mm trap", name(under), trap.get())
            }
            Self::Fill { under } => format!("Print under {} as well", name(under)),
        }
    }

    /// The other layer that it looks at.
    pub fn other(&self) -> Option<usize> {
        match self {
            Self::Spread(_) | Self::Choke(_) => None,
            Self::Knockout { under, .. } | Self::Fill { under } => Some(*under),
        }
    }
}

/// Keeps a layer's remedies on the layers that they mean after layers were moved, added or removed: `now` says where
/// the layer that was at an index is. Remedies about a layer that is gone go.
pub fn follow(remedies: &mut Vec<Remedy>, now: impl Fn(usize) -> Option<usize>) {
    remedies.retain_mut(|remedy| match remedy {
        Remedy::Spread(_) | Remedy::Choke(_) => true,
        Remedy::Knockout { under, .. } | Remedy::Fill { under } => match now(*under) {
            Some(to) => {
                *under = to;
                true
            }
            None => false,
        },
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn remedies_follow_the_layers_that_they_are_about() {
        let trap = Growth::new(0.1);
        let mut remedies = vec![Remedy::Knockout { under: 1, trap }, Remedy::Spread(trap)];
        follow(&mut remedies, |i| Some(i + 3));
        assert_eq!(remedies[0], Remedy::Knockout { under: 4, trap });
        follow(&mut remedies, |i| (i != 4).then_some(i));
        assert_eq!(remedies, [Remedy::Spread(trap)]);
        let text = ron::to_string(&remedies).unwrap();
        assert_eq!(ron::from_str::<Vec<Remedy>>(&text).unwrap(), remedies);
        assert!(ron::from_str::<Remedy>("Spread(99.0)").unwrap_err().to_string().contains("from 0 to 5"));
    }
}
