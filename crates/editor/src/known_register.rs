//! The register of a project as it was studied last, and how much ink it takes, kept by what they depend on: findings,
//! pack, ticket and the window's tabs are told from one study.

use std::sync::Arc;

use slipsheet_base::cache::{Bytes, Cache};
use slipsheet_booking::ink_use::{InkUse, covered, ink_use};
use slipsheet_booking::preflight::Studied;
use slipsheet_document::acceptance::{Acceptance, EdgeShare};
use slipsheet_document::printing::Printing;
use slipsheet_files::logged;
use slipsheet_registration::slip::{JobCopies, JobRegister, JobSold, JobStudy, SlipError};

use crate::snapshot::Snapshot;
use crate::study_key::StudyKey;
use crate::whole_ink::WholeInk;

/// A register that was studied.
#[derive(Debug)]
pub struct KnownRegister {
    known: Arc<KnownStudy>,
    copies: Option<Arc<JobCopies>>,
    /// What the study was judged by, and what came of it.
    acceptance: Acceptance,
    register: Option<JobRegister>,
}

/// What was studied of a project, whatever is accepted.
#[derive(Debug)]
pub(crate) struct KnownStudy {
    key: Arc<StudyKey>,
    studied: Option<JobStudy>,
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

impl Bytes for KnownStudy {
    fn bytes(&self) -> usize {
        let studied = self.studied.as_ref().map_or(0, Bytes::bytes);
        studied + self.ink.as_ref().map_or(0, |ink| ink.uses.bytes())
    }
}

/// The most bytes of studies, and of simulated copies, that are kept.
const STUDY_BYTES: usize = 48 << 20;
const COPIES_BYTES: usize = 8 << 20;
/// The most bytes that are kept of how much ink is taken.
const INK_BYTES: usize = 1 << 20;

/// Studies and simulated copies, kept by what they depend on.
#[derive(Default)]
pub(crate) struct Studies {
    studies: Cache<Arc<StudyKey>, KnownStudy, STUDY_BYTES>,
    /// The ink of parts that were not studied.
    inks: Cache<Arc<StudyKey>, Vec<InkUse>, INK_BYTES>,
    /// By the accepted share of the edges, and whether colour counts.
    copies: Cache<(Arc<StudyKey>, EdgeShare, bool), JobCopies, COPIES_BYTES>,
}

impl Studies {
    /// The register of a snapshot if its study is known, judged by what it accepts.
    pub fn known(&self, snapshot: &Snapshot) -> Option<KnownRegister> {
        let key = Arc::new(StudyKey::of(snapshot));
        let known = self.studies.get(&key)?;
        let copies = self.copies.get(&copies_key(&key, &snapshot.printing.acceptance));
        (copies.is_some() || known.studied.is_none()).then(|| KnownRegister::judged(known, copies, snapshot))
    }

    /// Studies a snapshot, simulates its copies and judges both; what is known of them already is not done again.
    pub fn study(&self, snapshot: &Snapshot, stop: &(dyn Fn() -> bool + Sync)) -> Option<KnownRegister> {
        let key = Arc::new(StudyKey::of(snapshot));
        let known = self.studies.get_or_make(Arc::clone(&key), || Some(KnownStudy::of(&key, snapshot)))?;
        let Some(studied) = &known.studied else { return Some(KnownRegister::judged(known, None, snapshot)) };
        let (printing, images) = (&*snapshot.printing, &snapshot.images);
        let draw = || match JobCopies::of_until(printing, images, studied, stop) {
            Err(SlipError::Cancelled) => None,
            drawn => logged("simulated copies", drawn),
        };
        let copies = self.copies.get_or_make(copies_key(&key, &printing.acceptance), draw);
        (copies.is_some() || !stop()).then(|| KnownRegister::judged(Arc::clone(&known), copies, snapshot))
    }

    /// The ink of all that the project of a snapshot prints; none while scans are missing.
    pub fn inks(&self, snapshot: &Snapshot) -> Option<WholeInk> {
        WholeInk::of(snapshot, |part| {
            if let Some(known) = self.studies.get(part).as_ref().and_then(|known| known.ink.as_ref()) {
                return known.uses.clone();
            }
            let measure = || Some(ink_use(part.printing(), &snapshot.images));
            self.inks.get_or_make(Arc::clone(part), measure).map(|uses| Vec::clone(&uses)).unwrap_or_default()
        })
    }
}

fn copies_key(key: &Arc<StudyKey>, acceptance: &Acceptance) -> (Arc<StudyKey>, EdgeShare, bool) {
    (Arc::clone(key), acceptance.share, acceptance.colour.is_some())
}

impl KnownStudy {
    fn of(key: &Arc<StudyKey>, snapshot: &Snapshot) -> Self {
        // A study of what is only partly there would find edges that are none. Why there can be none at all is told
        // by other findings.
        let study = || {
            let studied = JobStudy::of_until(key.printing(), &snapshot.images, &|| false);
            logged("a registration study", studied)
        };
        let studied = if key.is_whole() { study() } else { None };
        let ink = key.is_whole().then(|| KnownInk {
            uses: ink_use(key.printing(), &snapshot.images),
            covered: covered(key.printing(), &snapshot.images),
        });
        Self { key: Arc::clone(key), studied, ink }
    }
}

impl KnownRegister {
    fn judged(known: Arc<KnownStudy>, copies: Option<Arc<JobCopies>>, snapshot: &Snapshot) -> Self {
        let printing = &snapshot.printing;
        let both = known.studied.as_ref().zip(copies.as_deref());
        let register = both.map(|(studied, copies)| JobRegister::judged(studied, copies, printing));
        Self { known, copies, acceptance: printing.acceptance, register }
    }

    /// Whether the study is of this snapshot, whatever that accepts.
    pub fn studies(&self, snapshot: &Snapshot) -> bool {
        *self.known.key == StudyKey::of(snapshot)
    }

    /// Whether the study is of this snapshot, and judged by what it accepts.
    pub fn is_of(&self, snapshot: &Snapshot) -> bool {
        self.acceptance == snapshot.printing.acceptance && self.studies(snapshot)
    }

    /// The register of this snapshot; none where the study is of another one, or nothing could be studied.
    pub fn of(&self, snapshot: &Snapshot) -> Option<&JobRegister> {
        self.register.as_ref().filter(|_| self.is_of(snapshot))
    }

    /// The register, of whichever snapshot it is ([`KnownRegister::is_of`]).
    pub fn register(&self) -> Option<&JobRegister> {
        self.register.as_ref()
    }

    /// How many copies would sell under an acceptance; none where that takes other copies than were simulated.
    pub fn sold(&self, acceptance: &Acceptance) -> Option<JobSold> {
        self.copies.as_ref()?.sold(acceptance)
    }

    /// Whether nothing could be studied, though every scan was there.
    pub fn has_failed(&self) -> bool {
        self.known.key.is_whole() && self.known.studied.is_none()
    }

    /// The ink of the snapshot; none while scans are missing.
    pub fn ink(&self) -> Option<&KnownInk> {
        self.known.ink.as_ref()
    }

    /// What findings say of it, as long as it speaks of layers that are there: a study of a moment ago is better
    /// than none.
    pub(crate) fn last(&self, snapshot: &Snapshot) -> Studied {
        let studied = self.known.key.printing();
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
        let (at, studies) = (Snapshot::of, Studies::default());
        assert!(studies.known(&at(&printing)).is_none());
        let known = studies.study(&at(&printing), &|| false).unwrap();
        printing.job.copies = 80;
        assert!(known.is_of(&at(&printing)) && studies.known(&at(&printing)).is_some());
        let nothing = known.of(&at(&printing)).unwrap();
        assert!(nothing.tolerance.is_none() && nothing.pairs.is_empty());
        printing.sheet.trim = Mm::new(4.0);
        assert!(!known.is_of(&at(&printing)) && known.of(&at(&printing)).is_none());
    }

    #[test]
    fn another_accepted_gap_is_counted_at_once_and_judged_from_the_same_study() {
        let shelf = Shelf::starter().unwrap();
        let mut printing = Printing::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        let studies = Studies::default();
        let first = studies.study(&Snapshot::of(&printing), &|| false).unwrap();
        printing.acceptance = Acceptance::of(1.0, 0.05, None);
        let from = Snapshot::of(&printing);
        assert!(first.studies(&from) && !first.is_of(&from) && first.of(&from).is_none());
        assert!(first.sold(&printing.acceptance).is_some());
        let again = studies.known(&from).unwrap();
        assert!(again.is_of(&from) && Arc::ptr_eq(&again.known, &first.known));
        // Another share of the edges takes other copies, not another study.
        printing.acceptance = Acceptance::of(1.0, 0.3, None);
        assert!(
            studies.known(&Snapshot::of(&printing)).is_none() && first.sold(&printing.acceptance).is_none()
        );
        let third = studies.study(&Snapshot::of(&printing), &|| false).unwrap();
        assert!(Arc::ptr_eq(&third.known, &first.known) && third.sold(&printing.acceptance).is_some());
    }
}
