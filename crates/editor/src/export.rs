//! Exports: every file or folder that a person has written, each described once. A new one has a file
//! of its own and a line where it is asked for.

mod dummy;
mod dummy_sheet;
mod guide;
mod marks;
mod pack;
mod press;
mod proof;
mod proofs;
mod shelf;
mod wedge;
mod wrap;

use std::error::Error;
use std::fmt::Debug;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_files::Progress;
use slipsheet_files::pack::PackChoices;
use slipsheet_files::store::Originals;
use slipsheet_registration::slip::JobRegister;
use slipsheet_render::images::Images;

pub use dummy::DummyExport;
pub use dummy_sheet::DummySheetExport;
pub use guide::GuideExport;
pub use marks::MarksExport;
pub use pack::{MAKING_PACK, PackExport};
pub use press::PressExport;
pub use proof::ProofExport;
pub use proofs::ProofsExport;
pub use shelf::ShelfExport;
pub use wedge::WedgeExport;
pub use wrap::WrapExport;

/// What an export is made of: a session as it was when it was asked for.
#[derive(Debug, Clone)]
pub struct Source {
    pub project: Arc<Project>,
    pub printing: Arc<Printing>,
    /// Its pixels.
    pub images: Images,
    pub file: Option<PathBuf>,
    /// What a person chose of a pack last.
    pub pack: PackChoices,
    /// The registration study of the project, where it is known.
    pub register: Option<JobRegister>,
}

impl Source {
    fn originals(&self) -> Originals {
        Originals::of(&self.project, self.file.as_deref())
    }
}

/// What an export writes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GoesTo {
    /// One file, whose name ends in one of these; the first is added to a name that ends in none.
    File {
        /// What lists of files call it.
        kind: &'static str,
        /// Without the dot.
        endings: &'static [&'static str],
    },
    /// A folder that is made, and named as a file would be.
    NewFolder,
    Folder,
}

impl GoesTo {
    /// The path as it is written to, with an ending.
    pub fn completed(self, path: PathBuf) -> PathBuf {
        let Self::File { endings: [first, others @ ..], .. } = self else { return path };
        let has = |ending: &&str| path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending));
        if others.iter().any(has) { path } else { with_ending(path, first) }
    }
}

/// Why nothing was written, as a sentence.
pub type ExportError = Box<dyn Error + Send + Sync>;

/// What is known of an export before it is written.
#[derive(Debug, Clone, Copy)]
pub struct About {
    /// The question for the path.
    pub question: &'static str,
    /// What is read while it runs.
    pub label: &'static str,
    pub goes_to: GoesTo,
    /// What follows the project's name in the name to start from; empty where [`Export::name`] is its own.
    pub name: &'static str,
    /// What would miss a scan that has no pixels yet; `None` where scans do not matter.
    pub misses_scans: Option<&'static str>,
}

/// Something that a person has written to a path of their own.
pub trait Export: Debug + Send + Sync {
    fn about(&self) -> About;

    fn name(&self, project: &str) -> String {
        format!("{project} {}", self.about().name)
    }

    /// Writes it. What should be heard of it besides comes back, in sentences without a stop.
    ///
    /// # Errors
    /// One sentence; what was there before is then as it was.
    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError>;
}

fn ends_in(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending))
}

/// A path with this ending, added where it has another or none: `zine v1.2` keeps its dot.
pub fn with_ending(path: PathBuf, ending: &str) -> PathBuf {
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending)) {
        return path;
    }
    let mut name = path.into_os_string();
    name.push(".");
    name.push(ending);
    PathBuf::from(name)
}
