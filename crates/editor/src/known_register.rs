//! The register of a project as it was studied last, and how much ink it takes, kept by what they depend on: findings,
//! pack, ticket and the window's tabs are told from one study.

use std::sync::Arc;

use slipsheet_base::cache::Bytes;
use slipsheet_booking::ink_use::{InkUse, covered, ink_use};
use slipsheet_booking::preflight::Studied;
use slipsheet_document::printing::Printing;
use slipsheet_files::logged;
use slipsheet_registration::slip::JobRegister;

use crate::snapshot::Snapshot;
use crate::study_key::StudyKey;

/// A register that was studied.
#[derive(Debug)]
pub struct KnownRegister {
    key: Arc<StudyKey>,
    register: Option<JobRegister>,
    ink: Option<KnownInk>,
}

/// How much ink a project takes.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownInk {
    /// The ink of a copy, sheet by sheet and layer by layer.
    pub uses: Vec<InkUse>,
    /// How much of the printed sides lies under any ink, 0..=1; none where nothing is printed.
    pub covered: Option<f64>,
}

impl Bytes for KnownRegister {
    fn bytes(&self) -> usize {
        let pairs = self.register.as_ref().map_or(0, |r| r.pairs.bytes());
        pairs + self.ink.as_ref().map_or(0, |ink| ink.uses.bytes())
    }
}

impl KnownRegister {
    /// Studies a snapshot, whose key this is.
    pub(crate) fn study(key: Arc<StudyKey>, snapshot: &Snapshot) -> Self {
        // A study of what is only partly there would find edges that are none. Why there can be none at all is told
        // by other findings.
        let study = || logged("a registration study", JobRegister::of(key.printing(), &snapshot.images));
        let register = if key.is_whole() { study() } else { None };
        let ink = key.is_whole().then(|| KnownInk {
            uses: ink_use(key.printing(), &snapshot.images),
            covered: covered(key.printing(), &snapshot.images),
        });
        Self { key, register, ink }
    }

    /// Whether the study is of this snapshot.
    pub fn is_of(&self, snapshot: &Snapshot) -> bool {
        *self.key == StudyKey::of(snapshot)
    }

    /// The register of this snapshot; none where the study is of another one, or nothing could be studied.
    pub fn of(&self, snapshot: &Snapshot) -> Option<&JobRegister> {
        self.register.as_ref().filter(|_| self.is_of(snapshot))
    }

    /// The register, of whichever snapshot it is ([`KnownRegister::is_of`]).
    pub fn register(&self) -> Option<&JobRegister> {
        self.register.as_ref()
    }

    /// The ink, likewise; none while scans are missing.
    pub fn ink(&self) -> Option<&KnownInk> {
        self.ink.as_ref()
    }

    /// What findings say of it, as long as it speaks of layers that are there: a study of a moment ago is better
    /// than none.
    pub(crate) fn last(&self, snapshot: &Snapshot) -> Studied {
        let studied = self.key.printing();
        let ids = |p: &Printing| p.sheet.layers.iter().map(|l| l.id).collect::<Vec<_>>();
        let same = ids(studied) == ids(&snapshot.printing);
        let register = self.register.as_ref().filter(|_| same);
        register.map(|r| Studied::from_register(studied, r)).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use slipsheet_core::units::{Mm, SheetFormat};
    use slipsheet_document::shelf::Shelf;

    use super::*;

    #[test]
    fn a_register_is_known_for_what_studies_alike_and_for_nothing_else() {
        let shelf = Shelf::starter().unwrap();
        let mut printing = Printing::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        let at = Snapshot::of;
        let known = KnownRegister::study(Arc::new(StudyKey::of(&at(&printing))), &at(&printing));
        printing.job.copies = 80;
        assert!(known.is_of(&at(&printing)));
        assert_eq!(known.of(&at(&printing)), Some(&JobRegister::default()));
        printing.sheet.trim = Mm::new(4.0);
        assert!(!known.is_of(&at(&printing)) && known.of(&at(&printing)).is_none());
    }
}
