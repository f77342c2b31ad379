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
    /// Where this layer meets another, it grows into what the other prints, and nowhere else; what is thin (type,
    /// hairlines, dust) neither grows nor is grown into.
    Trap {
        /// The other layer, on the same face.
        with: LayerId,
        by: Growth,
    },
    /// Where this layer meets another, it keeps away from it, so that white shows on purpose; where it prints over the
    /// other it stays, and so does what is thin.
    Gap {
        /// The other layer, on the same face.
        from: LayerId,
        /// The width of the white.
        by: Growth,
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
            Self::Trap { with, by } => {
                format!("Trap of {:.2} mm where it meets {}", by.get(), name(with))
            }
            Self::Gap { from, by } => {
                format!("Leave {:.2} mm of white where it meets {}", by.get(), name(from))
            }
        }
    }

    /// The layer that it looks at.
    pub fn other(&self) -> Option<LayerId> {
        match self {
            Self::Spread(_) | Self::Choke(_) => None,
            Self::Knockout { under: id, .. }
            | Self::Fill { under: id }
            | Self::Trap { with: id, .. }
            | Self::Gap { from: id, .. } => Some(*id),
        }
    }

    /// The layer that it looks at, to be changed.
    pub(crate) fn other_mut(&mut self) -> Option<&mut LayerId> {
        match self {
            Self::Spread(_) | Self::Choke(_) => None,
            Self::Knockout { under: id, .. }
            | Self::Fill { under: id }
            | Self::Trap { with: id, .. }
            | Self::Gap { from: id, .. } => Some(id),
        }
    }

    /// The width that it has.
    pub fn width_mut(&mut self) -> Option<&mut Growth> {
        match self {
            Self::Spread(by)
            | Self::Choke(by)
            | Self::Knockout { trap: by, .. }
            | Self::Trap { by, .. }
            | Self::Gap { by, .. } => Some(by),
            Self::Fill { .. } => None,
        }
    }

    /// Whether it is of the same kind as another and looks at the same layer, so that one of the two is enough.
    pub fn is_like(&self, other: &Self) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other) && self.other() == other.other()
    }

    /// Remedies of a layer with this one at their end, in the place of those like it.
    #[must_use]
    pub fn added_to(self, remedies: &[Self]) -> Vec<Self> {
        remedies.iter().filter(|r| !r.is_like(&self)).copied().chain([self]).collect()
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
        let (with, from, by) = (LayerId::new(1), LayerId::new(2), Growth::new(0.4));
        for remedy in [Remedy::Trap { with, by }, Remedy::Gap { from, by }] {
            let text = ron::to_string(&remedy).unwrap();
            assert_eq!(ron::from_str::<Remedy>(&text).unwrap(), remedy, "{text}");
        }
        let words = Remedy::Trap { with, by }.words(|_| Some("sea"));
        assert_eq!(words, "Trap of 0.40 mm where it meets sea");
    }

    #[test]
    fn a_remedy_takes_the_place_of_one_like_it_and_of_no_other() {
        let (sea, weed) = (LayerId::new(1), LayerId::new(2));
        let trap = |with, mm| Remedy::Trap { with, by: Growth::new(mm) };
        let known = [trap(sea, 0.1), Remedy::Spread(Growth::new(0.1)), trap(weed, 0.2)];
        assert_eq!(trap(sea, 0.4).added_to(&known), [known[1], known[2], trap(sea, 0.4)]);
        let fill = Remedy::Fill { under: sea };
        assert_eq!(fill.added_to(&known), [known[0], known[1], known[2], fill]);
    }
}
