//! Reading and writing a project's file.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_document::project::Project;
use slipsheet_files::store::{self, Masks, Originals, StoreError};
use slipsheet_files::{Fingerprint, scan};

/// What a project may be saved over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SaveOver {
    /// Whatever is there: the person was asked.
    Anything,
    /// The file as it was then, or none.
    Known(Fingerprint),
    Nothing,
}

/// A project to be written, with paths as seen from its new file.
#[derive(Debug, Clone)]
pub struct SaveOrder {
    pub(crate) project: Project,
    /// Absolute.
    pub(crate) path: PathBuf,
    pub(crate) over: SaveOver,
    /// The file that the project had.
    pub(crate) from: Option<PathBuf>,
    /// All that undo can bring back, whose scans another file than the project's own must not replace.
    pub(crate) states: Vec<Project>,
    /// The masks of its scans.
    pub(crate) masks: Masks,
}

/// What became of it.
#[derive(Debug)]
pub enum Saving {
    Written(Fingerprint),
    /// Something else has changed the file, which is now this; nothing was written.
    ChangedOutside(Option<Fingerprint>),
    /// Why it could not be.
    Refused(Arc<StoreError>),
}

/// A project as its file has it, or why that cannot be read.
pub type Opening = Result<(Box<Project>, Fingerprint), Arc<StoreError>>;

pub(super) fn open(path: &Path) -> Opening {
    let (project, print) = store::load_marked(path)?;
    Ok((Box::new(project), print))
}

pub(super) fn save(order: &SaveOrder) -> Saving {
    let SaveOrder { project, path, over, from, states, masks } = order;
    let scans = Originals::scans_of(states, from.as_deref());
    // Masks first: a project must not name what is not there.
    let beside = || Ok(masks.used(project, from.as_deref()).write_beside(path)?);
    let written = scans.refuse(path).and_then(|()| beside()).and_then(|()| match over {
        SaveOver::Known(print) => store::save_over(project, path, print),
        SaveOver::Nothing if path.exists() => Err(StoreError::ChangedOutside { path: path.clone() }),
        SaveOver::Nothing | SaveOver::Anything => store::save(project, path),
    });
    match written {
        Ok(print) => Saving::Written(print),
        Err(StoreError::ChangedOutside { .. }) => Saving::ChangedOutside(scan::fingerprint(path).ok()),
        Err(why) => Saving::Refused(Arc::new(why)),
    }
}
