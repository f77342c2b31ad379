//! The study of a project's register for its findings, kept by what it depends on, so that prices and slips do not
//! ask for another one.

use slipsheet_core::preflight::Studied;
use slipsheet_core::project::Project;

use crate::live::Snapshot;

/// What was studied last.
#[derive(Default)]
pub(crate) struct KnownRegister {
    key: Option<(Project, Vec<bool>)>,
    studied: Studied,
    nothing: Studied,
}

impl KnownRegister {
    /// Whether the study is of this snapshot.
    pub fn is_of(&self, snapshot: &Snapshot) -> bool {
        self.key.as_ref() == Some(&key(snapshot))
    }

    /// The study, as long as it speaks of layers that are there: one of a moment ago is better than none.
    pub fn last(&self, snapshot: &Snapshot) -> &Studied {
        let layers = self.key.as_ref().map_or(0, |(p, _)| p.layers.len());
        if layers == snapshot.project.layers.len() { &self.studied } else { &self.nothing }
    }

    /// Studies a snapshot.
    pub fn study(&mut self, snapshot: &Snapshot) {
        let key = key(snapshot);
        // A study of what is only partly there would find edges that are none.
        self.studied = if key.1.iter().all(|loaded| *loaded) {
            Studied::of(&snapshot.project, &snapshot.images)
        } else {
            Studied::default()
        };
        self.key = Some(key);
    }
}

/// The project without what changes no edge, and which of its scans are there.
fn key(snapshot: &Snapshot) -> (Project, Vec<bool>) {
    let mut bare = (*snapshot.project).clone();
    bare.title.clear();
    (bare.job, bare.accepted) = (Default::default(), Vec::new());
    bare.layers.iter_mut().for_each(|l| l.slip = Default::default());
    let art = bare.layers.iter().flat_map(|l| &l.art);
    let loaded = art.map(|a| snapshot.images.get(&a.scan.key).is_some()).collect();
    (bare, loaded)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use slipsheet_core::project::Images;
    use slipsheet_core::shelf::Shelf;
    use slipsheet_core::units::{Mm, SheetFormat};

    use super::*;

    #[test]
    fn prices_and_slips_ask_for_no_new_study_and_a_trim_does() {
        let shelf = Shelf::starter().unwrap();
        let mut project = Project::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        let at =
            |p: &Project| Snapshot { project: Arc::new(p.clone()), images: Images::default(), revision: 1 };
        let mut known = KnownRegister::default();
        assert!(!known.is_of(&at(&project)));
        known.study(&at(&project));
        project.job.copies = 80;
        assert!(known.is_of(&at(&project)));
        project.trim = Mm::new(4.0);
        assert!(!known.is_of(&at(&project)));
    }
}
