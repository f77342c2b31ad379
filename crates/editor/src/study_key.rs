//! What a study of a project's register depends on, so that what changes no edge brings no new one about.

use slipsheet_document::layer::Slip;
use slipsheet_document::project::Project;

use crate::snapshot::{Pixels, Snapshot};

/// A project without what no study of its register looks at, and the pixels of its scans.
///
/// The names of the layers stay: what is told of a study calls them by name.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyKey {
    project: Project,
    pixels: Pixels,
}

impl StudyKey {
    /// What studies of a snapshot depend on.
    pub fn of(snapshot: &Snapshot) -> Self {
        let mut project = Project::clone(&snapshot.project);
        project.title.clear();
        project.job = Default::default();
        project.wrap = None;
        project.accepted.clear();
        project.editions.clear();
        // A study asks how far the inks may slip, whatever slips are tried on the picture.
        project.back_slip = Slip::default();
        project.layers.iter_mut().for_each(|l| l.slip = Slip::default());
        Self { project, pixels: snapshot.pixels() }
    }

    /// The project, which studies as the whole one does.
    pub fn project(&self) -> &Project {
        &self.project
    }

    /// Whether all of its scans are there.
    pub fn is_whole(&self) -> bool {
        self.pixels.is_whole()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use slipsheet_core::units::{Mm, SheetFormat};
    use slipsheet_document::edition::Edition;
    use slipsheet_document::layer::Layer;
    use slipsheet_document::shelf::Shelf;
    use slipsheet_render::images::Images;

    use super::*;

    #[test]
    fn prices_slips_and_editions_ask_for_no_new_study_and_a_trim_or_a_name_does() {
        let shelf = Shelf::starter().unwrap();
        let mut project = Project::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        project.layers.push(Layer::new("sea".to_owned(), shelf.inks[0].clone()));
        let key = |p: &Project| {
            let (project, images) = (Arc::new(p.clone()), Images::default());
            StudyKey::of(&Snapshot { project, images, revision: 1 })
        };
        let known = key(&project);
        let slip = Slip { dx: Mm::new(0.4), ..Slip::default() };
        (project.title, project.job.copies) = ("Stroll".to_owned(), 80);
        (project.layers[0].slip, project.back_slip) = (slip, slip);
        project.editions.push(Edition::of(&project, "blue"));
        assert_eq!(key(&project), known);
        for change in [
            (|p| p.trim = Mm::new(4.0)) as fn(&mut Project),
            |p| p.layers[0].name = "weed".to_owned(),
            |p| p.layers[0].visible = false,
            |p| p.press.drums += 1,
        ] {
            let mut changed = project.clone();
            change(&mut changed);
            assert_ne!(key(&changed), known);
        }
    }
}
