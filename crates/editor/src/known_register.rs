//! The register of a project as it was studied last, kept by what it depends on: findings, pack and ticket are told
//! from one study.

use slipsheet_core::preflight::Studied;
use slipsheet_core::slip::JobRegister;

use crate::live::Snapshot;
use crate::study_key::StudyKey;

/// A register that was studied.
#[derive(Debug)]
pub struct KnownRegister {
    key: StudyKey,
    register: Option<JobRegister>,
}

impl KnownRegister {
    /// Studies a snapshot.
    pub(crate) fn study(snapshot: &Snapshot) -> Self {
        let key = StudyKey::of(snapshot);
        // A study of what is only partly there would find edges that are none. Why there can be none at all is told
        // by other findings.
        let register =
            if key.is_whole() { JobRegister::of(key.project(), &snapshot.images).ok() } else { None };
        Self { key, register }
    }

    /// Whether the study is of this snapshot.
    pub fn is_of(&self, snapshot: &Snapshot) -> bool {
        self.key == StudyKey::of(snapshot)
    }

    /// The register of this snapshot; none where the study is of another one, or nothing could be studied.
    pub fn of(&self, snapshot: &Snapshot) -> Option<&JobRegister> {
        self.register.as_ref().filter(|_| self.is_of(snapshot))
    }

    /// What findings say of it, as long as it speaks of layers that are there: a study of a moment ago is better
    /// than none.
    pub(crate) fn last(&self, snapshot: &Snapshot) -> Studied {
        let studied = self.key.project();
        let same = studied.layers.len() == snapshot.project.layers.len();
        let register = self.register.as_ref().filter(|_| same);
        register.map(|r| Studied::from_register(studied, r)).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use slipsheet_core::project::{Images, Project};
    use slipsheet_core::shelf::Shelf;
    use slipsheet_core::units::{Mm, SheetFormat};

    use super::*;

    #[test]
    fn a_register_is_known_for_what_studies_alike_and_for_nothing_else() {
        let shelf = Shelf::starter().unwrap();
        let mut project = Project::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        let at =
            |p: &Project| Snapshot { project: Arc::new(p.clone()), images: Images::default(), revision: 1 };
        let known = KnownRegister::study(&at(&project));
        project.job.copies = 80;
        assert!(known.is_of(&at(&project)));
        assert_eq!(known.of(&at(&project)), Some(&JobRegister::default()));
        project.trim = Mm::new(4.0);
        assert!(!known.is_of(&at(&project)) && known.of(&at(&project)).is_none());
    }
}
