//! An answer to slips: passes and remedies of one face that belong together and are put in as one step.

use slipsheet_paper::fold::Face;

use crate::ids::LayerId;
use crate::remedy::Remedy;

#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    pub face: Face,
    /// The layers of the face in other passes, in printing order; without them the passes stay.
    pub passes: Option<Vec<Vec<LayerId>>>,
    /// What each layer gets, in the place of a remedy of the same kind against the same layer.
    pub remedies: Vec<(LayerId, Remedy)>,
}

impl Answer {
    /// Every layer that it speaks of; some more than once.
    pub fn layers(&self) -> impl Iterator<Item = LayerId> {
        let planned = self.passes.iter().flatten().flatten().copied();
        planned.chain(
            self.remedies.iter().flat_map(|(id, remedy)| [Some(*id), remedy.other()].into_iter().flatten()),
        )
    }

    /// Whether it changes nothing.
    pub fn is_empty(&self) -> bool {
        self.passes.is_none() && self.remedies.is_empty()
    }
}
