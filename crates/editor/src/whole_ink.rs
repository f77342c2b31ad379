//! How much ink all that a project prints takes: its piece, and the wrap around it, whichever of them is in hand.

use std::borrow::Cow;
use std::sync::Arc;

use slipsheet_booking::ink_use::{InkUse, weighed};
use slipsheet_booking::verdict::Whole;
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;

use crate::snapshot::Snapshot;
use crate::study_key::StudyKey;

/// The ink of a project's piece, and of its wrap where it has one.
#[derive(Debug, Clone, PartialEq)]
pub struct WholeInk {
    piece: PartInk,
    wrap: Option<PartInk>,
}

/// The ink of one part of a project, and what it was measured of.
#[derive(Debug, Clone, PartialEq)]
struct PartInk {
    of: Arc<StudyKey>,
    uses: Vec<InkUse>,
}

impl WholeInk {
    /// Measures a snapshot by `uses`, which knows the ink of a part whose scans are all there; none where one is missing.
    pub(crate) fn of(from: &Snapshot, uses: impl Fn(&Arc<StudyKey>) -> Vec<InkUse>) -> Option<Self> {
        let [piece, wrap] = parts(from);
        let measured = |of: StudyKey| {
            let of = Arc::new(of);
            of.is_whole().then(|| PartInk { uses: uses(&of), of })
        };
        let wrap = match wrap {
            Some(of) => Some(measured(of)?),
            None => None,
        };
        Some(Self { piece: measured(piece?)?, wrap })
    }

    /// Whether it is of this snapshot.
    pub fn is_of(&self, snapshot: &Snapshot) -> bool {
        let known = [Some(&*self.piece.of), self.wrap.as_ref().map(|wrap| &*wrap.of)];
        parts(snapshot).each_ref().map(Option::as_ref) == known
    }

    /// The ink of a part of the project, by its terms and in its inks.
    pub fn uses(&self, part: &Printing) -> Vec<InkUse> {
        let wrap = self.wrap.as_ref().filter(|_| part.is_wrap());
        weighed(&wrap.unwrap_or(&self.piece).in_order_of(part), part)
    }

    /// What all of a project comes to, which may have other terms and other answers than the one that was measured.
    pub fn whole(&self, project: &Project) -> Whole {
        Whole::of(project, &mut |part| self.uses(part))
    }
}

impl PartInk {
    /// By the places of the layers in a part that may have them in another order.
    fn in_order_of(&self, part: &Printing) -> Cow<'_, [InkUse]> {
        fn ids(printing: &Printing) -> impl Iterator<Item = LayerId> {
            printing.sheet.layers.iter().map(|layer| layer.id)
        }
        let measured = self.of.printing();
        if ids(measured).eq(ids(part)) {
            return Cow::Borrowed(&self.uses);
        }
        let moved = |ink: &InkUse| {
            let (was, is) = (measured.number(ink.sheet), part.number(ink.sheet));
            let layer = was.sheet.layers.get(ink.layer)?;
            let same = |l: &Layer| (l.id, l.face) == (layer.id, layer.face);
            Some(InkUse { layer: is.sheet.layers.iter().position(same)?, ..ink.clone() })
        };
        Cow::Owned(self.uses.iter().filter_map(moved).collect())
    }
}

/// What the ink of the piece depends on, and that of the wrap.
fn parts(from: &Snapshot) -> [Option<StudyKey>; 2] {
    let key = |printing: Printing| StudyKey::of(&Snapshot { printing: Arc::new(printing), ..from.clone() });
    [Some(from.project.main_printing()), from.project.wrap_printing()].map(|printing| printing.map(key))
}
