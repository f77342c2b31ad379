//! Why a session refuses a request.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_document::edit::Refusal;
use slipsheet_document::shelf::ShelfError;
use slipsheet_files::GuideError;
use slipsheet_files::store::StoreError;
use slipsheet_files::user_file::UserFileError;
use slipsheet_paper::fold::SchemeError;

use crate::notice::Cause;

/// Why a request was refused; nothing has changed then.
#[derive(Debug, thiserror::Error)]
pub enum RequestError {
    /// The document refused an edit.
    #[error(transparent)]
    Edit(#[from] Refusal),
    /// Nothing to undo or redo.
    #[error("there is nothing to {0}")]
    Nothing(&'static str),
    /// The project could not be saved.
    #[error(transparent)]
    NotSaved(Arc<StoreError>),
    /// A project could not be opened.
    #[error(transparent)]
    NotOpened(Arc<StoreError>),
    /// A file of the project's own would have been replaced.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A scan has no pixels, and what was asked for would miss it.
    #[error(
        "a scan is not loaded, so the {what} would miss it; wait until it is read, or find it first: {path}"
    )]
    MissesScan {
        /// What was asked for.
        what: &'static str,
        /// The scan.
        path: String,
    },
    /// A scan has no pixels.
    #[error("this scan is not loaded: {0}")]
    NotLoaded(String),
    /// Nothing to line artwork up on.
    #[error("no layer is printed before this one with artwork on the same place; line that one up instead")]
    NothingBelow,
    /// Artwork on a page has no marks of the sheet.
    #[error("marks are those of the whole sheet; place this artwork on the whole sheet first")]
    NotOnTheSheet,
    /// The sheet has no guide.
    #[error(transparent)]
    Guide(#[from] GuideError),
    /// Scans cannot be copied beside a project without a file.
    #[error("save the project first, so that its scans can be copied beside it")]
    SaveFirst,
    /// A thing on the shelf needs a name.
    #[error("give it a name first")]
    NameEmpty,
    /// Another thing on the shelf has this name.
    #[error("the shelf already has something called “{0}”: choose another name")]
    NameTaken(String),
    /// An overprint of one ink.
    #[error("an overprint needs two inks or more")]
    OneInk,
    /// The shelf has this overprint.
    #[error("the shelf already has this overprint on this stock: edit that one")]
    OverprintKnown,
    /// A fold scheme that cannot be folded.
    #[error(transparent)]
    Scheme(#[from] SchemeError),
    /// An ink of a calibration sheet is named twice.
    #[error("an ink is named twice: choose another for one of them")]
    InkTwice,
    /// A file that a person named could not be read.
    #[error(transparent)]
    UserFile(#[from] UserFileError),
    /// A file is no shelf.
    #[error("{why}: {}", path.display())]
    Shelf {
        /// What is wrong.
        why: ShelfError,
        /// The file.
        path: PathBuf,
    },
    /// What a task answered, in its own sentence.
    #[error("{0}")]
    Task(String),
}

impl RequestError {
    /// What cures it, where something does.
    pub fn cause(&self) -> Option<Cause> {
        matches!(self, Self::NotSaved(_)).then_some(Cause::Save)
    }
}
